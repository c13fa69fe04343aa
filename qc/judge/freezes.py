"""Frozen pictures inside acts, and pictures that are still from cut to cut."""

from __future__ import annotations

from collections.abc import Iterator

from qc.figures.freezes import StillRun, still_runs
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.frames_of_case import SUBJECT, black_of, in_acts, series_of, where, why_not
from qc.judge.headers import Judge
from qc.judge.lengths import frames_text, lengths
from qc.judge.places import first_of
from qc.judge.verdict import Finding, Place
from qc.outlets.schema_kinds import DurationLimit
from qc.remedy.exports import look
from qc.remedy.fix import Fix
from qc.timing.spans import Span


def inside_acts(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """Pictures that stop within their shot; all still pictures where the outlet has no limit for titles."""
    yield from _judged(case, key, requirement, (False,) if case.profile.freeze.stills else (False, True))


def stills(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """Titles, cards, photographs."""
    yield from _judged(case, key, requirement, (True,))


def _judged(case: Case, key: str, requirement: DurationLimit, kinds: tuple[bool, ...]) -> Iterator[Finding]:
    wanted, why = lengths(requirement, case.clock.rate), why_not(case)
    if why:
        yield not_measured(key, requirement, why, wanted.words, subject=SUBJECT, unit="frames")
        return
    found = [run for run in _runs(case) if run.still in kinds]
    wrong = [run for run in found if not wanted.accepts(run.span.frames)]
    places = tuple(_place(case, run) for run in wrong)
    longest = max((run.span.frames for run in found), default=0)
    high = wanted.high
    yield finding(
        key,
        requirement,
        graded(requirement, not wrong),
        longest,
        wanted.words,
        subject=SUBJECT,
        unit="frames",
        tolerance=wanted.tolerance,
        margin=None if high is None else float(high - longest),
        span=where(case),
        places=places,
        reason="" if wrong or not found else "longest that stands still, codec noise apart",
        fix=_fix(places, wrong) if wrong else None,
    )


def _runs(case: Case) -> Iterator[StillRun]:
    """Still runs in the acts, of a quarter of a second and more; the part outside does not count."""
    black, rule = black_of(case), case.profile.black
    key = ("still runs", rule.pixel_percent, rule.picture_percent)
    shortest = max(2, round(case.clock.rate / 4))
    for run in case.figures.once(key, lambda: still_runs(series_of(case), black, shortest)):
        span = in_acts(case, run.span)
        if span is not None:
            yield StillRun(span, run.still)


def _place(case: Case, run: StillRun) -> Place:
    kind = "still from its first frame to its last" if run.still else "picture stops"
    sound = _silence(case, run.span)
    return case.places.place(
        run.span, value=float(run.span.frames), note=f"{kind} for {frames_text(run.span.frames)}, {sound}"
    )


def _silence(case: Case, span: Span) -> str:
    """Sound as evidence: a freeze with a silence is a hole, one with sound running a fault of the picture."""
    if case.sound is None or not case.sound.rows or not case.programme_channels:
        return "no sound to compare with"
    rows = case.rows(span)
    silent = case.figures.silent_runs(tuple(case.programme_channels), case.profile.silence.below_dbfs)
    quiet = sum(run.overlap(rows) for run in silent)
    return "silent too" if 2 * quiet >= rows.frames else "sound runs on"


def _fix(places: tuple[Place, ...], wrong: list[StillRun]) -> Fix:
    meant = (
        "if it is a title or a card, have it waived or accepted"
        if any(run.still for run in wrong)
        else ("if it is meant, have it waived")
    )
    return look(f"Look at {first_of(places)}: {places[0].note}; {meant}, else lay the picture in again.", SUBJECT)


JUDGES: dict[str, Judge] = {"freeze.inside_acts": inside_acts, "freeze.stills": stills}
