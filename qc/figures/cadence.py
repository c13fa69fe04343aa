"""Cadence: frames that repeat by a rule, because the picture was made at another rate.

Film in interlaced video repeats a field after every second frame (2:3), film in 59.94 frames repeats frames 2:3, a
rate raised without interpolation repeats every n-th frame, or in a beat of the two rates (spread_frames.py), animation
is often drawn on twos. Where a conversion blends frames instead, no frame repeats another, but how much each change
has in common with the change before it rises and falls with the period of the conversion.

A cadence is recognised over the stretch in which it holds, from four repeats on; where the repeats fall out of
step inside a stretch it is broken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from qc.figures.frame_series import FrameSeries, largest_near, less_noise
from qc.figures.spread_frames import ONE_START, WINDOW, apart, spreads
from qc.timing.spans import Span

#: Something moves when cells change by so many codes beyond noise on both sides of a frame.
MOVING = 0.8
#: A repeat changes by at most this part of what the frames near it change; a frame that moves by at least this part.
PARTS = 1 / 8, 1 / 4
#: The same for film in fields alone, whose pattern of period five shows through what a codec makes of combed frames
#: (MPEG-2, 960 x 540, 20 Mb/s: a third), and the repeats in step that it then takes in each field.
SOFT_PARTS, SOFT_REPEATS = (0.45, 0.65), 8
#: The noise repeats with the picture: all of it changes by at most this part of what it changes in the frames near.
NOISE_PART = 0.75
#: A frame of which one field repeats changes less than those near it, by this part at the most (film in fields through
#: codecs: 0.9 for 19 in 20). Type that rolls by so many lines a field may miss every row that is compared: 1 or more.
FIELD_PART = 0.95
#: Frames on each side that say how much moves: repeats of three in a row are still seen.
NEAR = 3
#: Longest period looked for, in frames; fewest repeats in step, and fewest frames, that make a cadence.
LONGEST_PERIOD, FEWEST_REPEATS, FEWEST_FRAMES = 30, 4, 12
#: Periods in a row in which nothing may move, so that a repeat cannot be told, before a cadence ends.
STILL_PERIODS = 6
#: Up to here chains are looked for before repeats that come once a second, whose period is 24 or 25 by turns.
SHORT_PERIOD = 12
#: Frames after which 24 frames made 30000/1001 slip by one: every 1001th of what 24000/1001 make.
SLIP = 250.25
#: Frames in which nothing tells, after which a cadence in step is still the same.
LONGEST_STILL = 300

REPEAT, MOVES, UNKNOWN = 1, -1, 0


@dataclass(frozen=True)
class Cadence:
    """A stretch in which one cadence holds.

    kind      "2:3" (fields or frames), "2:2" (every frame twice), "regular repeats", "blended"
    period    frames after which it begins anew
    fields    the repeats are of one field at a time
    phases    places of the repeats within the period, counted from the file's first frame (of the upper field's,
              then of the lower field's); empty where the period is no whole number
    repeated  frames that repeat the one before by this rule; empty for fields and blends
    start     of frames that were spread: where in the beat of the two rates they begin, in turns
    """

    span: Span
    kind: str
    period: Fraction
    fields: bool = False
    phases: tuple[int, ...] = ()
    repeated: tuple[int, ...] = field(default=(), repr=False)
    start: float | None = None


@dataclass(frozen=True)
class Signs:
    """For each frame: does it repeat the one before, move, or can it not be told. (frames,) int8 each.

    soft_top, soft_bottom  of the fields, by the measure for codecs that leave much in a field that repeats
    """

    frame: np.ndarray
    top: np.ndarray
    bottom: np.ndarray
    soft_top: np.ndarray
    soft_bottom: np.ndarray


def signs(series: FrameSeries) -> Signs:
    """What moves and what repeats, for the whole frame and for each field."""
    top, bottom = (
        (less_noise(series[f"motion.{field}_busiest"], series[f"motion.{field}_quiet"]), series[f"motion.{field}"])
        for field in ("top", "bottom")
    )
    whole, usual = _usual(series["motion.mean"])
    moves_whole = whole > FIELD_PART * usual

    def of_field(moves: np.ndarray, mean: np.ndarray, parts: tuple[float, float] = PARTS) -> np.ndarray:
        sign = _signs(moves, mean, parts)
        return np.where(moves_whole, np.minimum(sign, UNKNOWN), sign)

    return Signs(
        frame=_signs(series.moves, series["motion.mean"]),
        top=of_field(*top),
        bottom=of_field(*bottom),
        soft_top=of_field(*top, SOFT_PARTS),
        soft_bottom=of_field(*bottom, SOFT_PARTS),
    )


def repeat_cadences(found: Signs) -> list[Cadence]:
    """Stretches in which frames, or fields, repeat by a rule; in order."""
    top_alone, bottom_alone = _alone(found.top, found.bottom), _alone(found.bottom, found.top)
    soft_alone = _alone(found.soft_top, found.soft_bottom), _alone(found.soft_bottom, found.soft_top)
    frames, free = len(found.frame), found.frame == REPEAT
    spread = [
        Cadence(one.span, one.kind, one.period, repeated=one.repeated, start=one.start)
        for one in spreads(free, found.frame == MOVES)
    ]
    for cadence in spread:
        free[list(cadence.repeated)] = False
    short = list(_chains(found.frame, free, range(2, SHORT_PERIOD + 1)))
    once_a_second = list(_once_a_second(free, found.frame == MOVES))
    long = list(_chains(found.frame, free, range(SHORT_PERIOD + 1, LONGEST_PERIOD + 1)))
    by_frames = _by_frames([*short, *long], frames)
    top, bottom = (list(_chains(sign, sign == REPEAT)) for sign in (top_alone, bottom_alone))
    by_fields = _by_fields(top, bottom, frames)
    soft_top, soft_bottom = (
        [chain for chain in _chains(sign, sign == REPEAT, range(5, 6)) if len(chain.repeated) >= SOFT_REPEATS]
        for sign in soft_alone
    )
    every = [*spread, *once_a_second, *by_frames, *by_fields, *_by_fields(soft_top, soft_bottom, frames)]
    return _joined(sorted(every, key=lambda cadence: (cadence.span, cadence.period)), found)


def _alone(sign: np.ndarray, other: np.ndarray) -> np.ndarray:
    """A field's repeats where the other field does not repeat: where both do, the frame does."""
    return np.where(other == REPEAT, np.minimum(sign, UNKNOWN), sign)


def broken_at(cadences: list[Cadence]) -> list[int]:
    """Frames at which a cadence falls out of step: where the next repeat was due, while the same cadence goes on at
    another place of its period, in both fields.

    Not where the repeats slip by one frame again and again at even distances, as 24 frames made 29.97 do every 250; in
    fields these come by turns, first in one and half that distance later in the other.
    """
    seams = [
        (min(before.span.end, after.span.end - 1), shift, before)
        for before, after in pairwise(cadences)
        if before.phases
        and after.phases
        and (before.kind, before.period, before.fields) == (after.kind, after.period, after.fields)
        and abs(after.span.first - before.span.end) <= 2 * before.period
        and before.phases != after.phases
        and (shift := _shift(before, after)) is not None
    ]
    slips = {
        frame
        for sign in (1, -1)
        for frame in _slips(
            [(frame, before) for frame, by, before in seams if by == sign % int(before.period)], cadences
        )
    }
    spread = [one for one in cadences if one.start is not None]
    restarts = [
        min(before.span.end, after.span.end - 1)
        for before, after in pairwise(spread)
        if before.start is not None
        and after.start is not None
        and before.period == after.period
        and after.span.first - before.span.end <= WINDOW
        and apart(before.start, after.start) > ONE_START
    ]
    return sorted([*(frame for frame, _, _ in seams if frame not in slips), *restarts])


def _shift(before: Cadence, after: Cadence) -> int | None:
    """Frames by which the repeats come later, less whole periods; None where one field's do so without the other's."""
    period = int(before.period)
    shifts = [(later - earlier) % period for earlier, later in zip(before.phases, after.phases, strict=False)]
    return None if before.fields and len(set(shifts)) > 1 else shifts[0]


def _slips(seams: list[tuple[int, Cadence]], cadences: list[Cadence]) -> list[int]:
    """Seams of one frame's slip that follow each other evenly, none of the stretches beside them being longer."""
    if not seams:
        return []
    frames = np.array([frame for frame, _ in seams])
    apart = np.diff(frames)
    usual = max(float(np.median(apart)), 1.0) if len(apart) else SLIP
    lengths = [cadence.span.frames for cadence in cadences if cadence.kind == seams[0][1].kind]
    even = np.abs(apart / np.maximum(np.round(apart / usual), 1) - usual) <= 0.05 * usual
    longest = 1.05 * usual + 2 * int(seams[0][1].period)  # a stretch begins a period before its first repeat
    return frames.tolist() if even.all() and max(lengths) <= longest else []


def _once_a_second(free: np.ndarray, moves: np.ndarray) -> Iterator[Cadence]:
    """One repeat in every 24 or 25 frames: 24 or 23.976 frames made 25 by showing one a second twice.

    free   repeats that no cadence has; those found here are taken from it
    moves  frames that do not repeat
    """
    for first in np.flatnonzero(free).tolist():
        own, turns = [first], 0
        while free[first] and (step := _next_second(free, moves, own[-1])):
            own.append(own[-1] + step[0])
            turns += step[1]
        if len(own) >= FEWEST_REPEATS:
            free[own] = False
            span = Span(max(0, own[0] - 23), min(len(free), own[-1] + 24))
            yield Cadence(span, "regular repeats", Fraction(own[-1] - own[0], turns), repeated=tuple(own))


def _next_second(free: np.ndarray, moves: np.ndarray, frame: int) -> tuple[int, int] | None:
    """Frames to the repeat that is due after one second (or two, where one tells nothing ...), and the seconds."""
    for seconds in range(1, STILL_PERIODS + 1):
        due = slice(frame + 24 * seconds, frame + 25 * seconds + 1)
        if free[due].any():
            return 24 * seconds + int(free[due].argmax()), seconds
        if moves[due].all():
            return None
    return None


def _joined(cadences: list[Cadence], found: Signs) -> list[Cadence]:
    """Stretches of one cadence in step, between which nothing says otherwise, are one."""
    out: list[Cadence] = []
    for cadence in cadences:
        for place, last in enumerate(out):
            if _one(last, cadence, found):
                end = max(last.span.end, cadence.span.end)
                out[place] = replace(last, span=Span(last.span.first, end), repeated=last.repeated + cadence.repeated)
                break
        else:
            out.append(cadence)
    return out


def _one(before: Cadence, after: Cadence, found: Signs) -> bool:
    same = (before.kind, before.period, before.phases) == (after.kind, after.period, after.phases)
    if not same or not before.phases or after.span.first - before.span.end > LONGEST_STILL:
        return False
    between = np.arange(before.span.end, after.span.first)
    place = between % int(before.period)
    signs_there = (found.top, found.bottom) if before.fields else (found.frame,) * len(before.phases)
    return not any(
        (sign[between[place == phase]] == MOVES).any() for sign, phase in zip(signs_there, before.phases, strict=False)
    )


def _signs(moves: np.ndarray, mean: np.ndarray, parts: tuple[float, float] = PARTS) -> np.ndarray:
    (own, around), (whole, usual) = _usual(moves), _usual(mean)
    out = np.full(len(own), UNKNOWN, np.int8)
    tells = (around >= MOVING) & ~np.isnan(moves)
    out[tells & (own <= parts[0] * around) & (whole <= NOISE_PART * usual)] = REPEAT
    out[tells & (own >= parts[1] * around)] = MOVES
    return out


def _usual(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """What changes, 0 where nothing is known, and what changes on both sides."""
    own = np.nan_to_num(values, nan=0.0)
    return own, np.minimum(largest_near(own, -NEAR, 0), largest_near(own, 1, NEAR + 1))


@dataclass(frozen=True)
class _Chain:
    """Repeats in step: frames ``first``, first + period ... ``last``."""

    first: int
    last: int
    period: int
    repeated: tuple[int, ...]

    @property
    def span(self) -> Span:
        return Span(max(0, self.first - self.period + 1), self.last + self.period)


def _chains(sign: np.ndarray, free: np.ndarray, periods: range = range(2, LONGEST_PERIOD + 1)) -> Iterator[_Chain]:
    """Repeats that are in step with each other, shortest period first.

    free  repeats that no chain has; those of the chains found are taken from it
    """
    for period in periods:
        for phase in range(period):
            yield from _in_step(sign, free, period, phase)


def _in_step(sign: np.ndarray, free: np.ndarray, period: int, phase: int) -> Iterator[_Chain]:
    places = np.arange(phase, len(sign), period)
    own, available = sign[places], free[places]
    if np.count_nonzero(available) < FEWEST_REPEATS:
        return
    at = np.flatnonzero(available)
    stops = np.cumsum((own == MOVES) | ((own == REPEAT) & ~available))[at]  # what ends a chain, counted up to here
    for part in np.split(at, np.flatnonzero((np.diff(at) > STILL_PERIODS) | (np.diff(stops) > 0)) + 1):
        if len(part) < FEWEST_REPEATS:
            continue
        chain = _Chain(int(places[part[0]]), int(places[part[-1]]), period, tuple(places[part].tolist()))
        if chain.last - chain.first + period >= FEWEST_FRAMES and _moves_between(sign, chain):
            free[places[part]] = False
            yield chain


def _moves_between(sign: np.ndarray, chain: _Chain) -> bool:
    """Some place of the period moves, always where it can be told."""
    inside = np.arange(chain.first, chain.last + 1)
    place = (inside - chain.first) % chain.period
    own = sign[inside]
    moving = np.bincount(place[own == MOVES], minlength=chain.period)
    repeated = np.bincount(place[own == REPEAT], minlength=chain.period)
    return bool(((moving >= 2) & (moving >= 4 * repeated)).any())


def _by_frames(chains: list[_Chain], frames: int) -> Iterator[Cadence]:
    """Chains of one period over the same stretch are one cadence with several repeats in each period."""
    left = list(chains)
    while left:
        first = left.pop(0)
        group = [first]
        for chain in list(left):
            shorter = min(chain.span.frames, first.span.frames)
            if chain.period == first.period and 2 * chain.span.overlap(first.span) > shorter:
                group.append(chain)
                left.remove(chain)
        span = Span(min(chain.span.first for chain in group), min(frames, max(chain.span.end for chain in group)))
        kind = {(2, 1): "2:2", (5, 3): "2:3"}.get((first.period, len(group)), "regular repeats")
        phases = tuple(sorted(chain.first % first.period for chain in group))
        repeated = tuple(sorted(frame for chain in group for frame in chain.repeated))
        yield Cadence(span, kind, Fraction(first.period), phases=phases, repeated=repeated)


def _by_fields(top: list[_Chain], bottom: list[_Chain], frames: int) -> Iterator[Cadence]:
    """One field repeats at one place of the period, the other field at another."""
    for upper in top:
        for lower in bottom:
            both, longer = upper.span.overlap(lower.span), max(upper.span.frames, lower.span.frames)
            if upper.period != lower.period or both < FEWEST_FRAMES or 2 * both < longer:
                continue
            phases = upper.first % upper.period, lower.first % lower.period
            if phases[0] != phases[1]:
                span = Span(min(upper.span.first, lower.span.first), min(frames, max(upper.span.end, lower.span.end)))
                kind = "2:3" if upper.period == 5 else "regular repeats"
                yield Cadence(span, kind, Fraction(upper.period), True, phases)
