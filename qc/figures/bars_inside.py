"""Colour bars where pictures should be: which frames show nothing but bars, told to the frame.

A card a second says in colour which bars they are (bars); the coarse grid of luma that every frame has says which
frames show them: those like the frame of such a card, and those whose grid is that of published bars, for bars that
no card fell into. Bars on a screen in the picture fill neither.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from qc.figures.bar_patterns import MATRICES, PATTERNS, Pattern, codes
from qc.figures.bars import PLACES, Bars, resembles
from qc.figures.black import runs_of
from qc.figures.cards import Cards
from qc.figures.frame_series import FrameSeries
from qc.timing.spans import Span

#: Rows of the grid that are alike in all bars, to so many codes on average; and by how much the bars in them differ.
ALIKE_ROWS, ROWS_OFF, BARS_APART = (0, 2, 4), 6.0, 60
#: Mean codes that the grid of a frame may be from that of a card of bars beside it.
LIKE_CARD = 3.0
#: Codes that a cell of the grid may be off published bars, and more of what patches differ by that share it or meet
#: within a pixel or two of it: generators round the edges. All of them are off by so many on average at most: an even
#: run from light to dark is 6 codes off the luma of EBU bars.
CELL_OFF, SHARED, OFF = 4.5, 0.12, 2.5
#: Pixels of a cell, down and across, that patterns are drawn in to know what a cell holds: 7, 8, 9 and 12 parts of
#: the picture fall on whole ones.
_DOWN, _ACROSS = 28, 42
#: Such pixels on each side of a cell that an edge may be moved by.
_MOVED = 4


@dataclass(frozen=True)
class BarsRun:
    """Frames that show bars; ``name`` with matrix and deviation where a card tells them."""

    span: Span
    name: str


def bars_inside(series: FrameSeries, cards: Cards, matrix: str = "BT.709") -> list[BarsRun]:
    """Runs of frames that show bars, in order; one frame is enough where these stand at their published levels.

    matrix  that counts where two fit alike
    """
    grid = series.series["motion.grid"].astype(np.int16)
    likely = _likely(grid)
    known = {
        int(cards.at[number]): bars
        for number in np.flatnonzero(likely[cards.at])
        if (bars := resembles(cards.picture[number], matrix)) is not None
    }
    shows = np.zeros(len(grid), bool)
    for frame in known:
        if not shows[frame]:
            shows[_like(grid, frame)] = True
    names = _published(grid, np.flatnonzero(likely & ~shows), matrix)
    shows[list(names)] = True
    return [BarsRun(run, name) for run in runs_of(shows) if (name := _name(run, known, names, cards))]


def _name(run: Span, known: dict[int, Bars], names: dict[int, str], cards: Cards) -> str:
    """ "" for what the cards in it show to be something else: steps of grey."""
    at = cards.at[cards.within(run)].tolist()
    found = [known[frame].words for frame in at if frame in known]
    if at and not found:
        return ""
    return found[len(found) // 2] if found else next(names[frame] for frame in range(run.first, run.end))


def _likely(grid: np.ndarray) -> np.ndarray:
    """(frames,) bool: the upper half is the same from top to bottom, and not so across."""
    upper = grid[:, ALIKE_ROWS]
    off = np.abs(upper[:, 1:] - upper[:, :1]).mean(axis=(1, 2))
    return np.asarray((off <= ROWS_OFF) & (np.ptp(upper[:, 0], axis=1) >= BARS_APART))


def _like(grid: np.ndarray, frame: int) -> slice:
    """Frames around that show what this one does."""
    first, end = frame, frame + 1
    while first > 0 and np.abs(grid[first - 1] - grid[frame]).mean() <= LIKE_CARD:
        first -= 1
    while end < len(grid) and np.abs(grid[end] - grid[frame]).mean() <= LIKE_CARD:
        end += 1
    return slice(first, end)


def _published(grid: np.ndarray, frames: np.ndarray, matrix: str) -> dict[int, str]:
    """Of these frames those whose luma is that of published bars: name of the pattern."""
    found: dict[int, str] = {}
    if not len(frames):
        return found
    seen = grid[frames].astype(np.float32)
    for name, wanted, most in _grids(matrix):
        off = np.abs(seen - wanted)
        good = ((off <= most) | np.isnan(wanted)).all(axis=(1, 2)) & (np.nanmean(off, axis=(1, 2)) <= OFF)
        for frame in frames[good].tolist():
            found.setdefault(frame, name)
    return found


@cache
def _grids(matrix: str) -> tuple[tuple[str, np.ndarray, np.ndarray], ...]:
    """Name, luma of each cell and how far that may be off; NaN where it or what it meets is not published."""
    order = sorted(MATRICES, key=lambda name: name != matrix)
    return tuple(_drawn(place, pattern, name) for name in order for place in PLACES for pattern in PATTERNS)


def _drawn(place: tuple[float, float], pattern: Pattern, matrix: str) -> tuple[str, np.ndarray, np.ndarray]:
    (left, right), rows, columns = place, 9 * _DOWN, 16 * _ACROSS
    picture = np.full((rows, columns), np.nan)
    picture[:, : round(left * columns)] = picture[:, round(right * columns) :] = 16
    for patch in pattern.patches:
        across = [round((left + (right - left) * edge) * columns) for edge in (patch.left, patch.right)]
        down = [round(edge * rows) for edge in (patch.top, patch.bottom)]
        picture[down[0] : down[1], across[0] : across[1]] = codes(patch.colour, matrix)[0]
    cells = picture.reshape(9, _DOWN, 16, _ACROSS).mean(axis=(1, 3))
    wide = np.stack([np.roll(picture, step, axis=1) for step in (-_MOVED, 0, _MOVED)])
    apart = np.ptp(wide.reshape(3, 9, _DOWN, 16, _ACROSS), axis=(0, 2, 4))
    return pattern.name, np.where(np.isnan(apart), np.nan, cells), CELL_OFF + SHARED * apart
