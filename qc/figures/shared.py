"""Figures of one sound series, each worked out once.

Outlets that judge the same channels over the same spans share them: six outlets cost little more than one.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from typing import TypeVar, cast

import numpy as np

from qc.figures import loudness, peaks
from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.figures.rows import clipped
from qc.figures.silence import silent_runs
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span

T = TypeVar("T")


class Figures:
    """Asked as the functions of qc.figures are, without the series. Nothing that is handed out may be changed."""

    def __init__(self, sound: SoundSeries | None) -> None:
        self._sound = sound
        self._known: dict[Hashable, object] = {}
        self._gained: tuple[Hashable, Figures] | None = None

    @property
    def sound(self) -> SoundSeries:
        """Raises ValueError if there is none: whoever asks for a figure has looked."""
        if self._sound is None:
            raise ValueError("there is no sound to take a figure of")
        return self._sound

    def once(self, key: Hashable, make: Callable[[], T]) -> T:
        """What ``make`` returned when this key was asked for first."""
        if key not in self._known:
            self._known[key] = make()
        return cast(T, self._known[key])

    def integrated(self, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
        return self._reading(loudness.integrated, group, spans)

    def max_momentary(self, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
        return self._reading(loudness.max_momentary, group, spans)

    def max_short_term(self, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
        return self._reading(loudness.max_short_term, group, spans)

    def loudness_range(self, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
        return self._reading(loudness.loudness_range, group, spans)

    def true_peak(self, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
        return self._reading(peaks.true_peak, group, spans)

    def worst_peaks(
        self, group: ChannelGroup, spans: Sequence[Span], ceiling_dbtp: float, most: int
    ) -> tuple[tuple[peaks.Peak, ...], int]:
        """The ``most`` highest events over a ceiling, worst first, and how many there are in all."""
        key = ("worst peaks", group.channels, tuple(spans), round(ceiling_dbtp, 6), most)
        return self.once(key, lambda: peaks.worst_peaks(self.sound, group, spans, ceiling_dbtp, most))

    def silent_runs(self, channels: Sequence[int], below_dbfs: float) -> list[Span]:
        key = ("silence", tuple(channels), below_dbfs)
        return self.once(key, lambda: silent_runs(self.sound, channels, below_dbfs))

    def after_gain(self, group: ChannelGroup, spans: Sequence[Span], gain_db: float) -> Figures:
        """Figures of the same sound with a gain on these channels over these rows; the last one asked for is kept."""
        key = (group.channels, tuple(spans), round(gain_db, 6))
        if self._gained is None or self._gained[0] != key:
            self._gained = key, Figures(_gained(self.sound, group, spans, gain_db))
        return self._gained[1]

    def _reading(
        self,
        figure: Callable[[SoundSeries, ChannelGroup, Sequence[Span]], Reading],
        group: ChannelGroup,
        spans: Sequence[Span],
    ) -> Reading:
        key = (figure.__name__, group.channels, group.weights, tuple(spans))
        return self.once(key, lambda: figure(self.sound, group, spans))


def _gained(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span], gain_db: float) -> SoundSeries:
    """A gain of g dB multiplies mean squares by 10^(g/10) and magnitudes by 10^(g/20)."""
    energy, true_peak = sound.energy.copy(), sound.true_peak.copy()
    channels = [channel for channel in group.channels if channel < sound.channels]
    for span in clipped(spans, sound.rows):
        energy[span.first : span.end, channels] *= np.float32(10 ** (gain_db / 10))
        true_peak[span.first : span.end, channels] *= np.float32(10 ** (gain_db / 20))
    return replace(sound, energy=energy, true_peak=true_peak)
