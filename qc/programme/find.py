"""The programme as found: which blacks are the breaks that the outlet's clock expects, and what the others are.

Never "every black is a break": the acts, breaks and edges that fit the clock best as a whole are looked
for (qc.programme.assign); a black that is not needed stays inside its act, a break that no black fits is
missing, one of another length is said to be so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from qc.programme.assign import Assignment, assign
from qc.programme.edges import ends, starts
from qc.programme.likeness import Window, breaks_of, looks_like_break
from qc.programme.sheet import TimingSheet
from qc.programme.sheet_structure import expected_from_sheet, filled_from_sheet
from qc.programme.structure import Act, Break, ExpectedClock, Gap, ProgrammeStructure
from qc.timing.spans import Span
from qc.timing.timecode import Clock

NOT_VISIBLE = "breaks are not visible in the picture; give a timing sheet"
NO_PROGRAMME = "no programme found: the whole picture is black"
MOST_ACTS = 64


def find_structure(
    frames: int,
    gaps: Sequence[Gap],
    expected: ExpectedClock,
    single_part: bool,
    sheet: TimingSheet | None = None,
    clock: Clock | None = None,
) -> ProgrammeStructure:
    """Head, acts, breaks and tail of a picture of so many frames.

    gaps         runs of black in order, from qc.programme.gaps.find_gaps
    single_part  the outlet takes one unbroken part: no black inside is a break
    sheet        declared acts: they say where to look, and stand in for breaks that cannot be seen
    clock        labels of this file, to place the sheet; without it the sheet starts where the programme does

    Nothing found is no error: the structure then has no acts and says why.
    """
    gaps = [gap for gap in gaps if gap.span.frames]
    if frames <= 0:
        return _nothing(0, "the file has no picture")
    if any(gap.span.first <= 0 and gap.span.end >= frames for gap in gaps):
        return _nothing(frames, NO_PROGRAMME)
    expected = _usable(expected, single_part)
    found = _by_picture(frames, gaps, expected, single_part)
    if sheet is None or single_part or len(sheet.acts) > MOST_ACTS or _beyond_doubt(found, expected):
        return found
    som = found.head.end if found.acts else _plain_start(frames, gaps, expected)
    placed = expected_from_sheet(sheet, clock, frames, som, expected)
    by_sheet = _by_picture(frames, gaps, placed.expected, single_part=len(sheet.acts) == 1)
    return filled_from_sheet(by_sheet, placed, gaps, frames)


def _by_picture(frames: int, gaps: Sequence[Gap], expected: ExpectedClock, single_part: bool) -> ProgrammeStructure:
    first, last = starts(frames, gaps, expected), ends(frames, gaps, expected)
    candidates = breaks_of([] if single_part else _between(frames, gaps), expected)
    best = assign(candidates, first, last, expected, _middle(frames, gaps))
    if best is None:
        return _nothing(frames, "no programme found: there is no picture between head and tail")
    return _structure(frames, gaps, expected, single_part, best, candidates.gaps)


def _structure(
    frames: int,
    gaps: Sequence[Gap],
    expected: ExpectedClock,
    single_part: bool,
    best: Assignment,
    candidates: Sequence[Gap],
) -> ProgrammeStructure:
    breaks = tuple(
        Break(number, candidates[index].span, candidates[index].silent_frames) for number, index in best.taken
    )
    head, tail = Span(0, best.start), Span(best.end, frames)
    acts = acts_between(head.end, tail.first, breaks)
    missing = tuple(sorted(set(range(1, best.acts)) - {item.number for item in breaks}))
    inside = extra_gaps(gaps, acts)
    alike = () if single_part else tuple(gap for gap in inside if looks_like_break(gap, expected))
    nothing = not single_part and not breaks and (best.acts > 1 or expected.acts is None)
    if nothing:
        return ProgrammeStructure("", NOT_VISIBLE, head, (), (), tail, tuple(range(1, best.acts)), inside, (), alike)
    unlike = [
        text
        for item in breaks
        if (text := _wrong_length(f"break {item.number}", item.span.frames, expected.break_frames))
    ]
    unlike += [_missing_text(number, acts) for number in missing]
    unlike += [_alike_text(gap, acts) for gap in alike]
    return ProgrammeStructure(
        found_by="whole file" if single_part else "picture",
        note="" if single_part or expected.acts else "the outlet states no number of acts: the breaks seen give it",
        head=head,
        acts=acts,
        breaks=breaks,
        tail=tail,
        missing_breaks=missing,
        extra_gaps=inside,
        unlike=tuple(unlike),
        extra_breaks=alike,
    )


def acts_between(som: int, end: int, breaks: Sequence[Break]) -> tuple[Act, ...]:
    """What lies between the breaks; each act has the number after the break before it."""
    begins = [(1, som), *((item.number + 1, item.span.end) for item in breaks)]
    stops = [*(item.span.first for item in breaks), end]
    return tuple(Act(number, Span(first, stop)) for (number, first), stop in zip(begins, stops, strict=True))


def extra_gaps(gaps: Sequence[Gap], acts: Sequence[Act]) -> tuple[Gap, ...]:
    """Blacks inside acts; one that reaches over an act's edge counts with the part inside."""
    found = []
    for act in acts:
        for gap in gaps:
            inside = gap.span.overlap(act.span)
            if inside:
                first = max(gap.span.first, act.span.first)
                found.append(Gap(Span(first, first + inside), min(inside, gap.silent_frames)))
    return tuple(found)


def _beyond_doubt(found: ProgrammeStructure, expected: ExpectedClock) -> bool:
    """The picture alone shows just what the outlet's clock expects: a sheet is then only a claim."""
    return bool(found.breaks) and expected.acts == len(found.acts) and not found.unlike


def _usable(expected: ExpectedClock, single_part: bool) -> ExpectedClock:
    """Counts that a programme can have; a single part is one act without breaks."""
    if single_part:
        return replace(expected, acts=1, act_frames=(), break_frames=None)
    if expected.acts is not None and not 1 <= expected.acts <= MOST_ACTS:
        return replace(expected, acts=None, act_frames=())
    return expected


def _between(frames: int, gaps: Sequence[Gap]) -> list[Gap]:
    """Gaps with picture on both sides."""
    return [gap for gap in gaps if gap.span.first > 0 and gap.span.end < frames]


def _middle(frames: int, gaps: Sequence[Gap]) -> int:
    """Frames without leading and trailing black."""
    return max(1, frames - sum(gap.span.frames for gap in gaps if gap.span.first == 0 or gap.span.end >= frames))


def _plain_start(frames: int, gaps: Sequence[Gap], expected: ExpectedClock) -> int:
    """SOM as the cheapest edge, to place a sheet on a file without timecode."""
    found = starts(frames, gaps, expected)
    return min(found, key=lambda edge: (edge.cost, edge.frame)).frame if found else 0


def _nothing(frames: int, note: str) -> ProgrammeStructure:
    return ProgrammeStructure("", note, Span(0, frames), (), (), Span(frames, frames))


def _wrong_length(what: str, frames: int, window: Window | None) -> str:
    low, high = window or (None, None)
    if (low is None or frames >= low) and (high is None or frames <= high):
        return ""
    if low is not None and low == high:
        wanted = f"{low} are"
    elif low is not None and high is not None:
        wanted = f"{low} to {high} are"
    else:
        wanted = f"at least {low} are" if low is not None else f"at most {high} are"
    return f"{what} is {frames} frame{'' if frames == 1 else 's'} where {wanted} expected"


def _missing_text(number: int, acts: Sequence[Act]) -> str:
    act = next(act for act in reversed(acts) if act.number <= number)
    return f"break {number} is missing: act {act.number} runs on through it"


def _alike_text(gap: Gap, acts: Sequence[Act]) -> str:
    act = next(act for act in acts if act.span.contains(gap.span.first))
    return (
        f"act {act.number} holds a black of {gap.span.frames} frames, {gap.span.first - act.span.first} frames in, "
        "that looks like one break more"
    )
