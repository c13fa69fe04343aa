"""Which field comes first, by what moves: rows of one field between rows of the other, seconds apart or not at all.

Two frames A and B that follow each other hold four fields. Lower rows of A woven with upper rows of A belong
together if the frame is progressive. Lower rows of A with upper rows of B are neighbours in time if the upper field
comes first; lower rows of B with upper rows of A are if the lower one does; the other way round they are one and a
half frames apart and comb three times as much. The three combings are measured side by side where something moves,
whatever the flags say: interlaced pictures in a progressive file are found as well.

A row combs where it is brighter, or darker, than both its neighbours. A picture's own fine detail does so in all
three weaves alike. The method is common practice; there is no published one.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.geometry_series import FIELDS_EVERY
from qc.meters.picture.planes import Planes

#: Bands of rows that a pair is compared in; they move down the picture from pair to pair.
BANDS, BAND_ROWS = 12, 16
#: What a pixel must differ by from frame to frame to move, and what a row must stand out by to comb: codes of 8 bits.
MOVES, COMBS = 8, 4


class FieldOrderMeter:
    """Series:

    fields.frame   (pairs,) int32, first frame of each compared pair
    fields.energy  (pairs, 4) float32: combing of one frame's own rows, of the weave that belongs together if the
                   upper field comes first, of that if the lower one does (mean codes of 8 bits over what moves),
                   and the share of the compared pixels that moves, 0 to 1
    """

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        self._frames = 0
        self._before: _Bands | None = None
        self._pairs: list[int] = []
        self._energy: list[tuple[float, float, float, float]] = []

    def feed(self, planes: Planes) -> None:
        turn, step = divmod(self._frames, FIELDS_EVERY)
        if step == 0:
            self._before = _Bands.of(planes, turn)
        elif step == 1 and self._before is not None:
            now = _Bands.of(planes, turn)
            if now is not None and now.shape == self._before.shape:
                self._pairs.append(self._frames - 1)
                self._energy.append(_energies(self._before, now))
            self._before = None
        self._frames += 1

    def skip(self) -> None:
        self._before = None
        self._frames += 1

    def finish(self) -> dict[str, np.ndarray]:
        return {
            "fields.frame": np.array(self._pairs, np.int32),
            "fields.energy": np.array(self._energy, np.float32).reshape(-1, 4),
        }


class _Bands:
    """Rows of both fields of one frame, (bands, rows, columns) uint8 each; the frame itself may go.

    shape  of the frame and its place in time, equal for frames that can be compared
    """

    def __init__(self, upper: np.ndarray, lower: np.ndarray, shape: tuple[int, ...]) -> None:
        bands, self._width = len(upper), upper.shape[2]
        self.upper, self.lower = upper.reshape(bands, -1), lower.reshape(bands, -1)
        self.shape = shape
        above, below = self.upper[:, : -self._width], self.upper[:, self._width :]
        self._brightest, self._darkest = cv2.max(above, below), cv2.min(above, below)

    @classmethod
    def of(cls, planes: Planes, turn: int) -> _Bands | None:
        """None for a picture of fewer than four rows."""
        luma = planes.luma
        height, width = luma.shape
        rows = min(BAND_ROWS, height - height % 2)
        if rows < 4:
            return None
        bands = max(1, min(BANDS, height // rows))
        pitch = height // bands
        slack = (pitch - rows) // 2 + 1
        first = 2 * (turn * (rows // 2) % slack)
        at = first + pitch // 2 * 2 * np.arange(bands)
        taken = np.concatenate([luma[row : row + rows] for row in at])
        if taken.dtype != np.uint8:
            taken = cv2.convertScaleAbs(taken, alpha=2.0 ** (8 - planes.bits))
        taken = taken.reshape(bands, rows, width)
        upper, lower = np.ascontiguousarray(taken[:, 0::2]), np.ascontiguousarray(taken[:, 1::2])
        return cls(upper, lower, (height, width, planes.bits))

    @property
    def between(self) -> np.ndarray:
        """Lower rows that have an upper row on both sides."""
        return self.lower[:, : -self._width]

    def combing(self, rows: np.ndarray, moving: np.ndarray) -> float:
        """Sum over what moves of how far ``rows`` stand out from this frame's upper rows."""
        over, under = cv2.subtract(rows, self._brightest), cv2.subtract(self._darkest, rows)
        out = cv2.subtract(cv2.max(over, under), COMBS)  # type: ignore[call-overload]
        return float(cv2.sumElems(cv2.min(out, moving))[0])


def _energies(before: _Bands, now: _Bands) -> tuple[float, float, float, float]:
    moving = cv2.threshold(cv2.absdiff(before.between, now.between), MOVES, 255, cv2.THRESH_BINARY)[1]
    count = cv2.countNonZero(moving)
    if not count:
        return 0.0, 0.0, 0.0, 0.0
    own = (before.combing(before.between, moving) + now.combing(now.between, moving)) / 2
    top = now.combing(before.between, moving)
    bottom = before.combing(now.between, moving)
    return own / count, top / count, bottom / count, count / moving.size
