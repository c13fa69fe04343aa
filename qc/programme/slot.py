"""Acts and breaks together, by explicit convention: what traffic fills, and what it schedules around.

*Frame-exact*: frames are added. *Whole-second outward*: a break is what the counted acts leave over, from the
whole second that the act before it ends in, rounded up, to the whole second that the next act starts in,
rounded down; so acts and breaks add up to the slot by either rule (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from qc.programme.accounting import Accounting, hours_minutes_seconds, outward_seconds
from qc.programme.structure import Act
from qc.timing.spans import Span
from qc.timing.timecode import Clock


@dataclass(frozen=True)
class SlotTime:
    """Breaks and the whole, each by the accounting in use and in frames of the file.

    breaks          duration between an act and the next, one less than there are acts
    overlap         seconds that the acts, counted outward, have in common: breaks of under a second
    """

    breaks: tuple[str, ...]
    breaks_total: str
    breaks_frames: int
    total: str
    total_frames: int
    overlap: int


def slot_time(acts: Sequence[Act], clock: Clock, accounting: Accounting) -> SlotTime:
    """From the first frame of the first act to the last frame of the last; acts run forward and do not overlap."""
    if not acts:
        return SlotTime((), "", 0, "", 0, 0)
    whole = Span(acts[0].span.first, acts[-1].span.end)
    gaps = [Span(before.span.end, after.span.first) for before, after in pairwise(acts)]
    frames = sum(gap.frames for gap in gaps)
    if accounting == "frame-exact":
        duration = clock.counting.duration
        return SlotTime(
            tuple(duration(gap.frames) for gap in gaps),
            duration(frames),
            frames,
            duration(whole.frames),
            whole.frames,
            0,
        )
    seconds = [_left_over(before, after, clock) for before, after in pairwise(acts)]
    return SlotTime(
        breaks=tuple(hours_minutes_seconds(max(0, count)) for count in seconds),
        breaks_total=hours_minutes_seconds(sum(max(0, count) for count in seconds)),
        breaks_frames=frames,
        total=hours_minutes_seconds(outward_seconds(Act(0, whole), clock)),
        total_frames=whole.frames,
        overlap=-sum(min(0, count) for count in seconds),
    )


def _left_over(before: Act, after: Act, clock: Clock) -> int:
    """Whole seconds of label between two acts counted outward; negative if they share one."""
    both = outward_seconds(Act(0, Span(before.span.first, after.span.end)), clock)
    return both - outward_seconds(before, clock) - outward_seconds(after, clock)
