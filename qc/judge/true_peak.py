"""True peak of each judged group over the programme, with the worst places."""

from __future__ import annotations

from collections.abc import Iterator

from qc.figures import loudness, peaks
from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.judge.case import Case
from qc.judge.findings import not_measured, silent, weighed
from qc.judge.headers import Judge
from qc.judge.limits import AT_LIMIT, Bounds, number, number_bounds
from qc.judge.loudness import PROGRAMME, is_silent
from qc.judge.verdict import Finding, Place
from qc.measurement.record import STEPS_PER_SECOND
from qc.outlets.schema import TruePeakLimit
from qc.remedy.fix import Fix
from qc.remedy.gain import lower_peaks

#: Places kept of one finding; a hot mix has thousands, which are counted.
_MOST_PLACES = 40

#: Longer events than this say how long they are.
_ONE_PLACE_ROWS = 20


def programme(case: Case, key: str, requirement: TruePeakLimit) -> Iterator[Finding]:
    """Highest true peak of all channels of a group, LFE included."""
    bounds = number_bounds(requirement)
    if case.no_sound:
        yield not_measured(
            key, requirement, case.no_sound, bounds.words, subject="programme", span=PROGRAMME, unit="dBTP"
        )
        return
    assert case.sound is not None
    for group in case.groups:
        reading = peaks.true_peak(case.sound, group, case.programme)
        subject = case.subject(group, "programme")
        if is_silent(reading):
            yield silent(
                key,
                requirement,
                bounds,
                "dBTP",
                accepted=bounds.low is None,
                subject=subject,
                span=PROGRAMME,
                reason="silent programme: there is no peak",
            )
        elif reading.value is None:
            yield not_measured(
                key, requirement, reading.reason, bounds.words, subject=subject, span=PROGRAMME, unit="dBTP"
            )
        else:
            yield _judged(case, key, requirement, group, reading, reading.value, bounds, subject)


def _judged(
    case: Case,
    key: str,
    requirement: TruePeakLimit,
    group: ChannelGroup,
    reading: Reading,
    value: float,
    bounds: Bounds,
    subject: str,
) -> Finding:
    assert case.sound is not None and bounds.high is not None
    # Half a step under the next reading of a meter: what rounds down to the ceiling is inside.
    ceiling = bounds.high + AT_LIMIT - 1e-4
    events = peaks.peaks_above(case.sound, group, case.programme, ceiling) if value > ceiling else []
    worst = sorted(events, key=lambda event: (-event.dbtp, event.span.first, event.channel))[:_MOST_PLACES]
    places = [_place(case, event) for event in worst]
    if not places and reading.row is not None and reading.channel is not None:
        places = [case.places.row(reading.row, channel=reading.channel + 1, value=round(value, 2))]
    return weighed(
        key,
        requirement,
        value,
        bounds,
        unit="dBTP",
        meter=True,
        subject=subject,
        span=PROGRAMME,
        places=tuple(places),
        more_places=max(0, len(events) - _MOST_PLACES),
        fix=lambda: _fix(case, requirement, group, value),
    )


def _fix(case: Case, requirement: TruePeakLimit, group: ChannelGroup, value: float) -> Fix:
    """Down to the limit itself: the tolerance of measurement is the meter's, not the mix's."""
    assert case.sound is not None and requirement.max is not None
    stated = float(requirement.max)
    over = peaks.peaks_above(case.sound, group, case.programme, stated + AT_LIMIT - 1e-4)
    return lower_peaks(case.mix(group), value, stated, max(1, len(over)), _room(case, group))


def _place(case: Case, event: peaks.Peak) -> Place:
    """The frame of the highest sample; how long the event is, where that is longer."""
    seconds = event.span.frames / STEPS_PER_SECOND
    note = f"over the limit for {number(seconds, 2)} s" if event.span.frames > _ONE_PLACE_ROWS else ""
    return case.places.row(event.row, channel=event.channel + 1, value=round(event.dbtp, 2), note=note)


def _room(case: Case, group: ChannelGroup) -> float | None:
    """Decibels by which the whole mix may come down before its loudness is too low."""
    limit = case.profile.loudness.programme
    if limit is None or case.sound is None or case.profile.loudness.anchor != "full programme":
        return None
    low, reading = number_bounds(limit).low, loudness.integrated(case.sound, group, case.programme)
    return None if low is None or reading.value is None else reading.value - low


JUDGES: dict[str, Judge] = {"true_peak.programme": programme}
