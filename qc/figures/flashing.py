"""Flashing in the series of the meter: where the screen flashes too often over too much of it, by a given rule.

The rule of ITU-R BT.1702-3, Guideline 1, and of Ofcom (guidance notes to Section Two, Annex 1): not more than
three flashes (so fewer than seven changes) within any one second over more than a quarter of the screen. Areas that
flash at once add up wherever they are.

A second is counted in two ways, and the worse of them is taken: by how often enough of the screen changed together
in one direction, then in the other (the places may differ: the flash moves about); and by what has changed that
often itself, if as often enough of the screen changed together, in whatever direction (two lamps by turns).
"Concurrently" is read as within a tenth of a second. No text says how near in time is concurrent; these readings
are chosen so that little is missed.

What moves (small type that rolls, a pan over a fence) grows brighter here and darker right beside. Where up and
down balance within neighbourhoods of 1/16 x 1/9 of the screen it is no flash of the screen but flicker of detail;
it is told apart, and only where it flickers by far: for a person to look at.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np

from qc.meters.picture.flash_counts import COUNTS, FULL, NET, NOW, TOGETHER_NOW, TickTimes
from qc.timing.spans import Span

#: A sequence within the limits is told of when it keeps to this share of the area limit, and to this many changes
#: less than the limit, in every second (interpretation: the texts say "more than five seconds" alone).
NEAR_AREA, NEAR_CHANGES = 0.8, 2
#: Detail that flickers is told of from so many changes over the limit (no source).
FAR = 3
#: The screen flashes, rather than its detail, where at least this part of what changes is not made good beside it;
#: where up and down are taken together, so as not to count mere movement, more of it (no source for either).
COHERENT, COHERENT_BOTH = 0.5, 0.8


@dataclass(frozen=True)
class FlashRule:
    """How much is too much: more than ``area_percent`` of the screen and ``changes`` or more within a second."""

    area_percent: float = 25.0
    changes: int = 7


@dataclass(frozen=True)
class FlashEvent:
    """A stretch in which the screen flashes.

    kind     "general", "red"; "detail" where only fine detail flickers or moves; "long" for a sequence that is
             within the limits and goes on
    area     worst area in percent of the screen
    changes  in the worst second
    worst    frame at the end of that second
    """

    span: Span
    kind: str
    area: float
    changes: int
    worst: int


#: The published readings by the name of each in a profile; the first is there of every picture.
READING_OF = {"BT.1702-3": "bt1702", "Ofcom": "ofcom"}
FIRST = READING_OF["BT.1702-3"]


def readings(series: Mapping[str, np.ndarray]) -> tuple[str, ...]:
    """Which readings were measured: "bt1702", "ofcom" (standard dynamic range only), "red"."""
    return tuple(name for name in ("bt1702", "ofcom", "red") if f"flashing.{name}.share" in series)


def luminance_curve(series: Mapping[str, np.ndarray], reading: str) -> np.ndarray:
    """(frames,) mean cd/m2 of each picture; -1 where it was not measured."""
    return np.asarray(series["flashing.luminance"][:, list(READING_OF.values()).index(reading)])


def area_curves(series: Mapping[str, np.ndarray], reading: str, frames: int) -> np.ndarray:
    """(2, frames) percent of the screen that changes together: up, and down (of red: to it, and from it)."""
    curves = np.zeros((2, frames))
    together = series[f"flashing.{reading}.share"][:, TOGETHER_NOW] * (100 / FULL)
    for curve, shares in zip(curves, together.T, strict=True):
        np.maximum.at(curve, series[f"flashing.{reading}.ticks"] // 2, shares)
    return curves


def flash_events(series: Mapping[str, np.ndarray], reading: str, rate: Fraction, rule: FlashRule) -> list[FlashEvent]:
    """Stretches that break the rule; those less than a second apart are one."""
    return _events(series, reading, rate, rule, "red" if reading == "red" else "general")


def detail_events(series: Mapping[str, np.ndarray], reading: str, rate: Fraction, rule: FlashRule) -> list[FlashEvent]:
    """Stretches that would break the rule by far if what balances within its neighbourhood counted, beside
    flash_events."""
    by_far = FlashRule(rule.area_percent, min(rule.changes + FAR, COUNTS[-1]))
    found = _events(series, reading, rate, by_far, "detail")
    flashes = flash_events(series, reading, rate, rule)
    return [event for event in found if not any(event.span.overlap(flash.span) for flash in flashes)]


def long_sequences(
    series: Mapping[str, np.ndarray], reading: str, rate: Fraction, rule: FlashRule, longer_than: Fraction = Fraction(5)
) -> list[FlashEvent]:
    """Stretches near the limits that go on for longer than so many seconds.

    Source: ITU-R BT.1702-3, Guideline 1: a sequence of more than 5 s may be a risk even within the limits.
    """
    near = FlashRule(rule.area_percent * NEAR_AREA, max(1, rule.changes - NEAR_CHANGES))
    return [event for event in _events(series, reading, rate, near, "long") if event.span.frames / rate > longer_than]


def worst_second(
    series: Mapping[str, np.ndarray],
    reading: str,
    rate: Fraction,
    rule: FlashRule,
    spans: Sequence[Span] | None = None,
) -> tuple[int, float, int] | None:
    """Most changes of more than the rule's area within any second that ends inside the spans, the area of them in
    percent, and the frame that ends it; None if there is none."""
    seconds = _Seconds.of(series, reading, rate, rule, coherent=True)
    frames = seconds.ticks // 2
    counts = seconds.changes > 0
    if spans is not None:
        inside = np.zeros(len(frames), bool)
        for span in spans:
            inside |= (frames >= span.first) & (frames < span.end)
        counts &= inside
    if not counts.any():
        return None
    rows = np.flatnonzero(counts)
    worst = int(rows[np.lexsort((seconds.area[rows], seconds.changes[rows]))[-1]])
    return int(seconds.changes[worst]), float(seconds.area[worst]) * 100 / FULL, int(frames[worst])


def leading_edge_frames(rate: Fraction) -> int:
    """Frames between leading edges that are acceptable whatever flashes: 9 at 25, 10 at 29.97."""
    return ceil(Fraction(TickTimes.of(rate).apart, 2))


def _events(
    series: Mapping[str, np.ndarray], reading: str, rate: Fraction, rule: FlashRule, kind: str
) -> list[FlashEvent]:
    seconds = _Seconds.of(series, reading, rate, rule, coherent=kind != "detail")
    return [seconds.event(first, end, kind) for first, end in seconds.runs(seconds.changes >= rule.changes)]


@dataclass(frozen=True)
class _Seconds:
    """For every moment that the meter kept: the second that ends with it."""

    times: TickTimes
    ticks: np.ndarray  # (rows,) int64
    together: np.ndarray  # (rows,) share that changes together, the larger direction
    changes: np.ndarray  # (rows,) int64 changes of more than the area limit
    area: np.ndarray  # (rows,) share that takes part in them
    limit: float

    @classmethod
    def of(
        cls, series: Mapping[str, np.ndarray], reading: str, rate: Fraction, rule: FlashRule, coherent: bool
    ) -> _Seconds:
        times, limit = TickTimes.of(rate), rule.area_percent * FULL / 100
        ticks = series[f"flashing.{reading}.ticks"].astype(np.int64)
        share = series[f"flashing.{reading}.share"].astype(np.float64)
        now, sides, counted = share[:, NOW], share[:, TOGETHER_NOW], share[:, NET.stop :]
        reached = (counted > limit).sum(axis=1)
        by_place = np.where(reached > 0, COUNTS[0] - 1 + reached, 0)
        if coherent:
            net, change = share[:, NET], sides.sum(axis=1, keepdims=True)
            whole = net.sum(axis=1, keepdims=True)
            both = whole * (whole >= COHERENT_BOTH * change)
            by_place = np.minimum(by_place, _moments(ticks, now.sum(axis=1, keepdims=True), both, limit, times)[0])
            sides = net * (whole >= COHERENT * change)
        else:
            # What moves past changes somewhere all the time: one moment at which enough does is asked for
            begins = np.searchsorted(ticks, ticks - times.second, side="right")
            enough = np.flatnonzero(sides.max(axis=1, initial=0) > limit)
            once = np.searchsorted(enough, begins) < np.searchsorted(enough, np.arange(len(ticks)), side="right")
            by_place *= once
        by_screen, shown = _moments(ticks, now, sides, limit, times, rule.changes)
        placed = counted[:, np.clip(rule.changes, COUNTS[0], COUNTS[-1]) - COUNTS[0]]
        area = np.where(by_screen >= np.minimum(by_place, rule.changes), shown, 0)
        area = np.maximum(area, np.where(by_place >= rule.changes, placed, 0))
        return cls(times, ticks, sides.sum(axis=1), np.maximum(by_place, by_screen), area, limit)

    def runs(self, wrong: np.ndarray) -> list[tuple[int, int]]:
        """First and end row of stretches of wrong seconds that are less than a second apart."""
        rows = np.flatnonzero(wrong)
        if not len(rows):
            return []
        apart = np.flatnonzero(np.diff(self.ticks[rows]) > self.times.second)
        firsts, lasts = rows[np.r_[0, apart + 1]], rows[np.r_[apart, len(rows) - 1]]
        return [(int(first), int(last) + 1) for first, last in zip(firsts, lasts, strict=True)]

    def event(self, first: int, end: int, kind: str) -> FlashEvent:
        """From the first change of the first wrong second to its last."""
        opens = self.ticks[first] - self.times.second
        active = np.flatnonzero((self.ticks > opens) & (self.together > self.limit / 2))
        start = int(self.ticks[active[0]] if len(active) else self.ticks[first])
        own = slice(first, end)
        worst = first + int(np.lexsort((self.area[own], self.changes[own]))[-1])
        return FlashEvent(
            span=Span(min(start, int(self.ticks[first])) // 2, int(self.ticks[end - 1]) // 2 + 1),
            kind=kind,
            area=float(self.area[own].max()) * 100 / FULL,
            changes=int(self.changes[worst]),
            worst=int(self.ticks[worst]) // 2,
        )


def _moments(
    ticks: np.ndarray, now: np.ndarray, sides: np.ndarray, limit: float, times: TickTimes, least_of: int = 1
) -> tuple[np.ndarray, np.ndarray]:
    """(rows,) how often within the second that ends with each row more than the limit changed together, and the
    least share of the last ``least_of`` times.

    now    (rows, sides) share that changes at the row; with two sides (up, down) they have to take turns
    sides  (rows, sides) share that changes together with it
    What has changed up to one such moment is not taken for the next again. Zero at rows without one.
    """
    count, area = np.zeros(len(ticks), np.int64), np.zeros(len(ticks))
    sums = np.concatenate([np.zeros((1, now.shape[1])), now.cumsum(axis=0)])
    earliest = np.searchsorted(ticks, ticks - times.together, side="right")
    last, last_row, turns = -1, -1, now.shape[1] > 1
    made: list[tuple[int, float]] = []  # tick and share of those within the last second
    for row in np.flatnonzero((sides > limit).any(axis=1)):
        since = max(int(earliest[row]), last_row + 1)
        fresh = np.minimum(sides[row], sums[row + 1] - sums[since])
        choices = [side for side in range(len(fresh)) if fresh[side] > limit and not (turns and side == last)]
        if not choices:
            continue
        last, last_row = max(choices, key=lambda side: float(fresh[side])), int(row)
        made = [change for change in made if change[0] > ticks[row] - times.second]
        made.append((int(ticks[row]), float(fresh[last])))
        count[row] = len(made) - (turns and _accepted([tick for tick, _ in made], times))
        area[row] = min(part for _, part in made[-least_of:])
    return count, area


def _accepted(ticks: list[int], times: TickTimes) -> bool:
    """Seven changes whose leading edges stand far enough apart: one too many, yet always acceptable."""
    return len(ticks) == 7 and ticks[3] - ticks[1] >= times.apart and ticks[5] - ticks[3] >= times.apart
