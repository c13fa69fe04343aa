"""True peak of each judged group over the programme, with the worst places."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.figures.resolution import reads_over
from qc.judge.case import Case
from qc.judge.demands import demands
from qc.judge.findings import not_measured, silent, weighed
from qc.judge.gain_elsewhere import peaks_elsewhere
from qc.judge.headers import Judge
from qc.judge.limits import Bounds, number_bounds
from qc.judge.loudness import PROGRAMME
from qc.judge.peaks_left import count_left, peak_place
from qc.judge.verdict import Finding
from qc.outlets.schema_kinds import TruePeakLimit
from qc.remedy.fix import Fix
from qc.remedy.gain import lower_peaks
from qc.remedy.gain_window import common

#: Places kept of one finding; a hot mix has thousands, which are counted.
_MOST_PLACES = 40


def programme(case: Case, key: str, requirement: TruePeakLimit) -> Iterator[Finding]:
    """Highest true peak of all channels of a group, LFE included."""
    bounds = number_bounds(requirement)
    if case.no_sound:
        yield not_measured(
            key, requirement, case.no_sound, bounds.words, subject="programme", span=PROGRAMME, unit="dBTP"
        )
        return
    for group in case.groups:
        reading = case.figures.true_peak(group, case.programme)
        subject = case.subject(group, "programme")
        if reading.silent:
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
    assert bounds.high is not None
    worst, total = case.figures.worst_peaks(group, case.programme, reads_over(bounds.high), _MOST_PLACES)
    places = [peak_place(case, peak) for peak in worst]
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
        more_places=total - len(worst),
        fix=lambda: _fix(case, requirement, group, value),
    )


def _fix(case: Case, requirement: TruePeakLimit, group: ChannelGroup, value: float) -> Fix:
    """Down to the limit itself: the tolerance of measurement is the meter's, not the mix's."""
    assert requirement.max is not None
    stated = float(requirement.max)
    count = max(1, count_left(case, group, case.programme, stated, 0.0))
    gains = common(demand.gains for demand in demands(case, group))
    lowest = 0.0 if gains is None else gains.low
    fix = lower_peaks(case.mix(group), value, stated, count, lowest)
    return replace(fix, consequences=peaks_elsewhere(case, group, stated))


JUDGES: dict[str, Judge] = {"true_peak.programme": programme}
