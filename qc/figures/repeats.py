"""Frames lost or shown twice in motion: one picture that repeats, or one step twice as long as those around it.

Both are told in steady motion only, and after cadences: what repeats by a rule is none. A step is twice as long when
it changes the picture as two steps change it elsewhere, and the steps over two and three frames agree with that; a
keyframe of a codec, which renews the whole picture, changes what is quiet as much as what moves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qc.figures.cadence import REPEAT, Cadence, Signs
from qc.figures.frame_series import FrameSeries, smallest_near
from qc.timing.spans import Span

#: Cells change by so many codes beyond noise in motion.
MOVING = 0.8
#: Frames on each side of a repeat in which something has to move, and structure that these have in common; or, where
#: it moves too fast for that (so many codes), by how much no change of them is over the usual one.
STEADY, ALIKE, FAST, JUMP = 3, 0.2, 2.5, 2.0
#: A repeat changes by at most this part of what the frame before and the frame after change. Things that come to
#: rest or turn leave more (1/7 at the least in the open film).
REPEAT_PART = 1 / 8
#: ... and by no more than so many codes beyond noise, which is the codec's (MPEG-2 at 50 Mb/s: up to 0.3).
REPEAT_CODES = 0.6
#: ... or so many, where the picture as a whole moves by so much, and changes by so small a part as well (MPEG-2 of
#: 320 x 180: 1.4 codes, 0.08; H.264 at a constant quality of 18: 1.5 codes, 0.19).
WHOLE_CODES, WHOLE_MOVES, WHOLE_PART = 2.0, 1.0, 0.22
#: A flash comes and goes: what is left of the change after it, against the change.
RETURNS = 0.5
#: Frames that repeat in a row at the most: more is a freeze, for which there is a length.
LONGEST = 3
#: Periods before and after a cadence in which a repeat in step is still of it: noise hides what lies between.
IN_STEP = 12
#: Repeats so near to each other are told together: a stretch that was not converted by any rule.
TOGETHER = 12

#: Steps on each side that a doubled step is measured against.
_BESIDE = 5
#: Spread (of the logarithm) of these steps, up to which motion is steady; and how far beyond it the long step lies.
SPREAD, BEYOND, LEAST_SPREAD = 0.13, 4.0, 0.02
#: Two steps have to change clearly more than one: where texture is fine they do not, and nothing can be told.
TELLS = 1.12
#: How near the long step has to come to what two steps change, or three, or four (as logarithms), and the change over
#: two frames with it to three steps, or four, or five. Planted ones in even motion of the open film: 0.88 to 1.12, and
#: 0.7 to 1.3.
FITS, FITS_AROUND = (0.85, 1.2), (0.65, 1.45)
#: Most frames that are missing in one place.
MOST_MISSING = 3
#: Where it moves most, and over a quarter of the picture, it has to be long as well, to this part: a clock in the
#: picture makes a long step of its own each second.
BUSY_TOO = 0.3
#: Change of the lively cell, codes: a quarter of the picture moves.
LIVELY = 0.35
#: Mean change, codes, under which nothing is told.
LEAST = 0.4


@dataclass(frozen=True)
class Repeat:
    """Frames that repeat the one before them. ``count`` of them in the span, which may hold others between."""

    span: Span
    count: int


def repeated_frames(series: FrameSeries, found: Signs, cadences: list[Cadence]) -> list[Repeat]:
    """Single repeats (up to LONGEST in a row) in motion that no cadence explains, in order."""
    by_rule = _by_rule(series.frames, cadences)
    loose = (found.frame == REPEAT) & ~by_rule
    moves = np.where(by_rule, np.inf, np.nan_to_num(series.moves, nan=0.0)).astype(np.float64)
    alike = np.where(series.mixed, 0.0, series.known("motion.like1", 1.0)).astype(np.float64)
    steps = series.known("motion.mean", 0.0).astype(np.float64)
    mean = np.where(series.mixed, np.inf, steps)
    places: list[Span] = []
    for length in range(1, LONGEST + 1):
        own = -smallest_near(-moves, 0, length, np.inf)  # the largest change within the run
        before, after = smallest_near(moves, -STEADY, 0, 0.0), smallest_near(moves, length, length + STEADY, 0.0)
        beside, beside_mean = (np.minimum(_at(one, -1), _at(one, length)) for one in (moves, mean))
        whole = (-smallest_near(-mean, 0, length, np.inf) <= WHOLE_PART * beside_mean) & (beside_mean >= WHOLE_MOVES)
        run = smallest_near(loose.astype(np.float64), 0, length, 0.0) > 0
        good = (
            run
            & (np.minimum(before, after) >= MOVING)
            & (own <= np.minimum(REPEAT_PART * beside, np.where(whole, WHOLE_CODES, REPEAT_CODES)))
            & _one_shot(alike, mean, steps, length)
            & ~_comes_back(series, length)
        )
        places += [Span(int(first), int(first) + length) for first in np.flatnonzero(good)]
    return _together(sorted(places))


def dropped_frames(series: FrameSeries, cadences: list[Cadence]) -> list[int]:
    """Frames before which one is missing, in order. Not within a cadence: steps are uneven there."""
    one, two, three = (series[f"motion.{name}"].astype(np.float64) for name in ("mean", "two", "three"))
    frames = series.frames
    if frames < 2 * _BESIDE + 1:
        return []
    before = list(range(-_BESIDE, 0))
    around = np.stack([_at(one, step) for step in (*before, *range(1, _BESIDE + 1))])
    with np.errstate(all="ignore"):
        steps = np.log(np.maximum(around, 1e-6))
        spread, usual = np.std(steps, axis=0), np.median(steps, axis=0)
        usual_two = _usual(two, (*before, *range(2, _BESIDE + 1)))
        usual_three = _usual(three, (*before, *range(3, _BESIDE + 1)))
        own = np.log(np.maximum(one, 1e-6)) - usual
        longer, longest = usual_two - usual, usual_three - usual_two
        most = np.log(np.maximum(np.stack([_at(one, step) for step in (-2, -1, 1, 2)]).max(axis=0), 1e-6)) - usual
        over_two = np.stack([np.log(np.maximum(_at(two, step), 1e-6)) - usual_two for step in (0, 1)])
        fits = np.zeros(frames, bool)
        for missing in range(1, MOST_MISSING + 1):
            fit = own / (longer + _further(2, 1 + missing) * longest)
            around_fit = over_two / (_further(2, 2 + missing) * longest)
            fits |= _within(fit, FITS) & _within(around_fit, FITS_AROUND).all(axis=0)
        busy, lively = (_longer(series[f"motion.{name}"].astype(np.float64)) for name in ("busiest", "lively"))
        good = (
            (one >= LEAST)
            & (longer >= np.log(TELLS))
            & (spread <= SPREAD)
            & (own - most >= BEYOND * np.maximum(spread, LEAST_SPREAD))
            & fits
            & (np.minimum(busy, lively) >= BUSY_TOO * own)
            & (series["motion.lively"] >= LIVELY)
            & np.isfinite(steps).all(axis=0)
        )
    good[:_BESIDE] = good[-_BESIDE:] = False
    for cadence in cadences:
        good[max(0, cadence.span.first - _BESIDE) : cadence.span.end + _BESIDE] = False
    return [int(frame) for frame in np.flatnonzero(good)]


def _by_rule(frames: int, cadences: list[Cadence]) -> np.ndarray:
    """(frames,) bool: repeats of a cadence, and those in step with it just before and after it."""
    found = np.zeros(frames, bool)
    for cadence in cadences:
        found[list(cadence.repeated)] = True
        if cadence.phases and not cadence.fields:
            period = int(cadence.period)
            beyond = IN_STEP * period
            near = np.arange(max(0, cadence.span.first - beyond), min(frames, cadence.span.end + beyond))
            found[near[np.isin(near % period, cadence.phases)]] = True
    return found


def _one_shot(alike: np.ndarray, mean: np.ndarray, steps: np.ndarray, length: int) -> np.ndarray:
    """(frames,) bool: no cut near a run that begins at each frame. The step after a run makes up for all of it, and
    the frame there lies between those beside it as one of two shots does: of this one the step itself counts.

    mean  (frames,) change to each frame, without end to a frame of two shots; steps  the change itself
    """
    around = [*range(-STEADY, 0), *range(length, length + STEADY)]
    usual = np.median(np.stack([_at(mean, step) for step in around]), axis=0)
    usual = np.where(usual >= FAST, usual, 0.0)
    good = np.ones(len(mean), bool)
    for step in around:
        most = JUMP * (length + 1 if step == length else 1) * usual
        good &= (_at(alike, step) >= ALIKE) | (_at(steps if step == length else mean, step) <= most)
    return good


def _comes_back(series: FrameSeries, length: int) -> np.ndarray:
    """(frames,) bool: what changed before a run from frame k on is undone after it: a flash that stands in the run."""
    grid = series.series["motion.grid"].reshape(series.frames, -1).astype(np.float32)
    left = np.roll(grid, 2, axis=0), np.roll(grid, 1, axis=0)  # before the change, and in the run
    after = np.roll(grid, -length, axis=0)
    whole, last = (np.abs(after - one).mean(axis=1) for one in left)
    return np.asarray(whole <= RETURNS * last)


def _longer(values: np.ndarray) -> np.ndarray:
    """Logarithm of each step against the two beside it."""
    return np.asarray(np.log(values) - np.log((_at(values, -1) + _at(values, 1)) / 2))


def _further(steps: int, more: int) -> float:
    """How much further (as a logarithm) ``more`` steps lead than ``steps`` do, in what lies between two and three."""
    return float(np.log(more / steps) / np.log(3 / 2))


def _within(values: np.ndarray, bounds: tuple[float, float]) -> np.ndarray:
    return np.asarray((values >= bounds[0]) & (values <= bounds[1]))


def _usual(values: np.ndarray, steps: tuple[int, ...]) -> np.ndarray:
    return np.asarray(np.median(np.log(np.maximum(np.stack([_at(values, step) for step in steps]), 1e-6)), axis=0))


def _at(values: np.ndarray, step: int) -> np.ndarray:
    """Entry k holds what entry k + step held; NaN beyond the ends."""
    out = np.full(len(values), np.nan)
    if step >= 0:
        out[: max(0, len(values) - step)] = values[step:]
    else:
        out[-step:] = values[:step]
    return out


def _together(places: list[Span]) -> list[Repeat]:
    found: list[Repeat] = []
    for place in places:
        last = found[-1] if found else None
        if last is not None and place.first - last.span.end < TOGETHER:
            found[-1] = Repeat(Span(last.span.first, place.end), last.count + place.frames)
        else:
            found.append(Repeat(place, place.frames))
    return found
