"""Lengths of time as an outlet writes them, in frames of this file."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from qc.outlets.schema_kinds import DurationLimit
from qc.timing.durations import Duration

#: Where drop-frame labels are at home (SMPTE ST 12-1).
_DROP_RATE = Fraction(30000, 1001)


def frames_of(text: str, rate: Fraction) -> int:
    """Frames of a written length at the file's picture rate.

    A drop-frame length in a file of another rate is taken as the real time it stands for: the wrong
    rate is a finding of its own and must not hide what else is wrong.
    Raises TimecodeError for a label that does not exist at this rate.
    """
    if ";" in text and rate not in (_DROP_RATE, 2 * _DROP_RATE):
        return round(Duration(text).frames(_DROP_RATE) / _DROP_RATE * rate)
    return Duration(text).frames(rate)


@dataclass(frozen=True)
class Lengths:
    """Accepted frames from low to high, both included; None is open."""

    low: int | None
    high: int | None
    words: str
    tolerance: str = ""
    exact: int | None = None

    def accepts(self, frames: int) -> bool:
        return self.over(frames) == 0

    def over(self, frames: int) -> int:
        """Frames too many (positive) or too few (negative); 0 if accepted."""
        if self.high is not None and frames > self.high:
            return frames - self.high
        if self.low is not None and frames < self.low:
            return frames - self.low
        return 0

    def amiss(self, frames: int) -> int:
        """Frames from what was asked for: the exact length if there is one, else the nearest accepted."""
        return self.over(frames) if self.exact is None or self.accepts(frames) else frames - self.exact

    def margin(self, frames: int) -> int:
        """Frames to the nearest bound, negative outside."""
        inside = [frames - self.low] if self.low is not None else []
        inside += [self.high - frames] if self.high is not None else []
        return min(inside)


def lengths(limit: DurationLimit, rate: Fraction) -> Lengths:
    """What a limit accepts at this rate. Raises TimecodeError as frames_of does."""
    if limit.exact is not None:
        exact = frames_of(limit.exact, rate)
        spread = frames_of(limit.tolerance, rate) if limit.tolerance is not None else 0
        said = _with_frames(limit.exact, exact)
        words = f"{said} +/- {limit.tolerance}" if spread else f"{said} exactly"
        return Lengths(max(0, exact - spread), exact + spread, words, f"+/- {limit.tolerance}" if spread else "", exact)
    low = None if limit.min is None else frames_of(limit.min, rate)
    high = None if limit.max is None else frames_of(limit.max, rate)
    if low is None:
        return Lengths(None, high, f"at most {_with_frames(str(limit.max), high or 0)}")
    if high is None:
        return Lengths(low, None, f"at least {_with_frames(str(limit.min), low)}")
    return Lengths(low, high, f"{_with_frames(str(limit.min), low)} to {_with_frames(str(limit.max), high)}")


def _with_frames(text: str, frames: int) -> str:
    return text if "frame" in text else f"{text} ({frames_text(frames)})"


def frames_text(frames: int) -> str:
    return f"{frames} frame" if abs(frames) == 1 else f"{frames} frames"
