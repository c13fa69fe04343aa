"""Sound streams and channels as flagged: arrangement, number, sampling rate, depth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from qc.judge.findings import chosen, finding, graded, not_measured, weighed
from qc.judge.headers import Headers, Judge
from qc.judge.limits import count_bounds
from qc.judge.verdict import Finding
from qc.outlets.schema_kinds import Choice, Count, NumberChoice
from qc.remedy.exports import one_of, re_export

NO_SOUND = "no sound stream"


def arrangement(case: Headers, key: str, requirement: Choice) -> Iterator[Finding]:
    """Mono streams, stereo streams, or all channels in one stream."""
    counts = [stream.channels for stream in case.facts.sounds]
    names = set()
    if counts:
        names |= {"mono streams"} if set(counts) == {1} else set()
        names |= {"stereo streams"} if set(counts) == {2} else set()
        names |= {"one stream"} if len(counts) == 1 else set()
    met = [value for value in requirement.accept if value in names]
    if not counts:
        measured = NO_SOUND
    elif met:
        measured = met[0]
    elif len(set(counts)) == 1:
        measured = f"{len(counts)} x {counts[0]} channels" if len(counts) > 1 else f"one stream of {counts[0]} channels"
    else:
        measured = "streams of " + " + ".join(str(count) for count in counts) + " channels"
    yield finding(
        key,
        requirement,
        graded(requirement, bool(met)),
        measured,
        one_of(requirement.accept),
        subject="sound",
        fix=None if met else re_export(f"the sound as {one_of(requirement.accept)}", "sound"),
    )


def channels(case: Headers, key: str, requirement: Count) -> Iterator[Finding]:
    """Channels of all streams together."""
    count = len(case.facts.channels)
    bounds = count_bounds(requirement)
    yield weighed(
        key,
        requirement,
        count,
        bounds,
        unit="channels",
        subject="sound",
        reason="" if count else NO_SOUND,
        fix=re_export(f"{bounds.words} audio channels", "sound"),
    )


def sample_rate(case: Headers, key: str, requirement: NumberChoice) -> Iterator[Finding]:
    yield from _each(case, key, requirement, {s.index: s.rate for s in case.facts.sounds}, "Hz", "{} Hz sound")


def bit_depth(case: Headers, key: str, requirement: NumberChoice) -> Iterator[Finding]:
    """As declared; fewer bits really used are told, not failed."""
    depths = {stream.index: stream.bit_depth for stream in case.facts.sounds}
    fewer = sorted(
        {used for index, depth in depths.items() if (used := case.used_bits(index)) and depth and used < depth}
    )
    note = f"only {one_of(fewer)} bits of each sample are used" if fewer else ""
    for found in _each(case, key, requirement, depths, "bit", "{}-bit sound"):
        yield replace(found, reason=note) if note and found.measured is not None else found


def _each(
    case: Headers, key: str, requirement: NumberChoice, values: dict[int, int | None], unit: str, fix: str
) -> Iterator[Finding]:
    """One finding if all streams are alike, else one for each stream that is not accepted."""
    limit = one_of(requirement.accept)
    remedy = re_export(fix.format(limit), "sound")
    if not values:
        yield not_measured(key, requirement, NO_SOUND, limit, subject="sound", unit=unit)
        return
    unknown = "the codec has no fixed depth" if unit == "bit" else "the file does not say"
    if len(set(values.values())) == 1:
        value = next(iter(values.values()))
        yield chosen(
            key, requirement, value, requirement.accept, unit=unit, subject="sound", fix=remedy, unknown=unknown
        )
        return
    for index, value in values.items():
        if value not in requirement.accept:
            yield chosen(
                key,
                requirement,
                value,
                requirement.accept,
                unit=unit,
                subject=f"stream {index}",
                fix=remedy,
                unknown=unknown,
            )
    if all(value in requirement.accept for value in values.values()):
        mixed = ", ".join(str(value) for value in sorted({value for value in values.values() if value is not None}))
        yield finding(key, requirement, graded(requirement, True), mixed, limit, unit=unit, subject="sound")


HEADER_JUDGES: dict[str, Judge] = {
    "audio.arrangement": arrangement,
    "audio.channels": channels,
    "audio.sample_rate": sample_rate,
    "audio.bit_depth": bit_depth,
}
