"""Numbered flags at the places that a finding names, each linked to it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from qc.judge.timeline import Timeline
from qc.judge.verdict import Outcome, Verdict
from qc.report import wording
from qc.report.drawing.elements import element, percent, together
from qc.report.drawing.widths import WIDTHS
from qc.timing.spans import Span

#: Outcomes whose places are marked.
MARKED = (Outcome.FAIL, Outcome.ADVISORY, Outcome.WAIVED)

#: A flag and what it keeps free, in pixels: a finger's target (WCAG 2.2, 2.5.8: 24 by 24).
FLAG, SLOT = 24, 26

#: Rows of flags that further places of a finding may take; its first place is always flagged.
_ROWS_FOR_MORE = 3

#: Places this wide are shown by a bar alone, narrower ones by a line through the lanes too.
_WIDE = 0.02


@dataclass(frozen=True)
class Mark:
    """The places of one finding.

    anchor   id of the finding on the page ("finding-3"); its flag has the id "at-finding-3"
    title    what a reader calls it
    outcome  sets the shape of the flag
    spans    places in frames; without any there is no flag
    more     places that the finding only counts
    """

    anchor: str
    title: str
    outcome: Outcome
    spans: tuple[Span, ...]
    more: int = 0


@dataclass(frozen=True)
class Flag:
    """A flag as placed: ``at`` is its middle on the plot (0.0 to 1.0), row 0 the lowest; ``first`` holds the id."""

    number: int
    mark: Mark
    span: Span
    at: float
    row: int
    first: bool


def marks_of(verdict: Verdict) -> tuple[Mark, ...]:
    """What the drawing of a verdict marks; anchors count its findings from 1."""
    return tuple(
        Mark(
            f"finding-{number}",
            wording.title(finding),
            finding.outcome,
            tuple(place.span for place in finding.places),
            finding.more_places,
        )
        for number, finding in enumerate(verdict.findings, 1)
        if finding.outcome in MARKED and finding.places
    )


def flag_numbers(marks: Sequence[Mark]) -> dict[str, int]:
    """Anchor -> number on its flag, in order of time. Findings without a place have none."""
    return {mark.anchor: number for number, mark in enumerate(_in_order(marks), 1)}


def flag_id(anchor: str) -> str:
    """Id of a finding's flag, for the link back."""
    return f"at-{anchor}"


def _in_order(marks: Sequence[Mark]) -> list[Mark]:
    once = {mark.anchor: mark for mark in reversed(marks) if mark.spans}
    kept = [once.pop(mark.anchor) for mark in marks if mark.anchor in once]
    return sorted(kept, key=lambda mark: min(mark.spans).first)


def flags_of(timeline: Timeline, marks: Sequence[Mark]) -> tuple[Flag, ...]:
    """Flags that do not touch on the narrowest page: first one for each finding, then more of the same number
    where there is room and none of them near."""
    slot = SLOT / min(WIDTHS.values())
    placed: list[Flag] = []

    def free(at: float, row: int) -> bool:
        return all(flag.row != row or abs(flag.at - at) >= slot for flag in placed)

    in_order = _in_order(marks)
    spans = {mark.anchor: [_inside(span, timeline) for span in sorted(mark.spans)] for mark in in_order}
    for number, mark in enumerate(in_order, 1):
        span = spans[mark.anchor][0]
        at = (span.first + span.end) / 2 / timeline.frames
        row = next(row for row in range(len(in_order)) if free(at, row))
        placed.append(Flag(number, mark, span, at, row, True))
    for number, mark in enumerate(in_order, 1):
        for span in spans[mark.anchor][1:]:
            at = (span.first + span.end) / 2 / timeline.frames
            rows = [row for row in range(_ROWS_FOR_MORE) if free(at, row)]
            apart = all(flag.number != number or abs(flag.at - at) >= 2 * slot for flag in placed)
            if rows and apart:
                placed.append(Flag(number, mark, span, at, rows[0], False))
    return tuple(sorted(placed, key=lambda flag: (flag.number, not flag.first, flag.at)))


def _inside(span: Span, timeline: Timeline) -> Span:
    first = min(max(span.first, 0), timeline.frames - 1)
    return Span(first, min(max(span.end, first + 1), timeline.frames))


def flags_svg(timeline: Timeline, marks: Sequence[Mark]) -> tuple[Markup, int]:
    """The flags, with bars under them that show how far each place goes; and the height that they take."""
    flags = flags_of(timeline, marks)
    rows = max((flag.row for flag in flags), default=0) + 1
    base = rows * SLOT + 4
    bars = [
        element(
            "rect",
            class_=f"tl-extent {_tone(mark.outcome)}",
            x=percent(span.first, timeline.frames),
            width=percent(span.frames, timeline.frames),
            y=base + 1,
            height=6,
        )
        for mark in _in_order(marks)
        for span in (_inside(span, timeline) for span in mark.spans)
    ]
    stems = [
        element(
            "line",
            class_=f"tl-stem {_tone(flag.mark.outcome)}",
            x1=percent(flag.at, 1),
            x2=percent(flag.at, 1),
            y1=base - flag.row * SLOT - 2,
            y2=base + 4,
        )
        for flag in flags
    ]
    drawn = [_flag(flag, timeline, base) for flag in flags]
    return together(element("g", *bars, *stems, aria_hidden="true"), *drawn), base + 8


def guides(timeline: Timeline, marks: Sequence[Mark]) -> Markup:
    """Lines down through a lane at the places that are too short to be seen as a bar."""
    lines: dict[tuple[str, str], None] = {}
    for mark in marks:
        for span in (_inside(span, timeline) for span in mark.spans):
            if span.frames / timeline.frames < _WIDE:
                lines[_tone(mark.outcome), percent(span.first + span.frames / 2, timeline.frames)] = None
    tones = sorted({tone for tone, _ in lines})
    return together(
        *(
            element(
                "g",
                *(element("line", x1=x, x2=x, y1=0, y2="100%") for own, x in lines if own == tone),
                class_=f"tl-guide {tone}",
            )
            for tone in tones
        )
    )


def key(timeline: Timeline, marks: Sequence[Mark]) -> Markup:
    """What the numbers stand for, as a list with links: on paper there is nothing to point at."""
    items = []
    for number, mark in enumerate(_in_order(marks), 1):
        first = min(mark.spans)
        where = ", ".join(words for words in (_at(timeline, first), _within(timeline, first)) if words)
        said = f"{mark.outcome.value}, {_how_many(mark)}"
        items.append(
            element(
                "li",
                element("b", str(number), class_="tl-count"),
                Markup(" "),
                element("a", mark.title, href=f"#{mark.anchor}"),
                Markup(" "),
                element("span", f"{said} {where}".rstrip(), class_="tl-detail"),
            )
        )
    return element("ul", *items, class_="tl-key")


def _how_many(mark: Mark) -> str:
    drawn = len(mark.spans)
    if mark.more:
        return f"first of {drawn + mark.more} places, {drawn} drawn"
    return f"first of {drawn} places" if drawn > 1 else "one place"


def _at(timeline: Timeline, span: Span) -> str:
    return timeline.clock.at(span.first) if timeline.clock else f"frame {span.first}"


def _within(timeline: Timeline, span: Span) -> str:
    return next((part.name for part in timeline.parts if part.span.contains(span.first)), "")


def _flag(flag: Flag, timeline: Timeline, base: int) -> Markup:
    mark, outcome = flag.mark, flag.mark.outcome
    where = "".join(f", {words}" for words in (_at(timeline, flag.span), _within(timeline, flag.span)) if words)
    name = f"{flag.number}, {outcome.value}: {mark.title}{where}"
    shape = together(
        element("title", name),
        element("svg", *_shape(outcome, str(flag.number)), x=percent(flag.at, 1), y=base - (flag.row + 1) * SLOT,
                overflow="visible"),
    )  # fmt: skip
    if flag.first:
        return element("a", shape, id=flag_id(mark.anchor), href=f"#{mark.anchor}", aria_label=name,
                       class_=f"tl-flag {_tone(outcome)}")  # fmt: skip
    return element("a", shape, href=f"#{mark.anchor}", tabindex="-1", aria_hidden="true",
                   class_=f"tl-flag {_tone(outcome)}")  # fmt: skip


def _shape(outcome: Outcome, number: str) -> tuple[Markup, Markup]:
    """The shapes of the letter marks: a filled square fails, an arch asks to look, a double frame is let through."""
    half = FLAG / 2
    text = element("text", number, y=17, text_anchor="middle", class_="tl-number")
    if outcome is Outcome.ADVISORY:
        arch = f"M{-half + 1:g},{FLAG - 1}V{half:g}A{half - 1:g},{half - 1:g} 0 0 1 {half - 1:g},{half:g}V{FLAG - 1}Z"
        return element("path", d=arch, class_="tl-shape"), text
    box = element("rect", x=-half + 1, y=1, width=FLAG - 2, height=FLAG - 2,
                  rx=6 if outcome is Outcome.WAIVED else None, class_="tl-shape")  # fmt: skip
    if outcome is Outcome.WAIVED:
        inner = element("rect", x=-half + 4, y=4, width=FLAG - 8, height=FLAG - 8, rx=4, class_="tl-shape")
        return together(box, inner), text
    return box, text


def _tone(outcome: Outcome) -> str:
    return f"tl-{outcome.value.replace(' ', '-')}"
