"""How one frame looks by itself: how much of it is one colour, and its block edges.

Levels and gamut have meters of their own; these numbers are for telling a frame from its neighbours, and a picture
from a card of one colour.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.frame_rows import FrameRows
from qc.meters.picture.planes import Planes

#: Codes of 8 bits by which pixels may differ and still be one colour, up and down.
SAME = 2
#: Every so many rows are looked at for block edges.
ROW_STEP = 32
#: Side of a transform block of the usual codecs, in pixels.
BLOCK = 8

_NEAR = np.ones(2 * SAME + 1, np.float32)

_NAMES = ("solid", "solid_luma", "solid_cb", "solid_cr", "edges8")


class LookMeter:
    """Series, each (frames,) float16 and NaN where a frame was skipped:

    look.solid            share of the picture that is of its commonest colour, within 2 codes of luma, Cb and Cr
    look.solid_luma, solid_cb, solid_cr   that colour, codes of 8 bits
    look.edges8           steps along rows at the edges of 8-pixel blocks, as a multiple of those elsewhere
    """

    def __init__(self) -> None:
        cv2.setNumThreads(1)
        self._rows = FrameRows(_NAMES)

    def feed(self, planes: Planes) -> None:
        row, luma = self._rows.next(), planes.tiny
        counts = cv2.calcHist([luma], [0], None, [256], [0, 256]).ravel()
        _solid(row, luma, counts, planes.tiny_chroma or ())
        rows = planes.luma[ROW_STEP // 2 :: ROW_STEP]
        if rows.shape[0] and rows.shape[1] >= 8 * BLOCK:
            row["edges8"] = _edges(rows, planes.unit)

    def skip(self) -> None:
        self._rows.next()

    def finish(self) -> dict[str, np.ndarray]:
        return self._rows.finish("look")


def _solid(row: dict[str, float], luma: np.ndarray, counts: np.ndarray, chroma: tuple[np.ndarray, ...]) -> None:
    """Commonest luma, and of the pixels that have it those that have their commonest chroma, too."""
    code, pixels = _commonest(counts)
    row["solid"], row["solid_luma"] = pixels / luma.size, code
    if row["solid"] < 0.25:  # no card of one colour: its chroma is not worth the time
        return
    alike = cv2.inRange(luma, code - SAME, code + SAME)  # type: ignore[call-overload]
    for name, plane in zip(("solid_cb", "solid_cr"), chroma, strict=False):
        if plane.shape != luma.shape:
            return
        own = cv2.calcHist([plane], [0], alike, [256], [0, 256]).ravel()
        code, _ = _commonest(own)
        row[name] = code - 128
        alike = cv2.bitwise_and(alike, cv2.inRange(plane, code - SAME, code + SAME))  # type: ignore[call-overload]
    row["solid"] = cv2.countNonZero(alike) / luma.size


def _commonest(counts: np.ndarray) -> tuple[int, float]:
    """The code that most pixels are within SAME of, and how many; of several such codes the one that most have."""
    near = np.convolve(counts, _NEAR, "same")
    most = near.max()
    return int(np.where(near == most, counts, -1).argmax()), float(most)


def _edges(rows: np.ndarray, unit: float) -> float:
    steps = cv2.reduce(cv2.absdiff(rows[:, 1:], rows[:, :-1]), 0, cv2.REDUCE_SUM, dtype=cv2.CV_32F).ravel()
    steps = steps[: len(steps) // BLOCK * BLOCK].reshape(-1, BLOCK).mean(axis=0) / (rows.shape[0] * unit)
    return float(steps[-1]) / (float(steps[:-1].mean()) + 0.05)
