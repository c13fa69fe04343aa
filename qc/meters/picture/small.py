"""The copy of a frame that time is compared on: 150 to 300 rows, whatever the raster, and half of that."""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.planes import Planes, halved

#: Rows of the small plane: the first of the copies that has no more. 151 at least, unless the raster has fewer.
SMALL_ROWS = 300


def unit_of(planes: Planes) -> float:
    """Codes of this depth to one code of 8 bits."""
    return 2.0 ** (max(planes.bits, 8) - 8)


def small_planes(planes: Planes) -> tuple[np.ndarray, np.ndarray]:
    """The small plane, and the tiny one of half its size. Both may be kept: neither is the decoder's memory."""
    levels = small_level(planes)
    small = _level(planes, levels)
    return (small.copy() if levels == 0 else small), _level(planes, levels + 1)


def small_level(planes: Planes) -> int:
    """How many times the small plane is halved: 2 for 720 and 1080 lines."""
    level, rows = 0, planes.height
    while rows > SMALL_ROWS:
        level, rows = level + 1, rows // 2
    return level


def tiny_chroma(planes: Planes) -> tuple[np.ndarray, np.ndarray] | None:
    """Cb and Cr in the size of the tiny plane; None without colour."""
    levels = small_level(planes) + 1
    both = {1: "chroma_half", 2: "chroma_quarter"}.get(levels, "chroma_eighth")
    chroma: tuple[np.ndarray, np.ndarray] | None = getattr(planes, both)
    for _ in range(levels - 3):
        if chroma is not None:
            chroma = halved(chroma[0]), halved(chroma[1])
    return chroma


def _level(planes: Planes, level: int) -> np.ndarray:
    copy = getattr(planes, ("luma", "half", "quarter", "eighth")[min(level, 3)])
    for _ in range(level - 3):
        copy = halved(copy)
    return np.asarray(copy)


def to_8_bits(plane: np.ndarray, unit: float) -> np.ndarray:
    """Codes of 8 bits, rounded."""
    return plane if plane.dtype == np.uint8 else cv2.convertScaleAbs(plane, alpha=1 / unit)
