"""One frame and its smaller copies, made once and shared by all picture meters.

Every copy is a box average of codes, so a value in it is a convex mix of the picture's own values. Two steps of
exact 2 x 2 averages cost less than one direct reduction. An interlaced frame keeps its fields apart where time matters.
"""

from __future__ import annotations

from functools import cached_property

import cv2
import numpy as np


def halved(plane: np.ndarray) -> np.ndarray:
    """(h // 2, w // 2): average of each 2 x 2, rounded; an odd last row or column is left out."""
    height, width = plane.shape[0] // 2, plane.shape[1] // 2
    if not height or not width:
        return plane[:1, :1]
    return cv2.resize(plane[: 2 * height, : 2 * width], (width, height), interpolation=cv2.INTER_AREA)


def _paired(plane: np.ndarray, bits: int) -> np.ndarray:
    """(h // 2, w): average of each two rows, rounded."""
    upper, lower = plane[0::2], plane[1::2]
    if plane.dtype == np.uint8 or bits > 15:  # a word does not hold the sum
        return cv2.addWeighted(upper, 0.5, lower, 0.5, 0.0)
    both = np.asarray(cv2.add(upper, lower), np.uint16)
    both += 1
    return np.right_shift(both, 1, out=both)


class Planes:
    """One decoded picture as code values.

    number      of the frame, from 0
    luma        (h, w) uint8 (8 bits) or uint16 (9 to 16 bits), rows contiguous, any row stride
    cb, cr      of the format's own size; None without colour
    bits        of a code; full_range: codes run from 0 to 2**bits - 1
    interlaced  two fields as flagged; top_first: which of them is earlier
    afd         active format description of the picture, four bits; None without one
    """

    def __init__(
        self,
        number: int,
        luma: np.ndarray,
        cb: np.ndarray | None,
        cr: np.ndarray | None,
        bits: int,
        full_range: bool = False,
        interlaced: bool = False,
        top_first: bool = True,
        afd: int | None = None,
    ) -> None:
        self.number = number
        self.luma, self.cb, self.cr = luma, cb, cr
        self.bits, self.full_range = bits, full_range
        self.interlaced, self.top_first = interlaced, top_first
        self.afd = afd

    @property
    def height(self) -> int:
        return int(self.luma.shape[0])

    @property
    def width(self) -> int:
        return int(self.luma.shape[1])

    @cached_property
    def top(self) -> np.ndarray:
        """Upper field (rows 0, 2, ...) in 2 x 2 averages of its own rows, (h // 4, w // 2)."""
        return halved(self.luma[0::2])

    @cached_property
    def bottom(self) -> np.ndarray:
        """Lower field (rows 1, 3, ...) likewise."""
        return halved(self.luma[1::2])

    @cached_property
    def half(self) -> np.ndarray:
        """(h // 2, w // 2) averages of the whole frame."""
        return halved(self.luma)

    @cached_property
    def quarter(self) -> np.ndarray:
        """(h // 4, w // 4) averages of 4 x 4."""
        return halved(self.half)

    @cached_property
    def eighth(self) -> np.ndarray:
        """(h // 8, w // 8) averages of 8 x 8."""
        return halved(self.quarter)

    @cached_property
    def chroma_half(self) -> tuple[np.ndarray, np.ndarray] | None:
        """Cb and Cr in averages of 2 x 2 pixels of the frame, (h // 2, w // 2); None without colour."""
        return self._chroma(2)

    @cached_property
    def chroma_quarter(self) -> tuple[np.ndarray, np.ndarray] | None:
        """Cb and Cr in averages of 4 x 4 pixels of the frame, (h // 4, w // 4); None without colour."""
        both = self.chroma_half
        return None if both is None else (halved(both[0]), halved(both[1]))

    @cached_property
    def chroma_eighth(self) -> tuple[np.ndarray, np.ndarray] | None:
        """(h // 8, w // 8); None without colour."""
        both = self.chroma_quarter
        return None if both is None else (halved(both[0]), halved(both[1]))

    def _chroma(self, step: int) -> tuple[np.ndarray, np.ndarray] | None:
        if self.cb is None or self.cr is None:
            return None
        height, width = max(1, self.height // step), max(1, self.width // step)
        return self._fitted(self.cb, height, width), self._fitted(self.cr, height, width)

    def _fitted(self, plane: np.ndarray, height: int, width: int) -> np.ndarray:
        """A plane brought to a size by box averages; rows alone in pairs, several times faster."""
        height, width = max(1, height), max(1, width)
        if plane.shape == (height, width):
            return plane
        if plane.shape[0] // 2 == height and plane.shape[1] == width and height > 1:
            return _paired(plane[: 2 * height], self.bits)
        return cv2.resize(plane, (width, height), interpolation=cv2.INTER_AREA)
