"""The timeline of one file as one outlet sees it, from the stored series. Nothing is judged here.

What does not depend on the outlet's numbers (the curves of a channel group, the level of a channel) is worked
out once for a measurement and shared by the outlets that are judged one after the other.
"""

from __future__ import annotations

import weakref
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from qc.figures.black import black_runs
from qc.figures.curves import level_steps, loudness_steps, true_peak_steps
from qc.figures.flashing import FIRST, READING_OF, area_curves, luminance_curve, readings
from qc.figures.groups import ChannelGroup
from qc.figures.loudness import MOMENTARY_ROWS, SHORT_TERM_ROWS
from qc.figures.rows import frames_of
from qc.figures.silence import silent_runs
from qc.judge.audio_layout import NO_SOUND
from qc.judge.axis import axis_marks
from qc.judge.case import Case
from qc.judge.lengths import lengths
from qc.judge.limits import number_bounds
from qc.judge.timeline import STEPS_PER_SECOND, Curve, GroupCurves, Part, Timeline
from qc.measurement.record import STEPS_PER_SECOND as ROWS_PER_SECOND
from qc.measurement.record import SoundSeries
from qc.outlets.schema import Profile
from qc.programme.gaps import without_noise
from qc.timing.spans import Span
from qc.timing.timecode import TimecodeError

STEP_ROWS = ROWS_PER_SECOND // STEPS_PER_SECOND

#: Shorter silence is a pause between words, unless the outlet accepts no pause that long (0.5 s; our choice).
PAUSE_ROWS = 50

#: The sound that was drawn last, and what was worked out from it.
_Kept = dict[tuple[Any, ...], Any]
_last: tuple[Callable[[], SoundSeries | None], _Kept] = (lambda: None, {})


def timeline_of(case: Case) -> Timeline | None:
    """Everything that the drawing shows; None if not one frame and no sound could be read."""
    frames = _length(case)
    if not frames:
        return None
    groups = _groups(case)
    first = groups[0] if groups else None
    parts = _parts(case)
    return Timeline(
        frames=frames,
        rate=float(case.clock.rate),
        marks=axis_marks(case.clock, frames),
        parts=parts,
        black=_black(case),
        silence=_silence(case, frames),
        short_term=first.short_term if first else None,
        momentary=first.momentary if first else None,
        true_peak=first.true_peak if first else None,
        group=first.name if first else "",
        clock=case.clock,
        groups=groups,
        levels=_levels(case),
        light=_light(case),
        flash_areas=_flash_areas(case),
        no_parts="" if parts else case.structure.note or "no programme structure was found",
        no_curves="" if first and (first.short_term or first.true_peak) else _why_no_curves(case),
    )


def _length(case: Case) -> int:
    """Frames of the file: its pictures, or its sound where that goes on for longer."""
    sound = case.sound
    heard = int(sound.rows * case.clock.rate / ROWS_PER_SECOND) if sound is not None else 0
    return max(case.frames, heard, 1 if sound is not None and sound.rows else 0)


def _parts(case: Case) -> tuple[Part, ...]:
    found = case.structure
    if not found.acts:
        return ()
    clock = case.clock
    named = [("head", "head", found.head), ("tail", "tail", found.tail)]
    named += [("act", f"act {act.number}", act.span) for act in found.acts]
    named += [("break", f"break {gap.number}", gap.span) for gap in found.breaks]
    return tuple(
        Part(kind, name, span, clock.at(span.first), clock.counting.duration(span.frames))
        for kind, name, span in sorted(named, key=lambda part: part[2].first)
        if span.frames
    )


def _black(case: Case) -> tuple[Span, ...]:
    """By the outlet's rule, as the breaks are found by it; counted too where frames are no measure of time."""
    if not case.no_frames:
        return tuple(gap.span for gap in case.gaps)
    picture, rule = case.measurement.picture, case.profile.black
    if picture is None or not picture.frames:
        return ()
    return tuple(without_noise(black_runs(picture, rule.pixel_percent, rule.picture_percent)))


def _silence(case: Case, frames: int) -> tuple[Span, ...]:
    """Silent runs of the programme's channels; what the file goes on for without sound is silent too."""
    sound, channels = case.sound, case.programme_channels
    if sound is None or not sound.rows or not channels:
        return ()
    floor, rate = float(case.profile.silence.below_dbfs), case.clock.rate
    least = _shortest_silence(case)
    key = ("silence", tuple(channels), floor, least)
    runs = _shared(sound, key, partial(silent_runs, sound, list(channels), floor, least))
    spans = [frames_of(run, rate) for run in runs]
    spans = [Span(span.first, min(span.end, frames)) for span in spans if span.first < frames]
    heard = frames_of(Span(0, sound.rows), rate).end
    if heard < frames:
        joins = bool(spans) and spans[-1].end >= heard
        spans = [*spans[:-1], Span(spans[-1].first, frames)] if joins else [*spans, Span(heard, frames)]
    return tuple(spans)


def _shortest_silence(case: Case) -> int:
    """Rows of 10 ms from which a silence is shown: all that the outlet refuses are."""
    asked, rate = case.profile.silence.inside_acts, case.clock.rate
    try:
        high = None if asked is None else lengths(asked, rate).high
    except TimecodeError:  # said by the finding itself
        high = None
    return PAUSE_ROWS if high is None else max(1, min(PAUSE_ROWS, int(high * ROWS_PER_SECOND / rate)))


def _groups(case: Case) -> tuple[GroupCurves, ...]:
    if case.sound is None or not case.sound.rows:
        return ()
    return tuple(_group(case.sound, group, case.profile) for group in case.groups)


def _group(sound: SoundSeries, group: ChannelGroup, profile: Profile) -> GroupCurves:
    """None for what the file does not have: a curve of some of the channels would be another figure."""
    loud, peaks = _shared(sound, ("curves", group.channels, group.weights), lambda: _curves(sound, group))
    asked, ceiling = profile.loudness, profile.true_peak.programme
    limit = asked.programme
    unit = next((one.unit for one in (limit, asked.act, asked.max_short_term, asked.max_momentary) if one), "LUFS")
    band: dict[str, Any] = {}
    if limit is not None:
        band = {"low": _plain(limit.lowest), "target": _plain(limit.target), "high": _plain(limit.highest)}
    short_term = momentary = true_peak = None
    if loud is not None:
        most = asked.max_short_term.highest if asked.max_short_term else None
        short_term = Curve("short-term loudness", loud[0], unit, **band, most=_plain(most))
        most = asked.max_momentary.highest if asked.max_momentary else None
        momentary = Curve("momentary loudness", loud[1], unit, **band, most=_plain(most))
    if peaks is not None:
        stated, accepted = (ceiling.max, number_bounds(ceiling).high) if ceiling else (None, None)
        true_peak = Curve("true peak", peaks, "dBTP", high=_plain(stated), most=_plain(accepted))
    return GroupCurves(group.name, tuple(channel + 1 for channel in group.channels), short_term, momentary, true_peak)


def _curves(sound: SoundSeries, group: ChannelGroup) -> tuple[list[np.ndarray] | None, np.ndarray | None]:
    loud = loudness_steps(sound, group, (SHORT_TERM_ROWS, MOMENTARY_ROWS), STEP_ROWS)
    return loud, true_peak_steps(sound, group.channels, STEP_ROWS)


def _levels(case: Case) -> dict[int, Curve]:
    sound = case.sound
    if sound is None or not sound.rows:
        return {}
    heard = {channel for group in case.groups for channel in group.channels}
    floor = float(case.profile.silence.below_dbfs)
    found = {}
    for channel in sorted(heard):
        values = _shared(sound, ("level", channel), partial(level_steps, sound, (channel,), STEP_ROWS))
        if values is not None:
            found[channel + 1] = Curve(f"level of channel {channel + 1}", values, "dBFS", low=floor)
    return found


def _light(case: Case) -> Curve | None:
    """Each published reading has a luminance of its own; where the outlet names none, the first."""
    picture, asked = case.measurement.picture, case.profile.flashing.flashes
    if picture is None or case.no_frames or "flashing.luminance" not in picture.extra:
        return None
    reading = READING_OF[asked.variant] if asked is not None else FIRST
    values = luminance_curve(picture.extra, reading if reading in readings(picture.extra) else FIRST)
    return Curve("luminance", np.where(values < 0, np.nan, values).astype(np.float32), "cd/m2")


def _flash_areas(case: Case) -> dict[str, tuple[Curve, Curve]]:
    """Of each reading that the outlet asks for; a long sequence is drawn as the flashes that it is made of."""
    picture, asked = case.measurement.picture, case.profile.flashing
    if picture is None or case.no_frames:
        return {}
    chosen = READING_OF[asked.flashes.variant] if asked.flashes else FIRST
    wanted = {"flashing.flashes": (chosen, asked.flashes), "flashing.red": ("red", asked.red)}
    wanted["flashing.long_sequences"] = (chosen, asked.flashes)
    found = {}
    for requirement, (reading, limit) in wanted.items():
        if reading in readings(picture.extra):
            up, down = area_curves(picture.extra, reading, picture.frames).astype(np.float32)
            most = float(limit.area_percent) if limit else None
            found[requirement] = Curve("rising area", up, "%", most=most), Curve("falling area", down, "%", most=most)
    return found


def _plain(limit: float | None) -> float | None:
    return None if limit is None else float(limit)


def _why_no_curves(case: Case) -> str:
    if not case.facts.sounds:
        return NO_SOUND
    if case.sound is None or not case.sound.rows:
        return "no sound could be decoded"
    if not case.groups:
        return case.no_sound or "the profile names no channel group to judge"
    absent = [channel + 1 for channel in case.groups[0].channels if channel >= case.sound.channels]
    return f"the file has no channel {absent[0]}" if absent else "no loudness is defined for these channels"


def _shared(sound: SoundSeries, key: tuple[Any, ...], work: Callable[[], Any]) -> Any:
    """What ``work`` gives, kept for as long as the same sound is asked about."""
    global _last
    of, kept = _last
    if of() is not sound:
        kept = {}
        _last = (weakref.ref(sound, lambda _: kept.clear()), kept)
    if key not in kept:
        kept[key] = work()
    return kept[key]
