"""Timecode: counting, labels, agreement of all sources, and the label at the start of programme."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.flags_elsewhere import start_elsewhere
from qc.judge.headers import Headers, Judge
from qc.judge.verdict import Finding
from qc.media.facts import TimecodeSource
from qc.outlets.schema import TimecodeStart
from qc.outlets.schema_kinds import Choice, Flag
from qc.remedy import flags
from qc.remedy.exports import look, one_of
from qc.remedy.fix import Fix
from qc.timing.spans import Span
from qc.timing.timecode import Counting, TimecodeError

NO_TIMECODE = "the file carries no timecode; places are named by elapsed time"


def counting(case: Headers, key: str, requirement: Choice) -> Iterator[Finding]:
    """Drop-frame or not, as flagged."""
    limit = one_of(requirement.accept)
    source = case.displayed or next(iter(case.facts.timecodes), None)
    if source is None:
        yield not_measured(key, requirement, NO_TIMECODE, limit, subject="timecode")
        return
    if source.drop is None and ";" not in source.text:
        yield not_measured(key, requirement, f"{source.where} does not say how it counts", limit, subject="timecode")
        return
    drop = source.drop if source.drop is not None else True
    measured = "drop-frame" if drop else "non-drop-frame"
    good = measured in requirement.accept
    apart = _apart(case) if not good else None
    reason = f"over the length of this file the two counts are {apart} frames apart" if apart else ""
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        measured,
        limit,
        subject="timecode",
        reason=reason,
        fix=None if good else flags.counting(requirement.accept[0], apart),
    )


def _apart(case: Headers) -> int | None:
    """Frames by which the two counts of 29.97 or 59.94 differ over the declared length."""
    picture = case.picture
    if picture is None or picture.frame_rate is None or picture.frame_rate.denominator != 1001:
        return None
    frames = case.frames if isinstance(case, Case) and case.frames else picture.declared_frames
    if frames is None and case.facts.duration is not None:
        frames = round(case.facts.duration * picture.frame_rate)
    base = round(picture.frame_rate)
    if frames is None or base not in (30, 60):
        return None
    drop = Counting(base, drop=True)
    return frames_of_same_label(drop, frames) - frames


def frames_of_same_label(drop: Counting, frames: int) -> int:
    """Frames that the drop-frame label of ``frames`` would stand for, read as non-drop-frame."""
    return Counting(drop.base).frame(drop.label(frames).replace(";", ":"))


def valid_labels(case: Headers, key: str, requirement: Flag) -> Iterator[Finding]:
    """Every label can exist in its own counting."""
    sources = case.facts.timecodes
    if not sources:
        yield not_measured(key, requirement, NO_TIMECODE, "valid labels", subject="timecode")
        return
    if case.picture is None or case.picture.frame_rate is None:
        yield not_measured(key, requirement, "the picture rate is not known", "valid labels", subject="timecode")
        return
    wrong = [(source, why) for source in sources if (why := _wrong(case, source))]
    for source, why in wrong:
        yield finding(
            key,
            requirement,
            graded(requirement, False),
            source.text,
            "valid labels",
            subject=source.where,
            reason=why,
            fix=flags.valid_label(source.where),
        )
    if not wrong:
        yield finding(key, requirement, graded(requirement, True), sources[0].text, "valid labels", subject="timecode")


def _wrong(case: Headers, source: TimecodeSource) -> str:
    assert case.picture is not None and case.picture.frame_rate is not None
    drop = source.drop if source.drop is not None else ";" in source.text
    try:
        Counting.for_rate(case.picture.frame_rate, drop).frame(source.text)
    except TimecodeError as error:
        return error.what
    return ""


def agreement(case: Headers, key: str, requirement: Flag) -> Iterator[Finding]:
    """All sources name the first frame alike; a constant offset is one finding."""
    sources, limit = case.facts.timecodes, "all sources agree"
    if not sources:
        yield not_measured(key, requirement, NO_TIMECODE, limit, subject="timecode")
        return
    shown = case.displayed
    said = {(source.text, source.drop if source.drop is not None else ";" in source.text) for source in sources}
    if len(said) == 1:
        count = f"{len(sources)} sources" if len(sources) > 1 else "one source"
        yield finding(
            key, requirement, graded(requirement, True), f"{sources[0].text} ({count})", limit, subject="timecode"
        )
        return
    listed = ", ".join(f"{source.where} {source.text}{_flag(source)}" for source in sources)
    used = f"places in this report use {shown.where} ({shown.text})" if shown else "none of them can be used"
    yield finding(
        key,
        requirement,
        graded(requirement, False),
        listed,
        limit,
        subject="timecode",
        reason=f"the sources disagree{_offset(case)}; {used}",
        fix=flags.agree(shown.text if shown else "one label"),
    )


def _flag(source: TimecodeSource) -> str:
    if source.drop is None or source.drop == (";" in source.text):
        return ""
    return " flagged drop-frame" if source.drop else " flagged non-drop-frame"


def _offset(case: Headers) -> str:
    starts = [case.start_of(source) for source in case.facts.timecodes]
    known = [start for start in starts if start is not None]
    if len(known) != len(starts) or len(set(known)) != 2:
        return ""
    return f" by {max(known) - min(known)} frames"


def start(case: Case, key: str, requirement: TimecodeStart) -> Iterator[Finding]:
    """Label of the programme's first frame."""
    clock, wanted = case.clock, requirement.at
    if not case.facts.timecodes or clock.start is None:
        reason = NO_TIMECODE if not case.facts.timecodes else "no timecode of the file can exist in its counting"
        yield not_measured(key, requirement, reason, wanted, subject="SOM")
        return
    if case.no_programme:
        yield not_measured(key, requirement, case.no_programme, wanted, subject="SOM")
        return
    som = case.structure.acts[0].span.first
    measured = clock.at(som)
    good = measured == wanted
    reason, fix = "", None
    if not good:
        fix = _set_start(case, som, wanted)
        same = measured.replace(";", ":") == wanted.replace(";", ":")
        reason = f"the file counts {clock.counting.name}" if same else f"the file starts at {clock.at(0)}"
        shown = case.displayed
        if shown is not None and len(case.facts.timecodes) > 1:
            reason += f"; read from {shown.where}"
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        measured,
        wanted,
        subject="SOM",
        span="first frame of the programme",
        places=(case.places.place(Span(som, som + 1), note="first frame of the programme"),),
        reason=reason,
        fix=fix,
    )


def _set_start(case: Case, som: int, wanted: str) -> Fix:
    """What the first frame of the file has to be called."""
    clock = case.clock
    counting = Counting(clock.counting.base, ";" in wanted) if clock.counting.base in (30, 60) else clock.counting
    try:
        first = counting.label(counting.frame(wanted) - som)
    except TimecodeError:
        return look(f"The label {wanted} does not exist at this picture rate: see the picture rate first.", "timecode")
    return replace(flags.start_timecode(first, wanted), consequences=start_elsewhere(case, first))


JUDGES: dict[str, Judge] = {"timecode.start": start}

HEADER_JUDGES: dict[str, Judge] = {
    "timecode.counting": counting,
    "timecode.valid_labels": valid_labels,
    "timecode.agreement": agreement,
}
