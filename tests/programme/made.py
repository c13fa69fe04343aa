"""Programmes made of numbers: acts, breaks and decoys whose truth is known because they are put there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from qc.programme.structure import ExpectedClock, Gap, ProgrammeStructure
from qc.timing.spans import Span

#: Acts of a 21:30;00 drop-frame half hour with 10 s breaks, in frames at 29.97.
ACTS = (11_104, 10_239, 9_522, 7_797)
TRT = sum(ACTS)
CLOCK = ExpectedClock(acts=4, break_frames=(300, 300), programme_frames=(TRT, TRT))
COUNT_ONLY = ExpectedClock(acts=4)


def gap(first: int, frames: int, silent: int | None = None) -> Gap:
    """A black; silent all through if not said otherwise."""
    return Gap(Span(first, first + frames), frames if silent is None else silent)


@dataclass(frozen=True)
class Made:
    """A file's length and blacks, with the truth."""

    frames: int
    gaps: tuple[Gap, ...]
    acts: tuple[Span, ...]
    breaks: tuple[Span, ...]

    def also(self, *decoys: Gap) -> Made:
        """The same with more blacks."""
        return Made(self.frames, tuple(sorted((*self.gaps, *decoys), key=lambda g: g.span)), self.acts, self.breaks)


def made(
    acts: Sequence[int] = ACTS,
    breaks: Sequence[int] = (300, 300, 300),
    *,
    head: int = 0,
    tail: int = 0,
    silent: bool = True,
) -> Made:
    """Acts and the blacks between them; a break of 0 frames is a butt joint. Head and tail are black."""
    gaps = [gap(0, head)] if head else []
    spans, blacks, at = [], [], head
    for place, frames in enumerate(acts):
        spans.append(Span(at, at + frames))
        at += frames
        length = breaks[place] if place < len(breaks) and place < len(acts) - 1 else 0
        if length:
            gaps.append(gap(at, length, length if silent else 0))
        if place < len(acts) - 1:
            blacks.append(Span(at, at + length))
        at += length
    if tail:
        gaps.append(gap(at, tail))
    return Made(at + tail, tuple(gaps), tuple(spans), tuple(blacks))


def tiles(structure: ProgrammeStructure, frames: int) -> bool:
    """Head, acts, breaks and tail lie end to end and fill the file."""
    breaks = {item.number: item.span for item in structure.breaks}
    spans = [structure.head]
    for act in structure.acts:
        spans.append(act.span)
        following = [number for number in breaks if number >= act.number]
        if act is not structure.acts[-1]:
            spans.append(breaks[min(following)])
    spans.append(structure.tail)
    edges = [(before.end, after.first) for before, after in pairwise(spans)]
    return spans[0].first == 0 and spans[-1].end == frames and all(end == first for end, first in edges)
