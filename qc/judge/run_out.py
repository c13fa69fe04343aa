"""The run-out: black or a held picture after the programme, and silence. How long it is judges qc.judge.edges."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from qc.figures.level import highest_sample_dbfs
from qc.judge.case import Case
from qc.judge.expected_clock import expected_clock
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.leader import NO_CARDS, stretch_of
from qc.judge.lengths import frames_text, lengths
from qc.judge.limits import Bounds, number, weigh
from qc.judge.verdict import Finding, Place
from qc.outlets.sections_leader import RunOut
from qc.programme.leader import Element
from qc.remedy.exports import replace

#: A fade is looked for over so many seconds before the end; it ends darker than this share of its beginning.
_FADE_SECONDS, _FADED = 4, 0.4


def run_out(case: Case, key: str, requirement: RunOut) -> Iterator[Finding]:
    """What stands after the last frame of the programme."""
    limit = requirement.words
    if case.no_programme:
        yield not_measured(key, requirement, case.no_programme, limit, subject="run-out")
        return
    tail = stretch_of(case, case.structure.tail)
    if tail is None:
        yield not_measured(key, requirement, NO_CARDS, limit, subject="run-out")
        return
    if not tail.elements:
        asked = case.profile.structure.tail
        needed = asked is not None and not lengths(asked, case.clock.rate).accepts(0)
        yield finding(
            key, requirement, graded(requirement, not needed), "nothing", limit, subject="run-out", span="tail",
            reason="the file ends with the programme",
            fix=replace(f"Add the run-out: {limit}.", "tail") if needed else None,
        )  # fmt: skip
        return
    places = [_place(case, element) for element in tail.elements if _word(element) not in requirement.accept]
    places += [case.places.place(flash, note=f"{frames_text(flash.frames)} of picture") for flash in tail.flashes]
    loud, said, deaf = _sound(case, requirement)
    places += loud
    shown = ", then ".join(_described(element) for element in tail.elements[:4])
    if deaf and not places:
        yield not_measured(key, requirement, f"{shown}; sound: {deaf}", limit, subject="run-out", span="tail")
        return
    yield finding(
        key,
        requirement,
        graded(requirement, not places),
        f"{shown}{said}",
        limit,
        subject="run-out",
        span="tail",
        places=tuple(places),
        reason=_fade(case),
        fix=replace(f"Make the run-out {limit} from its first frame to its last.", "tail") if places else None,
    )


def _word(element: Element) -> str:
    return "hold" if element.holds else element.kind.value if element.tone is None else element.name


def _described(element: Element) -> str:
    return f"{element.name} for {frames_text(element.span.frames)}"


def _place(case: Case, element: Element) -> Place:
    return case.places.place(element.span, value=float(element.span.frames), note=element.name)


def _sound(case: Case, requirement: RunOut) -> tuple[list[Place], str, str]:
    """Places that are too loud, what was heard in words, and why nothing could be heard."""
    highest = requirement.max_peak_dbfs
    if highest is None:
        return [], "", ""
    if case.sound is None:
        return [], "", "no sound could be decoded" if case.facts.sounds else ""
    sound = case.sound
    channels = tuple(channel for channel in case.programme_channels if channel < sound.channels)
    rows = case.whole_rows(case.structure.tail)
    if rows.first >= sound.rows:
        return [], ", silent", ""  # the sound ends with the programme
    reading = highest_sample_dbfs(sound, channels, (rows,))
    if reading.value is None:
        return [], "" if not reading.silent else ", silent", "" if reading.silent else reading.reason
    said = f", peak {number(reading.value)} dBFS"
    if weigh(reading.value, Bounds(None, highest, ""), meter=True).inside or reading.row is None:
        return [], said, ""
    channel = None if reading.channel is None else reading.channel + 1
    return [case.places.row(reading.row, channel=channel, note=f"{number(reading.value)} dBFS")], said, ""


def _fade(case: Case) -> str:
    """A slow fade that is only over after the end that the outlet's running time gives; its length is judged there."""
    acts = case.structure.acts
    window = expected_clock(case.profile, case.clock).programme_frames
    if not acts or window is None or window[1] is None:
        return ""
    over = sum(act.span.frames for act in acts) - window[1]
    eom = acts[-1].span.end
    if over <= 0 or over >= _FADE_SECONDS * case.clock.rate:
        return ""
    light = case.luma_mean(max(acts[-1].span.first, eom - round(_FADE_SECONDS * case.clock.rate)), eom)
    falling = np.flatnonzero(np.diff(light) > 0.5)
    begun = int(falling[-1]) + 1 if len(falling) else 0
    frames = len(light) - begun
    if frames < over or light[-1] > _FADED * light[begun]:
        return ""
    return (
        f"the last {frames_text(frames)} fade to black, {frames_text(over)} of them after the end of the running time"
    )


JUDGES: dict[str, Judge] = {"leader.run_out": run_out}
