"""Test sound, and what stands outside the project to measure it with."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from qc.figures.groups import ChannelGroup
from qc.measurement.record import SoundSeries
from qc.selftest.run import series_of
from qc.timing.spans import Span

__all__ = ["MONO", "STEREO", "Outside", "libebur128", "programmes", "series_of", "table", "tone", "whole"]

STEREO = ChannelGroup("stereo", (0, 1), (1.0, 1.0))
MONO = ChannelGroup("mono", (0,), (1.0,))


def table(name: str) -> list[dict[str, str]]:
    """Rows of a table of published values in tests/vectors/."""
    lines = (Path(__file__).resolve().parents[1] / "vectors" / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def whole(sound: SoundSeries) -> list[Span]:
    return [Span(0, sound.rows)]


def tone(seconds: float, dbfs: float, rate: int = 48_000, hertz: float = 997.0, channels: int = 2) -> np.ndarray:
    """(samples, channels) the same sine in every channel; dBFS of its peak."""
    sine = 10 ** (dbfs / 20) * np.sin(2 * np.pi * hertz / rate * np.arange(round(seconds * rate)))
    return np.repeat(sine[:, None], channels, axis=1)


def programme(seed: int, levels: Sequence[float | None], rate: int) -> np.ndarray:
    """(samples, 2) speech-like: low-passed noise in bursts, one second per level (dB RMS, None is silence)."""
    rng = np.random.default_rng(seed)
    samples = rng.standard_normal((len(levels) * rate, 2))
    samples[1:] = 0.6 * samples[1:] + 0.4 * samples[:-1]
    gains = np.array([0.0 if level is None else 10 ** (level / 20) for level in levels])
    syllables = 0.55 + 0.45 * np.sin(2 * np.pi * 4 / rate * np.arange(len(samples)) + rng.uniform(0, 6))
    return samples * (np.repeat(gains, rate) * syllables)[:, None]


def programmes(rate: int = 48_000, least: int = 3, most: int = 7) -> st.SearchStrategy[np.ndarray]:
    """Programmes of loud, quiet and silent seconds."""
    levels = st.lists(st.none() | st.floats(-60, -12), min_size=least, max_size=most)
    audible = levels.filter(lambda found: any(level is not None and level > -40 for level in found))
    return st.builds(programme, st.integers(0, 2**32 - 1), audible, st.just(rate))


@dataclass(frozen=True)
class Outside:
    """What another implementation reads, LUFS, LU and dB."""

    integrated: float
    loudness_range: float
    true_peak: float
    sample_peak: float


def libebur128(samples: np.ndarray, rate: int) -> Outside:
    """Readings of libebur128 (through pyebur128): its own filters, gates and interpolator."""
    import pyebur128

    mode = pyebur128.MeasurementMode
    channels = samples.shape[1]
    state = pyebur128.R128State(
        channels, rate, mode.MODE_I | mode.MODE_LRA | mode.MODE_TRUE_PEAK | mode.MODE_SAMPLE_PEAK
    )
    state.add_frames(np.ascontiguousarray(samples, dtype=np.float64).ravel(), len(samples))
    true = max(pyebur128.get_true_peak(state, channel) for channel in range(channels))
    sample = max(pyebur128.get_sample_peak(state, channel) for channel in range(channels))
    return Outside(
        integrated=pyebur128.get_loudness_global(state),
        loudness_range=pyebur128.get_loudness_range(state),
        true_peak=float(20 * np.log10(true)),
        sample_peak=float(20 * np.log10(sample)),
    )
