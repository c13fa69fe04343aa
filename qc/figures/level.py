"""Plain level: unweighted, ungated. A full-scale sine reads -3.01 dBFS RMS."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from qc.figures.peaks import highest
from qc.figures.reading import Reading
from qc.figures.rows import clipped, joined
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span


def level_dbfs(sound: SoundSeries, channels: Sequence[int], spans: Sequence[Span]) -> Reading:
    """RMS over the spans, mean of the channels' powers, dBFS with 1.0 as the reference."""
    absent = [channel + 1 for channel in channels if channel >= sound.channels]
    if absent:
        return Reading(None, f"the file has no channel {absent[0]}")
    inside = clipped(spans, sound.rows)
    if not inside or not channels:
        return Reading(None, "the span holds no sound")
    power = float(joined(sound.plain, inside)[:, list(channels)].mean(dtype=np.float64))
    return Reading(float(10 * np.log10(power))) if power > 0 else Reading(None, "digital silence", silent=True)


def highest_sample_dbfs(sound: SoundSeries, channels: Sequence[int], spans: Sequence[Span]) -> Reading:
    """Largest sample magnitude, dBFS, with its row and channel."""
    return highest(sound, sound.sample_peak, tuple(channels), spans)
