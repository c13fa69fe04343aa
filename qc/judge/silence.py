"""Silence inside acts: all channels of a judged group, or one while the others sound."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from qc.figures.groups import ChannelGroup
from qc.figures.silence import one_sided_runs
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.lengths import Lengths, lengths
from qc.judge.limits import number
from qc.judge.places import at
from qc.judge.verdict import Finding, Place
from qc.measurement.record import STEPS_PER_SECOND
from qc.outlets.schema_kinds import DurationLimit
from qc.remedy.exports import look
from qc.remedy.fix import Fix
from qc.timing.spans import Span

Run = tuple[int | None, Span]  # channel from 0 or None for all, rows


def inside_acts(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """All channels of a group silent for longer than accepted."""
    yield from _judged(case, key, requirement, one_sided=False)


def one_channel(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """One channel silent for longer than accepted while others of its group carry sound."""
    yield from _judged(case, key, requirement, one_sided=True)


def _judged(case: Case, key: str, requirement: DurationLimit, *, one_sided: bool) -> Iterator[Finding]:
    wanted = lengths(requirement, case.clock.rate)
    groups = case.groups
    reason = case.no_sound
    if case.sound_only and not reason:
        reason = "lengths are counted in picture frames, and this file has no picture"
    if one_sided and not reason:
        groups = tuple(group for group in groups if len(_heard(group)) > 1)
        reason = "" if groups else "no judged group has two channels"
    if reason:
        yield not_measured(key, requirement, reason, wanted.words, subject="acts", unit="frames")
        return
    for group in groups:
        yield _group(case, key, requirement, wanted, group, one_sided=one_sided)


def _heard(group: ChannelGroup) -> tuple[int, ...]:
    """Channels that count: an LFE is silent most of the time and says nothing."""
    pairs = zip(group.channels, group.weights, strict=True)
    return tuple(channel for channel, weight in pairs if weight) or group.channels


def _group(
    case: Case, key: str, requirement: DurationLimit, wanted: Lengths, group: ChannelGroup, *, one_sided: bool
) -> Finding:
    assert case.sound is not None
    level = case.profile.silence.below_dbfs
    found: Sequence[Run]
    if one_sided:
        sound, heard = case.sound, _heard(group)
        asked = ("one channel silent", heard, level)
        found = case.figures.once(asked, lambda: one_sided_runs(sound, heard, level))
    else:
        found = [(None, run) for run in _with_lost_end(case, case.figures.silent_runs(_heard(group), level))]
    runs = [(channel, part) for channel, run in found for part in _in_acts(case, run)]
    longest = max((_frames(case, run) for _, run in runs), default=0)
    high = wanted.high
    long = [(channel, run) for channel, run in runs if high is not None and _frames(case, run) > high]
    places = tuple(_place(case, channel, run) for channel, run in sorted(long, key=lambda item: item[1].first))
    words = f"under {number(level, 0)} dBFS RMS"
    return finding(
        key,
        requirement,
        graded(requirement, not long),
        longest,
        wanted.words,
        subject=case.subject(group, "acts"),
        unit="frames",
        tolerance=wanted.tolerance,
        margin=None if high is None else float(high - longest),
        span="each act",
        places=places,
        reason=f"longest run {words}" if longest else f"no run {words}",
        fix=_fix(case, group, long, one_sided=one_sided) if long else None,
    )


def _with_lost_end(case: Case, runs: list[Span]) -> list[Span]:
    """Runs of silence, with what the programme goes on without any sound stream: nothing is heard there."""
    assert case.sound is not None
    rows, end = case.sound.rows, case.programme[-1].end
    if end <= rows:
        return runs
    if runs and runs[-1].end == rows:
        return [*runs[:-1], Span(runs[-1].first, end)]
    return [*runs, Span(rows, end)]


def _in_acts(case: Case, run: Span) -> Iterator[Span]:
    for rows in case.programme:
        if run.overlap(rows):
            yield Span(max(run.first, rows.first), min(run.end, rows.end))


def _frames(case: Case, run: Span) -> int:
    return round(run.frames * case.clock.rate / STEPS_PER_SECOND)


def _place(case: Case, channel: int | None, run: Span) -> Place:
    place = case.places.rows(run, channel=None if channel is None else channel + 1, value=float(_frames(case, run)))
    black = sum(gap.span.overlap(place.span) for gap in case.structure.extra_gaps)
    picture = "picture runs on" if not black else f"{black} of its frames are black too"
    note = f"{number(run.frames / STEPS_PER_SECOND, 2)} s silent, {picture}"
    return case.places.rows(run, channel=place.channel, value=place.value, note=note)


def _fix(case: Case, group: ChannelGroup, runs: Sequence[Run], *, one_sided: bool) -> Fix:
    """Where to listen first."""
    channel, run = max(runs, key=lambda item: (item[1].frames, -item[1].first))
    place = _place(case, channel, run)
    mix, more = case.mix(group), "" if len(runs) == 1 else f" and at {len(runs) - 1} more"
    what = f"{at(place)}{more}: {place.note}"
    if one_sided and channel is not None:
        return look(f"Put channel {channel + 1} of the {mix} back at {what}.", mix)
    return look(f"Fill the silence of the {mix} at {what}; if it is meant, have it waived.", mix)


JUDGES: dict[str, Judge] = {"silence.inside_acts": inside_acts, "silence.one_channel": one_channel}
