"""Running time by the outlet's accounting, slot, and length of the file. Frames are always told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from qc.judge.case import Case
from qc.judge.cut_elsewhere import Cut, cut_elsewhere
from qc.judge.expected_clock import act_limit
from qc.judge.findings import finding, graded, not_measured, timed
from qc.judge.headers import Headers, Judge
from qc.judge.lengths import Lengths, frames_of, lengths
from qc.judge.verdict import Finding
from qc.outlets.schema import Slot
from qc.outlets.schema_kinds import DurationLimit
from qc.programme.accounting import ProgrammeTime, programme_time
from qc.remedy.acts import ActLengths, change_programme, change_seconds
from qc.remedy.exports import re_export
from qc.remedy.fix import Fix
from qc.timing.timecode import Counting, TimecodeError


def times(case: Case) -> ProgrammeTime:
    """Acts and TRT by the profile's convention."""
    counts = case.profile.programme
    return programme_time(case.structure.acts, case.clock, counts.accounting, counts.eom)


def trt(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """Sum of the acts."""
    wanted = lengths(requirement, case.clock.rate)
    if case.no_programme:
        yield not_measured(key, requirement, case.no_programme, wanted.words, subject="programme", unit="frames")
        return
    measured = times(case)
    frames = measured.trt_counted_frames
    said = f"TRT {measured.trt} {measured.accounting}, {measured.counting}"
    if measured.accounting != "frame-exact":
        said += f"; {measured.trt_frames} frames"
    if counted_otherwise(requirement, measured.trt_frames, case.clock.counting.base):
        said += (
            f"; read as non-drop-frame it is exactly {str(requirement.exact).replace(';', ':')}: counted the other way"
        )
    if measured.trt_other_accounting:
        other = "whole-second outward" if measured.accounting == "frame-exact" else "frame-exact"
        said += f"; {measured.trt_other_accounting} {other}"
    yield timed(
        key,
        requirement,
        frames,
        wanted,
        subject="programme",
        span="programme, acts joined",
        reason=said,
        fix=None if wanted.accepts(frames) else _fix(case, measured, wanted),
    )


def counted_otherwise(requirement: DurationLimit, frames: int, base: int) -> bool:
    """The length asked for in drop-frame labels was met in non-drop-frame labels."""
    exact = requirement.exact or ""
    return ";" in exact and Counting(base).duration(frames) == exact.replace(";", ":")


def _fix(case: Case, measured: ProgrammeTime, wanted: Lengths) -> Fix:
    frames, counting = measured.trt_counted_frames, case.clock.counting
    over = wanted.amiss(frames)
    fix = change_programme(over, frames, act_lengths(case), counting, (wanted.low, wanted.high))
    if measured.accounting == "whole-second outward":
        seconds = round(over / counting.base)
        if seconds and abs(over - seconds * counting.base) <= 2 * abs(seconds):
            fix = change_seconds(seconds, measured.trt)
    # The sum does not say in which act: for the others it is taken as if it were the last.
    cut = Cut(case.structure.acts[-1].span.first, -over, anywhere=True)
    return replace(fix, consequences=cut_elsewhere(case, cut))


def act_lengths(case: Case) -> list[ActLengths]:
    """Acts with what the profile accepts for each."""
    found = []
    for act in case.structure.acts:
        try:
            limit = act_limit(case.profile, act.number, case.clock)
        except TimecodeError:
            limit = None
        low, high = (limit.low, limit.high) if limit else (None, None)
        found.append(ActLengths(act.number, act.span.frames, low, high))
    return found


def slot(case: Case, key: str, requirement: Slot) -> Iterator[Finding]:
    """TRT and breaks together."""
    exact = frames_of(requirement.exact, case.clock.rate)
    wanted = lengths(DurationLimit(exact=requirement.exact), case.clock.rate)
    if case.no_programme:
        yield not_measured(key, requirement, case.no_programme, wanted.words, subject="programme", unit="frames")
        return
    acts = case.structure.acts
    frames = acts[-1].span.end - acts[0].span.first
    over = frames - exact
    amount = f"{abs(over)} frame{'' if abs(over) == 1 else 's'}"
    sentence = f"Acts and breaks together are {amount} {'over' if over > 0 else 'under'} the slot: see acts and breaks."
    fix = Fix("shorten" if over > 0 else "lengthen", -over, "frames", "programme with breaks", sentence)
    yield timed(
        key, requirement, frames, wanted, subject="programme with breaks", span="programme with breaks", fix=fix
    )


def file(case: Headers, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """The whole file: decoded frames, or the declared length where it was not decoded to its end."""
    clock = case.header_clock
    if clock is None:
        yield not_measured(key, requirement, "the picture rate is not known", "", unit="frames")
        return
    wanted = lengths(requirement, clock.rate)
    frames, declared = None, False
    if isinstance(case, Case) and case.measurement.picture is not None and case.measurement.complete:
        frames = case.frames
    elif case.picture is not None and case.picture.declared_frames is not None:
        frames, declared = case.picture.declared_frames, True
    elif case.facts.duration is not None:
        frames, declared = round(case.facts.duration * clock.rate), True
    if frames is None:
        yield not_measured(key, requirement, "the file does not say how long it is", wanted.words, unit="frames")
        return
    if declared and wanted.accepts(frames) and isinstance(case, Case):
        yield not_measured(
            key, requirement, "only the declared length is known: the file was not read to its end", wanted.words
        )
        return
    good = wanted.accepts(frames)
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        frames,
        wanted.words,
        unit="frames",
        tolerance=wanted.tolerance,
        margin=float(wanted.margin(frames)),
        reason=f"{clock.counting.duration(frames)} long{', as declared' if declared else ''}",
        fix=None if good else re_export(f"a length of {wanted.words}"),
    )


JUDGES: dict[str, Judge] = {"duration.trt": trt, "duration.slot": slot}
HEADER_JUDGES: dict[str, Judge] = {"duration.file": file}
