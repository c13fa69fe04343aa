"""Line-up tone and sync blip in the head: level, frequency, and how far sound and picture are apart."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qc.figures.resolution import settled
from qc.figures.tone import CROSSINGS, Burst, Tone
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.leader import head_of, why_no_head
from qc.judge.lengths import Lengths, frames_of, frames_text
from qc.judge.limits import Bounds, number, number_bounds, signed, weigh
from qc.judge.verdict import Finding
from qc.outlets.sections_leader import Blip, ToneFrequency, ToneLevel
from qc.programme.leader import Leader
from qc.remedy.exports import replace
from qc.remedy.fix import Fix
from qc.timing.spans import Span

#: Sound above this where a tone should be is sound, not a noise floor.
_SOUND_DBFS = -50.0
#: A burst belongs to a flash, or the other way round, up to so many seconds apart (our choice).
_TOGETHER_SECONDS = 0.5


def tone_level(case: Case, key: str, requirement: ToneLevel) -> Iterator[Finding]:
    """The level of the channel that is furthest from what is asked, in the stated convention."""
    bounds = number_bounds(requirement)
    limit = f"{bounds.words} ({requirement.convention} convention)"
    heard = _heard(case, key, requirement, limit)
    if isinstance(heard, Finding):
        yield heard
        return
    peak = requirement.convention == "sine peak"
    values = {tone: tone.peak_dbfs if peak else tone.rms_dbfs for tone in heard}
    worst = max(heard, key=lambda tone: -weigh(values[tone], bounds).margin)
    other = f"{number(worst.rms_dbfs if peak else worst.peak_dbfs)} dBFS {'RMS' if peak else 'sine peak'}"
    yield _toned(
        case, key, requirement, heard, worst, values, Bounds(bounds.low, bounds.high, limit, bounds.tolerance),
        unit="dBFS", subject="line-up tone level", said=f"{requirement.convention} convention; {other}",
        meter=True, asked=f"at {number(requirement.target)} dBFS" if requirement.target is not None else f"at {limit}",
    )  # fmt: skip


def tone_frequency(case: Case, key: str, requirement: ToneFrequency) -> Iterator[Finding]:
    """The frequency of the channel that is furthest from what is asked."""
    bounds = number_bounds(requirement)
    heard = _heard(case, key, requirement, bounds.words)
    if isinstance(heard, Finding):
        yield heard
        return
    values = {tone: tone.hertz for tone in heard}
    worst = max(heard, key=lambda tone: -weigh(values[tone], bounds).margin)
    yield _toned(
        case, key, requirement, heard, worst, values, bounds, unit="Hz", subject="line-up tone frequency",
        said=f"known to {number(max(0.1, worst.resolution))} Hz", meter=False, asked=f"of {bounds.words}",
    )  # fmt: skip


def _heard(case: Case, key: str, requirement: ToneLevel | ToneFrequency, limit: str) -> tuple[Tone, ...] | Finding:
    """The longest tone of each channel that should carry one, or what is to be said where one is missing."""
    head = None if case.no_programme else head_of(case)
    channels = _channels(case)
    absent = [channel + 1 for channel in channels if channel >= len(case.facts.channels)]
    reason = why_no_head(case, head) or _deaf(case) or (f"the file has no channel {absent[0]}" if absent else "")
    if reason or head is None:
        return not_measured(key, requirement, reason, limit, subject="line-up tone", span="head")
    found = [(channel, _longest(head, channel)) for channel in channels]
    silent = [channel for channel, tone in found if tone is None]
    if silent or not found:
        return _no_tone(case, key, requirement, limit, head, silent)
    return tuple(tone for _, tone in found if tone is not None)


def _deaf(case: Case) -> str:
    if not case.facts.sounds:
        return "the file has no sound"
    if case.sound is None or not case.sound.rows:
        return "no sound could be decoded"
    if CROSSINGS not in case.sound.extra:
        return "this record holds no zero crossings: measure the file again with --fresh"
    return ""


def _channels(case: Case) -> tuple[int, ...]:
    """Channels that carry the tone, from 0: the level names them for both limits."""
    level = case.profile.leader.tone_level
    if level is not None and level.channels:
        return tuple(channel - 1 for channel in level.channels)
    return tuple(case.programme_channels)


def _longest(head: Leader, channel: int) -> Tone | None:
    own = [tone for tone in head.tones if tone.channel == channel]
    return max(own, key=lambda tone: tone.rows.frames, default=None)


def _no_tone(
    case: Case, key: str, requirement: ToneLevel | ToneFrequency, limit: str, head: Leader, silent: list[int]
) -> Finding:
    """Silence is a missing tone; sound that is no steady sine is a tone that cannot be told. Bursts are neither."""
    sound = case.sound
    assert sound is not None
    bars = [element.span for element in head.elements if element.bars is not None] or [head.span]
    here = np.zeros(sound.rows, bool)
    for rows in map(case.rows, bars):
        here[rows.first : rows.end] = True
    for burst in head.bursts:
        here[burst.rows.first : burst.rows.end] = False
    where = "under the bars" if bars != [head.span] else "in the head"
    named = ", ".join(str(channel + 1) for channel in silent)
    which = f"channel{'' if len(silent) == 1 else 's'} {named}"
    loudest = max((_highest(sound.plain[here, channel]) for channel in silent), default=0.0)
    if loudest > 10 ** (_SOUND_DBFS / 10):
        reason = f"{which}: there is sound {where}, and no steady sine of a quarter of a second in it"
        return not_measured(key, requirement, reason, limit, subject="line-up tone", span="head")
    fix = replace(f"Put line-up tone on {which} of the head: {limit}.", "head")
    return finding(
        key, requirement, graded(requirement, False), "no tone", limit, subject="line-up tone", span="head",
        reason=f"{which} silent {where}", fix=fix,
    )  # fmt: skip


def _highest(power: np.ndarray) -> float:
    return float(power.max()) if len(power) else 0.0


def _toned(
    case: Case,
    key: str,
    requirement: ToneLevel | ToneFrequency,
    heard: tuple[Tone, ...],
    worst: Tone,
    values: dict[Tone, float],
    bounds: Bounds,
    *,
    unit: str,
    subject: str,
    said: str,
    meter: bool,
    asked: str,
) -> Finding:
    result = weigh(values[worst], bounds, meter=meter)
    bad = [tone for tone in heard if not weigh(values[tone], bounds, meter=meter).inside]
    each = ", ".join(f"{tone.channel + 1}: {number(values[tone])}" for tone in heard)
    reason = f"{said}; channel {each}" if len(heard) > 1 else f"{said}; channel {worst.channel + 1}"
    if any(tone.interruptions for tone in heard):
        reason += "; interrupted now and then, as an identification of the left channel is"
    return finding(
        key,
        requirement,
        graded(requirement, result.inside),
        settled(values[worst]),
        bounds.words,
        subject=subject,
        unit=unit,
        tolerance=bounds.tolerance,
        margin=result.margin,
        at_limit=result.at_limit,
        span="line-up tone",
        places=tuple(
            case.places.rows(tone.rows, channel=tone.channel + 1, value=round(values[tone], 2)) for tone in bad
        ),
        reason=reason,
        fix=None
        if result.inside
        else replace(f"Make the line-up tone again {asked}, on every channel that carries it.", "line-up tone"),
    )


@dataclass(frozen=True)
class _Pair:
    """The flash and the burst that are nearest to where a blip should be; None if there is none."""

    flash: Span | None
    burst: Burst | None


def blip(case: Case, key: str, requirement: Blip) -> Iterator[Finding]:
    """A frame of picture and a burst of sound at one moment before SOM, or none of it."""
    head = None if case.no_programme else head_of(case)
    reason = why_no_head(case, head)
    if not reason and head is not None and not head.elements:
        reason = "nothing stands before the programme"
    if reason or head is None:
        yield not_measured(key, requirement, reason, requirement.words, subject="sync blip", span="head")
        return
    if requirement.wanted == "forbidden":
        yield _none(case, key, requirement, head)
        return
    before = frames_of(str(requirement.before), case.clock.rate)
    found = _nearest(head, head.span.end - before, float(case.clock.rate))
    yield _presence(case, key, requirement, head, found, before)
    if found.flash is not None and found.burst is not None:
        yield from _offset(case, key, requirement, found.flash, found.burst)


def _nearest(head: Leader, wanted: int, rate: float) -> _Pair:
    flash = min((*head.flashes, *head.faint), key=lambda span: abs(span.first - wanted), default=None)
    moment = (wanted if flash is None else flash.first) / rate
    burst = min(head.bursts, key=lambda one: abs(one.onset - moment), default=None)
    if burst is not None and abs(burst.onset - moment) > _TOGETHER_SECONDS:
        burst = None
    return _Pair(flash, burst)


def _presence(case: Case, key: str, requirement: Blip, head: Leader, found: _Pair, before: int) -> Finding:
    subject, spread = "sync blip", frames_of(requirement.tolerance, case.clock.rate) if requirement.tolerance else 0
    words = f"{frames_text(before)} before SOM" + (f" +/- {requirement.tolerance}" if spread else "")
    wanted = Lengths(max(0, before - spread), before + spread, words)
    flash, burst = found.flash, found.burst
    if flash is None or burst is None:
        deaf = _deaf(case)
        if head.damaged or (burst is None and deaf):
            reason = deaf or f"{frames_text(head.damaged)} of the head are damaged"
            return not_measured(key, requirement, reason, words, subject=subject, span="head")
        said = "a flash without sound" if flash else "a burst of sound without a flash" if burst else "missing"
        places = (case.places.place(flash),) if flash else (case.places.rows(burst.rows),) if burst else ()
        fix = Fix("replace", None, "", "head", f"Put one frame of picture and of tone {words}, at the same moment.")
        return finding(
            key, requirement, graded(requirement, False), said, words, subject=subject, span="head", places=places,
            fix=fix,
        )  # fmt: skip
    away = head.span.end - flash.first
    over = wanted.over(away)
    move = "later" if over > 0 else "earlier"
    return finding(
        key,
        requirement,
        graded(requirement, not over),
        away,
        words,
        subject=subject,
        unit="frames",
        margin=float(wanted.margin(away)),
        span="head",
        places=(case.places.place(flash, note=f"{frames_text(flash.frames)} of picture"),),
        reason=f"{frames_text(flash.frames)} of picture, {number(1000 * burst.seconds)} ms of sound",
        fix=Fix("move", float(abs(over)), "frames", "head", f"Move the blip {frames_text(abs(over))} {move}.")
        if over
        else None,
    )


def _offset(case: Case, key: str, requirement: Blip, flash: Span, burst: Burst) -> Iterator[Finding]:
    """Positive is late sound. The record's rows are 10 ms; the energy of a burst's first row says where it begins."""
    early, late = requirement.max_early_ms, requirement.max_late_ms
    if early is None and late is None:
        return
    milliseconds = 1000 * (burst.onset - float(flash.first / case.clock.rate))
    sides = ((early, "early"), (late, "late"))
    words = " and ".join(f"at most {limit:g} ms {side}" for limit, side in sides if limit is not None)
    # What cannot be resolved is no fault: the limit gives way by the resolution.
    slack = burst.resolution_ms
    bounds = Bounds(None if early is None else -early - slack, None if late is None else late + slack, words)
    result = weigh(milliseconds, bounds)
    frames = milliseconds / 1000 * float(case.clock.rate)
    side = "together" if abs(milliseconds) <= slack else "sound late" if milliseconds > 0 else "sound early"
    yield finding(
        key,
        requirement,
        graded(requirement, result.inside),
        round(milliseconds, 1) + 0.0,
        words,
        subject="sound against picture",
        unit="ms",
        tolerance=f"+/- {number(slack, 0)} ms of measurement",
        margin=round(result.margin, 1) + 0.0,
        span="sync blip",
        places=() if result.inside else (case.places.place(flash, value=round(milliseconds, 1)),),
        reason=f"{side}: {signed(milliseconds)} ms, {signed(frames, 2)} frames; known to {number(slack, 0)} ms",
        fix=None
        if result.inside
        else Fix(
            "move", -round(milliseconds, 1), "ms", "sound",
            f"Move the sound {number(abs(milliseconds), 0)} ms {'earlier' if milliseconds > 0 else 'later'} "
            "against the picture, or the blip alone if the programme is in sync.",
        ),
    )  # fmt: skip


def _none(case: Case, key: str, requirement: Blip, head: Leader) -> Finding:
    """A flash and a burst together are a blip; a flash alone is told."""
    rate = float(case.clock.rate)
    pairs = [
        flash
        for flash in (*head.flashes, *head.faint)
        if any(abs(burst.onset - flash.first / rate) <= _TOGETHER_SECONDS for burst in head.bursts)
    ]
    return finding(
        key,
        requirement,
        graded(requirement, not pairs),
        "a blip" if pairs else "none",
        requirement.words,
        subject="sync blip",
        span="head",
        places=tuple(case.places.place(flash) for flash in pairs),
        fix=replace("Take the sync blip out of the head: black and silence stay.", "head") if pairs else None,
    )


JUDGES: dict[str, Judge] = {
    "leader.tone_level": tone_level,
    "leader.tone_frequency": tone_frequency,
    "leader.blip": blip,
}
