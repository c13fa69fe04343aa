"""Steps between frames in presentation time: constant, or not."""

from __future__ import annotations

import numpy as np

from qc.measurement.record import Measurement

#: Share of steps that may be off before the rate is called variable; fewer are single gaps and repeats.
_VARIABLE_SHARE = 0.01


def odd_steps(measurement: Measurement) -> np.ndarray:
    """Frames before which the step is not one frame of the declared rate, one tick tolerated; (n,) ascending."""
    picture, rate = measurement.picture, measurement.rate
    if picture is None or rate is None or picture.frames < 2:
        return np.empty(0, np.int64)
    nominal = 1 / (rate * picture.time_base)
    off = np.abs(np.diff(picture.time).astype(np.float64) - float(nominal))
    return np.flatnonzero(off > 1.0 + 1e-6) + 1


def variable_rate(measurement: Measurement) -> bool:
    """So many steps are off that a frame is no measure of time."""
    picture = measurement.picture
    if picture is None or picture.frames < 2:
        return False
    return len(odd_steps(measurement)) > _VARIABLE_SHARE * (picture.frames - 1)
