"""Motion: how each frame differs from its neighbours. The series behind freezes, repeats, cadences and stray frames.

Three views of a frame are kept for a while and compared: a small plane of 150 to 300 rows (averages, so that noise
falls and the cells of a coarse grid tell where something moves), full-precision pairs of rows spread over the
picture (where two frames are the same, these are the same to the code), and the fine structure of a tiny plane (what
is left when brightness is taken away: a flash keeps it, another shot does not).

All differences are in codes of 8 bits, whatever the depth.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from functools import cache

import cv2
import numpy as np

from qc.meters.picture.frame_rows import FrameRows
from qc.meters.picture.planes import Planes
from qc.meters.picture.small import small_planes, unit_of

#: Pairs of neighbouring rows, one of each field, that are compared at full precision.
ROW_PAIRS = 63
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

_NAMES = (
    *("mean", "busiest", "lively", "quiet", "two", "three", "twelve", "course"),
    *("top", "top_busiest", "top_quiet", "bottom", "bottom_busiest", "bottom_quiet", "equal", "within"),
    *("like1", "like2", "like3", "like4", "structure", "luma"),
)


@dataclass
class _View:
    """What is kept of a frame."""

    coding: tuple[int, int, int]  # raster and depth: only frames that agree are compared
    small: np.ndarray
    upper: np.ndarray  # every so many rows, one of each field
    lower: np.ndarray
    structure: np.ndarray
    power: float  # sum of squares of the structure
    change: np.ndarray | None = None  # small plane less that of the frame before
    energy: float = 0.0  # sum of squares of the change


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
    motion.equal, within   share of full-precision pixels that are exactly equal; within one code of 8 bits
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
        unit = unit_of(planes)
        small, tiny = small_planes(planes)
        view = _view(planes, small, tiny, unit)
        if self._views and self._views[-1].coding != view.coding:
            self._views.clear()
        row = self._rows.next()
        row["luma"] = cv2.mean(tiny)[0] / unit
        row["structure"] = (view.power / tiny.size) ** 0.5
        grid = cv2.resize(tiny, (ACROSS, DOWN), interpolation=cv2.INTER_AREA)
        self._grids.append(np.minimum(grid / unit + 0.5, 255).astype(np.uint8))
        if self._views:
            last = self._views[-1]
            _compare_rows(row, view, last, unit)
            _compare_small(row, view, last, unit)
            last.change = None
        for back, name in ((2, "two"), (3, "three"), (FAR, "twelve")):
            if len(self._views) >= back:
                row[name] = cv2.norm(small, self._views[-back].small, cv2.NORM_L1) / (small.size * unit)
        for back in range(1, min(4, len(self._views)) + 1):
            row[f"like{back}"] = _alike(view, self._views[-back])
        self._views.append(view)

    def skip(self) -> None:
        self._rows.next()
        self._grids.append(np.zeros((DOWN, ACROSS), np.uint8))
        self._views.clear()

    def finish(self) -> dict[str, np.ndarray]:
        grids = np.stack(self._grids) if self._grids else np.zeros((0, DOWN, ACROSS), np.uint8)
        return {**self._rows.finish("motion"), "motion.grid": grids}


def _view(planes: Planes, small: np.ndarray, tiny: np.ndarray, unit: float) -> _View:
    upper, lower = _spread_rows(planes.height)
    flat = tiny.astype(np.float32) * np.float32(1 / unit)
    structure = flat - cv2.blur(flat, (BOX, BOX))
    return _View(
        coding=(planes.width, planes.height, planes.bits),
        small=small,
        upper=planes.luma[upper],
        lower=planes.luma[lower],
        structure=structure,
        power=float(np.vdot(structure, structure)),
    )


@cache
def _spread_rows(height: int) -> tuple[np.ndarray, np.ndarray]:
    """Rows of the upper and of the lower field, spread evenly: ROW_PAIRS of each, or as many as there are."""
    pairs = max(1, height // 2)
    taken = min(ROW_PAIRS, pairs)
    upper = 2 * ((2 * np.arange(taken) + 1) * pairs // (2 * taken))
    return upper, np.minimum(upper + 1, height - 1)


def _compare_rows(row: dict[str, float], view: _View, last: _View, unit: float) -> None:
    """Full precision, each field by itself."""
    differing = beyond = 0
    halves = (("top", view.upper, last.upper), ("bottom", view.lower, last.lower))
    for name, new, old in halves:
        apart = cv2.absdiff(new, old)
        differs = cv2.countNonZero(apart)
        row[name] = row[f"{name}_busiest"] = row[f"{name}_quiet"] = 0.0
        if differs:
            differing += differs
            beyond += cv2.countNonZero(cv2.compare(apart, np.array([unit]), cv2.CMP_GT))
            row[name], cells = _in_cells(apart, unit)
            row[f"{name}_busiest"], row[f"{name}_quiet"] = float(cells[-1]), float(cells[QUIET])
    pixels = view.upper.size + view.lower.size
    row["equal"], row["within"] = 1 - differing / pixels, 1 - beyond / pixels


def _compare_small(row: dict[str, float], view: _View, last: _View, unit: float) -> None:
    view.change = cv2.subtract(view.small, last.small, dtype=cv2.CV_32F)
    view.energy = float(np.vdot(view.change, view.change))
    row["mean"], cells = _in_cells(cv2.absdiff(view.small, last.small), unit)
    row["busiest"], row["lively"], row["quiet"] = (float(cells[at]) for at in (-1, LIVELY, QUIET))
    if last.change is not None and view.energy > 0 and last.energy > 0:
        row["course"] = float(np.vdot(view.change, last.change)) / (view.energy * last.energy) ** 0.5


def _in_cells(apart: np.ndarray, unit: float) -> tuple[float, np.ndarray]:
    """Mean of a picture of differences, and its cells from the lowest to the highest.

    Cells of whole pixels are several times faster; what is left over at the right and at the bottom belongs to none.
    """
    height, width = apart.shape
    whole = apart[: height // DOWN * DOWN or height, : width // ACROSS * ACROSS or width].astype(np.float32)
    cells = cv2.resize(whole, (ACROSS, DOWN), interpolation=cv2.INTER_AREA).ravel() / unit
    return cv2.mean(apart)[0] / unit, np.sort(cells)


def _alike(one: _View, other: _View) -> float:
    """Correlation of structure; 0 where one of them has none."""
    faint = FAINT * one.structure.size
    return float(np.vdot(one.structure, other.structure)) / ((one.power * other.power) ** 0.5 + faint)
