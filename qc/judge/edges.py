"""Edges: sound at the end of an act, labels at its start, and what stands before and after the programme."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from qc.figures.level import level_dbfs
from qc.judge.case import Case
from qc.judge.cut_elsewhere import Cut, cut_elsewhere, on_whole
from qc.judge.findings import finding, graded, not_measured, timed
from qc.judge.headers import Judge
from qc.judge.lengths import frames_text, lengths
from qc.judge.limits import Bounds, number, settled, weigh
from qc.judge.structure import unknown
from qc.judge.verdict import Finding, Outcome
from qc.outlets.schema import ActEnds
from qc.outlets.schema_kinds import Choice, DurationLimit
from qc.remedy.breaks import change_edge
from qc.remedy.exports import look, one_of
from qc.remedy.fix import Fix
from qc.timing.spans import Span

#: Frames at the end of an act in which a cut-off sound is looked for.
_END_FRAMES = 2


def act_ends(case: Case, key: str, requirement: ActEnds) -> Iterator[Finding]:
    """Sound cut at an act's end: advisory only, and quiet room sound is no finding."""
    limit = f"at most {number(requirement.max_level_dbfs)} dBFS RMS in the last {_END_FRAMES} frames"
    if case.no_sound:
        yield not_measured(key, requirement, case.no_sound, limit, subject="each act")
        return
    assert case.sound is not None
    channels = tuple(channel for channel in case.programme_channels if channel < case.sound.channels)
    for act in case.structure.acts:
        last = Span(max(act.span.first, act.span.end - _END_FRAMES), act.span.end)
        reading = level_dbfs(case.sound, channels, (case.rows(last),))
        subject, span = f"act {act.number}", f"last {_END_FRAMES} frames of act {act.number}"
        if reading.value is None and not reading.silent:
            yield not_measured(key, requirement, reading.reason, limit, subject=subject, span=span, unit="dBFS")
            continue
        if reading.value is None:
            yield finding(
                key, requirement, Outcome.PASS, reading.reason, limit, subject=subject, span=span, unit="dBFS"
            )
            continue
        result = weigh(reading.value, Bounds(None, requirement.max_level_dbfs, limit), meter=True)
        yield finding(
            key,
            requirement,
            Outcome.PASS if result.inside else Outcome.ADVISORY,
            settled(reading.value),
            limit,
            subject=subject,
            unit="dBFS",
            margin=result.margin,
            at_limit=result.at_limit,
            span=span,
            places=() if result.inside else (case.places.place(last, value=round(reading.value, 2)),),
            reason="" if result.inside else "sound runs up to the end of the act: listen whether it is cut off",
            fix=None
            if result.inside
            else look(f"Listen to the end of act {act.number}; fade the sound if it is cut.", subject),
        )


def act_starts(case: Case, key: str, requirement: Choice) -> Iterator[Finding]:
    """The first frame of each act is the first of a second or minute of the labels."""
    limit = one_of(requirement.accept)
    if case.no_programme or case.clock.start is None:
        reason = case.no_programme or "the file carries no timecode; places are named by elapsed time"
        yield not_measured(key, requirement, reason, limit, subject="each act")
        return
    for act in case.structure.acts:
        label = case.clock.at(act.span.first)
        good = on_whole(case, act.span.first, requirement.accept)
        yield finding(
            key,
            requirement,
            graded(requirement, good),
            label,
            limit,
            subject=f"act {act.number}",
            span="first frame of the act",
            places=(case.places.place(Span(act.span.first, act.span.first + 1)),),
            fix=None if good else _to_whole(case, act.number, requirement.accept),
        )


def _to_whole(case: Case, number: int, accept: list[str]) -> Fix:
    """Move the act to the next whole second or minute."""
    frame = next(act.span.first for act in case.structure.acts if act.number == number)
    cut = 8 if "whole second" in accept else 5
    furthest = case.clock.counting.base * (1 if cut == 8 else 60) + 1
    now = case.clock.at(frame)[:cut]
    ahead = next((k for k in range(1, furthest + 1) if case.clock.at(frame + k)[:cut] != now), furthest)
    sentence = f"Move the start of act {number} {frames_text(ahead)} later, to {case.clock.at(frame + ahead)}."
    others = cut_elsewhere(case, Cut(frame - 1, ahead))
    return Fix("move", float(ahead), "frames", f"act {number}", sentence, consequences=others)


def head(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    yield from _edge(case, key, requirement, "head", case.structure.head)


def tail(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    yield from _edge(case, key, requirement, "tail", case.structure.tail)


def _edge(case: Case, key: str, requirement: DurationLimit, name: str, span: Span) -> Iterator[Finding]:
    wanted = lengths(requirement, case.clock.rate)
    if case.no_programme:
        yield unknown(case, key, requirement, wanted.words, name, "frames")
        return
    over = wanted.amiss(span.frames)
    yield timed(
        key,
        requirement,
        span.frames,
        wanted,
        subject=name,
        span=name,
        places=(case.places.place(span),) if span.frames else (),
        fix=_change(case, name, span, over) if over else None,
    )


def _change(case: Case, name: str, span: Span, over: int) -> Fix:
    """An empty head lies before the first frame, an empty tail after the last."""
    at = (span.first if name == "head" else span.last) if span.frames else (-1 if name == "head" else case.frames)
    return replace(change_edge(name, span.frames, over), consequences=cut_elsewhere(case, Cut(at, -over)))


JUDGES: dict[str, Judge] = {
    "structure.act_ends": act_ends,
    "structure.act_starts": act_starts,
    "structure.head": head,
    "structure.tail": tail,
}
