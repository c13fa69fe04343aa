"""Where an axis of timecodes has its labels: whole seconds, minutes or hours of the file's own clock."""

from __future__ import annotations

from qc.timing.timecode import Clock

#: Seconds between labels, finest first.
_STEPS = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 28800, 86400)

#: Labels between the first frame and the last, at most.
MOST_LABELS = 12

_DAY = 86400


def axis_marks(clock: Clock, frames: int) -> tuple[tuple[int, str], ...]:
    """(frame, label) of the first frame, of the first frame of round seconds, and of the last frame.

    A round minute that drop-frame leaves out is marked at its first label (01:01:00;02). A file without
    timecode has elapsed time, at the nearest frame.
    """
    if frames <= 0:
        return ()
    last = frames - 1
    length = float(frames / clock.rate)
    step = next(
        (step for step in _STEPS if length / step <= MOST_LABELS), -(-int(length) // (_DAY * MOST_LABELS)) * _DAY
    )
    between = _elapsed(clock, frames, step) if clock.start is None else _labelled(clock, clock.start, frames, step)
    ends = [(0, clock.at(0)), *between, (last, clock.at(last))]
    return tuple({frame: (frame, label) for frame, label in ends if 0 <= frame <= last}.values())


def _elapsed(clock: Clock, frames: int, step: int) -> list[tuple[int, str]]:
    found = []
    for seconds in range(step, int(frames / clock.rate) + 1, step):
        frame = round(seconds * clock.rate)
        if frame < frames - 1:
            found.append((frame, f"{seconds // 3600}:{seconds // 60 % 60:02}:{seconds % 60:02}"))
    return found


def _labelled(clock: Clock, start: int, frames: int, step: int) -> list[tuple[int, str]]:
    counting = clock.counting
    separator = ";" if counting.drop else ":"
    first = counting.second(start) // step * step
    found = []
    for seconds in range(first, first + frames // counting.base + 2 * step + 1, step):
        days, second = divmod(seconds, _DAY)
        text = f"{second // 3600:02}:{second // 60 % 60:02}:{second % 60:02}{separator}00"
        # A label that is left out counts like one of the second before it.
        number = counting.length(text)
        number += next(extra for extra in range(5) if counting.second(number + extra) == second)
        frame = number + days * counting.frames_per_day - start % counting.frames_per_day
        if 0 < frame < frames - 1:
            found.append((frame, clock.at(frame)))
    return found
