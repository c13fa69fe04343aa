"""What can be judged before the long pass: the headers of one file and the limits of one outlet."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from qc.judge.verdict import Finding
from qc.media.facts import FileFacts, PictureStream, TimecodeSource
from qc.outlets.schema import Profile
from qc.timing.timecode import Clock, Counting, TimecodeError

#: (headers or case, requirement id, requirement) -> findings.
Judge = Callable[[Any, str, Any], Iterator[Finding]]


@dataclass(frozen=True, kw_only=True)
class Headers:
    """One file against one profile, without a decode.

    name  file name without folder; "" where it is not known
    """

    facts: FileFacts
    profile: Profile
    name: str = ""

    @property
    def picture(self) -> PictureStream | None:
        return self.facts.picture

    def used_bits(self, stream: int) -> int | None:
        """Bits really used by a sound stream; None before the decode, or where it does not apply."""
        return None

    @property
    def measured_order(self) -> str:
        """What the picture itself shows ("top first", "progressive content", ...); "" before the decode."""
        return ""

    @cached_property
    def displayed(self) -> TimecodeSource | None:
        """The timecode that places are named by: the first that can exist."""
        return next((source for source in self.facts.timecodes if self.start_of(source) is not None), None)

    def counting_of(self, source: TimecodeSource) -> Counting | None:
        """How a source counts by its own flag, else by how its label is written."""
        rate = self.picture.frame_rate if self.picture else None
        if rate is None:
            return None
        drop = source.drop if source.drop is not None else ";" in source.text
        try:
            return Counting.for_rate(rate, drop)
        except TimecodeError:
            return None

    def start_of(self, source: TimecodeSource) -> int | None:
        """Label number of a source's first frame; None if the label cannot exist in its counting."""
        counting = self.counting_of(source)
        if counting is None:
            return None
        try:
            return counting.frame(source.text)
        except TimecodeError:
            return None

    @cached_property
    def header_clock(self) -> Clock | None:
        """Labels of the file by its headers; None without a picture rate."""
        rate = self.picture.frame_rate if self.picture else None
        if rate is None:
            return None
        source = self.displayed
        if source is None:
            return Clock(rate, Counting.for_rate(rate), None)
        counting = self.counting_of(source)
        assert counting is not None
        return Clock(rate, counting, self.start_of(source))
