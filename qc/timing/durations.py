"""Lengths of time as people write them in a delivery specification, with a declared form.

``00:21:30;00`` drop-frame label, ``00:21:30:00`` non-drop-frame label, ``38662 frames``, ``2 s``,
``250 ms``. A bare number is refused: it would have to be guessed.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from qc.errors import UserError
from qc.timing.timecode import Counting, TimecodeError, shown

_COUNTED = re.compile(r"(\d{1,9}(?:\.\d{1,6})?)[ ]{0,4}(frames?|s|ms)", re.ASCII)
_LABELLED = re.compile(r"(?:[01]\d|2[0-3]):[0-5]\d:[0-5]\d[:;]\d{2}", re.ASCII)
FORMS = "00:21:30;00, 00:21:30:00, 12 frames, 2 s or 250 ms"


class DurationError(UserError):
    """A length of time that is not written in one of the declared forms."""


@dataclass(frozen=True)
class Duration:
    """One written length of time, under 24 hours as a label; frames follow when the picture rate is known."""

    text: str

    def __post_init__(self) -> None:
        counted = _COUNTED.fullmatch(self.text)
        if counted:
            if counted[2].startswith("frame") and "." in counted[1]:
                raise DurationError(f"{self.text!r} is not a whole number of frames")
            return
        if not _LABELLED.fullmatch(self.text):
            raise DurationError(f"{shown(self.text)} is not a length of time", remedy=f"write {FORMS}")

    def frames(self, rate: Fraction) -> int:
        """Whole frames at a picture rate; seconds go to the nearest frame, halves upwards.

        Raises TimecodeError for a label that does not exist at that rate (drop-frame at 25, frame 27
        of 25). A whole minute is a length in drop-frame though it is no label there: Counting.length.
        """
        counted = _COUNTED.fullmatch(self.text)
        if counted:
            number = Fraction(counted[1])
            if counted[2].startswith("frame"):
                return int(number)
            seconds = number / 1000 if counted[2] == "ms" else number
            return math.floor(seconds * rate + Fraction(1, 2))
        drop = ";" in self.text
        if drop and rate not in (Fraction(30000, 1001), Fraction(60000, 1001)):
            raise TimecodeError(f"{self.text} is a drop-frame length, but the picture runs at {rate} frames a second")
        return Counting.for_rate(rate, drop).length(self.text)
