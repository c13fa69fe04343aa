"""Luma histogram of every frame: the series behind black, and behind any rule of the kind.

A frame is counted on every 32nd row first (every fourth below 700 lines). Only a frame that some
rule could still call black (at least half of those pixels at or below 20 % of the nominal range) is
counted on all rows, exactly. A rule that asks for 98.5 % of the pixels or more (87.5 % below 700
lines) therefore always reads exact counts where it holds. One that asks for 98 % does so unless four
fifths of the bright pixels lie on every 32nd row; the less it asks for, the fewer need to.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

#: Darkness, in percent of the nominal range, up to which a frame may have to be counted exactly.
DARK_PERCENT = 20
#: Share of the sampled rows that must be that dark before all rows are counted.
DARK_SHARE = 0.5
#: Every so many rows of a bright frame are counted, from so many lines on.
TALL, ROW_STEP_TALL, ROW_STEP = 700, 32, 4
#: cv2.calcHist answers in float32: whole numbers are exact up to here.
_EXACT_PIXELS = 1 << 24
_CHUNK = 512


def nominal_range(depth: int, full_range: bool) -> tuple[int, int]:
    """Codes of reference black and nominal peak. Source: ITU-R BT.709-6, 4.6 (16 and 235 at 8 bits)."""
    if full_range:
        return 0, (1 << depth) - 1
    return 16 << (depth - 8), 235 << (depth - 8)


def bin_edges(depth: int) -> np.ndarray:
    """(bins + 1,) int32: single codes in the dark part, wider above."""
    dark, wide = (128, 4) if depth == 8 else (256, 16)
    return np.concatenate([np.arange(dark), np.arange(dark, (1 << depth) + 1, wide)]).astype(np.int32)


@dataclass(frozen=True)
class LumaRows:
    """What the meter hands over; shapes as in PictureSeries."""

    depth: int
    full_range: bool
    edges: np.ndarray
    luma: np.ndarray
    counted: np.ndarray
    darkest: np.ndarray
    brightest: np.ndarray


class LumaMeter:
    """Histogram, lowest and highest code of each frame.

    bits        of the first frame's codes (8 to 16); pictures of 9 bits and more are recorded as 10
    full_range  codes run from 0 to 2**bits - 1

    Takes (h, w) planes of uint8 (8 bits) or uint16 (more), contiguous along the row, any row
    stride; size and bits may change from frame to frame.
    """

    def __init__(self, bits: int, full_range: bool = False) -> None:
        cv2.setNumThreads(1)
        self.depth = 8 if bits <= 8 else 10
        self.full_range = full_range
        self.edges = bin_edges(self.depth)
        self._starts = self.edges[:-1]
        black, white = nominal_range(self.depth, full_range)
        self._dark_end = black + DARK_PERCENT * (white - black) // 100 + 1
        self._frames = 0
        self._chunks: list[tuple[np.ndarray, np.ndarray]] = []

    def feed(self, plane: np.ndarray, bits: int | None = None) -> None:
        """Count one frame; ``bits`` of its codes if they are not 8 for uint8 and the depth for uint16."""
        if bits is None:
            bits = 8 if plane.dtype == np.uint8 else max(self.depth, 10)
        sample = plane[:: ROW_STEP_TALL if plane.shape[0] >= TALL else ROW_STEP]
        codes = self._count(sample, bits)
        if codes[: self._dark_end].sum() >= DARK_SHARE * sample.size and len(sample) < len(plane):
            codes = self._count(plane, bits)
        self._keep(codes)

    def skip(self) -> None:
        """A picture that cannot be counted: its row stays empty, with no pixels counted."""
        self._keep(np.zeros(1 << self.depth, np.int64))

    def finish(self) -> LumaRows:
        """All rows so far."""
        luma = np.zeros((self._frames, len(self._starts)), np.uint32)
        rest = np.zeros((self._frames, 3), np.uint32)
        for at in range(len(self._chunks)):
            chunk, (rows, others) = slice(at * _CHUNK, (at + 1) * _CHUNK), self._chunks[at]
            size = len(luma[chunk])
            luma[chunk], rest[chunk] = rows[:size], others[:size]
            self._chunks[at] = (rows[:0], others[:0])  # let go at once: never two copies of an episode
        self._chunks = []
        return LumaRows(
            depth=self.depth,
            full_range=self.full_range,
            edges=self.edges,
            luma=luma,
            counted=rest[:, 0].copy(),
            darkest=rest[:, 1].astype(np.uint16),
            brightest=rest[:, 2].astype(np.uint16),
        )

    def _count(self, plane: np.ndarray, bits: int) -> np.ndarray:
        """(2**depth,) int64 counts per code of the recorded depth."""
        top = 1 << bits
        bands = max(1, -(-plane.size // _EXACT_PIXELS))
        rows = -(-plane.shape[0] // bands)
        codes = np.zeros(top, np.int64)
        for first in range(0, plane.shape[0], rows):
            codes += cv2.calcHist([plane[first : first + rows]], [0], None, [top], [0, top]).ravel().astype(np.int64)
        if bits > self.depth:
            return codes.reshape(1 << self.depth, -1).sum(axis=1)
        if bits < self.depth:
            shifted = np.zeros(1 << self.depth, np.int64)
            shifted[:: 1 << (self.depth - bits)] = codes
            return shifted
        return codes

    def _keep(self, codes: np.ndarray) -> None:
        row = self._frames % _CHUNK
        if row == 0:
            empty = np.zeros((_CHUNK, len(self._starts)), np.uint32), np.zeros((_CHUNK, 3), np.uint32)
            self._chunks.append(empty)
        luma, rest = self._chunks[-1]
        used = np.flatnonzero(codes)
        luma[row] = np.add.reduceat(codes, self._starts)
        rest[row] = (codes.sum(), used[0], used[-1]) if len(used) else (0, 0, 0)
        self._frames += 1
