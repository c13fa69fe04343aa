"""Channels that must carry programme, and channels that must be silent, by their highest sample."""

from __future__ import annotations

from collections.abc import Iterator

from qc.figures.level import highest_sample_dbfs
from qc.judge.audio_layout import NO_SOUND
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured, weighed
from qc.judge.headers import Judge
from qc.judge.limits import number_bounds
from qc.judge.loudness import PROGRAMME
from qc.judge.verdict import Finding, Place
from qc.outlets.schema import Group
from qc.outlets.schema_kinds import LevelLimit
from qc.remedy.exports import re_export


def must_carry(case: Case, key: str, requirement: LevelLimit) -> Iterator[Finding]:
    """Every channel of a group that carries programme sounds; an LFE may be silent."""
    yield from _each(case, key, requirement, "programme")


def must_be_silent(case: Case, key: str, requirement: LevelLimit) -> Iterator[Finding]:
    """Every channel of a group that carries silence is silent over the programme."""
    yield from _each(case, key, requirement, "silence")


def _each(case: Case, key: str, requirement: LevelLimit, carries: str) -> Iterator[Finding]:
    bounds = number_bounds(requirement)
    groups = [group for group in case.profile.audio.group if group.carries == carries]
    channels = [(number, group) for group in groups for number in group.channels if not _lfe(case, group, number)]
    reason = "" if channels else f"the profile names no channels that carry {carries}"
    reason = reason or (NO_SOUND if not case.facts.sounds else case.no_programme)
    reason = reason or ("no sound could be decoded" if case.sound is None else "")
    if reason:
        yield not_measured(
            key, requirement, reason, bounds.words, subject=f"channels that carry {carries}", unit="dBFS"
        )
        return
    assert case.sound is not None
    for group in groups:
        missing = [number for number, own in channels if own is group and number > case.sound.channels]
        if missing:
            yield _missing(key, requirement, group, missing, case.sound.channels, bounds.words)
    for number, group in channels:
        if number > case.sound.channels:
            continue
        subject = f"channel {number} ({group.name})"
        reading = highest_sample_dbfs(case.sound, (number - 1,), case.programme)
        verb = "sound" if carries == "programme" else "nothing"
        fix = re_export(f"{verb} on channel {number} ({group.name})", subject)
        if reading.silent:
            good = bounds.low is None
            yield finding(
                key,
                requirement,
                graded(requirement, good),
                "digital silence",
                bounds.words,
                subject=subject,
                unit="dBFS",
                span=PROGRAMME,
                fix=None if good else fix,
            )
        elif reading.value is None:
            yield not_measured(key, requirement, reading.reason, bounds.words, subject=subject, unit="dBFS")
        else:
            places: tuple[Place, ...] = ()
            if reading.row is not None and carries == "silence":
                places = (case.places.row(reading.row, channel=number, value=round(reading.value, 2)),)
            yield weighed(
                key,
                requirement,
                reading.value,
                bounds,
                unit="dBFS",
                meter=True,
                subject=subject,
                span=PROGRAMME,
                places=places,
                fix=fix,
            )


def _missing(key: str, requirement: LevelLimit, group: Group, missing: list[int], count: int, limit: str) -> Finding:
    """Channels of a group that the file does not have, as one finding."""
    listed = ", ".join(str(number) for number in missing)
    subject = f"channel{'' if len(missing) == 1 else 's'} {listed} ({group.name})"
    return finding(
        key,
        requirement,
        graded(requirement, False),
        "no such channel",
        limit,
        subject=subject,
        unit="dBFS",
        reason=f"the file has {count} channel{'' if count == 1 else 's'}",
        fix=re_export(subject, subject),
    )


def _lfe(case: Case, group: Group, number: int) -> bool:
    """An LFE by its label, or by its place in a 5.1 whose channels are not labelled (L R C LFE Ls Rs)."""
    channels = case.facts.channels
    labels = [channels[n - 1].label.upper() if n <= len(channels) else "" for n in group.channels]
    label = labels[group.channels.index(number)]
    if label:
        return label.startswith("LFE")
    return group.layout == "5.1" and group.channels.index(number) == 3 and not any(labels)


JUDGES: dict[str, Judge] = {"audio.must_carry": must_carry, "audio.must_be_silent": must_be_silent}
