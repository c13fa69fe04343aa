"""One made file for each of the six invented outlets, in the shape that the outlet's short form asks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from qc.judge import judge
from qc.judge.verdict import Verdict
from qc.measurement.record import Measurement
from qc.media.facts import TimecodeSource
from qc.outlets.load import LoadedProfile, load_profile
from qc.programme.sheet import TimingSheet
from qc.timing.spans import Span
from tests.kit.made import NTSC, PAL, Part, black, facts, measurement, picture_stream


@dataclass(frozen=True)
class Shape:
    """acts and gaps in frames; gaps stand between the acts."""

    rate: Fraction
    start: str
    acts: tuple[int, ...]
    gaps: tuple[int, ...] = ()
    head: tuple[Part, ...] = ()
    tail: int = 0

    @property
    def spans(self) -> tuple[Span, ...]:
        """The acts as they were put there."""
        return tuple(self._spans())

    def _spans(self) -> Iterator[Span]:
        at = sum(part.frames for part in self.head)
        for act, gap in zip(self.acts, (*self.gaps, 0), strict=True):
            yield Span(at, at + act)
            at += act + gap


#: Acts that do not lie on whole seconds where the outlet lets them.
SHAPES = {
    "corvane-5-mini": Shape(NTSC, "01:00:00;00", (965, 940, 975, 983), (30, 30, 30)),
    "meadowline-public-mini": Shape(NTSC, "00:59:50;00", (4814,), head=(Part(270), black(30))),
    "velmark-kanal-mini": Shape(PAL, "09:59:57:00", (4225,), head=(Part(50), black(25)), tail=15),
    "tidewold-one-mini": Shape(PAL, "10:00:00:00", (1100, 1100, 1125), (400, 400)),
    "kerrawind-mini": Shape(PAL, "10:00:00:00", (830, 821, 822, 830), (25, 25, 25)),
    "hoshinami-net-mini": Shape(NTSC, "01:00:00;00", (2158, 2158), (30,)),
}


def made_file(code: str) -> Measurement:
    """The file of an outlet."""
    shape = SHAPES[code]
    parts = list(shape.head)
    for act, gap in zip(shape.acts, (*shape.gaps, shape.tail), strict=True):
        parts += [Part(act), *([black(gap)] if gap else [])]
    header = facts(
        pictures=(picture_stream(frame_rate=shape.rate, time_base=1 / shape.rate),),
        timecodes=(TimecodeSource("timecode track 3", shape.start, ";" in shape.start),),
    )
    return measurement(parts, header)


def judged(code: str, sheet: TimingSheet | None = None) -> tuple[Measurement, LoadedProfile, Verdict]:
    """The file of an outlet with its verdict."""
    made, profile = made_file(code), load_profile(code)
    return made, profile, judge(made, profile, sheet=sheet)
