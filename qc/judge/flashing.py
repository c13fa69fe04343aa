"""Flashing pictures and stripes: screened, never certified. What the station requires as a test decides."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import TypeVar

import numpy as np

from qc.figures.flashing import (
    FIRST,
    READING_OF,
    FlashEvent,
    FlashRule,
    detail_events,
    flash_events,
    leading_edge_frames,
    long_sequences,
    luminance_curve,
    readings,
    worst_second,
)
from qc.figures.stripes import StripeEvent, StripeRule, stripe_events
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.over_limit import over_limit, over_limit_words
from qc.judge.places import at
from qc.judge.verdict import Finding, Outcome, Place
from qc.outlets.sections_flashing import FlashLimit, GeneralFlashes, LongFlashing, StripePatterns
from qc.remedy.exports import look
from qc.remedy.fix import Fix
from qc.timing.spans import Span

#: Said by every finding of this check.
SCREENING = "screening aid, not a certified test: the test that the station requires decides"
_NO_SERIES = "this record holds no measurement of flashing; measure the file again"
_OFCOM_SDR = "the Ofcom table is for standard dynamic range; this picture is tagged HLG or PQ"
_NO_RED = "the colour of this picture is not coded as Y'CbCr, so red is not known"
_DETAIL = "fine detail flickers or moves fast over much of the screen: a person should look"
_PUBLISHED = FlashRule()
#: Stripes within so many degrees of level or upright are called that.
_STRAIGHT = 3.0
_Event = TypeVar("_Event", FlashEvent, StripeEvent)


def general(case: Case, key: str, requirement: GeneralFlashes) -> Iterator[Finding]:
    """Changes of luminance, by the reading that the outlet names."""
    reading = READING_OF[requirement.variant]
    why = _missing(case, reading, _OFCOM_SDR)
    if why:
        yield not_measured(key, requirement, f"{why}; {SCREENING}", requirement.words, subject="flashes")
        return
    yield _flashes(case, key, requirement, reading, "flashes")


def red(case: Case, key: str, requirement: FlashLimit) -> Iterator[Finding]:
    """Changes to and from saturated red, whatever their luminance."""
    why = _missing(case, "red", _NO_RED)
    if why:
        yield not_measured(key, requirement, f"{why}; {SCREENING}", requirement.words, subject="red flashes")
        return
    yield _flashes(case, key, requirement, "red", "red flashes")


def long(case: Case, key: str, requirement: LongFlashing) -> Iterator[Finding]:
    """Sequences near the limits of the other two, or of the published rule where they are not asked for."""
    asked = case.profile.flashing
    chosen = READING_OF[asked.flashes.variant] if asked.flashes else FIRST
    wanted = {chosen: _rule(asked.flashes), "red": _rule(asked.red)}
    why = _missing(case, chosen, _OFCOM_SDR)
    if why:
        yield not_measured(key, requirement, f"{why}; {SCREENING}", requirement.words, subject="long sequences")
        return
    series, rate = _series(case), case.clock.rate
    found: list[FlashEvent] = []
    for reading, rule in wanted.items():
        if reading in readings(series):
            most = Fraction(str(requirement.seconds))
            failing = flash_events(series, reading, rate, rule)
            found += [
                event
                for event in long_sequences(series, reading, rate, rule, most)
                if not any(event.span.overlap(flash.span) for flash in failing)
            ]
    found = _in_programme(case, found)
    longest = max((float(event.span.frames / rate) for event in found), default=0.0)
    shown = over_limit(longest, float(requirement.seconds), 1)
    yield finding(
        key,
        requirement,
        graded(requirement, not found),
        shown,
        requirement.words,
        subject="long sequences",
        unit="s",
        span=_span(case),
        places=tuple(_place(case, event) for event in found),
        reason=_reason("flashing goes on near the limits" if found else "", case),
        fix=_look(case, found, "shorten the sequence, or calm it") if found else None,
    )


def patterns(case: Case, key: str, requirement: StripePatterns) -> Iterator[Finding]:
    """Regular stripes over a large part of the screen."""
    subject = "stripes"
    if case.no_frames or "stripes.found" not in _series(case):
        why = case.no_frames or _NO_SERIES
        yield not_measured(key, requirement, f"{why}; {SCREENING}", requirement.words, subject=subject)
        return
    rule = StripeRule(float(requirement.still_percent), float(requirement.changing_percent))
    found = _in_programme(case, stripe_events(_series(case), case.clock.rate, case.frames, rule))
    yield finding(
        key,
        requirement,
        graded(requirement, not found),
        max((_striped_area(event, rule) for event in found), default=0.0),
        requirement.words,
        subject=subject,
        unit="%",
        span=_span(case),
        places=tuple(_stripes(case, event, rule) for event in found),
        reason=_reason("regular stripes over a large part of the screen" if found else "", case),
        fix=_look(case, found, "soften the stripes, or frame them smaller") if found else None,
    )


def _flashes(case: Case, key: str, requirement: FlashLimit, reading: str, subject: str) -> Finding:
    series, rate = _series(case), case.clock.rate
    rule = FlashRule(float(requirement.area_percent), requirement.changes)
    found = _in_programme(case, flash_events(series, reading, rate, rule))
    detail = [] if found else _in_programme(case, detail_events(series, reading, rate, rule))
    second = None if found else worst_second(series, reading, rate, rule, _spans(case))
    whole = second[0] if second else 0
    most = max((event.changes for event in found or detail), default=whole)
    said = f"{_DETAIL}; the screen as a whole makes {whole} change{'' if whole == 1 else 's'}" if detail else ""
    return finding(
        key,
        requirement,
        Outcome.ADVISORY if detail else graded(requirement, not found),
        most,
        requirement.words,
        subject="fine detail" if detail else subject,
        unit="changes",
        span=_span(case),
        places=tuple(_place(case, event, rule.area_percent) for event in _worst_first(found or detail)),
        reason=_reason(said, case),
        fix=_fix(case, found, reading == "red", requirement) if found else _look(case, detail, "") if detail else None,
    )


def _rule(limit: FlashLimit | None) -> FlashRule:
    return FlashRule(float(limit.area_percent), limit.changes) if limit else _PUBLISHED


def _series(case: Case) -> Mapping[str, np.ndarray]:
    picture = case.measurement.picture
    return picture.extra if picture is not None else {}


def _missing(case: Case, reading: str, absent: str) -> str:
    """Why a reading cannot be judged; "" if it can."""
    if case.no_frames:
        return case.no_frames
    known = readings(_series(case))
    return "" if reading in known else absent if known else _NO_SERIES


def _spans(case: Case) -> tuple[Span, ...]:
    """What is shown: the acts; the whole file where they are not known."""
    return tuple(act.span for act in case.structure.acts) or (Span(0, case.frames),)


def _span(case: Case) -> str:
    return "programme" if case.structure.acts else "file"


def _in_programme(case: Case, found: Sequence[_Event]) -> list[_Event]:
    return [event for event in found if any(event.span.overlap(span) for span in _spans(case))]


def _worst_first(found: Sequence[FlashEvent]) -> list[FlashEvent]:
    return sorted(found, key=lambda event: (-event.changes, -event.area, event.span.first))


def _place(case: Case, event: FlashEvent, limit: float = 100.0) -> Place:
    """limit  of the area in percent, so that what is over it reads so"""
    area = f"up to {over_limit_words(event.area, limit)} % of the screen"
    if event.kind == "long":
        seconds = round(float(event.span.frames / case.clock.rate), 1)
        note = f"{event.changes} changes in the worst second, {area}"
        return case.places.place(event.span, value=seconds, note=note)
    return case.places.place(event.span, value=event.changes, note=f"in the worst second, {area}")


def _striped_area(event: StripeEvent, rule: StripeRule) -> float:
    return over_limit(event.area, rule.changing_percent if event.changing else rule.still_percent, 1)


def _stripes(case: Case, event: StripeEvent, rule: StripeRule) -> Place:
    way = "that swing, flash or reverse" if event.changing else "at rest"
    area = _striped_area(event, rule)
    note = (
        f"about {event.pairs:.0f} pairs {way}, {area:g} % of the screen, {_running(event.direction)}; "
        "where they begin and end is known to half a second"
    )
    return case.places.place(event.span, value=area, note=note)


def _running(degrees: float) -> str:
    """Which way stripes run, from their angle above level, 0 to 180."""
    from_level = min(degrees, 180 - degrees)
    if from_level <= _STRAIGHT:
        return "level"
    if from_level >= 90 - _STRAIGHT:
        return "upright"
    return f"slanting, {'rising' if degrees < 90 else 'falling'} to the right at {from_level:.0f} degrees"


def _reason(said: str, case: Case) -> str:
    series = _series(case)
    damaged = int(np.count_nonzero(luminance_curve(series, FIRST) < 0)) if series else 0
    unseen = f"{damaged} damaged picture{'' if damaged == 1 else 's'} not looked at" if damaged else ""
    return "; ".join(part for part in (said, unseen, SCREENING) if part)


def _fix(case: Case, found: Sequence[FlashEvent], is_red: bool, limit: FlashLimit) -> Fix:
    place = _place(case, _worst_first(found)[0])
    apart = leading_edge_frames(case.clock.rate)
    less = "take the saturation out of the red" if is_red else "bring the change under 20 cd/m2"
    share = "a quarter" if limit.area_percent == 25 else f"{limit.area_percent:g} %"
    return look(
        f"From {at(place)} on, space the leading edges at least {apart} frames apart, or {less}, or keep the area "
        f"under {share} of the screen; then have it tested as the station requires.",
        place.within or _span(case),
    )


def _look(case: Case, found: Sequence[FlashEvent] | Sequence[StripeEvent], what: str) -> Fix:
    place = case.places.place(found[0].span)
    more = f" and {what}" if what else ""
    return look(f"Look at {at(place)}{more}; the test that the station requires decides.", place.within or _span(case))


JUDGES: dict[str, Judge] = {
    "flashing.flashes": general,
    "flashing.red": red,
    "flashing.long_sequences": long,
    "flashing.patterns": patterns,
}
