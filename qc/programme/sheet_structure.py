"""The timing sheet in frames of this file: as expected structure, and as a claim compared with the picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from qc.programme.sheet import SheetRow, TimingSheet
from qc.programme.structure import Act, Break, ExpectedClock, Gap, ProgrammeStructure
from qc.timing.spans import Span
from qc.timing.timecode import Clock

CONFIRMS = 25  # frames by which a seen black may be off its declared place before it says nothing about it


@dataclass(frozen=True)
class PlacedSheet:
    """Declared acts as spans of this file.

    offset  frames that had to be added to the sheet's labels to place it: 0 if its labels are the
            file's; a constant offset (a sheet in 01: for a file that starts at 00:) is one fact, not one an act
    """

    acts: tuple[Act, ...]
    elements: tuple[tuple[str, Span], ...]
    offset: int
    expected: ExpectedClock


@dataclass(frozen=True)
class ActDifference:
    """Declared minus found, in frames; 0 and 0 if they agree."""

    number: int
    som: int
    eom: int
    declared: Span
    found: Span


@dataclass(frozen=True)
class SheetComparison:
    """The sheet as a claim.

    offset      constant offset of all labels in frames, taken out of the differences
    differences every act that both have, in order, also those that agree
    only_sheet, only_picture  numbers of acts that the other does not have
    """

    offset: int
    differences: tuple[ActDifference, ...]
    only_sheet: tuple[int, ...]
    only_picture: tuple[int, ...]

    def within(self, tolerance: int) -> bool:
        """True if every act is there and no edge, the offset included, is further off than so many frames."""
        off = [max(abs(item.som + self.offset), abs(item.eom + self.offset)) for item in self.differences]
        return not self.only_sheet and not self.only_picture and bool(off) and max(off) <= tolerance


def place_sheet(sheet: TimingSheet, clock: Clock | None, frames: int, som: int) -> PlacedSheet:
    """The sheet in frames of this file.

    som  first frame of the programme by the picture: where act 1 goes if the labels do not fit the file
    The labels are taken as they are if they lie inside the file, else moved by whole hours if that puts
    them inside, else moved so that act 1 starts at ``som``.
    """
    day, hour = sheet.counting.frames_per_day, sheet.counting.frames_per_day // 24
    base, last = sheet.acts[0].som, _after(sheet.acts[-1].eom, sheet.acts[0].som, day)
    start = clock.start if clock is not None and clock.start is not None else None
    first = (base - (start or 0)) % day
    length = last - base
    offset: int | None = None
    if start is not None:
        hours = sorted(range(24), key=lambda count: min(count, 24 - count))
        inside = [count * hour for count in hours if (first + count * hour) % day + length <= frames]
        offset = inside[0] if inside else None
    if offset is None:
        offset = (som - first) % day
    at = (first + offset) % day
    acts = tuple(Act(row.number or 0, _span(row, base, at, day)) for row in sheet.acts)
    elements = tuple((row.name, _span(row, base, at, day)) for row in sheet.elements if _is_near(row, base, day))
    signed = offset if offset <= day // 2 else offset - day
    return PlacedSheet(acts, elements, signed if start is not None else 0, _expected(acts))


def expected_from_sheet(
    sheet: TimingSheet, clock: Clock | None, frames: int, som: int, asked: ExpectedClock
) -> PlacedSheet:
    """The placed sheet with a clock in which its acts stand for those the outlet leaves open.

    som  first frame of the programme by the picture and the outlet's label; the sheet's own is looked
         for only where it lies elsewhere (behind a head), not where it is a few frames off
    """
    placed = place_sheet(sheet, clock, frames, som)
    own = placed.expected
    declared = placed.acts[0].span.first
    expected = replace(
        own,
        break_frames=asked.break_frames or own.break_frames,
        head_frames=None,
        start_frame=asked.start_frame if abs(declared - som) <= CONFIRMS else declared,
    )
    return replace(placed, expected=expected)


def filled_from_sheet(
    found: ProgrammeStructure, placed: PlacedSheet, gaps: Sequence[Gap], frames: int
) -> ProgrammeStructure:
    """What the picture shows, with the sheet in place of breaks that it does not show."""
    declared = tuple(_inside(act, frames) for act in placed.acts)
    if found.found_by and not found.missing_breaks:
        return found
    if any(act.span.frames == 0 for act in declared):
        note = "the timing sheet does not fit into this picture; " + (found.note or "breaks are not visible in it")
        return replace(found, note=note)
    seen = {item.number: item for item in found.breaks if _confirms(item, declared)}
    breaks = tuple(seen.get(number) or _declared_break(number, declared, gaps) for number in range(1, len(declared)))
    head, tail = found.head, found.tail
    if abs(head.end - declared[0].span.first) > CONFIRMS or head.end >= breaks[0].span.first:
        head = Span(0, declared[0].span.first)
    if abs(tail.first - declared[-1].span.end) > CONFIRMS or tail.first <= breaks[-1].span.end:
        tail = Span(declared[-1].span.end, frames)
    edges = [head.end, *(edge for item in breaks for edge in (item.span.first, item.span.end)), tail.first]
    if any(end <= first for first, end in zip(edges[::2], edges[1::2], strict=True)):
        breaks = tuple(_declared_break(number, declared, gaps) for number in range(1, len(declared)))
        head, tail = Span(0, declared[0].span.first), Span(declared[-1].span.end, frames)
        seen = {}
        edges = [head.end, *(edge for item in breaks for edge in (item.span.first, item.span.end)), tail.first]
    pairs = zip(edges[::2], edges[1::2], strict=True)
    acts = tuple(Act(number, Span(first, end)) for number, (first, end) in enumerate(pairs, start=1))
    unseen = tuple(number for number in range(1, len(declared)) if number not in seen)
    return ProgrammeStructure(
        found_by="sheet",
        note=f"{_named(unseen)} not visible in the picture: taken from the timing sheet",
        head=head,
        acts=acts,
        breaks=breaks,
        tail=tail,
        extra_gaps=tuple(gap for gap in found.extra_gaps if not any(gap.span.overlap(b.span) for b in breaks)),
        unlike=tuple(text for text in found.unlike if " is missing: " not in text),
        extra_breaks=found.extra_breaks,
    )


def compare_sheet(sheet: TimingSheet, structure: ProgrammeStructure, clock: Clock) -> SheetComparison:
    """Declared against found, act by act.

    If every act is off by the same amount at both edges and no frame of it is wrong otherwise, that
    is a constant offset; so is the whole-hour offset that placing the sheet needed.
    """
    frames = structure.tail.end
    som = structure.acts[0].span.first if structure.acts else 0
    placed = place_sheet(sheet, clock, frames, som)
    found = {act.number: act.span for act in structure.acts}
    declared = {act.number: act.span for act in placed.acts}
    both = sorted(found.keys() & declared.keys())
    shifts = {edge for number in both for edge in _off(declared[number], found[number])}
    constant = shifts.pop() if len(shifts) == 1 and len(both) > 1 else 0
    differences = []
    for number in both:
        at_som, at_eom = _off(declared[number], found[number])
        differences.append(ActDifference(number, at_som - constant, at_eom - constant, declared[number], found[number]))
    return SheetComparison(
        offset=constant - placed.offset,
        differences=tuple(differences),
        only_sheet=tuple(sorted(declared.keys() - found.keys())),
        only_picture=tuple(sorted(found.keys() - declared.keys())),
    )


def _off(declared: Span, found: Span) -> tuple[int, int]:
    return declared.first - found.first, declared.end - found.end


def _expected(acts: Sequence[Act]) -> ExpectedClock:
    lengths = tuple((act.span.frames, act.span.frames) for act in acts)
    total = sum(act.span.frames for act in acts)
    blacks = [after.span.first - act.span.end for act, after in pairwise(acts)]
    return ExpectedClock(
        acts=len(acts),
        act_frames=lengths,
        break_frames=(min(blacks), max(blacks)) if blacks else None,
        programme_frames=(total, total),
        start_frame=acts[0].span.first,
    )


def _after(label: int, base: int, day: int) -> int:
    """A label that lies after ``base``, past midnight if need be."""
    return base + (label - base) % day


def _span(row: SheetRow, base: int, at: int, day: int) -> Span:
    first = at + (row.som - base) % day
    return Span(first, first + row.frames)


def _is_near(row: SheetRow, base: int, day: int) -> bool:
    """Elements lie in or after the programme; one before act 1 has no place in this file's acts."""
    return (row.som - base) % day < day // 2


def _inside(act: Act, frames: int) -> Act:
    first = min(act.span.first, frames)
    return Act(act.number, Span(first, max(first, min(act.span.end, frames))))


def _confirms(item: Break, declared: Sequence[Act]) -> bool:
    before, after = declared[item.number - 1].span, declared[item.number].span
    return abs(item.span.first - before.end) <= CONFIRMS and abs(item.span.end - after.first) <= CONFIRMS


def _declared_break(number: int, declared: Sequence[Act], gaps: Sequence[Gap]) -> Break:
    span = Span(declared[number - 1].span.end, declared[number].span.first)
    silent = sum(min(gap.silent_frames, gap.span.overlap(span)) for gap in gaps)
    return Break(number, span, min(silent, span.frames))


def _named(numbers: Sequence[int]) -> str:
    listed = ", ".join(map(str, numbers[:-1]))
    if len(numbers) == 1:
        return f"break {numbers[0]} is"
    return f"breaks {listed} and {numbers[-1]} are"
