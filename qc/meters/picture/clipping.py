"""Clipped highlights: how much of a picture stands at one code at the top of what it holds.

Where brightness runs into a ceiling (a camera at its limit, a legaliser), everything above it lands on one code. Looked
for in every twelfth picture, in the histogram of evenly spaced rows: it lasts as long as a shot does.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.planes import Planes

#: One picture in so many is looked at; row k of the series is picture k * EVERY.
EVERY = 12
#: Rows of a picture that are counted, of 700 lines and more and of fewer.
_STEP_TALL, _STEP, _TALL = 8, 4, 700
#: From this step on (8-bit code; 75 % of the nominal range) a plateau is a matter of highlights.
_BRIGHT = 180
#: A plateau is a step and its neighbours, as a codec spreads it. Above it lies no more than a tenth of its mass
#: (ringing); right below it lies some (brightness runs up to it, which type and drawings on screen do not do), and
#: nowhere near as densely. Common practice, no source.
_ABOVE, _BELOW, _DENSER = 0.1, 0.2, 3.0
_NEAR, _FAR = 4, 24


class ClippingMeter:
    """Series, one row for every twelfth picture:

    clipping.share  uint16, share of the picture at its plateau in 1/65535; 0 without one, or not measured
    clipping.step   uint8, where the plateau stands, as an 8-bit narrow-range code
    """

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        self._frames = 0
        self._found: list[tuple[float, int]] = []

    def feed(self, planes: Planes) -> None:
        if self._frames % EVERY == 0:
            self._found.append(_plateau(_steps(planes)))
        self._frames += 1

    def skip(self) -> None:
        if self._frames % EVERY == 0:
            self._found.append((0.0, 0))
        self._frames += 1

    def finish(self) -> dict[str, np.ndarray]:
        share = np.array([share for share, _ in self._found])
        return {
            "clipping.share": np.round(share * 65535).astype(np.uint16),
            "clipping.step": np.array([step for _, step in self._found], np.uint8),
        }


def _steps(planes: Planes) -> np.ndarray:
    """(256,) share of the rows' pixels at each step."""
    rows = planes.luma[:: _STEP_TALL if planes.height >= _TALL else _STEP]
    codes = 1 << planes.bits
    counts = cv2.calcHist([rows], [0], None, [codes], [0, codes]).ravel()
    if planes.full_range:
        places = np.round(16 + np.arange(codes) * 219 / (codes - 1)).astype(np.intp)
    else:
        places = np.arange(codes) >> (planes.bits - 8)
    return np.bincount(places, counts, 256) / max(1, rows.size)


def _plateau(share: np.ndarray) -> tuple[float, int]:
    """Share and step of the plateau; (0, 0) without one."""
    three = np.convolve(share, np.ones(3), "same")
    step = _BRIGHT + int(np.argmax(three[_BRIGHT:]))
    mass, above = float(three[step]), float(share[step + 2 :].sum())
    below = share[step - _FAR : step - _NEAR]
    clipped = above <= _ABOVE * mass and below.sum() >= _BELOW * mass and mass / 3 >= _DENSER * below.mean()
    return (mass, step) if clipped else (0.0, 0)
