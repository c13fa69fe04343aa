"""Parting, acts, breaks, what surrounds the programme, and the declared timing sheet against the picture."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace as replace_fields

from qc.figures.black import darkness
from qc.figures.level import highest_sample_dbfs
from qc.judge.case import Case
from qc.judge.cut_elsewhere import Cut, cut_elsewhere
from qc.judge.duration import act_lengths
from qc.judge.findings import finding, graded, not_measured, timed, weighed
from qc.judge.headers import Judge
from qc.judge.lengths import Lengths, frames_text, lengths
from qc.judge.limits import Bounds, count_bounds, number, settled, weigh
from qc.judge.verdict import Finding, Outcome
from qc.outlets.schema import BreakContent
from qc.outlets.schema_kinds import ActLength, Choice, Count, DurationLimit, Requirement
from qc.programme.structure import Break
from qc.remedy.acts import ActLengths, change_act
from qc.remedy.breaks import change_break, clean_break, put_in_break
from qc.remedy.exports import look, one_of, replace
from qc.remedy.fix import Fix
from qc.timing.spans import Span

#: A black in a single part that is silent for at least this long looks like a break (common practice).
_LIKE_A_BREAK_SECONDS = 1


def unknown(case: Case, key: str, requirement: Requirement, limit: str, subject: str, unit: str = "") -> Finding:
    return not_measured(key, requirement, case.no_programme, limit, subject=subject, unit=unit)


def parts(case: Case, key: str, requirement: Choice) -> Iterator[Finding]:
    """Single or parted; soft and hard parts differ in how they are played out, not in the picture."""
    limit = one_of(requirement.accept)
    if case.no_programme:
        yield unknown(case, key, requirement, limit, "programme")
        return
    count = len(case.structure.acts)
    measured = "single" if count == 1 else f"{count} parts in one file"
    good = "single" in requirement.accept if count == 1 else set(requirement.accept) != {"single"}
    least = _LIKE_A_BREAK_SECONDS * case.clock.rate
    gaps = [g for g in case.structure.extra_gaps if count == 1 and g.silent_frames == g.span.frames >= least]
    places = tuple(case.places.place(gap.span, note=f"{frames_text(gap.span.frames)} black and silent") for gap in gaps)
    if good and gaps:
        yield finding(
            key,
            requirement,
            Outcome.ADVISORY,
            measured,
            limit,
            subject="programme",
            places=places,
            reason="black and silence inside the part look like a break",
            fix=look("See whether a version with breaks was exported by mistake.", "programme"),
        )
        return
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        measured,
        limit,
        subject="programme",
        fix=None if good else replace(f"Deliver the version made as {limit}.", "programme"),
    )


def acts(case: Case, key: str, requirement: Count) -> Iterator[Finding]:
    """Number of acts, with breaks that are missing or one too many."""
    bounds = count_bounds(requirement)
    if case.no_programme:
        yield unknown(case, key, requirement, bounds.words, "programme")
        return
    found = case.structure
    missing, count = found.missing_breaks, len(found.acts)
    limit = case.profile.structure.break_length
    wanted = lengths(limit, case.clock.rate) if limit else None
    if missing:
        fix = put_in_break(missing, wanted.exact if wanted else None)
    else:
        fix = look(f"See which black is a break: {count} acts were found, {bounds.words} are asked for.", "programme")
    places = tuple(case.places.place(gap.span, note="looks like one break more") for gap in found.extra_breaks)
    yield weighed(
        key,
        requirement,
        count,
        bounds,
        unit="acts",
        subject="programme",
        reason="; ".join(found.unlike),
        places=places,
        fix=fix,
    )


def act_length(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """Each act that has no line of its own."""
    wanted = lengths(requirement, case.clock.rate)
    if case.no_programme:
        yield unknown(case, key, requirement, wanted.words, "each act", "frames")
        return
    own = {act.number for act in case.profile.structure.act}
    for act in case.structure.acts:
        if act.number not in own:
            yield _act(case, key, requirement, act.number, wanted)


def act(case: Case, key: str, requirement: ActLength) -> Iterator[Finding]:
    """One act by number."""
    wanted = lengths(requirement, case.clock.rate)
    subject = f"act {requirement.number}"
    if case.no_programme:
        yield unknown(case, key, requirement, wanted.words, subject, "frames")
    elif requirement.number not in {act.number for act in case.structure.acts}:
        reason = f"there is no {subject}"
        yield not_measured(key, requirement, reason, wanted.words, subject=subject, unit="frames")
    else:
        yield _act(case, key, requirement, requirement.number, wanted)


def _act(case: Case, key: str, requirement: DurationLimit, number: int, wanted: Lengths) -> Finding:
    counting = case.clock.counting
    all_acts = act_lengths(case)
    this = next(act for act in all_acts if act.number == number)
    span = next(act.span for act in case.structure.acts if act.number == number)
    over = wanted.amiss(this.frames)
    others = [act for act in all_acts if act.number != number]
    reason = f"{counting.duration(this.frames)} long"
    if number in case.structure.missing_breaks:
        reason += f"; break {number} is missing, so the next act is counted in"
    return timed(
        key,
        requirement,
        this.frames,
        wanted,
        subject=f"act {number}",
        span=f"act {number}",
        places=(case.places.place(span),),
        reason=reason,
        fix=_change_act(case, this, over, others, span) if over else None,
    )


def _change_act(case: Case, this: ActLengths, over: int, others: list[ActLengths], span: Span) -> Fix:
    fix = change_act(this, over, others, case.clock.counting)
    return replace_fields(fix, consequences=cut_elsewhere(case, Cut(span.first, -over)))


def break_length(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """Each break, and those that are missing."""
    wanted = lengths(requirement, case.clock.rate)
    if case.no_programme:
        yield unknown(case, key, requirement, wanted.words, "each break", "frames")
        return
    for item in case.structure.breaks:
        frames = item.span.frames
        yield timed(
            key,
            requirement,
            frames,
            wanted,
            subject=f"break {item.number}",
            span=f"break {item.number}",
            places=(case.places.place(item.span),),
            reason="" if _is_seen(case, item) else "as declared: this break is not visible in the picture",
            fix=_change_break(case, item, wanted.amiss(frames)),
        )
    for missing in case.structure.missing_breaks:
        yield finding(
            key,
            requirement,
            graded(requirement, False),
            "missing",
            wanted.words,
            subject=f"break {missing}",
            unit="frames",
            reason="no black of the picture fits this break",
            fix=put_in_break((missing,), wanted.exact),
        )
    if not case.structure.breaks and not case.structure.missing_breaks:
        yield not_measured(
            key, requirement, "the programme has one part, without breaks", wanted.words, subject="each break"
        )


def _change_break(case: Case, item: Break, over: int) -> Fix | None:
    if not over:
        return None
    fix = change_break(item.number, item.span.frames, over)
    return replace_fields(fix, consequences=cut_elsewhere(case, Cut(item.span.first, -over)))


def _is_seen(case: Case, item: Break) -> bool:
    """Black of the picture fills the break."""
    black = sum(gap.span.overlap(item.span) for gap in case.gaps)
    return case.structure.found_by != "sheet" or 2 * black >= item.span.frames


def break_content(case: Case, key: str, requirement: BreakContent) -> Iterator[Finding]:
    """Each break black and silent from its first frame to its last."""
    limit = f"at most {number(requirement.max_luma_percent)} % luma, at most {number(requirement.max_peak_dbfs)} dBFS"
    if case.no_programme or not case.structure.breaks:
        reason = case.no_programme or "the programme has one part, without breaks"
        yield not_measured(key, requirement, reason, limit, subject="each break")
        return
    for item in case.structure.breaks:
        yield _content(case, key, requirement, item, limit)


def _content(case: Case, key: str, requirement: BreakContent, item: Break, limit: str) -> Finding:
    picture, sound = case.measurement.picture, case.sound
    assert picture is not None
    found = darkness(picture, item.span)
    subject = f"break {item.number}"
    if found is None:
        return not_measured(key, requirement, "the break holds no picture", limit, subject=subject)
    deaf = "no sound could be decoded" if sound is None and case.facts.sounds else ""
    bright = settled(found.percentile) > requirement.max_luma_percent
    said, loud, places = f"luma {number(found.percentile)} % (99.9 percentile)", False, []
    if bright:
        frame = found.percentile_frame
        note = f"luma {number(found.percentile)} %, brightest pixel {number(found.highest)} %"
        places.append(case.places.place(Span(frame, frame + 1), note=note))
    if sound is not None and sound.channels:
        channels = tuple(channel for channel in case.programme_channels if channel < sound.channels)
        reading = highest_sample_dbfs(sound, channels, (case.whole_rows(item.span),))
        if reading.value is None and not reading.silent:
            deaf = reading.reason
        elif reading.value is None:
            said += f", {reading.reason}"
        else:
            loud = not weigh(reading.value, Bounds(None, requirement.max_peak_dbfs, ""), meter=True).inside
            said += f", peak {number(reading.value)} dBFS"
            if loud and reading.row is not None:
                channel = None if reading.channel is None else reading.channel + 1
                places.append(case.places.row(reading.row, channel=channel, note=f"{number(reading.value)} dBFS"))
    if deaf and not bright:
        return not_measured(key, requirement, f"{said}; sound: {deaf}", limit, subject=subject, span=subject)
    return finding(
        key,
        requirement,
        graded(requirement, not (bright or loud)),
        said,
        limit,
        subject=subject,
        span=subject,
        places=tuple(places),
        fix=clean_break(item.number, bright, loud) if bright or loud else None,
    )


JUDGES: dict[str, Judge] = {
    "structure.parts": parts,
    "structure.acts": acts,
    "structure.act_length": act_length,
    "structure.act": act,
    "structure.break_length": break_length,
    "structure.break_content": break_content,
}
