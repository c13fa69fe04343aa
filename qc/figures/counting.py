"""Is it a clock or a countdown? A card on which one part steps by the beat, or a hand goes round, and the rest stands.

Three kinds are told (common practice, no source): numbers or a hand that step at even intervals with stillness
between; a hand that moves evenly while the border stands; a film leader, which sweeps the whole picture and is the
same again after a second.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np

from qc.figures.cards import Cards, apart
from qc.timing.spans import Span

#: Fewer steps are no rhythm.
_STEPS = 4
#: Steps are at most so many seconds apart, and at least so many frames: drawn films change every second or third.
_LONGEST_STEP_SECONDS, _SHORTEST_STEP = 1.1, 3
_EVEN = 0.8
#: A step is over after so many frames.
_LONGEST_CHANGE = 3
#: Share of the picture that a step of numbers changes at most, and of its border.
_STEP_SHARE, _STEP_BORDER = 0.5, 0.03
#: The same for a hand, frame by frame, and how far its share may vary (deviation over mean).
_HAND_SHARE, _HAND_BORDER, _HAND_VARIES = 0.15, 0.01, 0.6
_STANDS = 0.5
#: A film leader: so much of the picture moves at once, every second; pictures a second apart differ in so little.
_LEADER_BEAT, _LEADER_APART = 0.3, 0.25


def counts(cards: Cards, span: Span, rate: Fraction) -> bool:
    """Whether a stretch that is not still looks like a clock, a countdown or a film leader."""
    steps = np.flatnonzero(cards.differs[span.first + 1 : span.end]) + span.first + 1
    if len(steps) < _STEPS or cards.unmeasured(span):
        return False
    busy = len(steps) / max(1, span.frames - 1)
    if busy < 0.7:
        return _steps(cards, steps, span, rate)
    return (span.frames >= rate and _hand(cards, span)) or _leader(cards, span, rate)


def _steps(cards: Cards, steps: np.ndarray, span: Span, rate: Fraction) -> bool:
    """Even intervals with stillness between; a step between fields takes two frames, which count as one.

    Pictures brought to another rate rest evenly too, but move for more than two frames at a time.
    """
    begins = np.diff(steps, prepend=-10) > 1
    first = steps[begins]
    lengths = np.diff(np.flatnonzero(begins), append=len(steps))
    if len(first) < _STEPS or lengths.max() > _LONGEST_CHANGE or len(steps) > 2 * len(first):
        return False
    apart_by = np.diff(first)
    usual = float(np.median(apart_by))
    slack = 1 if usual >= 6 else 0
    return bool(
        _SHORTEST_STEP <= usual <= _LONGEST_STEP_SECONDS * rate
        and np.mean(np.abs(apart_by - usual) <= slack) >= _EVEN
        and np.median(cards.moved[first]) <= _STEP_SHARE
        and np.median(cards.border_moved[first]) <= _STEP_BORDER
        and _no_long_rest(first, span, usual)
    )


def _no_long_rest(first: np.ndarray, span: Span, usual: float) -> bool:
    """What goes on before the first step and after the last fits the rhythm."""
    return bool(first[0] - span.first <= 2 * usual + 1 and span.end - first[-1] <= 2 * usual + 1)


def _hand(cards: Cards, span: Span) -> bool:
    moved = cards.moved[span.first + 1 : span.end]
    border = cards.border_moved[span.first + 1 : span.end]
    if np.percentile(moved, 95) > _HAND_SHARE or np.percentile(border, 95) > _HAND_BORDER:
        return False
    if moved.std() > _HAND_VARIES * moved.mean():
        return False
    shown = cards.picture[cards.within(span)]
    if len(shown) < 2:
        return True
    spread = shown[..., 0].max(axis=0).astype(np.int16) - shown[..., 0].min(axis=0)
    return bool(np.mean(spread <= 6) >= _STANDS)


def _leader(cards: Cards, span: Span, rate: Fraction) -> bool:
    """The whole picture starts anew every second, and is then what it was a second before."""
    beats = np.flatnonzero(cards.moved[span.first + 1 : span.end] >= _LEADER_BEAT)
    shown = cards.picture[cards.within(span)]
    if len(beats) < 3 or len(shown) < 3 or span.frames > (len(beats) + 2) * rate:
        return False
    even = np.mean(np.abs(np.diff(beats) - float(rate)) <= 1) >= _EVEN
    return bool(even and np.median([apart(a, b) for a, b in pairwise(shown)]) <= _LEADER_APART)
