"""Plain level and sample peak: what an unweighted meter sees in 10 ms."""

from __future__ import annotations

import numpy as np

from qc.meters.sound.rates import STRETCH_ROWS


def mean_square(x: np.ndarray) -> np.ndarray:
    """Unweighted mean square, FS^2: (channels, STRETCH_ROWS) of a stretch (channels, samples)."""
    rows = x.reshape(len(x), STRETCH_ROWS, -1)
    return np.einsum("crs,crs->cr", rows, rows) / rows.shape[2]


def sample_peak(x: np.ndarray) -> np.ndarray:
    """Largest magnitude: (channels, STRETCH_ROWS) of a stretch (channels, samples); NaN where a sample is NaN."""
    rows = x.reshape(len(x), STRETCH_ROWS, -1)
    return np.maximum(rows.max(axis=2), -rows.min(axis=2))
