"""What one frame shows that neither of its neighbours does, while these two agree: digital hits, among other things.

A spike is min(|before - this|, |this - after|) - |before - after|, where that is more than nothing. A thing that
crosses the picture leaves some; so does a flash. What a damaged block leaves has straight edges on the grid of
blocks, along whole rows or columns of blocks. Where a spike stands out its surroundings are looked at closely.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

import cv2
import numpy as np

from qc.meters.picture.frame_rows import FrameRows
from qc.meters.picture.planes import Planes, halved
from qc.meters.picture.small import small_level, small_planes, tiny_chroma, unit_of

#: Side of a macroblock of the usual codecs, in pixels of the full raster (ITU-T H.262, H.264; SMPTE RDD 36).
BLOCK = 16
#: Side of a cell that a spike is averaged in, in pixels of its plane.
CELL = 8
#: A spike whose highest cell is under so many codes is not looked at closely.
CLOSELY = 5.0
#: Blocks on each side of the highest cell that are looked at.
AROUND = 4
#: A spike of so many codes on average is looked at everywhere: what fills it may hide the blocks it is made of.
EVERYWHERE = 4.0
#: Steps of so many codes are always there: noise.
STEP = 0.1

_NAMES = ("mean", "cell", "cb_cell", "cr_cell", "grid", "line", "cb_grid", "cb_line", "cr_grid", "cr_line")


@dataclass
class _View:
    coding: tuple[int, int, int]
    planes: tuple[np.ndarray, ...]  # small luma, and tiny Cb and Cr if there is colour
    close: tuple[np.ndarray, ...]  # the same pictures at half size at the coarsest: on these blocks are told
    blocks: tuple[int, ...]  # side of a block in each of these
    apart: tuple[np.ndarray, ...] | None = None  # how far the planes are from those of the frame before


class SpikeMeter:
    """Series, each (frames,) float16 and NaN where a frame has no two neighbours:

    spike.mean        of luma, in codes of 8 bits
    spike.cell        highest cell of 8 x 8 pixels of the small plane; cb_cell, cr_cell: of the tiny chroma planes
    spike.grid, line  steps at the edges of blocks, as a multiple of those inside blocks: all of them, and the
                      strongest line at an edge against the strongest inside. Of rows or columns, around that cell
                      or in the whole picture, whichever has the stronger line. NaN where no cell is high enough.
                      cb_grid ... likewise
    spike.place       (frames, 2) uint8: where the highest cell of luma lies, across and down, in 1/255 of the picture
    """

    def __init__(self) -> None:
        cv2.setNumThreads(1)
        self._views: deque[_View] = deque(maxlen=2)
        self._rows = FrameRows(_NAMES)
        self._places: list[tuple[int, int]] = []

    def feed(self, planes: Planes) -> None:
        view = _view(planes)
        if self._views and self._views[-1].coding != view.coding:
            self._views.clear()
        self._rows.next()
        self._places.append((0, 0))
        if self._views:
            view.apart = tuple(
                cv2.absdiff(new, old) for new, old in zip(view.planes, self._views[-1].planes, strict=True)
            )
        if len(self._views) == 2:
            self._measure(self._views[0], self._views[1], view, unit_of(planes))
        self._views.append(view)

    def skip(self) -> None:
        self._rows.next()
        self._places.append((0, 0))
        self._views.clear()

    def finish(self) -> dict[str, np.ndarray]:
        return {**self._rows.finish("spike"), "spike.place": np.array(self._places, np.uint8).reshape(-1, 2)}

    def _measure(self, before: _View, this: _View, after: _View, unit: float) -> None:
        row = self._rows.before
        if row is None or this.apart is None or after.apart is None:
            return
        for part, name in enumerate(("", "cb_", "cr_")[: len(this.planes)]):
            ends = cv2.absdiff(before.planes[part], after.planes[part])
            spike = cv2.subtract(cv2.min(this.apart[part], after.apart[part]), ends)
            highest, across, down = _highest_cell(spike)
            row[f"{name}cell"] = highest / unit
            if part == 0:
                row["mean"] = cv2.mean(spike)[0] / unit
                self._places[-2] = round(255 * across), round(255 * down)
            if highest >= CLOSELY * unit:
                three = before.close[part], this.close[part], after.close[part]
                windows = [_window_around(three[0], across, down, this.blocks[part])]
                if cv2.mean(spike)[0] >= EVERYWHERE * unit:
                    windows.append((slice(0, three[0].shape[0]), slice(0, three[0].shape[1])))
                found = [_on_blocks(three, window, this.blocks[part], unit) for window in windows]
                row[f"{name}grid"], row[f"{name}line"] = max(found, key=lambda pair: pair[1])


def _view(planes: Planes) -> _View:
    small, _ = small_planes(planes)
    chroma = tiny_chroma(planes) or ()
    coding = (planes.width, planes.height, planes.bits)
    if small_level(planes) == 0:
        return _View(coding, (small, *chroma), (small, *chroma), (BLOCK, BLOCK // 2, BLOCK // 2))
    half = (planes.half, *(planes.chroma_half or ()))
    return _View(coding, (small, *chroma), half, (BLOCK // 2,) * 3)


def _stands_out(before: np.ndarray, this: np.ndarray, after: np.ndarray) -> np.ndarray:
    return cv2.subtract(cv2.min(cv2.absdiff(this, before), cv2.absdiff(this, after)), cv2.absdiff(before, after))


def _highest_cell(spike: np.ndarray) -> tuple[float, float, float]:
    """Average of the highest cell, and where its middle lies across and down, 0 to 1."""
    cells = spike
    if min(spike.shape) >= CELL:
        cells = halved(halved(halved(spike)))
    _, highest, _, (column, line) = cv2.minMaxLoc(cells)
    return float(highest), (column + 0.5) / cells.shape[1], (line + 0.5) / cells.shape[0]


def _window_around(plane: np.ndarray, across: float, down: float, block: int) -> tuple[slice, slice]:
    height, width = plane.shape
    return _window(down, height, block), _window(across, width, block)


def _on_blocks(
    three: tuple[np.ndarray, np.ndarray, np.ndarray], window: tuple[slice, slice], block: int, unit: float
) -> tuple[float, float]:
    """The spike in a window, at the edges of blocks against inside: all steps, and the strongest line."""
    lines, columns = window
    spike = _stands_out(*(np.ascontiguousarray(plane[lines, columns]) for plane in three))
    found = [
        _edges(cv2.reduce(cv2.absdiff(spike[:, 1:], spike[:, :-1]), 0, cv2.REDUCE_SUM, dtype=cv2.CV_32F).ravel()
               / (spike.shape[0] * unit), columns.start, block),
        _edges(cv2.reduce(cv2.absdiff(spike[1:], spike[:-1]), 1, cv2.REDUCE_SUM, dtype=cv2.CV_32F).ravel()
               / (spike.shape[1] * unit), lines.start, block),
    ]  # fmt: skip
    return max(found, key=lambda pair: pair[1])


def _window(at: float, length: int, block: int) -> slice:
    """AROUND blocks on each side of the block that holds a place."""
    own = int(at * length) // block
    return slice(max(0, (own - AROUND) * block), min(length, (own + AROUND + 1) * block))


def _edges(steps: np.ndarray, first: int, block: int) -> tuple[float, float]:
    """steps[k] lies between pixels first + k and first + k + 1."""
    at_edge = (np.arange(len(steps)) + first + 1) % block == 0
    if not at_edge.any() or at_edge.all():
        return 1.0, 0.0
    on, off = steps[at_edge], steps[~at_edge]
    return float(on.mean() / (off.mean() + STEP)), float(on.max() / (off.max() + 10 * STEP))
