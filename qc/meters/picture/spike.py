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

from qc.meters.picture.averages import halved
from qc.meters.picture.frame_rows import FrameRows
from qc.meters.picture.planes import Planes

#: Side of a macroblock of the usual codecs, in pixels of the full raster (ITU-T H.262, H.264; SMPTE RDD 36).
BLOCK = 16
#: Side of a cell that a spike is averaged in, in pixels of its plane.
CELL = 8
#: A spike whose highest cell is under so many codes is not looked at closely: nobody sees it for one frame.
CLOSELY = 9.5
#: Blocks on each side of the highest cell that are looked at.
AROUND = 4
#: A spike of so many codes on average is looked at everywhere: what fills it may hide the blocks it is made of.
EVERYWHERE = 4.0
#: A spike of colour of so many codes on average is told apart: lost, or another colour.
WHOLE_COLOUR = 1.0
#: Steps of so many codes are always there: noise.
STEP = 0.1

#: Codes of no colour, in 8 bits.
NO_COLOUR = 128

_NAMES = (
    *("mean", "cell", "cb_cell", "cr_cell", "grid", "line", "cb_grid", "cb_line", "cr_grid", "cr_line"),
    *("cb_mean", "cr_mean", "cb_size", "cr_size", "cb_size_beside", "cr_size_beside"),
    *("cb_like", "cr_like", "cb_like_cr", "cr_like_cb"),
)


@dataclass
class _View:
    picture: Planes
    planes: tuple[np.ndarray, ...]  # small luma, and tiny Cb and Cr if there is colour
    apart: tuple[np.ndarray, ...] | None = None  # how far they are from those of the frame before

    @property
    def coding(self) -> tuple[int, ...]:
        return self.picture.width, self.picture.height, self.picture.bits, len(self.planes)


class SpikeMeter:
    """Series, each (frames,) float16 and NaN where a frame has no two neighbours:

    spike.mean        of luma, in codes of 8 bits; cb_mean, cr_mean: of the tiny chroma planes
    spike.cell        highest cell of 8 x 8 pixels of the small plane; cb_cell, cr_cell: of the tiny chroma planes
    spike.grid, line  steps at the edges of blocks, as a multiple of those inside blocks: all of them, and the
                      strongest line at an edge against the strongest inside. Of rows or columns, around that cell
                      or in the whole picture, whichever has the stronger line. NaN where no cell is high enough.
                      cb_grid ... likewise
    spike.cb_size     how far Cb is from no colour, root mean square in codes; cb_size_beside: that of the frame before.
                      These and the rest only where the spike of one of them is WHOLE_COLOUR on average
    spike.cb_like     correlation of Cb with that of the frame before, -1 to 1, about no colour; cb_like_cr: with the Cr
                      of the frame before. cr_size ... likewise
    spike.place       (frames, 2) uint8: where the highest cell of luma lies, across and down, in 1/255 of the picture
    """

    def __init__(self) -> None:
        cv2.setNumThreads(1)
        self._views: deque[_View] = deque(maxlen=2)
        self._rows = FrameRows(_NAMES)
        self._places: list[tuple[int, int]] = []

    def feed(self, planes: Planes) -> None:
        view = _View(planes, (planes.small, *(planes.tiny_chroma or ())))
        if self._views and self._views[-1].coding != view.coding:
            self._views.clear()
        self._rows.next()
        self._places.append((0, 0))
        if self._views:
            before = self._views[-1].planes
            view.apart = tuple(cv2.absdiff(new, old) for new, old in zip(view.planes, before, strict=True))
        if len(self._views) == 2:
            self._measure(self._views[0], self._views[1], view)
        self._views.append(view)

    def skip(self) -> None:
        self._rows.next()
        self._places.append((0, 0))
        self._views.clear()

    def finish(self) -> dict[str, np.ndarray]:
        return {**self._rows.finish("spike"), "spike.place": np.array(self._places, np.uint8).reshape(-1, 2)}

    def _measure(self, before: _View, this: _View, after: _View) -> None:
        row = self._rows.before
        if row is None or this.apart is None or after.apart is None:
            return
        for part, name in enumerate(("", "cb_", "cr_")[: len(this.planes)]):
            ends = cv2.absdiff(before.planes[part], after.planes[part])
            spike = cv2.subtract(cv2.min(this.apart[part], after.apart[part]), ends)
            highest, across, down = _highest_cell(spike)
            row[f"{name}cell"] = highest
            row[f"{name}mean"] = mean = cv2.mean(spike)[0]
            if part == 0:
                self._places[-2] = round(255 * across), round(255 * down)
            if highest >= CLOSELY:
                close = _Close((before, this, after), part)
                found = [close.on_blocks(*close.around(across, down))]
                if mean >= EVERYWHERE:
                    found.append(close.on_blocks(*close.everywhere))
                row[f"{name}grid"], row[f"{name}line"] = max(found, key=lambda pair: pair[1])
        if max(row.get("cb_mean", 0.0), row.get("cr_mean", 0.0)) >= WHOLE_COLOUR:
            row.update(_colours(before.planes[1:], this.planes[1:]))


def _colours(before: tuple[np.ndarray, ...], this: tuple[np.ndarray, ...]) -> dict[str, float]:
    """Cb and Cr of a frame against those of the frame before, each about no colour."""
    old, new = ([plane.astype(np.float32).ravel() - NO_COLOUR for plane in planes] for planes in (before, this))
    found = {}
    for own, other, name in ((0, 1, "cb"), (1, 0, "cr")):
        size, beside, across = (float(np.linalg.norm(plane)) for plane in (new[own], old[own], old[other]))
        root = new[own].size ** 0.5
        found[f"{name}_size"], found[f"{name}_size_beside"] = size / root, beside / root
        found[f"{name}_like"] = float(new[own] @ old[own]) / max(size * beside, root)
        found[f"{name}_like_{('cr', 'cb')[own]}"] = float(new[own] @ old[other]) / max(size * across, root)
    return found


class _Close:
    """Three frames that follow each other at half size at the coarsest: on these blocks are told."""

    def __init__(self, three: tuple[_View, _View, _View], part: int) -> None:
        self._three, self._part = three, part
        this = three[1].picture
        self._small = this.small_steps == 0
        self._unit = 1.0 if self._small else this.unit
        self._block = BLOCK // 2 if part or not self._small else BLOCK
        self._height, self._width = three[1].planes[part].shape if self._small else (this.height // 2, this.width // 2)

    def around(self, across: float, down: float) -> tuple[slice, slice]:
        """Lines and columns round a place."""
        return _window(down, self._height, self._block), _window(across, self._width, self._block)

    @property
    def everywhere(self) -> tuple[slice, slice]:
        return slice(0, self._height), slice(0, self._width)

    def on_blocks(self, lines: slice, columns: slice) -> tuple[float, float]:
        """The spike in a window, at the edges of blocks against inside: all steps, and the strongest line."""
        before, this, after = (
            view.planes[self._part][lines, columns]
            if self._small
            else view.picture.half_window(self._part, lines, columns)
            for view in self._three
        )
        spike = _stands_out(*(np.ascontiguousarray(plane) for plane in (before, this, after)))
        found = [
            _edges(cv2.reduce(cv2.absdiff(spike[:, 1:], spike[:, :-1]), 0, cv2.REDUCE_SUM, dtype=cv2.CV_32F).ravel()
                   / (spike.shape[0] * self._unit), columns.start, self._block),
            _edges(cv2.reduce(cv2.absdiff(spike[1:], spike[:-1]), 1, cv2.REDUCE_SUM, dtype=cv2.CV_32F).ravel()
                   / (spike.shape[1] * self._unit), lines.start, self._block),
        ]  # fmt: skip
        return max(found, key=lambda pair: pair[1])


def _stands_out(before: np.ndarray, this: np.ndarray, after: np.ndarray) -> np.ndarray:
    return cv2.subtract(cv2.min(cv2.absdiff(this, before), cv2.absdiff(this, after)), cv2.absdiff(before, after))


def _highest_cell(spike: np.ndarray) -> tuple[float, float, float]:
    """Average of the highest cell, and where its middle lies across and down, 0 to 1."""
    cells = spike
    if min(spike.shape) >= CELL:
        cells = halved(halved(halved(spike)))
    _, highest, _, (column, line) = cv2.minMaxLoc(cells)
    return float(highest), (column + 0.5) / cells.shape[1], (line + 0.5) / cells.shape[0]


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
