"""What is allowed in a profile and still odd: warnings beside the problems."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from qc.outlets.inherit import gather, merge
from qc.outlets.load import LoadedProfile, load_base, load_profile
from qc.outlets.rates import countings_of, frames_at, lengths_in, rates_of
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import NumberLimit


@dataclass(frozen=True)
class Oddity:
    """One odd thing: where (id or key) and what, a sentence without a full stop."""

    where: str
    text: str


def lint(path: Path) -> tuple[LoadedProfile, tuple[Oddity, ...]]:
    """The profile (or base) and its warnings. Raises ProfileError if there are problems."""
    if path.resolve().parent.name == "base":
        return load_base(path), ()
    loaded = load_profile(path)
    idle = merge(gather(path)[0]).idle
    odd = [Oddity(key, f"level is off in {loaded.file}, but nothing was inherited") for key in idle]
    return loaded, (*odd, *_odd(loaded.profile, path))


def _odd(profile: Profile, path: Path) -> Iterator[Oddity]:
    outlet = profile.outlet
    if not outlet.specification:
        yield Oddity("outlet.specification", "nobody can tell later which document this profile follows")
    if outlet.code != path.stem.lower():
        yield Oddity(
            "outlet.code", f"the code is {outlet.code}, but the file is called {path.name}: one name is better"
        )
    if not any(True for _ in profile.requirements()):
        yield Oddity("", "this profile asks for nothing: every file passes")
    yield from _unmeasured(profile)
    yield from _sound(profile)
    yield from _lengths(profile)
    yield from _picture(profile)


def _unmeasured(profile: Profile) -> Iterator[Oddity]:
    if profile.loudness.anchor == "dialogue" and profile.loudness.programme is not None:
        yield Oddity("loudness.anchor", "dialogue is not separated: the full programme is measured")


def _sound(profile: Profile) -> Iterator[Oddity]:
    loudness, audio = profile.loudness, profile.audio
    limits = [limit for _, limit in loudness if isinstance(limit, NumberLimit) and limit.unit != "LU"]
    if len({limit.unit for limit in limits}) > 1:
        yield Oddity("loudness", "LUFS and LKFS in one profile: they are the same unit, use one name")
    judged = limits or profile.true_peak.programme
    if judged and not any(group.judged for group in audio.group):
        yield Oddity("audio.group", "no group is judged: the file's own first pair of channels is taken")
    heard = [group for group in audio.group if group.judged]
    unsaid = [f'"{group.name}"' for group in heard if "judged" not in group.model_fields_set]
    if limits and len(heard) > 1 and unsaid:
        text = f"{len(heard)} groups are judged for loudness, {' and '.join(unsaid)} without a word of it"
        yield Oddity("audio.group", f"{text}: say judged = true, or false for music and effects and other extra mixes")
    carries = {group.carries for group in audio.group}
    for key, content in (("must_carry", "programme"), ("must_be_silent", "silence")):
        if getattr(audio, key) is not None and content not in carries:
            yield Oddity(f"audio.{key}", f'no group carries "{content}", so this line judges nothing')
    programme, act, short = loudness.programme, loudness.act, loudness.max_short_term
    if programme and act and _apart(programme, act):
        yield Oddity("loudness.act", "acts in this window cannot make the programme's")
    if programme and short and short.max is not None and programme.lowest is not None and short.max < programme.lowest:
        yield Oddity("loudness.max_short_term", "the highest short-term value cannot be under the programme's loudness")


def _apart(one: NumberLimit, other: NumberLimit) -> bool:
    def over(low: float | None, high: float | None) -> bool:
        return low is not None and high is not None and low > high

    return over(one.lowest, other.highest) or over(other.lowest, one.highest)


def _lengths(profile: Profile) -> Iterator[Oddity]:
    counts = {counting.drop for counting in countings_of(profile)} if profile.timecode.counting else {True, False}
    rates = rates_of(profile)
    texts: dict[str, dict[str, str]] = {}
    for path, text in lengths_in(profile):
        key = ".".join(str(step) for step in path)
        texts.setdefault(key.rsplit(".", 1)[0], {})[str(path[-1])] = text
        written_drop = ";" in text
        if ":" in text and counts and written_drop not in counts:
            form = "drop-frame" if written_drop else "non-drop-frame"
            yield Oddity(key, f"{text} is counted {form}, the timecode is not")
    for key, said in texts.items():
        exact = frames_at(said["exact"], rates) if "exact" in said else None
        spread = frames_at(said["tolerance"], rates) if "tolerance" in said else None
        if exact and spread is not None and spread >= exact:
            yield Oddity(key, f"the tolerance {said['tolerance']} is as long as the length itself")


def _picture(profile: Profile) -> Iterator[Oddity]:
    rates = rates_of(profile)
    stops, stills = profile.freeze.inside_acts, profile.freeze.stills
    if stops and stills and stops.max and stills.max:
        longest, still = frames_at(stops.max, rates), frames_at(stills.max, rates)
        if longest is not None and still is not None and still < longest:
            text = f"titles and cards may stand for {stills.max}, a picture that stops in its shot for {stops.max}"
            yield Oddity("freeze.stills", f"{text}: it is mostly the other way round")
    black, stray = profile.black.inside_acts, profile.black.stray_frames
    if black and black.max and black.min is None and stray:
        most = frames_at(black.max, rates)
        if most is not None and most <= stray:
            text = f"no longer than the {stray} frames up to which black is stray, so none is accepted but a fade"
            yield Oddity("black.inside_acts", f"at most {black.max}, {text}")
