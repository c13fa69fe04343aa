"""Cards of a head beside the bars: a slate with lines of text, the numbers of a countdown, a clock with one hand."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from qc.demo.raster import BLACK, Planes, Raster
from qc.media.letters import written

_INK, _GROUND, _RING = 200, 40, 150


def slate(raster: Raster, lines: Sequence[str]) -> Planes:
    """Light text on a dark ground inside a thin frame, one line under the other."""
    luma = raster.plane(_GROUND)
    scale = max(1, raster.height // 90)
    edge = 3 * scale
    luma[edge : 2 * edge, edge:-edge] = luma[-2 * edge : -edge, edge:-edge] = _RING
    luma[edge:-edge, edge : 2 * edge] = luma[edge:-edge, -2 * edge : -edge] = _RING
    for place, line in enumerate(lines):
        _put(luma, line, scale, 0.18 + 0.13 * place)
    return luma, raster.chroma(), raster.chroma()


def countdown(raster: Raster, number: int) -> Planes:
    """A number in a ring."""
    luma = _dial(raster).copy()
    _put(luma, str(number), 4 * max(1, raster.height // 90), 0.5 - 18 * max(1, raster.height // 90) / raster.height)
    return luma, raster.chroma(), raster.chroma()


def clock(raster: Raster, turn: float) -> Planes:
    """A ring with one hand; ``turn`` 0 is up, 1 is once round."""
    luma = _dial(raster).copy()
    right, up, radius = _around(raster)
    along = right * np.sin(2 * np.pi * turn) + up * np.cos(2 * np.pi * turn)
    beside = np.abs(right * np.cos(2 * np.pi * turn) - up * np.sin(2 * np.pi * turn))
    width = radius / 25
    ink = np.clip(width + 0.5 - beside, 0, 1) * np.clip(0.9 * radius - along + 0.5, 0, 1) * (along > 0)
    luma = np.maximum(luma, (BLACK + ink * (_INK - BLACK)).astype(np.uint8))
    return luma, raster.chroma(), raster.chroma()


@lru_cache(maxsize=2)
def _dial(raster: Raster) -> np.ndarray:
    right, up, radius = _around(raster)
    ring = np.clip(radius / 30 + 0.5 - np.abs(np.hypot(right, up) - radius), 0, 1)
    return (BLACK + ring * (_RING - BLACK)).astype(np.uint8)


@lru_cache(maxsize=2)
def _around(raster: Raster) -> tuple[np.ndarray, np.ndarray, float]:
    """Pixels to the right of the middle and above it, and the radius of the ring."""
    rows, columns = np.mgrid[0 : raster.height, 0 : raster.width].astype(np.float32)
    return columns - raster.width / 2, raster.height / 2 - rows, 0.38 * raster.height


def _put(luma: np.ndarray, text: str, scale: int, down: float) -> None:
    """Light letters, centred, their top at a share of the height."""
    ink = written(text, scale)
    height, width = ink.shape
    top, left = int(luma.shape[0] * down), max(0, (luma.shape[1] - width) // 2)
    here = luma[top : top + height, left : left + width]
    here[ink[: here.shape[0], : here.shape[1]]] = _INK
