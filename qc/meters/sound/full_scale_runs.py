"""Runs of samples at full scale: what a clipped mix leaves behind."""

from __future__ import annotations

import numpy as np

from qc.meters.sound.rates import AFTER, BEFORE, STRETCH_ROWS

#: Samples in a row that make a run. Common practice, no source: one or two may be a limiter's honest peak.
SHORTEST = 3

#: Integer sound: the largest positive code of 16 bits, so within one 16-bit step of the largest code of
#: any depth. Float sound: 1.0.
INTEGER_FULL_SCALE = 1 - 2**-15
FLOAT_FULL_SCALE = 1.0


def full_scale_runs(wide: np.ndarray, full_scale: float) -> np.ndarray:
    """Runs that start in each row: (channels, STRETCH_ROWS) uint16.

    wide  (channels, BEFORE + samples + AFTER): a run counts once, where it starts, even if it
          began in this stretch and ends in a later one
    """
    at = np.abs(wide) >= full_scale
    length = wide.shape[1] - BEFORE - AFTER
    starts = ~at[:, BEFORE - 1 : BEFORE - 1 + length]
    for ahead in range(SHORTEST):
        starts &= at[:, BEFORE + ahead : BEFORE + ahead + length]
    return starts.reshape(len(wide), STRETCH_ROWS, -1).sum(axis=2, dtype=np.uint16)
