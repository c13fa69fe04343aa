"""Cadence of the picture: what conversion from another rate has left in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from qc.figures.cadence import LONGEST_STILL, Cadence, broken_at
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.frames_of_case import (
    SUBJECT,
    blends_of,
    in_acts,
    repeating,
    repeats_of,
    where,
    why_not,
)
from qc.judge.headers import Judge
from qc.judge.lengths import frames_of, frames_text
from qc.judge.limits import number
from qc.judge.places import first_of
from qc.judge.verdict import Finding, Place
from qc.outlets.schema_kinds import Flag
from qc.outlets.sections_motion import AcceptedCadence
from qc.remedy.exports import look, one_of
from qc.timing.spans import Span

NONE = "none"
#: A repeat so near to a break is what breaks it.
LONGEST_BREAK = 12


def accepted(case: Case, key: str, requirement: AcceptedCadence) -> Iterator[Finding]:
    """Every cadence that holds for long enough, against those that the outlet takes."""
    limit, why = one_of(["no cadence" if word == NONE else word for word in requirement.accept]), why_not(case)
    if why:
        yield not_measured(key, requirement, why, limit, subject=SUBJECT)
        return
    least = frames_of(requirement.least, case.clock.rate)
    stretches = [one for one in _stretches(case) if one.span.frames >= least]
    takes = {word.casefold() for word in requirement.accept}
    wrong = [one for one in stretches if one.kind.casefold() not in takes]
    kinds = list(dict.fromkeys(one.kind for one in stretches))
    places = tuple(_place(case, one) for one in wrong)
    yield finding(
        key,
        requirement,
        graded(requirement, not wrong),
        ", ".join(kinds) or "no cadence",
        limit,
        subject=SUBJECT,
        span=where(case),
        places=places,
        reason=_share(case, stretches),
        fix=look(
            f"Look at the motion from {first_of(places)}: {places[0].note}. Convert from the original rate again, or "
            "have the outlet agree to it.",
            SUBJECT,
        )
        if wrong
        else None,
    )


def unbroken(case: Case, key: str, requirement: Flag) -> Iterator[Finding]:
    """Where a cadence falls out of step; a frame that repeats there is told as a repeat instead."""
    limit, why = "in step throughout", why_not(case)
    if why:
        yield not_measured(key, requirement, why, limit, subject=SUBJECT)
        return
    repeats = repeats_of(case)
    breaks = [
        span
        for frame in broken_at(repeating(case))
        if (span := in_acts(case, Span(frame, frame + 1))) is not None
        and not any(abs(one.span.first - frame) <= LONGEST_BREAK for one in repeats)
    ]
    places = tuple(case.places.place(span, note="the repeats fall out of step about here") for span in breaks)
    yield finding(
        key,
        requirement,
        graded(requirement, not breaks),
        f"broken {len(breaks)} time{'' if len(breaks) == 1 else 's'}" if breaks else limit,
        limit,
        subject=SUBJECT,
        span=where(case),
        places=places,
        fix=look(f"Look at {first_of(places)}: was the picture cut after its conversion, or a frame lost?", SUBJECT)
        if breaks
        else None,
    )


def _stretches(case: Case) -> list[Cadence]:
    """Cadences in the acts; pieces of one kind that follow each other, whatever their step, are one stretch."""
    found: list[Cadence] = []
    open_ones: dict[tuple[str, int], int] = {}  # by kind and period: place of the last
    for one in sorted([*repeating(case), *blends_of(case)], key=lambda cadence: cadence.span):
        span = in_acts(case, one.span)
        if span is None:
            continue
        kind = one.kind, round(one.period)
        last = found[open_ones[kind]] if kind in open_ones else None
        if last is not None and span.first - last.span.end <= LONGEST_STILL:
            whole = Span(last.span.first, max(last.span.end, span.end))
            found[open_ones[kind]] = Cadence(whole, last.kind, last.period)
        else:
            open_ones[kind] = len(found)
            found.append(replace(one, span=span))
    return _apart(found)


def _apart(found: list[Cadence]) -> list[Cadence]:
    """Without stretches that longer ones of their kind, or of their period, cover by more than a half: these are parts
    of the same rule. What is of another kind stays, for an outlet may take the one and not the other."""
    kept: list[Cadence] = []
    for one in sorted(found, key=lambda cadence: (-cadence.span.frames, cadence.span)):
        like = [other.span for other in kept if other.kind == one.kind or round(other.period) == round(one.period)]
        if 2 * _covered(like, one.span) <= one.span.frames:
            kept.append(one)
    return sorted(kept, key=lambda cadence: cadence.span)


def _covered(spans: Iterable[Span], within: Span) -> int:
    """Frames of a span that lie in any of some spans, each counted once."""
    total, reached = 0, within.first
    for span in sorted(spans):
        first, end = max(span.first, reached), min(span.end, within.end)
        if first < end:
            total, reached = total + end - first, end
    return total


def _place(case: Case, one: Cadence) -> Place:
    period = number(float(one.period), 1).removesuffix(".0")
    said = {
        "2:2": "every frame is shown twice",
        "2:3": "film frames spread 2:3",
        "regular repeats": f"frames repeat with a period of {period} frames",
        "blended": f"frames are blended with a period of {period} frames",
    }[one.kind]
    return case.places.place(one.span, note=f"{said}, over {frames_text(one.span.frames)}")


def _share(case: Case, stretches: list[Cadence]) -> str:
    whole = sum(span.frames for span in case.shown)
    covered = sum(_covered((one.span for one in stretches), span) for span in case.shown)
    return f"over {round(100 * covered / whole)} % of the {where(case)}" if stretches and whole else ""


JUDGES: dict[str, Judge] = {"cadence.accepted": accepted, "cadence.unbroken": unbroken}
