"""True peak of each judged group over the programme, with the worst places."""

from __future__ import annotations

from collections.abc import Iterator

from qc.figures import loudness, peaks
from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured, weighed
from qc.judge.headers import Judge
from qc.judge.limits import AT_LIMIT, Bounds, number_bounds
from qc.judge.loudness import PROGRAMME, is_silent
from qc.judge.verdict import Finding, Place
from qc.outlets.schema import TruePeakLimit
from qc.remedy.gain import lower_peaks


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
            yield finding(
                key,
                requirement,
                graded(requirement, bounds.low is None),
                "silent",
                bounds.words,
                subject=subject,
                unit="dBTP",
                tolerance=bounds.tolerance,
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
    events = peaks.peaks_above(case.sound, group, case.programme, bounds.high + AT_LIMIT - 1e-4)
    places: list[Place] = [
        case.places.rows(event.span, channel=event.channel + 1, value=round(event.dbtp, 2))
        for event in sorted(events, key=lambda event: (-event.dbtp, event.span.first, event.channel))
    ]
    if not places and reading.row is not None and reading.channel is not None:
        places = [case.places.row(reading.row, channel=reading.channel + 1, value=round(value, 2))]
    fix = lower_peaks(case.mix(group), value, bounds.high, max(1, len(events)), _room(case, group))
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
        fix=fix,
    )


def _room(case: Case, group: ChannelGroup) -> float | None:
    """Decibels by which the whole mix may come down before its loudness is too low."""
    limit = case.profile.loudness.programme
    if limit is None or case.sound is None or case.profile.loudness.anchor != "full programme":
        return None
    low, reading = number_bounds(limit).low, loudness.integrated(case.sound, group, case.programme)
    return None if low is None or reading.value is None else reading.value - low


JUDGES: dict[str, Judge] = {"true_peak.programme": programme}
