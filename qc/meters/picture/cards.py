"""Cards: a small picture in colour once a second, and how much each frame differs from the one before.

Behind colour bars, slates, clocks and countdowns: what stands still is seen in the differences, what it shows in
the small pictures. Each value is an average of the frame's own codes over a cell, so noise and coding move it little.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.averages import halved
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.planes import Planes

#: Rows and columns of a small picture.
DOWN, ACROSS = 36, 64
#: The plane that differences are taken on is halved as long as it stays at least this large.
LEAST_DOWN, LEAST_ACROSS = 32, 56
#: A cell has moved from this difference on, in 8-bit codes: above what coding does to a still picture.
MOVED = 3
#: The border is this share of the height and width on each side.
BORDER = 0.1
#: What a row holds where there is nothing to compare: the first frame, a damaged one, another raster.
NOT_MEASURED = 0xFFFF
#: Small pictures kept; a longer programme keeps those of its first minutes and every second, fourth ... of the rest.
MOST_CARDS, ALWAYS_KEPT = 4096, 600


class CardsMeter:
    """Series:

    cards.change   (frames, 4) uint16, against the frame before, NOT_MEASURED where there is nothing to compare:
                   mean difference of luma in 1/64 of an 8-bit code; cells that moved in 1/10000 of all cells; cells
                   of the border that moved in 1/10000 of the border; largest difference of a cell in 1/16 code
    cards.at       (cards,) uint32, frame of each small picture
    cards.picture  (cards, DOWN, ACROSS, 3) uint8, Y'CbCr as 8-bit narrow range whatever the depth and range of
                   the file; 128 for colour that is not there
    """

    def __init__(self, kind: PictureKind) -> None:
        self._step = max(1, round(kind.rate)) if kind.rate else 25
        self._next = 0
        self._before: np.ndarray | None = None
        self._raster: tuple[int, ...] = ()
        self._border = np.zeros((0, 0), bool)
        self._change: list[tuple[int, int, int, int]] = []
        self._at: list[int] = []
        self._cards: list[np.ndarray] = []

    def feed(self, planes: Planes) -> None:
        frame = len(self._change)
        small = _small(
            planes.eighth if _large(planes.eighth) else planes.quarter if _large(planes.quarter) else planes.luma.copy()
        )
        self._change.append(self._compared(small, planes))
        self._before, self._raster = small, planes.luma.shape
        if frame >= self._next:
            self._at.append(frame)
            self._cards.append(card(planes))
            self._next = frame + self._step
            if len(self._cards) > MOST_CARDS:
                self._thin()

    def skip(self) -> None:
        self._change.append((NOT_MEASURED,) * 4)

    def finish(self) -> dict[str, np.ndarray]:
        cards = np.empty((len(self._cards), DOWN, ACROSS, 3), np.uint8)
        for place, one in enumerate(self._cards):
            cards[place] = one
        return {
            "cards.change": np.array(self._change, np.uint16).reshape(-1, 4),
            "cards.at": np.array(self._at, np.uint32),
            "cards.picture": cards,
        }

    def _compared(self, small: np.ndarray, planes: Planes) -> tuple[int, int, int, int]:
        before = self._before
        if before is None or self._raster != planes.luma.shape or before.dtype != small.dtype:
            return (NOT_MEASURED,) * 4
        one = 1 << (planes.bits - 8) if planes.bits > 8 else 1
        difference = cv2.absdiff(small, before)
        moved = difference >= MOVED * one
        count = int(np.count_nonzero(moved))
        border = 0
        if count:
            if self._border.shape != moved.shape:
                self._border = _ring(*moved.shape)
            border = int(np.count_nonzero(moved & self._border)) * 10000 // int(np.count_nonzero(self._border))
        mean = cv2.mean(difference)[0]
        largest = int(difference.max())
        return (
            min(NOT_MEASURED - 1, round(64 * mean / one)),
            -(-count * 10000 // moved.size),
            border,
            min(NOT_MEASURED - 1, 16 * largest // one),
        )

    def _thin(self) -> None:
        self._step *= 2
        keep = [*range(ALWAYS_KEPT), *range(ALWAYS_KEPT, len(self._cards), 2)]
        self._at, self._cards = [self._at[place] for place in keep], [self._cards[place] for place in keep]


def card(planes: Planes) -> np.ndarray:
    """(DOWN, ACROSS, 3) uint8: the whole frame in Y'CbCr, 8-bit narrow range."""
    bits, full = planes.bits, planes.full_range
    luma = _narrow(_fitted(planes.eighth if _large(planes.eighth) else planes.luma), bits, full, 16, 219, 0)
    shown = np.full((DOWN, ACROSS, 3), 128, np.uint8)
    shown[..., 0] = luma
    both = planes.chroma_eighth if _large(planes.eighth) else planes.chroma_half
    if both is not None:
        for place, plane in enumerate(both, 1):
            shown[..., place] = _narrow(_fitted(plane), bits, full, 128, 224, 1 << (bits - 1))
    return shown


def _narrow(plane: np.ndarray, bits: int, full: bool, zero: int, width: int, middle: int) -> np.ndarray:
    """Codes as 8-bit narrow range (ITU-R BT.709-6, 4.6; full range: ITU-T H.273, 8.3)."""
    codes: np.ndarray = plane.astype(np.float32)
    codes = zero + (codes - middle) * width / ((1 << bits) - 1) if full else codes * 2.0 ** (8 - bits)
    narrow: np.ndarray = np.clip(np.rint(codes), 0, 255).astype(np.uint8)
    return narrow


def _fitted(plane: np.ndarray) -> np.ndarray:
    return cv2.resize(plane, (ACROSS, DOWN), interpolation=cv2.INTER_AREA)


def _large(plane: np.ndarray) -> bool:
    return plane.shape[0] >= LEAST_DOWN and plane.shape[1] >= LEAST_ACROSS


def _small(plane: np.ndarray) -> np.ndarray:
    while plane.shape[0] >= 2 * LEAST_DOWN and plane.shape[1] >= 2 * LEAST_ACROSS:
        plane = halved(plane)
    return plane


def _ring(height: int, width: int) -> np.ndarray:
    """(height, width) bool, True near the edge."""
    ring = np.ones((height, width), bool)
    down, across = max(1, round(BORDER * height)), max(1, round(BORDER * width))
    ring[down : height - down, across : width - across] = False
    return ring
