"""Which tiles of a picture may lie outside a limit behind the filter, found at a fraction of the filter's cost.

Never one too few. The filtered value of a pixel is a mean of pixels with weights that add up to 1. Of these weights at
least 10/16 across and 3/4 down fall on the pixel's own tile of 4 x 8, whichever of its pixels it is (across: 4+3+2+1
of 16 at the worst; down: 2+1 of 4, of an interlaced picture too, as the tile has four rows of each field), and the rest
on the eight tiles round it. With ``own`` the highest value that any pixel of the tile can have and ``round`` the
highest of the tile and those eight, it is therefore at most

    own + (1 - 10/16 * 3/4) * (round - own) = own + 17/32 * (round - own),

and lows likewise. ``own`` of luma is the highest code of the tile; of R, G and B the sum of what luma, Cb and Cr can
each add at most, chroma with the first sample of the next tile, since the last pixel's colour is the mean of both.
What lies beyond the edge repeats the outermost pixels of the same tile. Sums are rounded to 1/16 step four times at
most, by half of that each; ``_ROUNDED`` is more than that.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import DTypeLike

from qc.meters.picture.averages import Scratch, fetch
from qc.meters.picture.level_ladder import FLOOR, Matrix, Side
from qc.meters.picture.level_scale import Sampling, Scale, usual
from qc.meters.picture.level_windows import TILE_HIGH, TILE_WIDE
from qc.meters.picture.planes import Planes

#: The screen counts in parts of a step, as int16.
_PARTS = 16
_ROUNDED = 3
_ROUND = 17 / 32
_PIXELS = TILE_WIDE * TILE_HIGH


@dataclass(frozen=True)
class Suspects:
    """Places of tiles that may lie outside, (tiles,) column * rows + row, rising, for each side with more of them than
    the floor.

    rows    of tiles in the picture; columns likewise
    counts  tiles for every side that was asked for; an upper bound (nine times what is out by itself) where that
            is under the floor
    """

    columns: int
    rows: int
    tiles: dict[Side, np.ndarray]
    counts: dict[Side, int]

    def anywhere(self) -> np.ndarray:
        """Tiles that are suspected on any side, likewise."""
        found = np.zeros(self.columns * self.rows, bool)
        for places in self.tiles.values():
            found[places] = True
        return np.flatnonzero(found)


class LevelScreen:
    """Made once, asked for every picture. Its arrays are used again: fresh ones would cost more than the work."""

    def __init__(self, matrix: Matrix | None) -> None:
        self._matrix = matrix
        self._scratch = Scratch(64)

    def suspects(self, planes: Planes, limits: dict[Side, int]) -> Suspects:
        """Tiles that may lie beyond each limit (in steps), over it on a high side."""
        scale = Scale.of(planes.bits, planes.full_range)
        columns, rows = -(-planes.width // TILE_WIDE), -(-planes.height // TILE_HIGH)
        floor = FLOOR * (planes.width * planes.height) / _PIXELS
        middle = int(scale.middle) if planes.bits > 15 else 0  # what codes count from, to be of 15 bits and a sign
        cb, cr, sampling = usual(planes)
        both = [plane for plane in (cb, cr) if plane is not None]
        grey = self._extremes("luma", [planes.luma], (columns, rows), Sampling(1, 1), middle)
        chroma = self._extremes("chroma", both, (columns, rows), sampling, middle) if both else []
        added = (scale.black + scale.gain * middle) * _PARTS
        for level in grey:
            cv2.addWeighted(level, scale.gain * _PARTS, level, 0.0, added, level)
        tiles, counts = {}, {}
        for (component, high), limit in limits.items():
            own = grey[high]
            for place, factor in enumerate(scale.colour(self._matrix, component)[:2]):
                if factor and chroma:
                    level = chroma[high == (factor > 0)][:, place * rows : (place + 1) * rows]
                    factor, room = factor * _PARTS, self._room("own", own.shape)
                    own = cv2.addWeighted(own, 1.0, level, factor, factor * (middle - scale.middle), room)
            # A tile is suspected only if it, or one of the eight round it, is out by itself.
            count = 9 * _number(self._beyond(own, limit, high))
            if count > floor:
                found = self._beyond(self._reached(own, high), limit, high)
                count = _number(found)
                if count > floor:
                    tiles[component, high] = np.flatnonzero(found)
            counts[component, high] = count
        return Suspects(columns, rows, tiles, counts)

    def _beyond(self, level: np.ndarray, limit: int, high: bool) -> np.ndarray:
        """(columns, rows) bool: where a level may be beyond a limit."""
        room = self._room("beyond", level.shape, bool)
        if high:
            return np.greater(level, limit * _PARTS - _ROUNDED, out=room)
        return np.less(level, limit * _PARTS + _ROUNDED, out=room)

    def _reached(self, own: np.ndarray, high: bool) -> np.ndarray:
        """What the filter can make of it."""
        outermost = cv2.max if high else cv2.min
        columns, rows = own.shape
        beside, around = self._room("beside", own.shape), self._room("around", own.shape)
        np.copyto(beside[-1], own[-1])
        if columns > 1:  # across and then down: half the cost of a dilation by 3 x 3
            outermost(own[:-1], own[1:], beside[:-1])
            outermost(beside[1:], own[:-1], beside[1:])
        np.copyto(around[:, -1], beside[:, -1])
        if rows > 1:
            outermost(beside[:, :-1], beside[:, 1:], around[:, :-1])
            outermost(around[:, 1:], beside[:, :-1], around[:, 1:])
        return cv2.addWeighted(own, 1 - _ROUND, around, _ROUND, 0.0, around)

    def _extremes(
        self, name: str, planes: list[np.ndarray], size: tuple[int, int], sampling: Sampling, middle: int
    ) -> list[np.ndarray]:
        """Lowest and highest code of each tile of planes of one shape, (columns, planes * rows) int16 counted from
        ``middle``, plane by plane.

        Of chroma that is halved across with the first sample of the next tile.
        """
        columns, rows = size
        across, down = TILE_WIDE // sampling.across, TILE_HIGH // sampling.down
        planes = [_fitted(plane, columns * across, rows * down) for plane in planes]
        for plane in planes:
            fetch(plane)
        found = []
        kind = planes[0].dtype
        lines = self._room("lines", (len(planes) * rows, columns * across), kind)
        turned = self._room("turned", (columns * across, len(planes) * rows), kind)
        for name_of, outermost in (("low", cv2.min), ("high", cv2.max)):
            for place, plane in enumerate(planes):
                part = lines[place * rows : (place + 1) * rows]
                outermost(plane[0::down], plane[1::down], part)
                for row in range(2, down):
                    outermost(part, plane[row::down], part)
            cv2.transpose(lines, turned)  # rows are short then, and long runs are what is fast
            level = turned
            while len(level) > columns:
                half = self._room("halved", (len(level) // 2, level.shape[1]), kind)
                level = outermost(level[0::2], level[1::2], half)
            if sampling.across == 2 and columns > 1:
                outermost(level[:-1], turned[across::across], level[:-1])
            counted = self._room(f"{name} {name_of}", level.shape, np.uint16)
            if middle:
                np.subtract(level, np.uint16(middle), out=counted, dtype=np.uint16)
            else:
                np.copyto(counted, level)
            found.append(counted.view(np.int16))
        return found

    def _room(self, name: str, shape: tuple[int, ...], kind: DTypeLike = np.int16) -> np.ndarray:
        return self._scratch.room(shape, kind, name)


def _fitted(plane: np.ndarray, width: int, height: int) -> np.ndarray:
    """Whole tiles of an odd raster: its last row and column once more."""
    more = height - plane.shape[0], width - plane.shape[1]
    if more == (0, 0):
        return plane
    plane = plane[:height, :width]
    return cv2.copyMakeBorder(plane, 0, max(0, more[0]), 0, max(0, more[1]), cv2.BORDER_REPLICATE)


def _number(true: np.ndarray) -> int:
    return cv2.countNonZero(true.view(np.uint8))
