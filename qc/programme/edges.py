"""Where the programme may begin and end: candidates for SOM and for the frame after the last.

What a head shows is not asked here (qc.programme.leader reads it once it is known): a head is known by the timecode
that the outlet states for SOM, or by its stated length, or else as leading black. A tail is trailing black; anything
after black that only the TRT can tell from the programme (textless elements, a slate) is a candidate too.
Costs are on the scale of qc.programme.likeness.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from qc.programme.structure import ExpectedClock, Gap

PER_BLACK_FRAME = 0.1  # black after the stated SOM: a fade up is a few frames, a late start is not
WORST_BLACK = 3.0
ELSEWHERE = 1.0  # any SOM beside the stated one ...
PER_SECONDS_OCTAVE = 1.0  # ... and for each doubling of the distance from about a second
WORST_SOM = 4.5
BLACK_KEPT = 1.0  # trailing black as the end of a fade, not as tail
BLACK_BEGINS = 3.0  # leading black as the beginning of the programme, where nothing is stated
PICTURE_AFTER = 3.0  # picture after the end
WORST_EOM = 5.0
ABOUT_A_SECOND = 30  # frames
MOST_EDGES = 64


@dataclass(frozen=True, order=True)
class Edge:
    """A candidate frame with its cost."""

    frame: int
    cost: float


def starts(frames: int, gaps: Sequence[Gap], expected: ExpectedClock) -> tuple[Edge, ...]:
    """Candidates for the first frame of the programme; may be empty if all is black."""
    leading = next((gap.span for gap in gaps if gap.span.first == 0), None)
    stated = expected.start_frame
    found: dict[int, float] = {}

    def offer(frame: int, cost: float) -> None:
        if 0 <= frame < frames:
            found[frame] = min(cost, found.get(frame, math.inf))

    def beside(distance: int) -> float:
        return min(WORST_SOM, ELSEWHERE + PER_SECONDS_OCTAVE * math.log2(1 + distance / ABOUT_A_SECOND))

    picture = leading.end if leading else 0
    if stated is not None and 0 <= stated < frames:
        black = next((gap.span.end - stated for gap in gaps if gap.span.contains(stated)), 0)
        offer(stated, min(WORST_BLACK, PER_BLACK_FRAME * black))
        offer(picture, 0.0 if picture == stated else beside(abs(picture - stated)))
        for gap in gaps:
            offer(gap.span.end, 0.0 if gap.span.end == stated else beside(abs(gap.span.end - stated)))
    elif expected.head_frames and (expected.head_frames[1] is None or expected.head_frames[1] > 0):
        low, high = expected.head_frames
        on_edge = {picture, *(gap.span.end for gap in gaps)}
        for frame in on_edge:
            short, over = max(0, (low or 0) - frame), max(0, frame - high) if high is not None else 0
            offer(frame, 0.0 if not short and not over else beside(short + over))
        if low and low not in on_edge and _fills(frames - low, expected):
            offer(low, ELSEWHERE)
    else:
        offer(picture, 0.0)
        if leading:
            offer(0, BLACK_BEGINS)
    last_picture = next((gap.span.first for gap in gaps if gap.span.end >= frames), frames)
    return _cheapest({frame: cost for frame, cost in found.items() if frame < last_picture})


def _fills(frames: int, expected: ExpectedClock) -> bool:
    """A whole programme still fits: without that, a head that cannot be seen is taken to be missing."""
    shortest = expected.programme_frames[0] if expected.programme_frames else None
    return shortest is not None and frames >= shortest


def ends(frames: int, gaps: Sequence[Gap], expected: ExpectedClock) -> tuple[Edge, ...]:
    """Candidates for the frame after the last of the programme."""
    trailing = next((gap.span for gap in gaps if gap.span.end >= frames), None)
    found = {frames: 0.0}
    if trailing:
        found = {trailing.first: 0.0, frames: BLACK_KEPT}
    if expected.programme_frames or expected.act_frames:
        for gap in gaps:
            after = frames - gap.span.end
            cost = PICTURE_AFTER + math.log2(1 + after / ABOUT_A_SECOND)
            found.setdefault(gap.span.first, min(WORST_EOM, cost))
    return _cheapest({frame: cost for frame, cost in found.items() if frame > 0})


def _cheapest(found: dict[int, float]) -> tuple[Edge, ...]:
    kept = sorted(found, key=lambda frame: (found[frame], frame))[:MOST_EDGES]
    return tuple(Edge(frame, found[frame]) for frame in sorted(kept))
