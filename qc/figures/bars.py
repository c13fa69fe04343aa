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
#: Shape without levels: what may be left when one gain and offset of luma and one gain of colour are taken out.
_LEFT_OVER = 6.0
_LUMA_GAIN, _COLOUR_GAIN = (0.7, 1.35), (0.5, 1.6)


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
    if float(picture[..., 1:].std()) < 10:  # bars are the most colourful of cards
        return None
    found: list[tuple[bool, float, Bars]] = []
    for pattern in PATTERNS:
        for narrow, place in enumerate(PLACES):
            seen = _means(picture, pattern, place)
            if narrow and not _dark_sides(picture):
                continue
            for matrix in sorted(MATRICES, key=lambda name: name != prefer):
                bars = _fits(seen, pattern, matrix, bool(narrow))
                if bars is not None:
                    # A pattern with more patches says more: it wins over a part of it.
                    found.append((not bars.exact, bars.off - 0.5 * len(pattern.patches), bars))
    return min(found, key=lambda item: item[:2])[2] if found else None


def _fits(seen: np.ndarray, pattern: Pattern, matrix: str, narrow: bool) -> Bars | None:
    wanted = _table(pattern, matrix)
    off = np.abs(seen - wanted)
    worst = float(off.max())
    if off[:, 0].max() <= LUMA_OFF and off[:, 1:].max() <= COLOUR_OFF:
        return Bars(pattern.name, matrix, round(worst, 1), True, narrow)
    gain, offset = np.polyfit(wanted[:, 0], seen[:, 0], 1)
    aim, got = (wanted[:, 1:] - 128).ravel(), (seen[:, 1:] - 128).ravel()
    colour_gain = float(aim @ got / (aim @ aim))
    left = max(
        float(np.abs(seen[:, 0] - gain * wanted[:, 0] - offset).max()), float(np.abs(got - colour_gain * aim).max())
    )
    shaped = _LUMA_GAIN[0] <= gain <= _LUMA_GAIN[1] and _COLOUR_GAIN[0] <= colour_gain <= _COLOUR_GAIN[1]
    return Bars(pattern.name, matrix, round(worst, 1), False, narrow) if shaped and left <= _LEFT_OVER else None


def _means(picture: np.ndarray, pattern: Pattern, place: tuple[float, float]) -> np.ndarray:
    """(patches, 3) mean of the inner part of each patch."""
    rows, columns = picture.shape[:2]
    left, width = place[0], place[1] - place[0]
    means = np.empty((len(pattern.patches), 3))
    for number, patch in enumerate(pattern.patches):
        down = _inner(patch.top, patch.bottom, rows)
        across = _inner(left + width * patch.left, left + width * patch.right, columns)
        means[number] = picture[down, across].reshape(-1, 3).mean(axis=0)
    return means


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
