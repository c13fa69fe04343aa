"""From codes to steps, and how chroma lies under luma: what levels of any depth, range and sampling are brought to."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

from qc.meters.picture.level_ladder import Matrix
from qc.meters.picture.planes import Planes

#: What the filter's weights add up to, for luma and chroma of its size, and for chroma of half the width.
SUM, SUM_HALVED = 64, 128


@dataclass(frozen=True)
class Scale:
    """From codes to steps (8-bit narrow-range codes, see level_ladder): luma * gain + black; chroma * chroma_gain."""

    gain: float
    black: float
    chroma_gain: float
    middle: float  # the code of no colour

    @classmethod
    def of(cls, bits: int, full_range: bool) -> Scale:
        """Source: ITU-R BT.709-6, item 4.6; full range by ITU-T H.273, 8.3 (from memory)."""
        middle = float(1 << (bits - 1))
        if full_range:
            gain = 219.0 / ((1 << bits) - 1)
            return cls(gain, 16.0, gain, middle)
        gain = 2.0 ** (8 - bits)
        return cls(gain, 0.0, gain * 219 / 224, middle)

    def colour(self, matrix: Matrix | None, component: str) -> tuple[float, float, float]:
        """Factors of the codes of Cb and Cr in a component, and what is added."""
        return _colour(self, matrix, component)


@cache
def _colour(scale: Scale, matrix: Matrix | None, component: str) -> tuple[float, float, float]:
    if component == "Y" or matrix is None:
        return 0.0, 0.0, scale.black
    blue, red = (factor * scale.chroma_gain for factor in matrix.terms[component])
    return blue, red, scale.black - (blue + red) * scale.middle


@dataclass(frozen=True)
class Sampling:
    """How chroma lies under luma: across and down 1 or 2 pixels to a sample; 0 without colour."""

    across: int
    down: int

    @property
    def sum(self) -> int:
        """What the weights of filtered chroma add up to."""
        return SUM_HALVED if self.across == 2 else SUM


def usual(planes: Planes) -> tuple[np.ndarray | None, np.ndarray | None, Sampling]:
    """Chroma and its sampling; rare samplings (4:1:1, 4:1:0 ...) are brought to 4:2:2."""
    cb, cr = planes.cb, planes.cr
    if cb is None or cr is None:
        return None, None, Sampling(0, 0)
    across = -(-planes.width // max(1, cb.shape[1]))
    down = -(-planes.height // max(1, cb.shape[0]))
    if across <= 2 and down <= 2:
        return cb, cr, Sampling(across, down)
    size = (-(-planes.width // 2), planes.height)
    cb, cr = (cv2.resize(plane, size, interpolation=cv2.INTER_LINEAR) for plane in (cb, cr))
    return cb, cr, Sampling(2, 1)
