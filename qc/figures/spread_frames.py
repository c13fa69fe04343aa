"""Frames of one rate spread over the frames of a higher one by showing some again, where that has no short period.

Frame k shows picture floor(k x share + start), share being the pictures for each frame: 25 pictures in 59.94 frames
are 0.417. So a frame shows a new picture if and only if the fraction of k x share falls in one arc of the circle, as
long as the share, and it repeats the one before in the rest of the circle. Where frames are told apart by that, one
start holding throughout, they were spread so; an even slip of the repeats is part of it. A cut after the conversion
has another start.

Source: arithmetic of the rates. The lengths and shares of agreement are common practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from qc.timing.spans import Span

#: Pictures for each frame: kind of cadence, and frames after which it begins anew (to within a slip).
SHARES = {
    Fraction(25) / Fraction(60000, 1001): ("regular repeats", Fraction(12)),
    Fraction(25, 60): ("regular repeats", Fraction(12)),
    Fraction(24, 60): ("2:3", Fraction(5)),
    Fraction(24) / Fraction(60000, 1001): ("2:3", Fraction(5)),
    Fraction(24, 50): ("regular repeats", Fraction(25)),
    Fraction(24000, 1001) / 50: ("regular repeats", Fraction(25)),
}
#: Frames that have to agree, and how far on the next ones are looked at.
WINDOW, STEP = 180, 60
#: Share of the repeats, and of the frames that move, that fall where they belong; share of frames that tell.
AGREE, TELL = 0.95, 0.5
#: Starts nearer to each other than this are one: the least that lost frames move it is 1/25, of 24 in 50.
ONE_START = 0.03
#: Frames that agree and make up for one that does not, where a stretch ends.
MAKE_UP = 9
_CELLS = 240  # of the circle


@dataclass(frozen=True)
class Spread:
    """A stretch with one start. ``start`` in turns, 0 to 1; ``repeated`` frames show a picture again, where they belong
    or a frame beside that (a time that was rounded the other way).
    """

    span: Span
    kind: str
    period: Fraction
    start: float
    repeated: tuple[int, ...]


def spreads(repeats: np.ndarray, moves: np.ndarray) -> list[Spread]:
    """(frames,) bool each: repeats the frame before, moves; in order, none over another."""
    firsts = _enough(repeats, moves)
    tried = [_of_share(repeats, moves, share, firsts) for share in SHARES] if firsts else []
    kept: list[Spread] = []
    for _, found in sorted(tried, key=lambda item: -item[0]):
        kept += [one for one in found if not any(2 * one.span.overlap(other.span) > one.span.frames for other in kept)]
    return sorted(kept, key=lambda one: one.span)


def _of_share(
    repeats: np.ndarray, moves: np.ndarray, share: Fraction, firsts: Sequence[int]
) -> tuple[float, list[Spread]]:
    """Stretches of one share, and what they are worth: the more frames in the fewer pieces, the better."""
    kind, period = SHARES[share]
    found, covered, against = [], np.zeros(len(repeats), bool), 0
    for windows, start in _stretches(repeats, moves, share, firsts):
        span = _grown(repeats, moves, share, start, windows)
        wrong = _disagree(repeats, moves, share, start, span)
        beside = np.concatenate([wrong[1:], [False]]) | np.concatenate([[False], wrong[:-1]])
        told = np.flatnonzero(repeats[span.first : span.end] & (~wrong | beside)) + span.first
        found.append(Spread(span, kind, period, start, tuple(told.tolist())))
        covered[span.first : span.end] = True
        against += WINDOW + 20 * int(np.count_nonzero(wrong))
    return float(np.count_nonzero(covered) - against), found


def apart(one: float, other: float) -> float:
    """How far two starts are from each other, 0 to 0.5 turns."""
    turns = abs(one - other) % 1.0
    return min(turns, 1.0 - turns)


def _enough(repeats: np.ndarray, moves: np.ndarray) -> list[int]:
    """First frames of the windows in which enough frames tell, and enough of these repeat for any of the shares."""
    firsts = np.arange(0, max(0, len(repeats) - WINDOW + 1), STEP)
    again, told = (np.concatenate([[0], np.cumsum(sign)]) for sign in (repeats, repeats | moves))
    again_in, told_in = (total[firsts + WINDOW] - total[firsts] for total in (again, told))
    least = (1 - float(max(SHARES))) * AGREE * AGREE
    return [int(first) for first in firsts[(told_in >= TELL * WINDOW) & (again_in >= least * told_in)]]


def _stretches(
    repeats: np.ndarray, moves: np.ndarray, share: Fraction, firsts: Sequence[int]
) -> Iterator[tuple[Span, float]]:
    """Windows that follow each other and agree with one start, and that start."""
    arc = round((1 - float(share)) * _CELLS)
    group, counts = None, np.zeros((2, _CELLS), int)
    for first in firsts:
        own = _counts(repeats, moves, share, first)
        if group is not None and first <= group.end and _fits(own, _start(counts + own, arc), arc):
            group, counts = Span(group.first, first + WINDOW), counts + own
        elif _fits(own, _start(own, arc), arc):
            if group is not None:
                yield group, _start(counts, arc) / _CELLS
            group, counts = Span(first, first + WINDOW), own
    if group is not None:
        yield group, _start(counts, arc) / _CELLS


def _counts(repeats: np.ndarray, moves: np.ndarray, share: Fraction, first: int) -> np.ndarray:
    """(2, cells) repeats and frames that move of a window, by where on the circle they fall."""
    place = slice(first, first + WINDOW)
    cell = (_turns(first, first + WINDOW, share) * _CELLS).astype(int)
    return np.stack([np.bincount(cell[sign[place]], minlength=_CELLS) for sign in (repeats, moves)])


def _start(counts: np.ndarray, arc: int) -> int:
    """The cell from which on the arc holds the most repeats and the fewest frames that move."""
    again, new = (_within(own, arc) / max(1, int(own.sum())) for own in counts)
    return _middle(again - new >= (again - new).max() - 1e-9)


def _fits(counts: np.ndarray, start: int, arc: int) -> bool:
    """Nearly all repeats fall in the arc, nearly all frames that move outside of it."""
    again, new = (float(_within(own, arc)[start]) / max(1, int(own.sum())) for own in counts)
    return again >= AGREE and new <= 1 - AGREE


def _middle(cells: np.ndarray) -> int:
    """The middle of the first run of cells on the circle: where few places of it are met, many starts fit as well."""
    if cells.all():
        return 0
    outside = int(np.argmin(cells))
    turned = np.roll(cells, -outside)
    first = int(np.argmax(turned))
    length = int(np.argmin(turned[first:])) or len(cells) - first
    return (outside + first + length // 2) % len(cells)


def _within(counts: np.ndarray, arc: int) -> np.ndarray:
    """(cells,) what lies in the arc that begins at each cell."""
    total = np.concatenate([[0], np.cumsum(np.tile(counts, 2))])
    return np.asarray(total[arc : arc + len(counts)] - total[: len(counts)])


def _turns(first: int, end: int, share: Fraction) -> np.ndarray:
    """Fractions of k x share, exact for long files."""
    return np.asarray((np.arange(first, end) * share.numerator % share.denominator) / share.denominator)


def _disagree(repeats: np.ndarray, moves: np.ndarray, share: Fraction, start: float, span: Span) -> np.ndarray:
    """(frames of the span,) bool: tells the contrary, by more than the width of a cell or two."""
    turns = (_turns(span.first, span.end, share) - start) % 1.0
    arc, edge = 1 - float(share), 2 / _CELLS
    place = slice(span.first, span.end)
    outside = (turns > arc + edge) & (turns < 1 - edge)
    inside = (turns > edge) & (turns < arc - edge)
    return np.asarray((repeats[place] & outside) | (moves[place] & inside))


def _grown(repeats: np.ndarray, moves: np.ndarray, share: Fraction, start: float, windows: Span) -> Span:
    """The stretch around some windows in which frames agree."""
    middle = (windows.first + windows.end) // 2
    first, end = max(0, windows.first - WINDOW), min(len(repeats), windows.end + WINDOW)
    wrong = _disagree(repeats, moves, share, start, Span(first, end))
    worth = np.where(wrong, -MAKE_UP, (repeats | moves)[first:end].astype(int))
    return Span(middle - _best(worth[: middle - first][::-1]), middle + _best(worth[middle - first :]))


def _best(worth: np.ndarray) -> int:
    """How many from the first on are worth most."""
    return int(np.argmax(np.concatenate([[0], np.cumsum(worth)])))
