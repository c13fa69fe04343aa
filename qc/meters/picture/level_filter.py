"""The published filter before levels are counted, over a whole picture or over single tiles of it.

EBU R 103 v3.0 (2020): horizontally [1 2 3 4 3 2 1]/16, vertically [1 2 1]/4, of an interlaced picture within each
field. It leaves areas and takes ringing and noise away. At the edges the outermost pixel (of the field) is repeated.

Filter and matrix are both linear, so luma and chroma are filtered and R, G and B made of them afterwards. Chroma is
brought to the pixels of luma first: between two samples of a line by their mean, every second pixel having one of its
own (siting of ITU-R BT.709-6, item 2.4); a line of 4:2:0 stands for the two lines (of its field) it was made of. All
sums are whole numbers below 2**24, so both ways give the same numbers to the last bit in any order of adding up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import accumulate, pairwise

import cv2
import numpy as np
from numpy.lib.stride_tricks import as_strided

from qc.meters.picture.level_ladder import Matrix, Side
from qc.meters.picture.planes import Planes

#: A tile is 4 x 8 pixels: four rows of each field, two samples of 4:2:2 chroma across.
TILE_WIDE, TILE_HIGH = 4, 8
_ACROSS = np.array([1, 2, 3, 4, 3, 2, 1], np.float32)
_DOWN = np.array([1, 2, 1], np.float32)
_SUM = 64  # of both, for luma and for chroma of its size
# Chroma of half the width: means of two neighbours, then the filter; at pixels with a sample of their own, and without.
_OWN = np.array([1, 8, 14, 8, 1], np.float32)
_BETWEEN = np.array([4, 12, 12, 4], np.float32)
_SUM_HALVED = 128
#: Rows that are filtered at once: what is worked on stays in the processor's cache.
_BAND = 32
#: Tiles that are gathered at once.
_TILES = 4096


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
        return _SUM_HALVED if self.across == 2 else _SUM


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


class Filtered:
    """One picture behind the filter: sums of whole numbers, of luma and chroma, from which components are made."""

    def __init__(self, planes: Planes, matrix: Matrix | None) -> None:
        self._planes = planes
        self._matrix = matrix
        self._scale = Scale.of(planes.bits, planes.full_range)
        self._cb, self._cr, self._sampling = usual(planes)

    def whole(self, components: str) -> Iterator[tuple[np.ndarray, dict[str, np.ndarray]]]:
        """Bands of the picture: the rows it holds, and (rows, w) float32 of each component in steps."""
        planes = self._planes
        parities = (0, 1) if planes.interlaced and planes.height > 1 else (None,)
        for parity in parities:
            rows = slice(None) if parity is None else slice(parity, None, 2)
            luma = planes.luma[rows]
            numbers = np.arange(planes.height)[rows]
            chroma = [self._lines_of(plane, parity, len(luma)) for plane in self._needed(components)]
            for first in range(0, len(luma), _BAND):
                end = min(first + _BAND, len(luma))
                yield numbers[first:end], self._band(luma, chroma, first, end, components)

    def tiles(
        self, wanted: dict[Side, np.ndarray], anywhere: np.ndarray, high: int
    ) -> Iterator[tuple[dict[Side, slice], np.ndarray, np.ndarray, np.ndarray]]:
        """Runs of the tiles that are ``wanted`` for each side: which part of the following is a side's; columns and
        rows of tiles; and (tiles, pixels) float32 of the side's component in steps, row by row.

        wanted    (tiles,) column * high + row, rising; anywhere: all of them
        high      rows of tiles in the picture
        """
        planes, sampling, scale = self._planes, self._sampling, self._scale
        interlaced = planes.interlaced and planes.height > 1
        colours = {side: scale.colour(self._matrix, side[0]) for side in wanted}
        lookup = np.empty(anywhere[-1] + 1, np.int32)
        for first in range(0, len(anywhere), _TILES):
            run = anywhere[first : first + _TILES]
            lookup[run] = np.arange(len(run))
            x = run // high
            y = run - high * x
            luma = _weighed(_gather(planes.luma, x, y, 1, 1, interlaced), luma_weights(interlaced))
            own = list(wanted.values())
            if len(run) < len(anywhere):
                own = [places[slice(*np.searchsorted(places, (run[0], run[-1] + 1)))] for places in own]
            ends = [0, *accumulate(map(len, own))]
            parts = {side: slice(*part) for side, part in zip(wanted, pairwise(ends), strict=True)}
            tiles = lookup.take(np.concatenate(own))
            x, y = x.take(tiles), y.take(tiles)
            level = luma.take(tiles, 0)
            level *= np.float32(scale.gain / _SUM)
            for side, part in parts.items():
                if colours[side][2]:
                    level[part] += np.float32(colours[side][2])
            for place, plane in enumerate((self._cb, self._cr)):
                users = [side for side in parts if colours[side][place]]
                start, end = (parts[users[0]].start, parts[users[-1]].stop) if users else (0, 0)
                if plane is None or start == end:
                    continue
                windows = _gather(plane, x[start:end], y[start:end], sampling.across, sampling.down, interlaced)
                sums = _weighed(windows, chroma_weights(sampling, interlaced))
                for side in users:
                    part = parts[side]
                    factor = np.float32(colours[side][place] / sampling.sum)
                    level[part] += sums[part.start - start : part.stop - start] * factor
            yield parts, x, y, level

    def _needed(self, components: str) -> list[np.ndarray | None]:
        """Cb and Cr, each if it goes into one of the components."""
        factors = [self._scale.colour(self._matrix, component)[:2] for component in components]
        return [
            plane if any(own[place] for own in factors) else None for place, plane in enumerate((self._cb, self._cr))
        ]

    def _lines_of(self, plane: np.ndarray | None, parity: int | None, lines: int) -> np.ndarray | None:
        """Chroma of a field (or frame), a line for every line of luma."""
        if plane is None:
            return None
        own = plane if parity is None or len(plane) < 2 else plane[parity::2]
        if self._sampling.down == 1:
            return own
        return own[np.minimum(np.arange(lines) // 2, len(own) - 1)]

    def _band(
        self, luma: np.ndarray, chroma: list[np.ndarray | None], first: int, end: int, components: str
    ) -> dict[str, np.ndarray]:
        def rows(plane: np.ndarray, across: np.ndarray, anchor: int = -1) -> np.ndarray:
            before, after = min(1, first), min(1, len(plane) - end)
            part = plane[first - before : end + after]
            if part.dtype != np.uint8:  # twice as fast as OpenCV's own way from 16 bits
                part = part.astype(np.float32)
            found = cv2.sepFilter2D(
                part, cv2.CV_32F, across, _DOWN, anchor=(anchor, 1), borderType=cv2.BORDER_REPLICATE
            )
            return found[before : len(found) - after]

        width = luma.shape[1]
        sums: list[np.ndarray | None] = [None, None]
        for place, plane in enumerate(chroma):
            if plane is None:
                continue
            if self._sampling.across == 1:
                sums[place] = rows(plane, _ACROSS)
            else:
                both = cv2.merge([rows(plane, _OWN), rows(plane, _BETWEEN, 1)])
                sums[place] = both.reshape(len(both), -1)[:, :width]
        return self._components(rows(luma, _ACROSS), sums, components)

    def _components(self, luma: np.ndarray, chroma: list[np.ndarray | None], components: str) -> dict[str, np.ndarray]:
        """From sums to steps, each component by the same two or three operations whatever the shape."""
        found = {}
        for component in components:
            blue, red, added = self._scale.colour(self._matrix, component)
            level = luma * np.float32(self._scale.gain / _SUM)
            if added:
                level += np.float32(added)
            for factor, sums in zip((blue, red), chroma, strict=True):
                if factor and sums is not None:
                    level += sums * np.float32(factor / self._sampling.sum)
            found[component] = level
        return found


def _weighed(windows: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """(tiles, pixels): the upper half of each tile from the upper part of its window, the lower from the lower.

    The rest of the window has no weight there, and a product of matrices would not know.
    """
    reach, pixels = weights.shape
    found = np.empty((len(windows), 2 * pixels), np.float32)
    np.matmul(windows[:, :reach], weights, out=found[:, :pixels])
    np.matmul(windows[:, windows.shape[1] - reach :], weights, out=found[:, pixels:])
    return found


def _gather(plane: np.ndarray, x: np.ndarray, y: np.ndarray, across: int, down: int, interlaced: bool) -> np.ndarray:
    """(tiles, window) float32: what the filter reaches from each tile, row by row; beyond the edge of the picture the
    outermost pixel, of its own field where there are fields."""
    rows, columns = _reach(across, down, interlaced)
    high, wide = rows[1] - rows[0], columns[1] - columns[0]
    row, column = TILE_HIGH // down * y + rows[0], TILE_WIDE // across * x + columns[0]
    last_row, last_column = plane.shape[0] - high, plane.shape[1] - wide
    if last_row < 0 or last_column < 0:  # a picture smaller than that
        inside = _on_the_picture(row[:, None] + np.arange(high), plane.shape[0], interlaced)
        along = np.clip(column[:, None] + np.arange(wide), 0, plane.shape[1] - 1)
        return plane[inside[:, :, None], along[:, None, :]].reshape(len(x), -1).astype(np.float32)
    from_row = np.minimum(np.maximum(row, 0), last_row)
    from_column = np.minimum(np.maximum(column, 0), last_column)
    steps = plane.strides
    windows = as_strided(plane, (last_row + 1, last_column + 1, high, wide), (*steps, *steps))
    lines = windows.view(f"V{wide * plane.itemsize}")[..., 0]  # a line at a time is copied faster
    found = lines[from_row, from_column].view(plane.dtype)
    # At an edge the window ends early: which of its rows or columns stand for those it should have.
    for wished, had, places in ((column, from_column, _columns_there), (row, from_row, _rows_there)):
        there = np.flatnonzero(wished != had)
        if not len(there):
            continue
        shifts = wished[there] - had[there]
        for shift in set(shifts.tolist()):
            those = there[shifts == shift]
            found[those] = found.take(those, 0).take(places(shift, high, wide, interlaced), 1)
    return found.astype(np.float32)


@cache
def _columns_there(shift: int, high: int, wide: int, interlaced: bool) -> np.ndarray:
    """Places in a window that ends at the edge, for one that lies ``shift`` columns further, row by row."""
    columns = np.clip(np.arange(wide) + shift, 0, wide - 1)
    return (wide * np.arange(high)[:, None] + columns).ravel()


@cache
def _rows_there(shift: int, high: int, wide: int, interlaced: bool) -> np.ndarray:
    """The same for one that lies ``shift`` rows further."""
    rows = _on_the_picture(np.arange(high) + shift, high, interlaced)
    return (wide * rows[:, None] + np.arange(wide)).ravel()


def _on_the_picture(row: np.ndarray, height: int, interlaced: bool) -> np.ndarray:
    """Beyond the edge the outermost row, of the same field where there are fields."""
    last = height - 1
    if interlaced:
        row = np.where(row < 0, row & 1, row)
        row = np.where(row > last, last - ((last - row) & 1), row)
    return np.clip(row, 0, last)


def _reach(across: int, down: int, interlaced: bool) -> tuple[tuple[int, int], tuple[int, int]]:
    """First and end row and column of the window, from the tile's own first sample."""
    step = 2 if interlaced else 1
    rows = -step, TILE_HIGH // down + step
    return rows, (-3, TILE_WIDE + 3) if across == 1 else (-2, TILE_WIDE // 2 + 2)


@cache
def luma_weights(interlaced: bool) -> np.ndarray:
    """(window, pixels): the filter of each pixel of the upper half of a tile, over the part of the window that they
    reach. It is that of the lower half over the lower part too."""
    return _weights(_down(interlaced), _across())


@cache
def chroma_weights(sampling: Sampling, interlaced: bool) -> np.ndarray:
    """The same for chroma of its own sampling."""
    down, across = _down(interlaced), _across()
    if sampling.down == 2:
        (first, end), _ = _reach(sampling.across, 2, interlaced)
        pixels = np.arange(-2 if interlaced else -1, TILE_HIGH + (2 if interlaced else 1))
        line = 2 * (pixels // 4) + pixels % 2 if interlaced else pixels // 2
        down = down @ (line[:, None] == np.arange(first, end))
    if sampling.across == 2:
        pixels, samples = np.arange(-3, TILE_WIDE + 3), 2 * np.arange(-2, TILE_WIDE // 2 + 2)
        across = across @ np.maximum(0, 2 - np.abs(pixels[:, None] - samples))  # twice: 2 and 0, or 1 and 1
    return _weights(down, across)


def _down(interlaced: bool) -> np.ndarray:
    """(rows, rows of the window)"""
    step = 2 if interlaced else 1
    down = np.zeros((TILE_HIGH, TILE_HIGH + 2 * step), np.float32)
    for row in range(TILE_HIGH):
        down[row, [row, row + step, row + 2 * step]] = _DOWN
    return down


def _across() -> np.ndarray:
    """(columns, columns of the window)"""
    across = np.zeros((TILE_WIDE, TILE_WIDE + 6), np.float32)
    for column in range(TILE_WIDE):
        across[column, column : column + 7] = _ACROSS
    return across


def _weights(down: np.ndarray, across: np.ndarray) -> np.ndarray:
    upper = down[: TILE_HIGH // 2]
    upper = upper[:, : 1 + np.flatnonzero(upper.any(0))[-1]]
    return np.ascontiguousarray(np.kron(upper, across).T.astype(np.float32))
