"""Presentation times against what a constant rate would give.

A time base is often coarse (thousandths, 600ths): one tick either way is rounding, not a fault
(common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from qc.media.happening import Happening, Tell

#: A step this long, or backwards, is a jump rather than a gap.
JUMP_SECONDS = 10
#: Missing sound is filled with silence up to this long, so that what follows lies where its time says.
FILL_SECONDS = 600
#: Sound this long before the first picture is told of when it is left out.
EARLY_SECONDS = Fraction(1, 10)


class PictureTimes:
    """Steps between the pictures of one stream, in ticks of its time base."""

    def __init__(self, stream: int, time_base: Fraction, rate: Fraction | None, tell: Tell) -> None:
        self.stream = stream
        self.time_base = time_base
        self._step = 1 / (rate * time_base) if rate else None  # ticks per frame
        self._usual = -1  # a step known to be right
        self._tell = tell
        self.first: int | None = None
        self.last = 0
        self.frames = 0

    def seconds(self) -> Fraction:
        """Time of the latest frame from the first."""
        return (self.last - self.first) * self.time_base if self.first is not None else Fraction(0)

    def accept(self, pts: int | None) -> int:
        """Note one frame; returns its time in ticks from the first."""
        if self.first is None:
            self.first = self.last = pts if pts is not None else 0
            self.frames = 1
            return 0
        if pts is None:  # no time of its own: it follows the one before
            pts = self.last + round(self._step or 1)
        delta, before = pts - self.last, self.last
        self.last = pts
        if delta != self._usual and self._step is not None:
            self._compare(delta, before)
        self.frames += 1
        return pts - self.first

    def _compare(self, delta: int, before: int) -> None:
        assert self._step is not None and self.first is not None
        off = delta - self._step
        if abs(off) <= 1:
            self._usual = delta
            return
        milliseconds = float(delta * self.time_base * 1000)
        if delta < 0 or delta * self.time_base > JUMP_SECONDS:
            kind, how = "timestamp jump", f"the next picture lies {milliseconds:.1f} ms on"
        elif off > 0:
            missing = round(delta / self._step) - 1
            kind, how = "timestamp gap", f"the next picture comes {milliseconds:.1f} ms later ({missing} missing)"
        else:
            kind, how = "timestamp repeat", f"the next picture comes only {milliseconds:.1f} ms later"
        self._tell(Happening(kind, self.stream, self.frames, (before - self.first) * self.time_base, how))


@dataclass(frozen=True)
class Placed:
    """What to do so that a stretch of samples lies where its time says.

    silence  samples of silence to put before it
    skip     samples to leave out at its beginning
    """

    silence: int
    skip: int


AS_IT_COMES = Placed(0, 0)


class SoundTimes:
    """Where each stretch of one sound stream lies, in samples from time zero.

    zero  stream time in seconds that is time zero; reckoned in whole numbers, since this runs for
          every packet of every stream
    """

    def __init__(self, stream: int, rate: int, time_base: Fraction, zero: Fraction, tell: Tell) -> None:
        self._stream = stream
        self._rate = rate
        self._tell = tell
        self._per_tick = rate * time_base.numerator * zero.denominator
        self._before = rate * zero.numerator * time_base.denominator
        self._whole = time_base.denominator * zero.denominator
        self._tolerance = 1 + -(-rate * time_base.numerator // time_base.denominator)
        self._shift = 0  # samples that jumps have moved the stream by
        self._begun = False
        self._told_early = False
        self.place = 0  # samples placed so far, silence included
        self.silence = 0  # samples of silence before the first

    def accept(self, pts: int | None, samples: int) -> Placed:
        """Place a stretch by its time in ticks; without a time it follows what came before."""
        off = 0
        if pts is not None:
            lies = (2 * (pts * self._per_tick - self._before) + self._whole) // (2 * self._whole)
            off = lies - self._shift - self.place
        if not self._begun:
            return self._begin(off, samples)
        if -self._tolerance <= off <= self._tolerance:
            self.place += samples
            return AS_IT_COMES
        milliseconds = off * 1000 / self._rate
        if abs(off) > JUMP_SECONDS * self._rate:
            self._say("timestamp jump", f"sound continues {milliseconds:.1f} ms from where it should")
            self._shift += off
            return self._put(0, 0, samples)
        if off > 0:
            self._say("timestamp gap", f"{milliseconds:.1f} ms of sound are missing")
            return self._put(off, 0, samples)
        self._say("timestamp repeat", f"sound overlaps what came before by {-milliseconds:.1f} ms")
        return self._put(0, -off, samples)

    def _begin(self, off: int, samples: int) -> Placed:
        """The first stretch, and those that lie wholly before time zero."""
        if abs(off) > FILL_SECONDS * self._rate:
            start = off / self._rate
            self._say("timestamp jump", f"sound starts {start:.1f} s from the first picture; taken as together")
            self._shift, off = off, 0
        if off >= 0:
            self._begun = True
            self.silence = off
            return self._put(off, 0, samples)
        if -off > EARLY_SECONDS * self._rate and not self._told_early:
            early = -off * 1000 / self._rate
            self._say("timestamp jump", f"sound starts {early:.1f} ms before the first picture; that much is left out")
            self._told_early = True
        self._begun = -off < samples
        return self._put(0, -off, samples)

    def _put(self, silence: int, skip: int, samples: int) -> Placed:
        skip = min(skip, samples)
        self.place += silence + samples - skip
        return Placed(silence, skip)

    def _say(self, kind: str, detail: str) -> None:
        self._tell(Happening(kind, self._stream, None, Fraction(self.place, self._rate), detail))
