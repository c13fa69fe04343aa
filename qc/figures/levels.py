"""Picture levels in the series of the meter: shares of the picture outside any limits, and runs of pictures outside.

Shares under 0.1 % of a picture are not told apart from nothing (level_ladder.FLOOR). A picture that was not looked at
has the smaller share of the two looks round it; one that looks like a tested picture has that one's. No run rests on
these alone: a run holds at least one picture that was tested.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qc.figures.black import runs_of
from qc.meters.picture.level_ladder import (
    BETWEEN,
    CARRIED,
    COMPONENTS,
    FLOOR,
    LADDER,
    MATRICES,
    NO_MATRIX,
    NOT_MEASURED,
    PAIRS,
    SIDES,
    TESTED,
)
from qc.timing.spans import Span

Series = Mapping[str, np.ndarray]
#: Shares are kept in parts of this.
_FULL = 65535
#: Runs of one kind that are no further apart than this many frames are one event.
APART = 12


@dataclass(frozen=True)
class LevelBounds:
    """What is accepted, in percent of the nominal range; None is open. Every number is one of LADDER for its side."""

    luma: tuple[int | None, int | None]
    rgb: tuple[int | None, int | None]

    def of(self, component: str, high: bool) -> int | None:
        return (self.luma if component == "Y" else self.rgb)[high]


@dataclass(frozen=True)
class LevelEvent:
    """A stretch in which one component lies outside on one side.

    component  "Y", "R", "G" or "B"
    limit      percent
    frames     pictures outside; neighbouring runs are one event
    area       percent of the picture outside in the worst of them
    worst      its frame
    reach      percent that the outermost tenth of what is outside reaches there; None if not known
    box        largest area outside in the first tested picture, of a colour that luma does not account for: left, top,
               right, bottom in parts of the picture
    """

    component: str
    high: bool
    limit: int
    span: Span
    frames: int
    area: float
    worst: int
    reach: float | None
    box: tuple[float, float, float, float] | None


def has_levels(series: Series) -> bool:
    return "levels.state" in series


def matrix_used(series: Series) -> tuple[str, bool]:
    """Name of the matrix that R, G and B were derived with ("" if they were not), and whether it was assumed."""
    place, assumed = (int(value) for value in series["levels.matrix"])
    return ("" if place == NO_MATRIX else MATRICES[place].name), bool(assumed)


def share_outside(series: Series, component: str, percent: int) -> np.ndarray:
    """(frames,) share of each picture beyond a level of LADDER; 0 where nothing was measured.

    Raises ValueError for a level that is not counted.
    """
    if (component, percent) not in LADDER:
        raise ValueError(f"{percent} % of {component} is not counted")
    return _every_picture(series, series["levels.share"][:, LADDER.index((component, percent))])


def _every_picture(series: Series, rows: np.ndarray) -> np.ndarray:
    """(frames,) share of each picture from those of the tested ones, (rows,) in 1/65535."""
    state = series["levels.state"]
    share = np.zeros(len(state))
    share[series["levels.at"]] = rows / _FULL
    share = np.where(state == CARRIED, share[_latest(state == TESTED)], share)
    between = np.flatnonzero(state == BETWEEN)
    if len(between):
        looked = (state != BETWEEN) & (state != NOT_MEASURED)
        before, after = _latest(looked), len(state) - 1 - _latest(looked[::-1])[::-1]
        share[between] = np.minimum(share[before[between]], share[after[between]])
    return share


def unmeasured(series: Series, spans: Sequence[Span]) -> int:
    """Pictures of the spans that were not measured (damaged)."""
    state = series["levels.state"]
    return sum(int((state[span.first : span.end] == NOT_MEASURED).sum()) for span in spans)


def lasting_area(series: Series, bounds: LevelBounds, at_least: int, spans: Sequence[Span]) -> float:
    """Largest share of the picture, in percent, that is outside on one side for ``at_least`` pictures on end."""
    most = 0.0
    for component, high in SIDES:
        limit = bounds.of(component, high)
        if limit is None:
            continue
        share = share_outside(series, component, limit)
        for span in spans:
            own = share[span.first : span.end]
            if len(own) >= at_least:
                lasting = np.lib.stride_tricks.sliding_window_view(own, at_least).min(axis=1)
                most = max(most, float(lasting.max()))
    return 100 * most if most >= FLOOR else 0.0


def level_events(
    series: Series, bounds: LevelBounds, area_percent: float, at_least: int, spans: Sequence[Span]
) -> list[LevelEvent]:
    """Every stretch of ``at_least`` pictures or more with more than ``area_percent`` outside, the largest area first.

    Colours that are outside where luma is are left to luma: they are told where more than ``area_percent`` is outside
    in areas that luma does not account for.
    """
    found: list[LevelEvent] = []
    luma: dict[bool, np.ndarray] = {}
    for component in COMPONENTS:
        for high in (False, True):
            limit = bounds.of(component, high)
            if limit is None:
                continue
            share = share_outside(series, component, limit)
            outside = share > area_percent / 100
            boxes = series["levels.box"][:, LADDER.index((component, limit))]
            if component == "Y":
                luma[high] = outside
            elif high in luma:
                pair = PAIRS.index((LADDER.index((component, limit)), LADDER.index(("Y", bounds.of("Y", high)))))
                alone = _every_picture(series, series["levels.alone"][:, pair])
                outside &= ~luma[high] | (alone > area_percent / 100)
                boxes = np.where(luma[high][series["levels.at"], None], series["levels.alone_box"][:, pair], boxes)
            for span in spans:
                found += _events(series, (component, high), limit, share, outside, boxes, at_least, span)
    return sorted(found, key=lambda event: (-event.area, event.span.first))


def _events(
    series: Series,
    side: tuple[str, bool],
    limit: int,
    share: np.ndarray,
    outside: np.ndarray,
    boxes: np.ndarray,
    at_least: int,
    span: Span,
) -> list[LevelEvent]:
    runs = [
        Span(span.first + run.first, span.first + run.end)
        for run in runs_of(outside[span.first : span.end], at_least)
        if (series["levels.state"][span.first + run.first : span.first + run.end] == TESTED).any()
    ]
    together: list[list[Span]] = []
    for run in runs:
        if together and run.first - together[-1][-1].end <= APART:
            together[-1].append(run)
        else:
            together.append([run])
    return [_event(series, side, limit, share, boxes, group) for group in together]


def _event(
    series: Series, side: tuple[str, bool], limit: int, share: np.ndarray, boxes: np.ndarray, runs: list[Span]
) -> LevelEvent:
    whole = Span(runs[0].first, runs[-1].end)
    worst = whole.first + int(np.argmax(share[whole.first : whole.end]))
    rows = np.flatnonzero((series["levels.at"] >= whole.first) & (series["levels.at"] < whole.end))
    place = LADDER.index((side[0], limit))
    box = reach = None
    if len(rows):
        row = rows[np.argmax(series["levels.share"][rows, place])]
        reach = float(series["levels.reach"][row, place]) / 100
        left, top, right, bottom = (float(edge) / 255 for edge in boxes[rows[0]])
        box = (left, top, right, bottom) if right > left and bottom > top else None
    return LevelEvent(
        component=side[0],
        high=side[1],
        limit=limit,
        span=whole,
        frames=sum(run.frames for run in runs),
        area=100 * float(share[worst]),
        worst=worst,
        reach=reach,
        box=box,
    )


def _latest(flags: np.ndarray) -> np.ndarray:
    """(frames,) the nearest place at or before each that is True; 0 if there is none."""
    return np.maximum.accumulate(np.where(flags, np.arange(len(flags)), 0))
