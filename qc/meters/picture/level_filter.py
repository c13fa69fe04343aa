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
from itertools import accumulate, pairwise

import cv2
import numpy as np

from qc.meters.picture.level_ladder import Matrix, Side
from qc.meters.picture.level_scale import SUM, Scale, usual
from qc.meters.picture.level_windows import ACROSS, DOWN, chroma_weights, gather, luma_weights, weighed
from qc.meters.picture.planes import Planes

# Chroma of half the width: means of two neighbours, then the filter; at pixels with a sample of their own, and without.
_OWN = np.array([1, 8, 14, 8, 1], np.float32)
_BETWEEN = np.array([4, 12, 12, 4], np.float32)
#: Rows that are filtered at once: what is worked on stays in the processor's cache.
_BAND = 32
#: Tiles that are gathered at once.
_TILES = 4096


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
            luma = weighed(gather(planes.luma, x, y, 1, 1, interlaced), luma_weights(interlaced))
            own = list(wanted.values())
            if len(run) < len(anywhere):
                own = [places[slice(*np.searchsorted(places, (run[0], run[-1] + 1)))] for places in own]
            ends = [0, *accumulate(map(len, own))]
            parts = {side: slice(*part) for side, part in zip(wanted, pairwise(ends), strict=True)}
            tiles = lookup.take(np.concatenate(own))
            x, y = x.take(tiles), y.take(tiles)
            level = luma.take(tiles, 0)
            level *= np.float32(scale.gain / SUM)
            for side, part in parts.items():
                if colours[side][2]:
                    level[part] += np.float32(colours[side][2])
            for place, plane in enumerate((self._cb, self._cr)):
                users = [side for side in parts if colours[side][place]]
                start, end = (parts[users[0]].start, parts[users[-1]].stop) if users else (0, 0)
                if plane is None or start == end:
                    continue
                windows = gather(plane, x[start:end], y[start:end], sampling.across, sampling.down, interlaced)
                sums = weighed(windows, chroma_weights(sampling, interlaced))
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
            found = cv2.sepFilter2D(part, cv2.CV_32F, across, DOWN, anchor=(anchor, 1), borderType=cv2.BORDER_REPLICATE)
            return found[before : len(found) - after]

        width = luma.shape[1]
        sums: list[np.ndarray | None] = [None, None]
        for place, plane in enumerate(chroma):
            if plane is None:
                continue
            if self._sampling.across == 1:
                sums[place] = rows(plane, ACROSS)
            else:
                both = cv2.merge([rows(plane, _OWN), rows(plane, _BETWEEN, 1)])
                sums[place] = both.reshape(len(both), -1)[:, :width]
        return self._components(rows(luma, ACROSS), sums, components)

    def _components(self, luma: np.ndarray, chroma: list[np.ndarray | None], components: str) -> dict[str, np.ndarray]:
        """From sums to steps, each component by the same two or three operations whatever the shape."""
        found = {}
        for component in components:
            blue, red, added = self._scale.colour(self._matrix, component)
            level = luma * np.float32(self._scale.gain / SUM)
            if added:
                level += np.float32(added)
            for factor, sums in zip((blue, red), chroma, strict=True):
                if factor and sums is not None:
                    level += sums * np.float32(factor / self._sampling.sum)
            found[component] = level
        return found
