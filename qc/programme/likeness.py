"""How unlike a break each black is, how unlike its clock each act is: the costs that the assignment weighs.

All costs are on one scale where 0 is "just as expected". The numbers are judgement (common practice,
no source), held in place by the tests; they are not limits of any outlet. What they say:

* A black of the stated length that is silent costs 0. Length counts by ratio, because the common error
  is a version made for another outlet: half or double is one octave off, a 20-frame fade is four
  octaves away from 10 s.
* Silence is evidence, not a condition: music over a break of the right length is still that break.
  A break of a few frames has no room for silence, so there it hardly counts.
* A black that is no more like a break than no break at all (``missing``) is never taken for one.
* Where act lengths are stated closely, position is strong evidence: then a quite unlike black in the
  right place is the break, and the break beside it that never was is not invented.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from qc.programme.structure import ExpectedClock, Gap

MISSING = 6.0  # an expected break that no black fits
MISSING_PLACED = 9.0  # the same where both neighbouring acts have a stated length
WRONG_LENGTH = 1.0  # any length outside the accepted one ...
PER_OCTAVE = 1.4  # ... and for each halving or doubling beyond
SOUNDING = 4.0  # a break with sound all through
SHORT_BREAK = 15  # frames under which silence counts less
WRONG_ACT = 0.5  # an act outside its accepted length ...
PER_SHARE = 30.0  # ... and for each 1/1 of that length beyond
WORST_ACT = 8.0
UNEVEN = 0.2  # an act of twice or half the mean costs half of it, where nothing closer is stated ...
WORST_UNEVEN = 0.3  # ... never enough to outweigh one break of the right length
PLACED_WITHIN = 0.1  # a window this narrow states where an act ends
WORST_TRT = 6.0
MOST_CANDIDATES = 200

Window = tuple[int | None, int | None]


@dataclass(frozen=True)
class Breaks:
    """Candidates in file order.

    first, end  (n,) int64 frames
    unlike      (n,) how unlike a break each is, 0 and up
    missing     what it costs to do without
    """

    gaps: tuple[Gap, ...]
    first: np.ndarray
    end: np.ndarray
    unlike: np.ndarray
    missing: float


def breaks_of(gaps: Sequence[Gap], expected: ExpectedClock) -> Breaks:
    """The gaps that can be a break at all; of very many (a flickering picture) those most like one."""
    missing = MISSING_PLACED if _placed(expected) else MISSING
    kept = [(gap, cost) for gap in gaps if (cost := unlike_break(gap, expected.break_frames)) < missing]
    if len(kept) > MOST_CANDIDATES:
        kept = sorted(sorted(kept, key=lambda pair: pair[1])[:MOST_CANDIDATES], key=lambda pair: pair[0].span)
    return Breaks(
        gaps=tuple(gap for gap, _ in kept),
        first=np.array([gap.span.first for gap, _ in kept], dtype=np.int64),
        end=np.array([gap.span.end for gap, _ in kept], dtype=np.int64),
        unlike=np.array([cost for _, cost in kept], dtype=np.float64),
        missing=missing,
    )


def unlike_break(gap: Gap, window: Window | None) -> float:
    """Cost of one black as a break; window None if the outlet states no length.

    Then length speaks by itself: silent from 5 frames on, or a second and more with sound over it.
    """
    frames = gap.span.frames
    sounding = SOUNDING * (1 - gap.silent_frames / frames)
    if not window or window == (None, None):
        return float(sounding + 2 * np.log2(1 + 30 / frames))
    low, high = window
    shortest = high if high is not None else low
    sounding *= min(1.0, (shortest or 0) / SHORT_BREAK)
    edge = low if low is not None and frames < low else high if high is not None and frames > high else None
    if edge is None:
        return sounding
    octaves = abs(float(np.log2((frames + 1) / (edge + 1))))
    return sounding + WRONG_LENGTH + PER_OCTAVE * octaves


def looks_like_break(gap: Gap, expected: ExpectedClock) -> bool:
    """A black inside an act that cannot be told from a break by itself."""
    return unlike_break(gap, expected.break_frames) < MISSING / 2 and gap.span.frames >= SHORT_BREAK


def unlike_acts(lengths: np.ndarray, first: int, last: int, expected: ExpectedClock, mean: float) -> np.ndarray:
    """Cost of runs of picture as acts ``first`` to ``last`` (from 1) without a break between, any shape.

    mean  frames of an average act, for acts of which nothing is stated
    """
    low, high = _joined(first, last, expected)
    cost = np.zeros(lengths.shape)
    if low is not None:
        short = np.maximum(0, low - lengths) / max(1, low)
        cost = np.where(lengths < low, WRONG_ACT + PER_SHARE * short, cost)
    if high is not None:
        over = np.maximum(0, lengths - high) / max(1, high)
        cost = np.where(lengths > high, WRONG_ACT + PER_SHARE * over, cost)
    if not _narrow((low, high)):
        share = np.maximum(lengths, 1) / (mean * (last - first + 1))
        cost = cost + np.minimum(WORST_UNEVEN, UNEVEN * (share + 1 / share - 2))
    return np.minimum(WORST_ACT, cost)


def unlike_programme(frames: np.ndarray, window: Window | None) -> np.ndarray:
    """Cost of the sum of the acts against the stated TRT."""
    if not window:
        return np.zeros(frames.shape)
    low, high = window
    off = np.zeros(frames.shape)
    if low is not None:
        off = np.maximum(off, low - frames)
    if high is not None:
        off = np.maximum(off, frames - high)
    return np.where(off > 0, np.minimum(WORST_TRT, 1 + np.log2(1 + off) / 2), 0.0)


def mean_act(expected: ExpectedClock, acts: int, programme: int) -> float:
    """Frames of an average act: by the stated TRT, else by the picture between head and tail."""
    stated = [bound for bound in expected.programme_frames or () if bound]
    return max(1.0, (stated[0] if stated else programme) / max(1, acts))


def _joined(first: int, last: int, expected: ExpectedClock) -> Window:
    """Accepted length of several acts in one run; a side is None unless all of them state it."""
    windows = [
        expected.act_frames[number - 1] for number in range(first, last + 1) if number <= len(expected.act_frames)
    ]
    if len(windows) <= last - first:
        return None, None
    lows, highs = [window[0] for window in windows], [window[1] for window in windows]
    low = sum(bound for bound in lows if bound is not None) if None not in lows else None
    high = sum(bound for bound in highs if bound is not None) if None not in highs else None
    return low, high


def _narrow(window: Window) -> bool:
    low, high = window
    return low is not None and high is not None and high - low <= PLACED_WITHIN * high


def _placed(expected: ExpectedClock) -> bool:
    return len(expected.act_frames) > 1 and all(_narrow(window) for window in expected.act_frames)
