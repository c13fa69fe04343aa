"""K-weighted energy: the series behind every loudness figure.

Source: ITU-R BS.1770-5, Annex 1. Gates and channel weights come later, from whoever knows the span
and the layout.
"""

from __future__ import annotations

import numpy as np

from qc.meters.sound.blocked_filter import BlockedFilter
from qc.meters.sound.k_weighting import k_weighting
from qc.meters.sound.rates import STRETCH_ROWS, samples_per_row


class EnergyMeter:
    """Mean square of each K-weighted channel, one row per 10 ms, FS^2.

    Finer than the 100 ms of the gate: the highest momentary value needs it
    (EBU Tech 3341, Table 1, signal 13).
    """

    def __init__(self, rate: int, channels: int) -> None:
        self._step = samples_per_row(rate)
        self._filter = BlockedFilter(k_weighting(rate), STRETCH_ROWS * self._step, channels)

    def idle(self) -> np.ndarray:
        """(channels,) True where a silent stretch would leave nothing but silence."""
        return self._filter.at_rest()

    def rows(self, x: np.ndarray, channels: np.ndarray) -> np.ndarray:
        """(chosen, STRETCH_ROWS) of a stretch (chosen, samples) of the chosen channels."""
        weighted = self._filter(x, channels).reshape(len(x), STRETCH_ROWS, self._step)
        return np.einsum("crs,crs->cr", weighted, weighted) / self._step
