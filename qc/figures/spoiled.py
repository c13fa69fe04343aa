"""Spoiled frames: the whole picture, or a half of it, is wrong for one frame and right again in the next.

Colour that is lost or another one while the light stays; the picture in blocks of 8 x 8; a part without signal. What
tells each from flashes, cuts and motion: the frames beside agree, and only that one thing changes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qc.figures.frame_series import FrameSeries, largest_near, shifted
from qc.timing.spans import Span

#: Frames around that a frame is compared with.
AROUND = 5
#: Colour that comes and goes, mean codes; how far over what it does in the frames around; and how much of that the
#: light may come and go, too. Coded in four ways, the open film reaches 7 codes where most of it flies past; there the
#: light does twice as much. Where it does less than three quarters, colour comes and goes by 0.9 codes at most.
COLOURED, STANDS_OUT, LIGHT = 2.0, 2.0, 0.75
#: By how many codes the light of the whole picture may differ between the frames beside: in a quick fade colour may
#: pass through none. Colour that is lost, inverted or swapped and so far off tells where light changes, too.
STEADY, FAR_OFF = 8.0, 4.5
#: Share of one colour from which a picture is judged as that (solids).
SOLID = 0.9
#: Colour is lost when it is no further from no colour than so many codes, or this share of what it is beside; and
#: there is something to lose from so many on.
LOST, LOST_SHARE, SOME = 2.5, 0.25, 3.0
#: It is inverted, or is the other one, when it correlates so far with that of the frame before.
INVERTED, SWAPPED = -0.7, 0.8
#: Steps at the edges of blocks against those in the frames around, and in the picture beside at least.
BLOCKS, EDGES = 3.0, 1.0
#: A part without signal: rows or columns of the coarse grid, at least so many, that do not differ by more than
#: FLAT codes, where those beside differ by DRAWN or, of what is as dark as DARK, all of it is lighter by that; what the
#: rest may come and go, codes.
ROWS, COLUMNS, FLAT, DRAWN, DARK, REST = 2, 4, 2, 20, 20, 6


@dataclass(frozen=True)
class Spoiled:
    """A frame that is wrong.

    kind   "colour lost", "Cb lost", "Cr lost", "colour inverted", "colours swapped", "other colour", "blocks",
           "no signal"
    codes  how far it is from the frames beside, on average over the picture; of colour or, of the last two, of luma
    """

    frame: int
    kind: str
    codes: float

    @property
    def span(self) -> Span:
        return Span(self.frame, self.frame + 1)


def spoiled_frames(series: FrameSeries) -> list[Spoiled]:
    """In order, each frame once; none where an older record lacks the series."""
    light = series.known("spike.mean", 0.0)
    found = {at: Spoiled(at, "blocks", float(light[at])) for at in np.flatnonzero(_in_blocks(series)).tolist()}
    if "spike.cb_mean" in series.series:
        found |= {one.frame: one for one in _wrong_colour(series)}
    found |= {at: Spoiled(at, "no signal", float(light[at])) for at in np.flatnonzero(_no_signal(series)).tolist()}
    return [found[frame] for frame in sorted(found)]


def _around(values: np.ndarray) -> np.ndarray:
    return np.maximum(largest_near(values, -AROUND, 0), largest_near(values, 1, AROUND + 1))


def _wrong_colour(series: FrameSeries) -> Iterator[Spoiled]:
    colour = np.maximum(*(series.known(f"spike.{part}_mean", 0.0) for part in ("cb", "cr")))
    wrong = (colour >= COLOURED) & (colour >= STANDS_OUT * _around(colour))
    wrong &= series.known("spike.mean", 0.0) <= LIGHT * colour
    wrong &= series.known("look.solid", 0.0) < SOLID
    light = series.known("motion.luma", 0.0)
    steady = np.abs(shifted(light, 1, 0.0) - shifted(light, -1, 0.0)) <= STEADY
    for frame in np.flatnonzero(wrong & (steady | (colour >= FAR_OFF))).tolist():
        kind = _how(series, frame)
        if steady[frame] or kind != "other colour":
            yield Spoiled(frame, kind, float(colour[frame]))


def _how(series: FrameSeries, frame: int) -> str:
    blue, red = (_part(series, frame, own, other) for own, other in (("cb", "cr"), ("cr", "cb")))
    if {blue, red} <= {"lost", "none"}:
        return "colour lost"
    if {blue, red} <= {"swapped", "none"}:
        return "colours swapped"
    if {blue, red} <= {"inverted", "none"}:
        return "colour inverted"
    for name, one, other in (("Cb", blue, red), ("Cr", red, blue)):
        if one == "lost" and other == "same":
            return f"{name} lost"
    return "other colour"


def _part(series: FrameSeries, frame: int, own: str, other: str) -> str:
    """What became of Cb or Cr: "none" where there was none and is none."""
    size, beside, like, across = (
        float(series.known(f"spike.{name}", 0.0)[frame])
        for name in (f"{own}_size", f"{own}_size_beside", f"{own}_like", f"{own}_like_{other}")
    )
    if size <= max(LOST, LOST_SHARE * beside):
        return "lost" if beside >= SOME else "none"
    if across >= SWAPPED and across > abs(like):
        return "swapped"
    if like <= INVERTED:
        return "inverted"
    return "same" if like >= SWAPPED and 0.5 * beside <= size <= 2 * beside else "other"


def _in_blocks(series: FrameSeries) -> np.ndarray:
    edges = series.known("look.edges8", EDGES)
    return np.asarray(edges >= BLOCKS * np.maximum(_around(edges), EDGES))


def _no_signal(series: FrameSeries) -> np.ndarray:
    grid = series.series["motion.grid"].astype(np.float32)
    before, after = (np.roll(grid, step, axis=0) for step in (1, -1))
    lost = _lost_lines(grid, before, after, 2, ROWS) | _lost_lines(grid, before, after, 1, COLUMNS)
    lost[:1] = lost[-1:] = False
    known = ~np.isnan(series["motion.mean"])
    return np.asarray(lost & known & shifted(known, 1, False))


def _lost_lines(grid: np.ndarray, before: np.ndarray, after: np.ndarray, axis: int, least: int) -> np.ndarray:
    """(frames,) bool: lines along ``axis`` from one side of the picture on are flat, those beside are not, and the
    other lines are as they are beside."""
    flat = np.ptp(grid, axis=axis) <= FLAT
    drawn = np.minimum(np.ptp(before, axis=axis), np.ptp(after, axis=axis)) >= DRAWN
    off = np.minimum(np.abs(grid - before), np.abs(grid - after))
    dark = (grid.max(axis=axis) <= DARK) & (off.min(axis=axis) >= DRAWN)
    gone, beyond = flat & (drawn | dark), off.mean(axis=axis)
    found = np.zeros(len(grid), bool)
    for lines, rest in ((gone, beyond), (gone[:, ::-1], beyond[:, ::-1])):
        count = lines.cumprod(axis=1).sum(axis=1)
        total = lines.shape[1]
        # the line at the edge of what is lost belongs to both
        others = np.arange(total)[None, :] > count[:, None]
        left = np.where(others, rest, 0).sum(axis=1) / np.maximum(others.sum(axis=1), 1)
        found |= (count >= least) & others.any(axis=1) & (left <= REST)
    return found
