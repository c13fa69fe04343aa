"""TRT by explicit convention: the same cut has another length by another rule, so the rule is always named.

*Frame-exact*: the sum of the acts' frames, written as a label of the file's counting.
*Whole-second outward*: each act's start rounded down and its end rounded up to whole seconds of its
labels, then added (common practice, no source). EOM may be written as the last frame (inclusive) or
the frame after it (exclusive); the length is the same by either.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from qc.programme.structure import Act
from qc.timing.timecode import Clock, Counting

Accounting = Literal["frame-exact", "whole-second outward"]
Eom = Literal["exclusive", "inclusive"]

_DAY_SECONDS = 24 * 3600


@dataclass(frozen=True)
class ActTime:
    """One act as a sheet writes it.

    som, eom        labels (elapsed time if the file has no timecode); eom by the convention in use
    frames          frame-exact
    counted_frames  by the accounting in use, in frames of the file's counting
    duration        by the accounting in use, "00:06:10;14" or "00:06:11"
    """

    number: int
    som: str
    eom: str
    frames: int
    counted_frames: int
    duration: str


@dataclass(frozen=True)
class ProgrammeTime:
    """All acts and their sum.

    trt                   by the accounting in use
    trt_frames            frame-exact
    trt_counted_frames    by the accounting in use; this is what a TRT limit is compared with
    trt_other_accounting  by the other rule; "" if both come to the same number of frames
    """

    acts: tuple[ActTime, ...]
    trt: str
    trt_frames: int
    trt_counted_frames: int
    trt_other_accounting: str
    accounting: Accounting
    eom: Eom
    counting: str


def programme_time(acts: Sequence[Act], clock: Clock, accounting: Accounting, eom: Eom) -> ProgrammeTime:
    """Lengths of acts and programme by the convention given; nothing is assumed from the rate.

    A file without timecode is accounted as if its first frame were 00:00:00:00.
    """
    if accounting not in ("frame-exact", "whole-second outward"):
        raise ValueError(f"there is no accounting called {accounting!r}")
    if eom not in ("exclusive", "inclusive"):
        raise ValueError(f"EOM is exclusive or inclusive, not {eom!r}")
    outward = accounting == "whole-second outward"
    counting = clock.counting
    exact = [act.span.frames for act in acts]
    seconds = [outward_seconds(act, clock) for act in acts]
    whole, whole_total = [_frames(count, counting) for count in seconds], _frames(sum(seconds), counting)
    rows = tuple(
        ActTime(
            number=act.number,
            som=clock.at(act.span.first),
            eom=clock.at(act.span.end if eom == "exclusive" else act.span.last),
            frames=exact[place],
            counted_frames=whole[place] if outward else exact[place],
            duration=hours_minutes_seconds(seconds[place]) if outward else counting.duration(exact[place]),
        )
        for place, act in enumerate(acts)
    )
    by_frame, by_second = counting.duration(sum(exact)), hours_minutes_seconds(sum(seconds))
    agree = whole_total == sum(exact)
    return ProgrammeTime(
        acts=rows,
        trt=by_second if outward else by_frame,
        trt_frames=sum(exact),
        trt_counted_frames=whole_total if outward else sum(exact),
        trt_other_accounting="" if agree else (by_frame if outward else by_second),
        accounting=accounting,
        eom=eom,
        counting=counting.name,
    )


def outward_seconds(act: Act, clock: Clock) -> int:
    """Whole seconds of label that an act touches, from the second of its first frame to that of its last.

    The end goes up from the frame after the last, so it is the same for either way to write EOM.
    """
    if not act.span.frames:
        return 0
    start = clock.start or 0
    first = clock.counting.second(start + act.span.first)
    last = clock.counting.second(start + act.span.last)
    return (last - first) % _DAY_SECONDS + 1


def hours_minutes_seconds(seconds: int) -> str:
    """HH:MM:SS of whole seconds."""
    minutes, second = divmod(seconds, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours:02}:{minute:02}:{second:02}"


def _frames(seconds: int, counting: Counting) -> int:
    """Frames of whole seconds of label, counted from zero; days may add up in a sum."""
    days, rest = divmod(seconds, _DAY_SECONDS)
    mark = ";" if counting.drop else ":"
    return days * counting.frames_per_day + counting.length(f"{hours_minutes_seconds(rest)}{mark}00")
