"""Motion: how each frame differs from its neighbours. The series behind freezes, repeats, cadences and stray frames.

Three views of a frame are kept for a while and compared: a small plane of 150 to 300 rows (averages, so that noise
falls and the cells of a coarse grid tell where something moves), full-precision pairs of rows spread over the
picture (where two frames are the same, these are the same to the code), and the fine structure of a tiny plane (what
is left when brightness is taken away: a flash keeps it, another shot does not).

All differences are in codes of 8 bits, whatever the depth.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

from qc.meters.picture.frame_rows import FrameRows
from qc.meters.picture.planes import Planes

#: Pairs of neighbouring rows, one of each field, that are compared at full precision.
ROW_PAIRS = 36
#: Coarse grid: cells across and down, of the fingerprint and of the busiest and the quiet cell.
ACROSS, DOWN = 16, 9
#: The quiet cell: so many of 144 are quieter. What changes there is noise, unless the whole picture moves.
QUIET = 28
#: The lively cell: a quarter of them change more.
LIVELY = 108
#: How far back a drift is looked for, in frames.
FAR = 12
#: Box, in pixels of the tiny plane, whose average is taken off to leave the structure.
BOX = 9
#: Mean square, in codes, below which structure is no more than noise.
FAINT = 0.25

_NO_CHANGE = np.zeros((2, DOWN * ACROSS))

_NAMES = (
    *("mean", "busiest", "lively", "quiet", "two", "three", "twelve", "course"),
    *("top", "top_busiest", "top_quiet", "bottom", "bottom_busiest", "bottom_quiet", "equal"),
    *("like1", "like2", "like3", "like4", "structure", "luma"),
)


@dataclass
class _View:
    """What is kept of a frame."""

    coding: tuple[int, int, int]  # raster and depth: only frames that agree are compared
    small: np.ndarray
    rows: np.ndarray  # every so many rows: first those of the upper field, then those of the lower
    structure: np.ndarray
    power: float  # sum of squares of the structure
    energy: float = 0.0  # sum of squares of the small plane less that of the frame before


class MotionMeter:
    """Series, each (frames,) float16 with NaN where there is nothing to compare with, unless said otherwise:

    motion.mean            difference to the frame before, mean magnitude on the small plane
    motion.busiest, lively, quiet  the same in cells of 16 x 9: the highest, the one that a quarter of the cells are
                           over, and the one that a fifth of them are under
    motion.two, three, twelve   mean magnitude against the frame so many before
    motion.course          correlation of this change with the change before, -1 to 1: about 0 for what moves, near 1
                           for a blend or a fade, near -1 for what comes back
    motion.top, bottom     difference to the frame before at full precision, rows of the upper and of the lower field
    motion.top_busiest, top_quiet, bottom_busiest, bottom_quiet   of these in cells
    motion.equal           share of full-precision pixels that are exactly equal
    motion.like1 .. like4  correlation of structure with the frame so many before: near 1 in one shot, 0 across a cut
    motion.structure       root mean square of the structure: 0 for a flat picture
    motion.luma            mean code
    motion.grid            (frames, 9, 16) uint8, mean code of each cell: a fingerprint of the picture

    A skipped frame is empty: NaN, and a grid of 0. Nothing is compared across it, nor across a change of raster.
    """

    def __init__(self) -> None:
        cv2.setNumThreads(1)
        self._views: deque[_View] = deque(maxlen=FAR)
        self._rows = FrameRows(_NAMES)
        self._grids: list[np.ndarray] = []

    def feed(self, planes: Planes) -> None:
        view = _view(planes)
        small, views = view.small, self._views
        if views and views[-1].coding != view.coding:
            views.clear()
        row = self._rows.next()
        row["luma"] = cv2.mean(planes.tiny)[0]
        row["structure"] = (view.power / planes.tiny.size) ** 0.5
        self._grids.append(cv2.resize(planes.tiny, (ACROSS, DOWN), interpolation=cv2.INTER_AREA))
        if views:
            _compare_rows(row, view, views[-1], planes.unit)
            _compare_small(row, view, views)
        for back, name in ((2, "two"), (3, "three"), (FAR, "twelve")):
            if len(views) >= back:
                row[name] = cv2.norm(small, views[-back].small, cv2.NORM_L1) / small.size
        for back in range(1, min(4, len(views)) + 1):
            row[f"like{back}"] = _alike(view, views[-back])
        views.append(view)

    def skip(self) -> None:
        self._rows.next()
        self._grids.append(np.zeros((DOWN, ACROSS), np.uint8))
        self._views.clear()

    def finish(self) -> dict[str, np.ndarray]:
        grids = np.stack(self._grids) if self._grids else np.zeros((0, DOWN, ACROSS), np.uint8)
        return {**self._rows.finish("motion"), "motion.grid": grids}


def _view(planes: Planes) -> _View:
    tiny = planes.tiny
    structure = np.subtract(tiny, cv2.boxFilter(tiny, cv2.CV_32F, (BOX, BOX)), dtype=np.float32)
    return _View(
        coding=(planes.width, planes.height, planes.bits),
        small=planes.small,
        rows=planes.luma[_spread_rows(planes.height)],
        structure=structure,
        power=float(np.vdot(structure, structure)),
    )


@cache
def _spread_rows(height: int) -> np.ndarray:
    """Rows of the upper and then of the lower field, spread evenly: ROW_PAIRS of each, or as many as there are."""
    pairs = max(1, height // 2)
    taken = min(ROW_PAIRS, pairs)
    upper = 2 * ((2 * np.arange(taken) + 1) * pairs // (2 * taken))
    return np.concatenate([upper, np.minimum(upper + 1, height - 1)])


def _compare_rows(row: dict[str, float], view: _View, last: _View, unit: float) -> None:
    """Full precision, each field by itself."""
    apart = cv2.absdiff(view.rows, last.rows)
    differing = cv2.countNonZero(apart)
    row["equal"] = 1 - differing / apart.size
    fields = _cells(apart, 2) / unit if differing else _NO_CHANGE
    for name, field, cells in zip(("top", "bottom"), np.split(apart, 2), fields, strict=True):
        row[name] = cv2.norm(field, cv2.NORM_L1) / (field.size * unit) if differing else 0.0
        row[f"{name}_busiest"], row[f"{name}_quiet"] = float(cells[-1]), float(cells[QUIET])


def _compare_small(row: dict[str, float], view: _View, views: Sequence[_View]) -> None:
    last = views[-1]
    apart = cv2.absdiff(view.small, last.small)
    row["mean"] = cv2.norm(apart, cv2.NORM_L1) / apart.size
    (cells,) = _cells(apart)
    row["busiest"], row["lively"], row["quiet"] = cells[-1], cells[LIVELY], cells[QUIET]
    view.energy = cv2.norm(apart, cv2.NORM_L2SQR)
    if len(views) > 1 and view.energy and last.energy:
        # Of two changes that follow each other the product is half of what their sum has more than both
        both = cv2.norm(view.small, views[-2].small, cv2.NORM_L2SQR)
        row["course"] = (both - view.energy - last.energy) / 2 / (view.energy * last.energy) ** 0.5


def _cells(apart: np.ndarray, parts: int = 1) -> np.ndarray:
    """(parts, cells) means of a picture of differences in cells, from the lowest to the highest; ``parts`` pictures of
    the same size may stand below each other.

    Cells of whole pixels are several times faster; what is left over at the right and at the bottom belongs to none.
    """
    height, width = len(apart) // parts, apart.shape[1]
    down, across = height // DOWN, width // ACROSS
    if not down or not across:
        each = (part.astype(np.float32) for part in np.split(apart, parts))
        cells = np.stack([cv2.resize(part, (ACROSS, DOWN), interpolation=cv2.INTER_AREA) for part in each])
    else:
        word: type = np.uint16 if apart.dtype == np.uint8 and down <= 257 else np.uint32
        whole = apart.reshape(parts, height, width)[:, : down * DOWN, : across * ACROSS]
        lines = np.add.reduce(whole.reshape(parts * DOWN, down, across * ACROSS), axis=1, dtype=word)
        cells = np.add.reduce(lines.reshape(parts, DOWN * ACROSS, across), axis=2, dtype=np.uint32)
        cells = cells / np.float32(down * across)
    cells = cells.reshape(parts, -1)
    cells.sort(axis=1)
    return cells


def _alike(one: _View, other: _View) -> float:
    """Correlation of structure; 0 where one of them has none."""
    faint = FAINT * one.structure.size
    return float(np.vdot(one.structure, other.structure)) / ((one.power * other.power) ** 0.5 + faint)
