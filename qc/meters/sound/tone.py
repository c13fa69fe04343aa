"""Zero crossings: what the frequency of a tone is read from.

A tone crosses zero twice a cycle, so its frequency is half the crossings of a second; over whole seconds the count
is exact to one crossing (0.05 % of 1 kHz over 1 s). Whether it is a tone at all, its level and its steadiness say
the other series.
"""

from __future__ import annotations

import numpy as np

from qc.meters.sound.rates import AFTER, BEFORE, STRETCH_ROWS

#: Crossings of 10 ms are counted up to here (12.7 kHz), which one byte holds.
MOST_CROSSINGS = 255


def zero_crossings(wide: np.ndarray) -> np.ndarray:
    """Changes of sign in each row, between the sample before it and its last: (channels, STRETCH_ROWS) uint8.

    wide  (channels, BEFORE + samples + AFTER); nought counts as positive, so digital silence crosses nothing
    """
    length = wide.shape[1] - BEFORE - AFTER
    below = wide[:, BEFORE - 1 : BEFORE + length] < 0
    crossings = (below[:, 1:] != below[:, :-1]).reshape(len(wide), STRETCH_ROWS, -1).sum(axis=2, dtype=np.uint16)
    return np.minimum(crossings, MOST_CROSSINGS).astype(np.uint8)
