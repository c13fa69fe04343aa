"""Picture levels and gamut: luma, R, G and B outside the outlet's bounds, by component and side."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from qc.figures.levels import (
    LevelBounds,
    LevelEvent,
    Series,
    has_levels,
    lasting_area,
    level_events,
    matrix_used,
    unmeasured,
)
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.lengths import frames_text
from qc.judge.over_limit import over_limit
from qc.judge.verdict import Finding, Outcome, Place
from qc.outlets.sections_levels import LevelsRange
from qc.programme.place import Area
from qc.remedy.fix import Fix
from qc.remedy.levels import component_name, legalise
from qc.timing.spans import Span

_NO_SERIES = "this record holds no measurement of picture levels; measure the file again"
_MONO = "4:0:0"
_UNIT = "%"
#: What the measurement tells from nothing, in percent of the picture.
_TOLD = 0.1


def level_range(case: Case, key: str, requirement: LevelsRange) -> Iterator[Finding]:
    """One finding for each component and side that lies outside; one for all where none does."""
    why = case.no_programme or ("" if _has(case) else _NO_SERIES)
    if why:
        yield _not(key, requirement, why, "programme")
        return
    bounds, missing = _bounds(case, requirement)
    if missing:
        yield _not(key, requirement, missing, "red, green and blue")
    if bounds.luma == bounds.rgb == (None, None):
        return
    spans = [act.span for act in case.structure.acts]
    area, at_least = float(requirement.area_percent), requirement.at_least
    events = level_events(_series(case), bounds, area, at_least, spans)
    if not events:
        lasting = round(lasting_area(_series(case), bounds, at_least, spans), 2)
        yield _found(case, key, requirement, Outcome.PASS, lasting, "programme", spans)
    by_side = sorted(events, key=lambda event: (event.component, event.high))
    groups = [list(group) for _, group in groupby(by_side, key=lambda event: (event.component, event.high))]
    for group in sorted(groups, key=lambda group: -max(event.area for event in group)):
        group.sort(key=lambda event: (-event.area, event.span.first))
        worst = group[0]
        places = tuple(_place(case, event, area) for event in group)
        subject = f"{component_name(worst.component)}, {_side(worst)}"
        outcome, fix = graded(requirement, False), _fix(case, worst)
        yield _found(case, key, requirement, outcome, worst.area, subject, spans, places=places, fix=fix)


def _found(
    case: Case,
    key: str,
    requirement: LevelsRange,
    outcome: Outcome,
    area: float,
    subject: str,
    spans: list[Span],
    places: tuple[Place, ...] = (),
    fix: Fix | None = None,
) -> Finding:
    shown = over_limit(area, float(requirement.area_percent), 2)
    return finding(
        key,
        requirement,
        outcome,
        shown,
        requirement.words,
        subject=subject,
        unit=_UNIT,
        tolerance=requirement.granted,
        margin=round(float(requirement.area_percent) - shown, 2),
        span="programme",
        places=places,
        reason=_remarks(case, spans, area),
        fix=fix,
    )


def _not(key: str, requirement: LevelsRange, why: str, subject: str) -> Finding:
    return not_measured(key, requirement, why, requirement.words, subject=subject, unit=_UNIT, span="programme")


def _has(case: Case) -> bool:
    return case.measurement.picture is not None and has_levels(case.measurement.picture.extra)


def _series(case: Case) -> Series:
    assert case.measurement.picture is not None
    return case.measurement.picture.extra


def _bounds(case: Case, requirement: LevelsRange) -> tuple[LevelBounds, str]:
    """What is judged, and why R, G and B are not; without colour they are luma."""
    luma, rgb = requirement.luma, requirement.rgb
    name, _ = matrix_used(_series(case))
    if name or rgb == (None, None):
        return LevelBounds(luma, rgb), ""
    picture = case.facts.picture
    if picture is not None and picture.chroma == _MONO:
        low, high = luma[0] if luma[0] is not None else rgb[0], luma[1] if luma[1] is not None else rgb[1]
        return LevelBounds((low, high), (None, None)), ""
    tag = picture.colour_matrix if picture is not None else None
    why = f"the colour matrix is {tag}: R, G and B cannot be derived" if tag else "no picture with colour was decoded"
    return LevelBounds(luma, (None, None)), why


def _remarks(case: Case, spans: list[Span], area: float) -> str:
    said = []
    if area < _TOLD:
        said.append(f"under {_TOLD} % of the picture everywhere")
    name, assumed = matrix_used(_series(case))
    if name and assumed:
        wrong = case.facts.picture is not None and case.facts.picture.colour_matrix == "RGB"
        why = "the pictures are tagged RGB, which they are not" if wrong else "no colour matrix is tagged"
        said.append(f"{why}: {name} assumed")
    if damaged := unmeasured(_series(case), spans):
        said.append(f"{frames_text(damaged)} damaged, not measured")
    return "; ".join(said)


def _side(event: LevelEvent) -> str:
    return "high" if event.high else "low"


def _place(case: Case, event: LevelEvent, limit: float) -> Place:
    beyond = "above" if event.high else "below"
    note = f"{component_name(event.component)} {beyond} {event.limit} %"
    if event.reach is not None:
        note += f", reaching {event.reach:.0f} %"
    note += f"; {frames_text(event.frames)}"
    if event.worst != event.span.first:
        note += f", worst at {case.clock.at(event.worst)}"
    area = None
    if event.box is not None:
        left, top, right, bottom = event.box
        area = Area(left, top, right - left, bottom - top)
    return case.places.place(event.span, value=over_limit(event.area, limit, 2), note=note, area=area)


def _fix(case: Case, event: LevelEvent) -> Fix:
    within = case.places.within(event.worst)
    worst = case.clock.at(event.worst) + (f" ({within})" if within else "")
    return legalise(event.component, event.high, event.limit, event.area, worst, within or "programme")


JUDGES: dict[str, Judge] = {"levels.range": level_range}
