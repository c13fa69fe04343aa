"""Stillness and small pictures: which frames repeat the one before, and what a still frame looks like."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from qc.measurement.record import PictureSeries
from qc.timing.spans import Span

_CHANGE, _AT, _PICTURE = "cards.change", "cards.at", "cards.picture"
#: Held by a row of changes where there was nothing to compare.
UNMEASURED = 0xFFFF
#: A frame is another picture than the one before when so many cells in 10000 moved, and one of them by so many
#: sixteenths of an 8-bit code (coding lets the edges of a still title flicker by less), or when many cells moved.
_MOVED_CELLS, _MOVED_BY, _MANY_CELLS = 4, 16 * 8, 500
#: Small pictures differ where a cell does by more than this.
_CELL_CODES = 6


@dataclass(frozen=True)
class Cards:
    """Series of the cards meter.

    change   (frames, 4): mean difference in 1/64 code, moved cells and moved cells of the border in 1/10000, largest
             difference in 1/16 code
    at       (cards,) frame of each small picture
    picture  (cards, rows, columns, 3) 8-bit narrow range
    """

    change: np.ndarray
    at: np.ndarray
    picture: np.ndarray

    @cached_property
    def differs(self) -> np.ndarray:
        """(frames,) True where a frame is another picture than the one before, or cannot be compared."""
        moved, largest = self.change[:, 1], self.change[:, 3]
        return ((moved >= _MOVED_CELLS) & (largest >= _MOVED_BY)) | (moved >= _MANY_CELLS)

    @property
    def moved(self) -> np.ndarray:
        """(frames,) share of the cells that moved, 0 to 1; nought where it is not known."""
        return np.where(self.change[:, 1] == UNMEASURED, 0, self.change[:, 1]) / 10000

    @property
    def border_moved(self) -> np.ndarray:
        """(frames,) share of the cells near the edge that moved; nought where it is not known."""
        return np.where(self.change[:, 2] == UNMEASURED, 0, self.change[:, 2]) / 10000

    def within(self, span: Span) -> np.ndarray:
        """Numbers of the small pictures in a span."""
        return np.arange(*np.searchsorted(self.at, [span.first, span.end]).tolist())

    def unmeasured(self, span: Span) -> int:
        """Frames after the first of the file that could not be compared."""
        rows = self.change[max(1, span.first) : max(1, span.end)]
        return int(np.count_nonzero(rows[:, 1] == UNMEASURED))


def cards_of(picture: PictureSeries) -> Cards | None:
    """The series of a record; None if it holds none."""
    extra = picture.extra
    if not {_CHANGE, _AT, _PICTURE} <= set(extra):
        return None
    found = Cards(extra[_CHANGE], extra[_AT].astype(np.int64), extra[_PICTURE])
    whole = (
        found.change.shape == (picture.frames, 4) and found.picture.ndim == 4 and len(found.at) == len(found.picture)
    )
    return found if whole else None


def held(cards: Cards, span: Span) -> list[Span]:
    """The span cut where the picture changes: each piece shows one picture. Empty for an empty span."""
    if not span.frames:
        return []
    edges = [
        span.first,
        *(np.flatnonzero(cards.differs[span.first + 1 : span.end]) + span.first + 1).tolist(),
        span.end,
    ]
    return [Span(first, end) for first, end in pairwise(edges)]


def detail(picture: np.ndarray) -> float:
    """Share of the cells whose luma is clearly not that of the middle one: 0 for a plain colour, some for text."""
    luma = picture[..., 0].astype(np.int16)
    return float(np.mean(np.abs(luma - np.median(luma)) > 2 * _CELL_CODES))


def apart(one: np.ndarray, other: np.ndarray) -> float:
    """Share of the cells in which two small pictures differ."""
    difference = np.abs(one.astype(np.int16) - other.astype(np.int16)).max(axis=-1)
    return float(np.mean(difference > _CELL_CODES))
