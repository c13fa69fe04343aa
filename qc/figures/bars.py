"""Colour bars recognised in a small picture by their published levels.

A pattern is there when every one of its patches has its published codes within the tolerance of coding, in one
matrix. Where the shape is there and the levels are not (a wrong range, a wrong gain), that is said, with the
largest deviation: then it is bars, but not as published.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from qc.figures.bar_patterns import MATRICES, PATTERNS, Pattern, table

#: Codes of 8 bits that a patch may be off: what coding and scaling do to a mean (common practice, no source).
LUMA_OFF, COLOUR_OFF = 4.0, 5.0
#: Left and right edge of the pattern: the whole raster, or 4:3 in the middle of 16:9 between black sides.
PLACES = ((0.0, 1.0), (0.125, 0.875))
#: The inner part of a patch that is looked at: its edges belong to two colours.
_INNER = 0.5
#: Bars are the most colourful of cards: their Cb and Cr spread more than this.
_COLOURFUL = 10.0
#: Shape without levels: what may be left when one gain and offset of luma and one gain of colour are taken out.
_LEFT_OVER = 6.0
_LUMA_GAIN, _COLOUR_GAIN = (0.7, 1.35), (0.5, 1.6)
#: Nothing but bars has all patches within so many codes of theirs, after a matrix confused, a clip.
_NEAR = 28.0


@dataclass(frozen=True)
class Bars:
    """Bars that were recognised.

    name      of the pattern: "SMPTE RP 219", "EBU 100/0/75/0" ...
    matrix    whose codes they are: "BT.709", "BT.601", "BT.2020"
    off       largest deviation of a patch's mean from its published code, in 8-bit codes
    exact     within the tolerance; else only the shape is there and the levels are not as published
    narrow    they stand in the middle 4:3 of a wider raster
    """

    name: str
    matrix: str
    off: float
    exact: bool
    narrow: bool = False

    @property
    def words(self) -> str:
        place = ", 4:3 in the middle" if self.narrow else ""
        level = f", levels off by up to {self.off:.0f} codes of 8 bits" if not self.exact else ""
        return f"{self.name} ({self.matrix}){place}{level}"


def recognise(picture: np.ndarray, prefer: str = "BT.709") -> Bars | None:
    """The pattern that a small picture (rows, columns, 3) of 8-bit narrow range shows; None if none.

    prefer  matrix that counts where two fit alike
    """
    if float(picture[..., 1:].std()) < _COLOURFUL:
        return None
    found: list[tuple[bool, float, Bars]] = []
    means = _means(picture)
    sides = _dark_sides(picture)
    first = 0
    for narrow in (False, True):
        for pattern in PATTERNS:
            seen = means[first : first + len(pattern.patches)]
            first += len(pattern.patches)
            for matrix in sorted(MATRICES, key=lambda name: name != prefer):
                bars = _fits(seen, pattern, matrix, narrow) if sides or not narrow else None
                if bars is not None:
                    # A pattern with more patches says more: it wins over a part of it.
                    found.append((not bars.exact, bars.off - 0.5 * len(pattern.patches), bars))
    return min(found, key=lambda item: item[:2])[2] if found else None


def resembles(picture: np.ndarray, prefer: str = "BT.709") -> Bars | None:
    """What ``recognise`` finds; else the pattern that comes nearest, where no patch is far from it."""
    if (bars := recognise(picture, prefer)) is not None or float(picture[..., 1:].std()) < _COLOURFUL:
        return bars
    means, sides, first, found = _means(picture), _dark_sides(picture), 0, []
    for narrow in (False, True):
        for pattern in PATTERNS:
            seen, first = means[first : first + len(pattern.patches)], first + len(pattern.patches)
            for matrix in sorted(MATRICES, key=lambda name: name != prefer) if sides or not narrow else ():
                off = float(np.abs(seen - _table(pattern, matrix)).max())
                if off <= _NEAR:
                    found.append((-len(pattern.patches), off, Bars(pattern.name, matrix, round(off, 1), False, narrow)))
    return min(found, key=lambda item: item[:2])[2] if found else None


def _fits(seen: np.ndarray, pattern: Pattern, matrix: str, narrow: bool) -> Bars | None:
    wanted = _table(pattern, matrix)
    off = np.abs(seen - wanted)
    worst = float(off.max())
    if off[:, 0].max() <= LUMA_OFF and off[:, 1:].max() <= COLOUR_OFF:
        return Bars(pattern.name, matrix, round(worst, 1), True, narrow)
    aim, got = (wanted[:, 1:] - 128).ravel(), (seen[:, 1:] - 128).ravel()
    colour_gain = float(aim @ got / (aim @ aim))
    if not _COLOUR_GAIN[0] <= colour_gain <= _COLOUR_GAIN[1] or np.abs(got - colour_gain * aim).max() > _LEFT_OVER:
        return None
    middle, mean = wanted[:, 0].mean(), seen[:, 0].mean()
    away = wanted[:, 0] - middle
    gain = float(away @ (seen[:, 0] - mean) / (away @ away))
    left = float(np.abs(seen[:, 0] - mean - gain * away).max())
    shaped = _LUMA_GAIN[0] <= gain <= _LUMA_GAIN[1] and left <= _LEFT_OVER
    return Bars(pattern.name, matrix, round(worst, 1), False, narrow) if shaped else None


def _means(picture: np.ndarray) -> np.ndarray:
    """(patches, 3) mean of the inner part of each patch of all patterns, in the whole raster, then in its middle."""
    rows, columns = picture.shape[:2]
    top, bottom, left, right = _inner_parts(rows, columns)
    sums = np.zeros((rows + 1, columns + 1, 3))
    sums[1:, 1:] = picture.cumsum(axis=0, dtype=np.float64).cumsum(axis=1)
    total = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
    return np.asarray(total / ((bottom - top) * (right - left))[:, None])


@cache
def _inner_parts(rows: int, columns: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """First and end row, first and end column of the inner part of each patch, in the order of ``_means``."""
    edges = []
    for left, right in PLACES:
        for patch in (patch for pattern in PATTERNS for patch in pattern.patches):
            width = right - left
            down = _inner(patch.top, patch.bottom, rows)
            across = _inner(left + width * patch.left, left + width * patch.right, columns)
            edges.append((down.start, down.stop, across.start, across.stop))
    table = np.array(edges).T
    return table[0], table[1], table[2], table[3]


def _inner(first: float, end: float, count: int) -> slice:
    """At least one row or column around the middle of a patch."""
    middle, half = (first + end) / 2 * count, (end - first) * _INNER / 2 * count
    begin = min(count - 1, max(0, round(middle - half)))
    return slice(begin, max(begin + 1, min(count, round(middle + half))))


def _dark_sides(picture: np.ndarray) -> bool:
    """Nothing but black beside the middle 4:3."""
    side = picture.shape[1] // 8 - 1
    sides = np.concatenate([picture[:, :side, 0], picture[:, -side:, 0]], axis=1)
    return bool((sides <= 16 + LUMA_OFF).all())


@cache
def _table(pattern: Pattern, matrix: str) -> np.ndarray:
    return table(pattern, matrix)
