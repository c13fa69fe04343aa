"""Naming a moment every way a reader may need: timecode, offset, act-relative time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.figures.rows import frames_of
from qc.judge.verdict import Place
from qc.programme.place import Area
from qc.programme.structure import ProgrammeStructure
from qc.timing.spans import Span
from qc.timing.timecode import Clock


@dataclass(frozen=True)
class Places:
    """Places of one file; ``structure`` is None before it is known."""

    clock: Clock
    structure: ProgrammeStructure | None = None

    def place(
        self,
        span: Span,
        *,
        channel: int | None = None,
        value: float | None = None,
        note: str = "",
        area: Area | None = None,
    ) -> Place:
        """Place of a span of frames. ``channel`` counts from 1, ``area`` is a part of the picture."""
        return Place(
            span=span,
            timecode=self.clock.at(span.first),
            until=self.clock.at(span.end),
            offset=self.clock.offset(span.first),
            within=self.within(span.first),
            channel=channel,
            value=value,
            note=note,
            area=area,
        )

    def rows(self, span: Span, *, channel: int | None = None, value: float | None = None, note: str = "") -> Place:
        """Place of a span of rows of 10 ms: all frames that it touches."""
        return self.place(frames_of(span, self.clock.rate), channel=channel, value=value, note=note)

    def row(self, row: int, *, channel: int | None = None, value: float | None = None, note: str = "") -> Place:
        """Place of one row of 10 ms."""
        return self.rows(Span(row, row + 1), channel=channel, value=value, note=note)

    def within(self, frame: int) -> str:
        """ "act 2 +00:02:41;03", "break 1", "head", "tail" or ""."""
        found = self.structure
        if found is None or not found.acts:
            return ""
        for act in found.acts:
            if act.span.contains(frame):
                return f"act {act.number} +{self.clock.counting.duration(frame - act.span.first)}"
        for gap in found.breaks:
            if gap.span.contains(frame):
                return f"break {gap.number}"
        if found.head.contains(frame):
            return "head"
        return "tail" if found.tail.contains(frame) else ""


def at(place: Place) -> str:
    """The place in a sentence."""
    return f"{place.timecode} ({place.within})" if place.within else place.timecode


def first_of(places: Sequence[Place]) -> str:
    """The first place in a sentence, and how many more there are."""
    more = "" if len(places) == 1 else f" and at {len(places) - 1} more"
    return f"{at(places[0])}{more}"
