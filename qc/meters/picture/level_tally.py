"""What lies beyond each level in one picture: how much, how far out, and where."""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.level_filter import TILE
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
        self._cells = np.zeros((len(LADDER), _DOWN, _ACROSS))
        self._values: dict[Side, list[np.ndarray]] = {}

    def add_rows(self, rows: np.ndarray, levels: dict[str, np.ndarray], sides: dict[Side, np.ndarray]) -> None:
        """``levels`` (rows, w) of each component in steps."""
        cell = int(rows[len(rows) // 2]) * _DOWN // self._height
        starts = np.arange(_ACROSS) * self._width // _ACROSS
        for side in sides:
            for place, beyond in self._beyond(side, levels[side[0]]):
                columns = beyond.sum(axis=0, dtype=np.int64)
                self.counts[place] += columns.sum()
                wide = np.concatenate([[0], np.cumsum(columns)])
                self._cells[place, cell] += np.diff(wide[np.append(starts, self._width)])

    def add_tiles(
        self, columns: np.ndarray, rows: np.ndarray, levels: dict[str, np.ndarray], sides: dict[Side, np.ndarray]
    ) -> None:
        """``levels`` (tiles, 16) of each component in steps."""
        x = TILE * columns[:, None] + np.arange(TILE**2) % TILE
        y = TILE * rows[:, None] + np.arange(TILE**2) // TILE
        real = (x < self._width) & (y < self._height)  # an odd raster ends within its last tiles
        cells = (TILE * rows * _DOWN // self._height) * _ACROSS + TILE * columns * _ACROSS // self._width
        for side in sides:
            for place, beyond in self._beyond(side, levels[side[0]], real):
                each = beyond.sum(axis=1)
                self.counts[place] += each.sum()
                self._cells[place] += np.bincount(cells, each, _DOWN * _ACROSS).reshape(_DOWN, _ACROSS)

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
        pixels = self._width * self._height / (_ACROSS * _DOWN)
        return np.array([_box(cells / pixels) for cells in self._cells], np.uint8)


def _box(cells: np.ndarray) -> tuple[int, int, int, int]:
    """The largest area of full cells, in 1/255 of the picture."""
    if not cells.any():
        return 0, 0, 0, 0
    full = (cells >= min(_CELL, cells.max() / 2)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(full, connectivity=8)
    largest = 1 + int(np.argmax([cells[labels == label].sum() for label in range(1, count)]))
    left, top, width, height = (int(value) for value in stats[largest][:4])
    return (
        left * 255 // _ACROSS,
        top * 255 // _DOWN,
        -(-(left + width) * 255 // _ACROSS),
        -(-(top + height) * 255 // _DOWN),
    )
