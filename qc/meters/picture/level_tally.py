"""What lies beyond each level in one picture: how much, how far out, and where."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

import cv2
import numpy as np

from qc.meters.picture.level_ladder import FLOOR, LADDER, PAIRS, SIDES, Side, limit_step, percent_of, rows_of_side
from qc.meters.picture.level_windows import TILE_HIGH, TILE_WIDE
from qc.meters.picture.planes import Planes

#: Colours are sums of rounded numbers; they count as beyond a limit from this part of a step on. Luma is exact.
_ROUNDED = 1 / 512
#: Cells across and down in which what is outside is placed.
_ACROSS, _DOWN = 64, 36
#: A cell belongs to the area outside if this share of it is, or half of what the fullest cell has.
_CELL = 0.05
#: Where luma is beyond its level over at least this part of what a colour is beyond over, the colour goes with luma.
_WITH_LUMA = 0.5
#: What a reach is told from: every so many rows of a whole picture, and at most about so many pixels, evenly taken.
_ROW_STEP, _ENOUGH = 4, 1 << 15

_PIXELS = TILE_WIDE * TILE_HIGH
_PLACES = {side: rows_of_side(*side) for side in SIDES}
_STEPS = [limit_step(percent) for _, percent in LADDER]


class LevelTally:
    """Fed with parts of one picture behind the filter; says what is beyond each level of the ladder.

    counts  (levels,) pixels
    """

    def __init__(self, planes: Planes) -> None:
        self._width, self._height = planes.width, planes.height
        self.counts = np.zeros(len(LADDER), np.int64)
        self._down, self._across = min(_DOWN, self._height), min(_ACROSS, self._width)
        self._cells = np.zeros((len(LADDER), self._down, self._across))
        self._values: dict[Side, list[np.ndarray]] = {}
        self._tiles: list[tuple[dict[Side, slice], np.ndarray, np.ndarray, np.ndarray, np.ndarray]] = []

    def add_rows(self, rows: np.ndarray, levels: dict[str, np.ndarray], sides: Iterable[Side]) -> None:
        """``levels`` (rows, w) of each component in steps."""
        cells = rows * self._down // self._height
        bounds = [0, *(np.flatnonzero(np.diff(cells)) + 1).tolist(), len(cells)]
        starts = -(-np.arange(self._across) * self._width // self._across)
        for side in sides:
            level = levels[side[0]]
            for place, beyond in _beyond(side, level):
                for first, end in pairwise(bounds):
                    columns = cv2.reduce(beyond[first:end], 0, cv2.REDUCE_SUM, dtype=cv2.CV_32S)[0]
                    own = np.add.reduceat(columns, starts)
                    self.counts[place] += own.sum()
                    self._cells[place, cells[first]] += own
                if place == _PLACES[side][0]:
                    self._values.setdefault(side, []).append(level[::_ROW_STEP][beyond[::_ROW_STEP] > 0])

    def add_tiles(self, parts: dict[Side, slice], columns: np.ndarray, rows: np.ndarray, level: np.ndarray) -> None:
        """``level`` (tiles, pixels) in steps, ``parts`` of it of the component of each side."""
        beyond = np.empty(level.shape, bool)
        for side, part in parts.items():
            beyond[part] = _is_beyond(side, _PLACES[side][0], level[part])
        pixels = np.flatnonzero(beyond)
        if self._width % TILE_WIDE or self._height % TILE_HIGH:  # an odd raster ends within its last tiles
            x, y = _where(pixels, columns, rows)
            pixels = pixels[(x < self._width) & (y < self._height)]
        values = level.ravel()[pixels]
        ends = np.searchsorted(pixels, [_PIXELS * part.stop for part in parts.values()]).tolist()
        spans = {side: slice(*span) for side, span in zip(parts, pairwise([0, *ends]), strict=True)}
        for side, span in spans.items():
            self._values.setdefault(side, []).append(values[span])
            for place in _PLACES[side]:
                count = np.count_nonzero(_is_beyond(side, place, values[span]))
                if not count:
                    break
                self.counts[place] += count
        self._tiles.append((spans, columns, rows, pixels, values))

    def _place(self) -> None:
        """Pixels of tiles in their cells: only once it is known that there are enough of them."""
        for spans, columns, rows, pixels, values in self._tiles:
            x, y = _where(pixels, columns, rows)
            all_cells = (y * self._down // self._height) * self._across + x * self._across // self._width
            for side, span in spans.items():
                for place in _PLACES[side]:
                    cells = all_cells[span][_is_beyond(side, place, values[span])]
                    if not len(cells):
                        break
                    own = self._cells[place]
                    own += np.bincount(cells, minlength=own.size).reshape(own.shape)
        self._tiles = []

    def reach(self) -> np.ndarray:
        """(levels,) in 1/100 %: what the outermost tenth of the pixels beyond each level reaches; 0 where none is."""
        reach = np.zeros(len(LADDER))
        for (component, high), parts in self._values.items():
            values = np.concatenate(parts)
            for place in _PLACES[component, high]:
                values = values[values > _STEPS[place]] if high else values[values < _STEPS[place]]
                if len(values):
                    some = values[:: 1 + len(values) // _ENOUGH]
                    reach[place] = round(100 * percent_of(_percentile(some, 0.9 if high else 0.1)))
        return reach

    def areas(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """The largest area beyond each level, and what each colour has without luma (PAIRS): pixels, largest area.

        (levels, 4), (pairs,) and (pairs, 4); areas are left, top, right, bottom in 1/255 of the picture.
        """
        self._place()
        pixels = self._width * self._height / (self._across * self._down)
        boxes = np.zeros((len(LADDER), 4), np.uint8)
        alone, alone_boxes = np.zeros(len(PAIRS), np.int64), np.zeros((len(PAIRS), 4), np.uint8)
        areas = {place: _Areas(self._cells[place], pixels) for place in np.flatnonzero(self.counts).tolist()}
        for place, own in areas.items():
            boxes[place] = own.largest(own.sizes)
        for pair, (colour, luma) in enumerate(PAIRS):
            if colour in areas:
                sizes = areas[colour].without(self._cells[luma]) if luma in areas else areas[colour].sizes
                alone[pair], alone_boxes[pair] = sizes.sum(), areas[colour].largest(sizes)
        return boxes, alone, alone_boxes


def _where(pixels: np.ndarray, columns: np.ndarray, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """x and y in the picture of pixels that are counted through tiles, tile by tile and row by row."""
    tile = pixels // _PIXELS
    pixel = pixels - _PIXELS * tile
    down = pixel // TILE_WIDE
    return TILE_WIDE * (columns[tile] - down) + pixel, TILE_HIGH * rows[tile] + down


def _is_beyond(side: Side, place: int, level: np.ndarray) -> np.ndarray:
    hair = 0.0 if side[0] == "Y" else _ROUNDED
    return level > _STEPS[place] + hair if side[1] else level < _STEPS[place] - hair


def _percentile(values: np.ndarray, share: float) -> float:
    """Between the two values that lie about a share, in proportion."""
    exact = share * (len(values) - 1)
    place = min(int(exact), max(0, len(values) - 2))
    ends = [place, min(place + 1, len(values) - 1)]
    lower, upper = (float(value) for value in np.partition(values, ends)[ends])
    return lower + (upper - lower) * (exact - place)


def _beyond(side: Side, level: np.ndarray) -> Iterator[tuple[int, np.ndarray]]:
    """Which pixels are beyond each level of a side, uint8 0 or 1, the innermost first and until there are none."""
    for place in _PLACES[side]:
        beyond = _is_beyond(side, place, level).view(np.uint8)
        if not cv2.countNonZero(beyond):
            return
        yield place, beyond


class _Areas:
    """Cells of one level that are full and touch one another, and as one more what is thinly spread between them.

    sizes  (areas,) pixels beyond the level; the thinly spread first
    """

    def __init__(self, cells: np.ndarray, pixels: float) -> None:
        full = (cells >= min(_CELL * pixels, cells.max() / 2)).astype(np.uint8)
        _, labels, self._stats, _ = cv2.connectedComponentsWithStats(full, connectivity=8)
        self._cells, self._labels = cells, labels.ravel()
        self._least = FLOOR * pixels * cells.size
        self.sizes = np.bincount(self._labels, cells.ravel())

    def without(self, luma: np.ndarray) -> np.ndarray:
        """``sizes``, 0 for areas that luma accounts for. Specks under ``FLOOR`` of the picture are taken together."""
        shared = np.bincount(self._labels, np.minimum(self._cells, luma).ravel())
        with_luma = shared >= _WITH_LUMA * self.sizes
        specks = self.sizes < self._least
        specks[0] = True
        with_luma[specks] = shared[specks].sum() >= _WITH_LUMA * self.sizes[specks].sum()
        return np.where(with_luma, 0, self.sizes)

    def largest(self, sizes: np.ndarray) -> tuple[int, int, int, int]:
        """Box of the largest area in 1/255 of the picture; nothing if there is none."""
        if not sizes[1:].any():
            return 0, 0, 0, 0
        left, top, width, height = (int(value) for value in self._stats[1 + int(np.argmax(sizes[1:]))][:4])
        down, across = self._cells.shape
        return (
            left * 255 // across,
            top * 255 // down,
            -(-(left + width) * 255 // across),
            -(-(top + height) * 255 // down),
        )
