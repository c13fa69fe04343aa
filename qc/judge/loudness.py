"""Loudness of each judged group over the programme and each act: integrated, highest values, range."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial

from qc.figures.groups import ChannelGroup
from qc.figures.loudness import MOMENTARY_ROWS, SHORT_TERM_ROWS
from qc.figures.reading import Reading
from qc.figures.shared import Figures
from qc.judge.case import Case
from qc.judge.findings import finding, not_measured, silent, weighed
from qc.judge.gain_elsewhere import gain_elsewhere
from qc.judge.headers import Judge
from qc.judge.limits import Bounds, number, number_bounds
from qc.judge.peaks_left import ceiling_of
from qc.judge.verdict import Finding, Outcome, Place
from qc.outlets.schema_kinds import LoudnessLimit, LoudnessRangeLimit, NumberLimit
from qc.remedy.exports import look
from qc.remedy.exports import replace as replace_sound
from qc.remedy.fix import Fix
from qc.remedy.gain import change_gain
from qc.timing.spans import Span

PROGRAMME = "programme, acts joined"

Figure = Callable[[Figures, ChannelGroup, Sequence[Span]], Reading]


def programme(case: Case, key: str, requirement: LoudnessLimit) -> Iterator[Finding]:
    """Integrated loudness of the acts joined."""
    yield from _integrated(case, key, requirement, [("programme", PROGRAMME, case.programme)])


def act(case: Case, key: str, requirement: LoudnessLimit) -> Iterator[Finding]:
    """Integrated loudness of each act on its own."""
    parts = [(f"act {act.number}", f"act {act.number}", (case.rows(act.span),)) for act in case.structure.acts]
    yield from _integrated(case, key, requirement, parts)


def _integrated(
    case: Case, key: str, requirement: LoudnessLimit, parts: Sequence[tuple[str, str, tuple[Span, ...]]]
) -> Iterator[Finding]:
    bounds = number_bounds(requirement)
    if case.no_sound:
        yield _unjudged(key, requirement, case.no_sound, bounds)
        return
    for group in case.groups:
        for name, said, spans in parts:
            subject = case.subject(group, name)
            reading = case.figures.integrated(group, spans)
            if case.profile.loudness.anchor == "dialogue":
                yield _anchored(key, requirement, reading, bounds, subject, said)
            elif reading.silent:
                yield silent(
                    key,
                    requirement,
                    bounds,
                    requirement.unit,
                    accepted=False,
                    subject=subject,
                    span=said,
                    reason=f"silent {'programme' if name == 'programme' else name}: {reading.reason}",
                    fix=replace_sound(f"Put the sound back: the {case.mix(group)} is silent.", case.mix(group)),
                )
            elif reading.value is None:
                yield _unjudged(key, requirement, reading.reason, bounds, subject=subject, span=said)
            else:
                where = case.mix(group) if name == "programme" else f"{case.mix(group)} of {name}"
                yield weighed(
                    key,
                    requirement,
                    reading.value,
                    bounds,
                    unit=requirement.unit,
                    meter=True,
                    subject=subject,
                    span=said,
                    fix=partial(_gain, case, group, spans, requirement, reading.value, where),
                )


def _gain(
    case: Case, group: ChannelGroup, spans: tuple[Span, ...], requirement: LoudnessLimit, measured: float, where: str
) -> Fix:
    """For the programme the whole mix is moved, for an act that act alone."""
    bounds = number_bounds(requirement)
    fix = change_gain(where, measured, bounds.low, bounds.high, requirement.target, ceiling_of(case, group, spans))
    assert fix.amount is not None
    over = None if spans == case.programme else spans
    return replace(fix, consequences=gain_elsewhere(case, group, fix.amount, over))


def _anchored(
    key: str, requirement: LoudnessLimit, reading: Reading, bounds: Bounds, subject: str, span: str
) -> Finding:
    """A limit on dialogue: the full programme is another quantity."""
    figure = "" if reading.value is None else f" at {number(reading.value, 2)} {requirement.unit}"
    reason = f"programme loudness measured{figure}; dialogue-anchored limit not tested"
    if requirement.level == "must":
        return _unjudged(key, requirement, reason, bounds, subject=subject, span=span)
    return finding(
        key,
        requirement,
        Outcome.ADVISORY,
        "not tested",
        bounds.words,
        subject=subject,
        span=span,
        reason=reason,
        fix=look("Have the dialogue loudness measured.", subject),
    )


def max_short_term(case: Case, key: str, requirement: LoudnessLimit) -> Iterator[Finding]:
    """Highest 3 s value."""
    yield from _highest(case, key, requirement, Figures.max_short_term, SHORT_TERM_ROWS)


def max_momentary(case: Case, key: str, requirement: LoudnessLimit) -> Iterator[Finding]:
    """Highest 400 ms value."""
    yield from _highest(case, key, requirement, Figures.max_momentary, MOMENTARY_ROWS)


def _highest(case: Case, key: str, requirement: LoudnessLimit, figure: Figure, rows: int) -> Iterator[Finding]:
    bounds = number_bounds(requirement)
    for group, subject, reading in _read(case, key, requirement, figure):
        if reading is None:
            yield _unjudged(key, requirement, case.no_sound, bounds)
        elif reading.silent:
            yield _silence(key, requirement, bounds, subject)
        elif reading.value is None:
            yield _unjudged(key, requirement, reading.reason, bounds, subject=subject, span=PROGRAMME)
        else:
            places: tuple[Place, ...] = ()
            if reading.row is not None:
                window = Span(reading.row, reading.row + rows)
                places = (case.places.rows(window, value=round(reading.value, 2)),)
            over = bounds.high is not None and reading.value > bounds.high
            down = round(reading.value - (bounds.high or 0.0), 1)
            fix = (
                look(f"Hold this place of the {case.mix(group)} by {max(0.1, down):.1f} dB.", case.mix(group))
                if over
                else look(f"Raise the loudest place of the {case.mix(group)}.", case.mix(group))
            )
            yield weighed(
                key,
                requirement,
                reading.value,
                bounds,
                unit=requirement.unit,
                meter=True,
                subject=subject,
                span=PROGRAMME,
                places=places,
                fix=fix,
            )


def _read(
    case: Case, key: str, requirement: NumberLimit, figure: Figure
) -> Iterator[tuple[ChannelGroup, str, Reading | None]]:
    """Each judged group with its reading; one None if the sound cannot be judged at all."""
    if case.no_sound:
        yield ChannelGroup("", (), ()), "programme", None
        return
    for group in case.groups:
        yield group, case.subject(group, "programme"), figure(case.figures, group, case.programme)


def _silence(key: str, requirement: NumberLimit, bounds: Bounds, subject: str) -> Finding:
    """Silence is under every maximum and under every minimum."""
    return silent(
        key,
        requirement,
        bounds,
        requirement.unit,
        accepted=bounds.low is None,
        subject=subject,
        span=PROGRAMME,
        reason="silent programme",
        fix=None if bounds.low is None else replace_sound("Put the sound back: the programme is silent.", "mix"),
    )


#: EBU Tech 3342: loudness range is not meant for programmes of less than a minute.
_RANGE_ROWS = 6000


def loudness_range(case: Case, key: str, requirement: LoudnessRangeLimit) -> Iterator[Finding]:
    """LRA of the programme."""
    bounds = number_bounds(requirement)
    short = sum(span.frames for span in case.programme) < _RANGE_ROWS
    for group, subject, reading in _read(case, key, requirement, Figures.loudness_range):
        if reading is None or reading.value is None:
            reason = case.no_sound if reading is None else reading.reason
            yield _unjudged(key, requirement, reason, bounds, subject=subject, span=PROGRAMME)
            continue
        wide = bounds.high is not None and reading.value > bounds.high
        where = case.mix(group)
        yield weighed(
            key,
            requirement,
            reading.value,
            bounds,
            unit="LU",
            meter=True,
            subject=subject,
            span=PROGRAMME,
            reason="the programme is under one minute, for which loudness range is not meant" if short else "",
            fix=look(
                f"{'Narrow' if wide else 'Widen'} the dynamics of the {where}: loudness range is "
                f"{number(reading.value)} LU, asked for is {bounds.words}.",
                where,
            ),
        )


def _unjudged(
    key: str,
    requirement: NumberLimit,
    reason: str,
    bounds: Bounds,
    *,
    subject: str = "programme",
    span: str = PROGRAMME,
) -> Finding:
    return not_measured(
        key,
        requirement,
        reason,
        bounds.words,
        subject=subject,
        span=span,
        unit=requirement.unit,
        tolerance=bounds.tolerance,
    )


JUDGES: dict[str, Judge] = {
    "loudness.programme": programme,
    "loudness.act": act,
    "loudness.max_short_term": max_short_term,
    "loudness.max_momentary": max_momentary,
    "loudness.range": loudness_range,
}
