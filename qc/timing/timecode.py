"""Timecode labels: computed from a frame count, never the other way into floating seconds.

Source: SMPTE ST 12-1 (labels 0-29, drop-frame at 30000/1001); labels 0-59 at 60000/1001 as common
practice counts them. The arithmetic is checked against two independent libraries in the tests.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from qc.errors import UserError

_LONGEST = 40  # characters of a label with blanks around it; anything longer is not one
_LABEL = re.compile(r"(?P<h>\d{2}):(?P<m>\d{2}):(?P<s>\d{2})(?P<sep>[:;.])(?P<f>\d{2})", re.ASCII)


class TimecodeError(UserError):
    """A label that cannot exist, or that does not fit the counting in use."""


def shown(text: str) -> str:
    """Foreign text for an error message: quoted, escaped, bounded."""
    return ascii(text if len(text) <= _LONGEST else text[:_LONGEST] + "...")


@dataclass(frozen=True)
class Counting:
    """How frames are numbered: whole frames per second of label, and whether labels are dropped."""

    base: int
    drop: bool = False

    def __post_init__(self) -> None:
        if self.base < 1:
            raise TimecodeError(f"timecode cannot count {self.base} frames a second")
        if self.drop and self.base not in (30, 60):
            raise TimecodeError(
                f"drop-frame does not exist at {self.base} frames a second",
                remedy="drop-frame is only for 29.97 and 59.94",
            )

    @classmethod
    def for_rate(cls, rate: Fraction, drop: bool = False) -> Counting:
        """Counting of a picture rate in frames per second (29.97 counts to 30, slower than 1 to 1)."""
        return cls(base=max(1, round(rate)), drop=drop)

    @property
    def name(self) -> str:
        return "drop-frame" if self.drop else "non-drop-frame"

    @property
    def _dropped(self) -> int:
        return self.base // 15 if self.drop else 0

    @cached_property
    def frames_per_day(self) -> int:
        return 144 * (600 * self.base - 9 * self._dropped)

    def label(self, frame: int) -> str:
        """HH:MM:SS:FF (``;`` before the frames if drop-frame) of a frame number, modulo 24 hours."""
        hours, minutes, seconds, frames = self._split(frame % self.frames_per_day)
        return f"{hours:02}:{minutes:02}:{seconds:02}{';' if self.drop else ':'}{frames:02}"

    def frame(self, text: str) -> int:
        """The frame number of a label. Raises TimecodeError if the label cannot exist here."""
        hours, minutes, seconds, frames = self._parts(text)
        if self._is_dropped(minutes, seconds, frames):
            raise TimecodeError(
                f"{text} does not exist in drop-frame",
                remedy=f"the first label of that minute is {text.strip()[:-2]}{self._dropped:02}",
            )
        return self._arithmetic(hours, minutes, seconds, frames)

    def length(self, text: str) -> int:
        """Frames of a length written as a label.

        A whole minute is a length that people ask for (24:00;00) although drop-frame has no such
        label; it counts by the same arithmetic: 60 x base frames a minute less the dropped numbers
        (00:22:00;00 = 39,560 frames).
        """
        return self._arithmetic(*self._parts(text))

    def _parts(self, text: str) -> tuple[int, int, int, int]:
        match = _LABEL.fullmatch(text.strip(" \t")) if len(text) <= _LONGEST else None
        if match is None:
            raise TimecodeError(f"{shown(text)} is not a timecode", remedy="write HH:MM:SS:FF or HH:MM:SS;FF")
        hours, minutes, seconds, frames = (int(match[part]) for part in "hmsf")
        if match["sep"] != ":" and not self.drop:
            raise TimecodeError(f"{text} is written as drop-frame, but the count is {self.name}")
        if match["sep"] == ":" and self.drop:
            raise TimecodeError(f"{text} is written as non-drop-frame, but the count is drop-frame")
        if hours > 23 or minutes > 59 or seconds > 59 or frames >= self.base:
            raise TimecodeError(f"{text} does not exist at {self.base} frames a second")
        return hours, minutes, seconds, frames

    def _split(self, frame: int) -> tuple[int, int, int, int]:
        """Hours, minutes, seconds, frames of a frame of the day. Plain arithmetic, so that arrays pass through too."""
        base, dropped = self.base, self._dropped
        tens, rest = divmod(frame, 600 * base - 9 * dropped)
        skipped = 9 * tens + (rest >= dropped) * ((rest - dropped) // (60 * base - dropped))
        seconds, frames = divmod(frame + dropped * skipped, base)
        minutes, seconds = divmod(seconds, 60)
        hours, minutes = divmod(minutes, 60)
        return hours, minutes, seconds, frames

    def _is_dropped(self, minutes: int, seconds: int, frames: int) -> bool:
        return frames < self._dropped and seconds == 0 and minutes % 10 != 0

    def _arithmetic(self, hours: int, minutes: int, seconds: int, frames: int) -> int:
        minute = 60 * hours + minutes
        return self.base * (60 * minute + seconds) + frames - self._dropped * (minute - minute // 10)

    def second(self, frame: int) -> int:
        """Whole seconds of the label of a frame, 0 to 86,399: the label without its frames."""
        hours, minutes, seconds = (int(part) for part in self.label(frame)[:8].split(":"))
        return 3600 * hours + 60 * minutes + seconds

    def duration(self, frames: int) -> str:
        """A length of time as a label: the label of the frame after it, counted from zero."""
        sign = "-" if frames < 0 else ""
        return sign + self.label(abs(frames))


def elapsed(frame: int, rate: Fraction) -> str:
    """H:MM:SS.mmm of real time from the file's first frame to this frame."""
    milliseconds = round(frame * 1000 / rate)
    seconds, ms = divmod(abs(milliseconds), 1000)
    minutes, s = divmod(seconds, 60)
    hours, m = divmod(minutes, 60)
    return f"{'-' if milliseconds < 0 else ''}{hours}:{m:02}:{s:02}.{ms:03}"


@dataclass(frozen=True)
class Clock:
    """The labels of one file.

    start   label number of the file's first frame; None if the file carries no timecode, in which
            case places are named by elapsed time and said to be so
    """

    rate: Fraction
    counting: Counting
    start: int | None

    def at(self, frame: int) -> str:
        """Timecode of a frame, or elapsed time if the file has none."""
        if self.start is None:
            return elapsed(frame, self.rate)
        return self.counting.label(self.start + frame)

    def offset(self, frame: int) -> str:
        """Elapsed time from the first frame of the file."""
        return elapsed(frame, self.rate)
