"""What lies beyond each level in one picture: how much, how far out, and where."""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.level_filter import TILE_HIGH, TILE_WIDE
from qc.meters.picture.level_ladder import LADDER, SIDES, limit_step, percent_of, rows_of_side
from qc.meters.picture.level_screen import Side
from qc.meters.picture.planes import Planes

#: Colours are sums of rounded numbers; they count as beyond a limit from this part of a step on. Luma is exact.
_ROUNDED = 1 / 512
#: Cells across and down in which what is outside is placed.
_ACROSS, _DOWN = 64, 36
#: A cell belongs to the area outside if this share of it is, or half of what the fullest cell has.
_CELL = 0.05
#: Pixels, evenly taken, from which a tenth is told.
_ENOUGH = 1 << 16

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

    def add_rows(self, rows: np.ndarray, levels: dict[str, np.ndarray], sides: dict[Side, np.ndarray]) -> None:
        """``levels`` (rows, w) of each component in steps."""
        cells = rows * self._down // self._height
        starts = -(-np.arange(self._across) * self._width // self._across)
        for side in sides:
            for place, beyond in self._beyond(side, levels[side[0]]):
                each = np.add.reduceat(beyond, starts, axis=1, dtype=np.int64)
                self.counts[place] += each.sum()
                np.add.at(self._cells[place], cells, each)

    def add_tiles(
        self, columns: np.ndarray, rows: np.ndarray, levels: dict[str, np.ndarray], sides: dict[Side, np.ndarray]
    ) -> None:
        """``levels`` (tiles, pixels) of each component in steps."""
        x = TILE_WIDE * columns[:, None] + np.arange(TILE_WIDE * TILE_HIGH) % TILE_WIDE
        y = TILE_HIGH * rows[:, None] + np.arange(TILE_WIDE * TILE_HIGH) // TILE_WIDE
        real = (x < self._width) & (y < self._height)  # an odd raster ends within its last tiles
        cells = (y * self._down // self._height) * self._across + x * self._across // self._width
        for side in sides:
            for place, beyond in self._beyond(side, levels[side[0]], real):
                own = cells[beyond]
                self.counts[place] += len(own)
                self._cells[place] += np.bincount(own, minlength=self._cells[place].size).reshape(
                    self._cells[place].shape
                )

    def _beyond(self, side: Side, level: np.ndarray, real: np.ndarray | None = None) -> list[tuple[int, np.ndarray]]:
        """Which pixels are beyond each level of a side, until there are none."""
        found: list[tuple[int, np.ndarray]] = []
        hair = 0.0 if side[0] == "Y" else _ROUNDED
        for place in _PLACES[side]:
            beyond = level > _STEPS[place] + hair if side[1] else level < _STEPS[place] - hair
            if real is not None:
                beyond &= real
            if not beyond.any():
                break
            if not found:
                self._values.setdefault(side, []).append(level[beyond])
            found.append((place, beyond))
        return found

    def reach(self) -> np.ndarray:
        """(levels,) in 1/100 %: what the outermost tenth of the pixels beyond each level reaches; 0 where none is."""
        reach = np.zeros(len(LADDER))
        for (component, high), parts in self._values.items():
            values = np.concatenate(parts)
            for place in _PLACES[component, high]:
                values = values[values > _STEPS[place]] if high else values[values < _STEPS[place]]
                if len(values):
                    some = values[:: 1 + len(values) // _ENOUGH]
                    reach[place] = round(100 * percent_of(float(np.percentile(some, 90 if high else 10))))
        return reach

    def boxes(self) -> np.ndarray:
        """(levels, 4) uint8: the largest area beyond each level, left, top, right, bottom in 1/255 of the picture."""
        pixels = self._width * self._height / (self._across * self._down)
        return np.array([_box(cells / pixels) for cells in self._cells], np.uint8)


def _box(cells: np.ndarray) -> tuple[int, int, int, int]:
    """The largest area of full cells, in 1/255 of the picture."""
    if not cells.any():
        return 0, 0, 0, 0
    full = (cells >= min(_CELL, cells.max() / 2)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(full, connectivity=8)
    largest = 1 + int(np.argmax([cells[labels == label].sum() for label in range(1, count)]))
    left, top, width, height = (int(value) for value in stats[largest][:4])
    down, across = cells.shape
    return (
        left * 255 // across,
        top * 255 // down,
        -(-(left + width) * 255 // across),
        -(-(top + height) * 255 // down),
    )
