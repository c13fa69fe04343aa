"""What the checks on single frames share: the series of a case, its black frames, what lies in its acts."""

from __future__ import annotations

from typing import TypeVar

import numpy as np

from qc.figures.bars_inside import BarsRun, bars_inside
from qc.figures.black import black_frames
from qc.figures.blends import blended
from qc.figures.cadence import Cadence, Signs, repeat_cadences, signs
from qc.figures.cards import Cards, cards_of
from qc.figures.frame_series import FrameSeries
from qc.figures.hits import Hit, digital_hits
from qc.figures.repeats import Repeat, dropped_frames, repeated_frames
from qc.figures.spoiled import Spoiled, spoiled_frames
from qc.judge.case import Case
from qc.judge.leader import matrix_of
from qc.timing.spans import Span

_NO_SERIES = "this record holds no measurement of single frames; measure the file again"

#: What these findings are about.
SUBJECT = "picture"

T = TypeVar("T")


def why_not(case: Case) -> str:
    """Why single frames cannot be judged; "" if they can."""
    return case.no_frames or ("" if _series(case) is not None else _NO_SERIES)


def series_of(case: Case) -> FrameSeries:
    """Raises ValueError where why_not gives a reason."""
    series = _series(case)
    if series is None:
        raise ValueError(_NO_SERIES)
    return series


def _series(case: Case) -> FrameSeries | None:
    picture = case.measurement.picture
    return FrameSeries.of(picture.extra) if picture is not None else None


def black_of(case: Case) -> np.ndarray:
    """(frames,) bool: black by this outlet's rule."""
    picture, rule = case.measurement.picture, case.profile.black
    assert picture is not None
    key = ("black frames", rule.pixel_percent, rule.picture_percent)
    return case.figures.once(key, lambda: black_frames(picture, rule.pixel_percent, rule.picture_percent))


def signs_of(case: Case) -> Signs:
    return case.figures.once("signs of repeats", lambda: signs(series_of(case)))


def repeating(case: Case) -> list[Cadence]:
    """Cadences of repeated frames or fields."""
    return case.figures.once("cadences", lambda: repeat_cadences(signs_of(case)))


def blends_of(case: Case) -> list[Cadence]:
    """Stretches that were converted by blending."""
    return case.figures.once("blends", lambda: blended(series_of(case), case.clock.rate, repeating(case)))


def repeats_of(case: Case) -> list[Repeat]:
    return case.figures.once("repeats", lambda: repeated_frames(series_of(case), signs_of(case), repeating(case)))


def drops_of(case: Case) -> list[int]:
    return case.figures.once("drops", lambda: dropped_frames(series_of(case), repeating(case)))


def hits_of(case: Case) -> list[Hit]:
    """A frame that is black is judged as that."""
    black = black_of(case)
    return [hit for hit in case.figures.once("hits", lambda: digital_hits(series_of(case))) if not black[hit.frame]]


def spoiled_of(case: Case) -> list[Spoiled]:
    return case.figures.once("spoiled frames", lambda: spoiled_frames(series_of(case)))


def cards_of_case(case: Case) -> Cards | None:
    picture = case.measurement.picture
    return cards_of(picture) if picture is not None else None


def bars_of(case: Case) -> list[BarsRun]:
    """Anywhere in the file. None are known where the record holds no small pictures."""
    cards, matrix = cards_of_case(case), matrix_of(case)
    if cards is None:
        return []
    return case.figures.once(("bars inside", matrix), lambda: bars_inside(series_of(case), cards, matrix))


def in_acts(case: Case, span: Span) -> Span | None:
    """The part of a span that picture checks judge; None if there is none."""
    for act in case.shown:
        if act.overlap(span):
            return Span(max(act.first, span.first), min(act.end, span.end))
    return None


def where(case: Case) -> str:
    """The span that a finding names."""
    return "programme" if case.structure.acts else "file"
