"""One sound stream on its way from the decoder: placed in time, gathered into blocks of about a second."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
from av.audio.frame import AudioFrame

from qc.media.happening import Happening, Tell
from qc.media.samples import SoundBlock, raw_samples, to_block
from qc.media.timestamps import SoundTimes

#: Frames held back while no picture has told where time zero lies; then the stream's own start is taken.
_HELD_BACK = 4000


class SoundFeed:
    """Takes decoded frames in order, gives blocks.

    deliver(block)  about a second of samples, (samples, channels)
    silent(n, ...)  n samples of silence lie here
    later(work)     runs the work in the thread of the meters, in order
    The rate and channels of the first frame stay; a frame that differs is told of and left out.
    """

    def __init__(
        self,
        stream: int,
        tell: Tell,
        deliver: Callable[[SoundBlock], None],
        silent: Callable[[int, int, int], None],
        later: Callable[[Callable[[], None]], None],
    ) -> None:
        self.stream = stream
        self.rate = 0
        self.channels = 0
        self.decoded = 0  # samples per channel
        self.times: SoundTimes | None = None
        self._tell = tell
        self._deliver = deliver
        self._silent = silent
        self._zero: Fraction | None = None
        self._later = later
        self._held: list[AudioFrame] = []
        self._held_samples = 0
        self._enough = 32_000
        self._parts: list[np.ndarray] = []
        self._changed = False

    @property
    def waits(self) -> bool:
        """Whether frames pile up because time zero is not known yet."""
        return len(self._held) > _HELD_BACK

    def set_zero(self, zero: Fraction) -> None:
        """Stream time (seconds) that is time zero."""
        self._zero = zero

    def accept(self, frame: AudioFrame) -> None:
        """Note one frame. The work is done later, a second of frames in one go: it costs a third of doing it singly."""
        self._held.append(frame)
        self._held_samples += frame.samples
        if self._held_samples >= self._enough and self._zero is not None:
            self._hand_on()

    def finish(self) -> None:
        """No more frames; set_zero was called."""
        self._hand_on()
        self._later(self._flush)

    def _hand_on(self) -> None:
        held, self._held = self._held, []
        self._held_samples = 0
        if held:
            self._enough = held[0].sample_rate
            self._later(lambda: self._place_all(held))

    def _place_all(self, frames: list[AudioFrame]) -> None:
        for frame in frames:
            self._place(frame)
        self._flush()

    @property
    def silence(self) -> int:
        """Samples of silence before the first sample."""
        return self.times.silence if self.times else 0

    @property
    def end(self) -> int:
        """Samples from time zero to the end of the last one."""
        return self.times.place if self.times else 0

    def _place(self, frame: AudioFrame) -> None:
        count = frame.samples
        if count <= 0:
            return
        if self.times is None:
            assert self._zero is not None
            self.rate, self.channels = frame.sample_rate, frame.layout.nb_channels
            base = frame.time_base or Fraction(1, self.rate)
            self.times = SoundTimes(self.stream, self.rate, Fraction(base), self._zero, self._tell)
        if frame.sample_rate != self.rate or frame.layout.nb_channels != self.channels:
            self._note_change(frame)
            return
        placed = self.times.accept(frame.pts, count)
        self.decoded += count
        if placed.silence:
            self._flush()
            self._silent(placed.silence, self.rate, self.channels)
        if placed.skip >= count:
            return
        raw = raw_samples(frame)
        if self._parts and raw.dtype != self._parts[-1].dtype:
            self._say("layout change", f"sample format changes to {frame.format.name}")
            self._flush()
        self._parts.append(raw[placed.skip :] if placed.skip else raw)

    def _flush(self) -> None:
        if self._parts:
            parts, self._parts = self._parts, []
            self._deliver(to_block(parts))

    def _note_change(self, frame: AudioFrame) -> None:
        if self._changed:
            return
        self._changed = True
        if frame.sample_rate != self.rate:
            self._say("rate change", f"{self.rate} Hz become {frame.sample_rate} Hz; not measured from here")
        else:
            channels = frame.layout.nb_channels
            self._say("layout change", f"{self.channels} channels become {channels}; not measured from here")

    def _say(self, kind: str, detail: str) -> None:
        at = Fraction(self.times.place, self.rate) if self.times else None
        self._tell(Happening(kind, self.stream, None, at, detail))
