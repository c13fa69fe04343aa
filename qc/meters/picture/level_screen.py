"""Which tiles of a picture may lie outside a limit behind the filter, found at a tenth of the filter's cost.

Never one too few. The filtered value of a pixel is a mean of pixels with weights that add up to 1. Of these weights at
least 10/16 across and 3/4 down fall on the pixel's own tile of 4 x 8, whichever of its pixels it is (across: 4+3+2+1
of 16 at the worst; down: 2+1 of 4, of an interlaced picture too, as the tile has four rows of each field), and the rest
on the eight tiles round it. With ``own`` the highest value that any pixel of the tile can have and ``round`` the
highest of the tile and those eight, it is therefore at most

    own + (1 - 10/16 * 3/4) * (round - own) = own + 17/32 * (round - own),

and lows likewise. ``own`` of luma is the highest code of the tile; of R, G and B the sum of what luma, Cb and Cr can
each add at most, chroma with the first sample of the next tile, since the last pixel's colour is the mean of both.
What lies beyond the edge repeats the outermost pixels of the same tile. Sums are rounded to 1/16 step three times at
most; ``_ROUNDED`` is more than that.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import DTypeLike

from qc.meters.picture.level_filter import TILE_HIGH, TILE_WIDE, Sampling, Scale, usual
from qc.meters.picture.level_ladder import FLOOR, Matrix
from qc.meters.picture.planes import Planes

#: The screen counts in parts of a step, as int16.
_PARTS = 16
_ROUNDED = 3
_ROUND = 17 / 32
_BESIDE = np.ones((3, 3), np.uint8)
_PIXELS = TILE_WIDE * TILE_HIGH

Side = tuple[str, bool]  # component, and whether its high side is meant


@dataclass(frozen=True)
class Suspects:
    """Tiles that may lie outside, (columns, rows) bool, for each side with more of them than the floor.

    counts  tiles for every side that was asked for; an upper bound (nine times what is out by itself) where that
            is under the floor
    """

    tiles: dict[Side, np.ndarray]
    counts: dict[Side, int]


class LevelScreen:
    """Made once, asked for every picture. Its arrays are used again: fresh ones would cost more than the work."""

    def __init__(self, matrix: Matrix | None) -> None:
        self._matrix = matrix
        self._rooms: dict[tuple[str, tuple[int, ...], str], np.ndarray] = {}

    def suspects(self, planes: Planes, limits: dict[Side, int]) -> Suspects:
        """Tiles that may lie beyond each limit (in steps), over it on a high side."""
        scale = Scale.of(planes.bits, planes.full_range)
        middle, pixels = int(scale.middle), planes.width * planes.height
        cb, cr, sampling = usual(planes)
        luma = self._extremes("luma", planes.luma, planes, Sampling(1, 1), middle)
        chroma = [
            None if plane is None else self._extremes(name, plane, planes, sampling, middle)
            for name, plane in (("cb", cb), ("cr", cr))
        ]
        tiles, counts = {}, {}
        for (component, high), limit in limits.items():
            own = self._own(component, high, scale, luma, chroma)
            # A tile is suspected only if it, or one of the eight round it, is out by itself.
            count = 9 * int(np.count_nonzero(_beyond(own, limit, high)))
            if count * _PIXELS > FLOOR * pixels:
                found = _beyond(self._reached(own, high), limit, high)
                count = int(np.count_nonzero(found))
                if count * _PIXELS > FLOOR * pixels:
                    tiles[component, high] = found
            counts[component, high] = count
        return Suspects(tiles, counts)

    def _own(
        self,
        component: str,
        high: bool,
        scale: Scale,
        luma: tuple[np.ndarray, np.ndarray],
        chroma: list[tuple[np.ndarray, np.ndarray] | None],
    ) -> np.ndarray:
        """(columns, rows) int16, the outermost value that any pixel of a tile can have, in parts of a step."""
        blue, red, added = scale.colour(self._matrix, component)
        planes = [(scale.gain, luma)]
        planes += [(factor, level) for factor, level in zip((blue, red), chroma, strict=True) if factor and level]
        added = (added + sum(factor for factor, _ in planes) * scale.middle) * _PARTS  # codes count from the middle
        (gain, own), *others = [(factor * _PARTS, level[high == (factor > 0)]) for factor, level in planes]
        room = self._room("own", own.shape, np.int16)
        for factor, level in others or [(0.0, own)]:
            own = cv2.addWeighted(own, gain, level, factor, added, room)
            gain, added = 1.0, 0.0
        return own

    def _reached(self, own: np.ndarray, high: bool) -> np.ndarray:
        around = (cv2.dilate if high else cv2.erode)(own, _BESIDE, self._room("around", own.shape, np.int16))
        return cv2.addWeighted(own, 1 - _ROUND, around, _ROUND, 0.0, self._room("reached", own.shape, np.int16))

    def _extremes(
        self, name: str, plane: np.ndarray, planes: Planes, sampling: Sampling, middle: int
    ) -> tuple[np.ndarray, np.ndarray]:
        """Lowest and highest code of each tile, (columns, rows) int16 counted from the middle of the range.

        Of chroma that is halved across with the first sample of the next tile.
        """
        columns, rows = -(-planes.width // TILE_WIDE), -(-planes.height // TILE_HIGH)
        across, down = TILE_WIDE // sampling.across, TILE_HIGH // sampling.down
        more = rows * down - plane.shape[0], columns * across - plane.shape[1]
        if more != (0, 0):  # an odd raster: its last row and column once more
            plane = plane[: rows * down, : columns * across]
            plane = cv2.copyMakeBorder(plane, 0, max(0, more[0]), 0, max(0, more[1]), cv2.BORDER_REPLICATE)
        found = []
        for name_of, outermost in (("low", cv2.min), ("high", cv2.max)):
            lines = self._halved(outermost, plane, down)
            turned = self._room("turned", lines.shape[::-1], plane.dtype)
            cv2.transpose(lines, turned)  # rows are short then, and long runs are what is fast
            level = self._halved(outermost, turned, across)
            if sampling.across == 2 and columns > 1:
                outermost(level[:-1], turned[across::across], level[:-1])
            counted = self._room(f"{name} {name_of}", level.shape, np.uint16)
            np.subtract(level, np.uint16(middle), out=counted, dtype=np.uint16)
            found.append(counted.view(np.int16))
        return found[0], found[1]

    def _halved(self, outermost: Callable[..., np.ndarray], plane: np.ndarray, rows: int) -> np.ndarray:
        """(h / rows, w): the outermost of each so many rows, a power of two; pair by pair is twice as fast."""
        while rows > 1:
            room = self._room("halved", (len(plane) // 2, plane.shape[1]), plane.dtype)
            plane, rows = outermost(plane[0::2], plane[1::2], room), rows // 2
        return plane

    def _room(self, name: str, shape: tuple[int, ...], kind: DTypeLike) -> np.ndarray:
        key = name, shape, np.dtype(kind).str
        if key not in self._rooms:
            if len(self._rooms) > 64:  # rasters that change all the time
                self._rooms.clear()
            self._rooms[key] = np.empty(shape, kind)
        return self._rooms[key]


def _beyond(level: np.ndarray, limit: int, high: bool) -> np.ndarray:
    """(columns, rows) bool: where a level may be beyond a limit."""
    return level > limit * _PARTS - _ROUNDED if high else level < limit * _PARTS + _ROUNDED
