"""Complete and decodable, constant rate, streams of one length. A damaged file never passes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from fractions import Fraction

from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured, weighed
from qc.judge.headers import Headers, Judge
from qc.judge.limits import number_bounds
from qc.judge.steps import odd_steps, variable_rate
from qc.judge.verdict import Finding, Place
from qc.measurement.record import STEPS_PER_SECOND, Event
from qc.outlets.schema_kinds import Flag, FramesLimit
from qc.remedy.exports import re_export, replace
from qc.remedy.fix import Fix
from qc.timing.spans import Span
from qc.timing.timecode import elapsed

COMPLETE = "every frame and sample decodes"

#: Events that are damage whatever the profile asks.
_DAMAGE = (
    "decode error",
    "damaged packet",
    "early end",
    "raster change",
    "layout change",
    "not decodable",
    "stopped early",
    "changed during run",
)
_STEPS = ("timestamp gap", "timestamp repeat", "timestamp jump", "rate change")


def decodable(case: Case, key: str, requirement: Flag) -> Iterator[Finding]:
    """One finding for the file, one more for samples that are not numbers."""
    damage = _damage(case)
    invalid = list(_invalid(case))
    if not case.measurement.complete:
        yield _unfinished(case, key, requirement, damage)
    elif damage:
        yield finding(
            key,
            requirement,
            graded(requirement, False),
            _counted(damage),
            COMPLETE,
            places=tuple(_places(case, damage)),
            reason=_details(damage),
            fix=replace("Export the file again, or copy it again if the original plays without fault."),
        )
    elif not invalid:
        yield finding(key, requirement, graded(requirement, True), _decoded(case), COMPLETE)
    for number, count, places in invalid:
        yield finding(
            key,
            requirement,
            graded(requirement, False),
            f"{count} invalid samples",
            COMPLETE,
            subject=f"channel {number}",
            places=places,
            reason="samples that are not numbers (NaN or infinity); left out of every figure",
            fix=re_export("valid samples; look for a faulty effect in the mix", f"channel {number}"),
        )


def is_damaged(case: Case) -> bool:
    """Something that fails the file even where the profile does not ask."""
    return not case.measurement.complete or bool(_damage(case)) or any(True for _ in _invalid(case))


def _damage(case: Case) -> list[Event]:
    """Damage, and steps in time that no other requirement of this profile judges."""
    picture = case.picture.index if case.picture else None
    rate_is_judged = case.profile.integrity.constant_rate is not None
    return [
        event
        for event in case.measurement.events
        if event.kind in _DAMAGE
        or (
            event.kind in _STEPS
            and not (event.stream == picture and (rate_is_judged or variable_rate(case.measurement)))
        )
    ]


def _counted(events: Iterable[Event]) -> str:
    counts: Counter[str] = Counter()
    for event in events:
        counts[event.kind] += event.count
    return ", ".join(f"{count} x {kind}" if count > 1 else kind for kind, count in counts.items())


def _details(events: list[Event], most: int = 3) -> str:
    told = list(dict.fromkeys(event.detail for event in events if event.detail))
    more = f"; {len(told) - most} more" if len(told) > most else ""
    return "; ".join(told[:most]) + more


def _places(case: Case, events: Iterable[Event]) -> Iterator[Place]:
    for event in events:
        frame = event.frame
        if frame is None and event.seconds is not None:
            frame = int(event.seconds * case.clock.rate)
        if frame is not None and frame >= 0:
            yield case.places.place(Span(frame, frame + 1), note=f"{event.kind}: {event.detail}".rstrip(": "))


def _invalid(case: Case) -> Iterator[tuple[int, int, tuple[Place, ...]]]:
    """Channel from 1, invalid samples, places, for each channel that has some."""
    sound = case.sound
    if sound is None:
        return
    events = [event for event in case.measurement.events if event.kind == "invalid samples"]
    for index, channel in enumerate(case.facts.channels[: sound.channels]):
        count = int(sound.invalid_samples[index])
        if count:
            own = [event for event in events if event.stream in (None, channel.stream)]
            yield index + 1, count, tuple(_places(case, own))


def _decoded(case: Case) -> str:
    frames = case.measurement.picture.frames if case.measurement.picture else 0
    channels = case.sound.channels if case.sound else 0
    return f"{frames} frames and {channels} channels decoded to the end"


def _unfinished(case: Case, key: str, requirement: Flag, damage: list[Event]) -> Finding:
    """Declared and decodable length, and the last good timecode."""
    rate, facts = case.clock.rate, case.facts
    declared = facts.duration
    if declared is None and case.picture is not None and case.picture.declared_frames is not None:
        declared = case.picture.declared_frames / rate
    frames = case.frames
    said = f"{elapsed(frames, rate)} decodable"
    if declared is not None:
        said = f"{elapsed(frames, rate)} of {elapsed(round(declared * 1000), Fraction(1000))} decodable"
    places: tuple[Place, ...] = ()
    last = "no frame can be decoded"
    if frames:
        places = (case.places.place(Span(frames - 1, frames), note="last good frame"),)
        last = f"the last good frame is {case.clock.at(frames - 1)}"
    because = case.measurement.incomplete_because or _counted(damage) or "the reason is not known"
    return finding(
        key,
        requirement,
        graded(requirement, False),
        said,
        COMPLETE,
        places=places,
        reason=f"{because}; {last}",
        fix=_complete_it(damage),
    )


def _complete_it(damage: list[Event]) -> Fix:
    kinds = {event.kind for event in damage}
    if "changed during run" in kinds:
        return replace("Wait until the file is completely written, then check it again.")
    if "stopped early" in kinds:
        return replace("Check whether this is the right file: it is far longer than the outlet accepts.")
    if "not decodable" in kinds:
        return re_export("a codec that the outlet accepts; this one cannot be decoded here")
    return replace("Copy the file again from the original; if that one stops too, export it again.")


def constant_rate(case: Case, key: str, requirement: Flag) -> Iterator[Finding]:
    """No gaps, repeats or jumps between frames; one tick of the time base is tolerated."""
    limit = "one frame after the other at a constant rate"
    picture = case.picture
    if picture is None or case.measurement.picture is None or case.measurement.rate is None:
        reason = "no picture could be decoded" if picture else "no picture stream"
        reason = "the picture rate is not declared, or it varies" if picture and picture.frame_rate is None else reason
        yield not_measured(key, requirement, reason, limit, subject="picture")
        return
    events = [e for e in case.measurement.events if e.kind in _STEPS and e.stream in (None, picture.index)]
    odd = odd_steps(case.measurement)
    if not events and not len(odd):
        if case.measurement.complete:
            yield finding(
                key, requirement, graded(requirement, True), f"{case.frames} even steps", limit, subject="picture"
            )
        else:
            yield not_measured(key, requirement, case.no_frames, limit, subject="picture")
        return
    varies = variable_rate(case.measurement)
    places = list(_places(case, events)) or [
        case.places.place(Span(int(frame), int(frame) + 1), note="uneven step before this frame") for frame in odd[:100]
    ]
    share = 100 * len(odd) / max(1, case.frames - 1)
    reason = f"{share:.0f} % of the steps between frames are uneven: a variable rate" if varies else _details(events)
    yield finding(
        key,
        requirement,
        graded(requirement, False),
        "variable rate" if varies else (_counted(events) or f"{len(odd)} uneven steps"),
        limit,
        subject="picture",
        places=tuple(places),
        more_places=max(0, len(odd) - 100) if not events else 0,
        reason=reason,
        fix=re_export(f"a constant picture rate of {case.measurement.rate}"),
    )


def stream_lengths(case: Headers, key: str, requirement: FramesLimit) -> Iterator[Finding]:
    """Largest difference of any sound or timecode stream from the picture, in whole frames."""
    bounds = number_bounds(requirement)
    picture = case.picture
    rate = picture.frame_rate if picture else None
    ends = dict(_ends(case, rate)) if rate is not None else {}
    if rate is None or picture is None or "picture" not in ends or len(ends) < 2:
        reason = "no picture stream" if picture is None else "fewer than two streams say how long they are"
        yield not_measured(key, requirement, reason, bounds.words, unit="frames")
        return
    apart = {name: round((end - ends["picture"]) * rate) for name, end in ends.items() if name != "picture"}
    worst = max(apart, key=lambda name: abs(apart[name]))
    side = "after" if apart[worst] > 0 else "before"
    listed = ", ".join(f"{name} {elapsed(round(end * 1000), Fraction(1000))}" for name, end in ends.items())
    reason = f"{worst} ends {abs(apart[worst])} frames {side} the picture: {listed}" if apart[worst] else ""
    if case.facts.edit_list:
        reason = f"{reason}; edit list: {case.facts.edit_list}".lstrip("; ")
    yield weighed(
        key,
        requirement,
        abs(apart[worst]),
        bounds,
        unit="frames",
        reason=reason,
        fix=re_export("picture, sound and timecode of one length", worst),
    )


def _ends(case: Headers, rate: Fraction) -> Iterator[tuple[str, Fraction]]:
    """Name and end in seconds from the first frame: decoded if there is a decode, else declared."""
    picture = case.picture
    assert picture is not None
    measured = case.measurement if isinstance(case, Case) and case.measurement.complete else None
    zero = picture.start or Fraction(0)
    if measured is not None and measured.picture is not None:
        yield "picture", measured.picture.frames / rate
    elif picture.declared_frames is not None:
        yield "picture", picture.declared_frames / rate
    elif picture.duration is not None:
        yield "picture", picture.duration
    first = 0
    for place, stream in enumerate(case.facts.sounds, 1):
        start = (stream.start or zero) - zero
        name = f"sound stream {place}"
        if measured is not None and measured.sound is not None and first < measured.sound.channels:
            rows = measured.sound.extent[first]
            late = Fraction(int(rows[0]), STEPS_PER_SECOND) if start > 0 else Fraction(0)
            yield name, max(late, start, Fraction(0)) + Fraction(int(measured.sound.samples[first]), stream.rate)
        elif stream.duration is not None:
            yield name, start + stream.duration
        first += stream.channels
    for other in case.facts.others:
        if other.kind == "timecode" and other.duration is not None:
            yield f"timecode stream {other.index}", other.duration


JUDGES: dict[str, Judge] = {"integrity.decodable": decodable, "integrity.constant_rate": constant_rate}
HEADER_JUDGES: dict[str, Judge] = {"integrity.stream_lengths": stream_lengths}
