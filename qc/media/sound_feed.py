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
    silent(n)       n samples of silence lie here
    The rate and channels of the first frame stay; a frame that differs is told of and left out.
    """

    def __init__(
        self,
        stream: int,
        tell: Tell,
        deliver: Callable[[SoundBlock], None],
        silent: Callable[[int, int, int], None],
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
        self._held: list[AudioFrame] = []
        self._parts: list[np.ndarray] = []
        self._gathered = 0
        self._changed = False

    @property
    def waits(self) -> bool:
        """Whether frames pile up because time zero is not known yet."""
        return len(self._held) > _HELD_BACK

    def set_zero(self, zero: Fraction) -> None:
        """Stream time (seconds) that is time zero."""
        if self._zero is not None:
            return
        self._zero = zero
        held, self._held = self._held, []
        for frame in held:
            self._place(frame)

    def accept(self, frame: AudioFrame) -> None:
        if self._zero is None:
            self._held.append(frame)
        else:
            self._place(frame)

    def finish(self) -> None:
        """No more frames; set_zero was called."""
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
        self._gathered += count - placed.skip
        if self._gathered >= self.rate:
            self._flush()

    def _flush(self) -> None:
        if self._parts:
            parts, self._parts, self._gathered = self._parts, [], 0
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
