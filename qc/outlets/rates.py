"""Lengths of time and labels of a profile against the picture rates and the counting that it accepts.

Source: SMPTE ST 12-1: drop-frame exists at 30000/1001 (and, by practice, 60000/1001) only, and leaves
labels out. Of several accepted rates one is enough for a label to be possible.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from qc.errors import UserError
from qc.outlets.expected import Finder
from qc.outlets.problems import Problem
from qc.outlets.schema import Profile, SheetAgreement, Slot
from qc.outlets.schema_kinds import DurationLimit
from qc.outlets.sections_leader import Blip, LeaderElement, LeaderLayout
from qc.outlets.sections_motion import AcceptedCadence, SolidPicture
from qc.outlets.vocabulary import WORDS
from qc.outlets.where import Path
from qc.timing.durations import Duration
from qc.timing.timecode import Counting

_DROP_RATE = Fraction(30000, 1001)
_LENGTHS = ("exact", "tolerance", "min", "max", "before", "least", "longest")
_TIMED = DurationLimit | Slot | SheetAgreement | LeaderElement | Blip | AcceptedCadence | SolidPicture


def rates_of(profile: Profile) -> list[Fraction]:
    """Picture rates that the profile accepts; empty if it does not say, or says none that exists."""
    wanted = profile.picture.frame_rate
    return [Fraction(rate) for rate in wanted.accept if rate in WORDS["picture.frame_rate"]] if wanted else []


def _can_drop(rate: Fraction) -> bool:
    return rate in (_DROP_RATE, 2 * _DROP_RATE)


def countings_of(profile: Profile) -> list[Counting]:
    """Ways of counting that the profile accepts together with its rates."""
    rates = rates_of(profile) or [_DROP_RATE, 2 * _DROP_RATE, Fraction(25), Fraction(50), Fraction(24)]
    wanted = profile.timecode.counting
    names = wanted.accept if wanted else ["drop-frame", "non-drop-frame"]
    return [
        Counting.for_rate(rate, drop)
        for rate in rates
        for drop in (True, False)
        if ("drop-frame" if drop else "non-drop-frame") in names and (_can_drop(rate) or not drop)
    ]


def lengths_in(profile: Profile) -> Iterator[tuple[Path, str]]:
    """Every length of time in a profile, with its place."""
    for section in type(profile).model_fields:
        for name, value in getattr(profile, section):
            items: list[tuple[Path, Any]] = [((section, name), value)]
            if isinstance(value, list):
                items = [((section, name, place), item) for place, item in enumerate(value)]
            elif isinstance(value, LeaderLayout):
                items = [((section, name, "element", place), item) for place, item in enumerate(value.element)]
            for path, item in items:
                if isinstance(item, _TIMED):
                    for key in _LENGTHS:
                        if (text := getattr(item, key, None)) is not None:
                            yield (*path, key), text


def frames_at(text: str, rates: list[Fraction]) -> int | None:
    """Frames of a length at the first accepted rate that it can be counted at; None if there is none."""
    for rate in rates or [_DROP_RATE, Fraction(25)]:
        try:
            return Duration(text).frames(rate)
        except UserError:
            continue
    return None


def label_problems(profile: Profile, finder: Finder) -> Iterator[Problem]:
    """Drop-frame where it does not exist, labels that are left out, min over max."""
    rates = rates_of(profile)
    counting = profile.timecode.counting
    shown_rates = " or ".join(str(rate) for rate in rates)
    if counting is not None and set(counting.accept) == {"drop-frame"} and rates and not any(map(_can_drop, rates)):
        found = f'"drop-frame" with pictures at {shown_rates}'
        expected = '"non-drop-frame": drop-frame is for 30000/1001 and 60000/1001 only'
        yield finder.problem(("timecode", "counting", "accept"), found, expected)
    yield from _start(profile, finder)
    for path, text in lengths_in(profile):
        if frames_at(text, rates) is None:
            yield finder.problem(path, f'"{text}", {_why(text, rates)}', _instead(text, rates))
    yield from _reversed(profile, finder, rates)


def _start(profile: Profile, finder: Finder) -> Iterator[Problem]:
    start, path = profile.timecode.start, ("timecode", "start", "at")
    if start is None:
        return
    reasons: list[UserError] = []
    for counting in countings_of(profile):
        try:
            counting.frame(start.at)
            return
        except UserError as error:
            reasons.append(error)
    if reasons:
        found = reasons[0].what if start.at in reasons[0].what else f'"{start.at}": {reasons[0].what}'
        yield finder.problem(path, found, reasons[0].remedy or _counting_words(profile))


def _counting_words(profile: Profile) -> str:
    forms = sorted({"HH:MM:SS;FF" if counting.drop else "HH:MM:SS:FF" for counting in countings_of(profile)})
    return f"a label {' or '.join(forms)} that exists at {' or '.join(map(str, rates_of(profile))) or 'a picture rate'}"


def _why(text: str, rates: list[Fraction]) -> str:
    if ";" in text and rates and not any(map(_can_drop, rates)):
        return f"drop-frame, with pictures at {' or '.join(map(str, rates))}"
    return "a label that does not exist"


def _instead(text: str, rates: list[Fraction]) -> str:
    if ";" in text and rates and not any(map(_can_drop, rates)):
        return f'"{text.replace(";", ":")}"'
    for rate in rates or [_DROP_RATE]:
        try:
            Duration(text).frames(rate)
        except UserError as error:
            if error.remedy:
                return error.remedy
    return "a label that exists at the picture rate"


def _reversed(profile: Profile, finder: Finder, rates: list[Fraction]) -> Iterator[Problem]:
    limits: dict[Path, dict[str, str]] = {}
    for path, text in lengths_in(profile):
        limits.setdefault(path[:-1], {})[str(path[-1])] = text
    for path, texts in limits.items():
        if "min" in texts and "max" in texts:
            low, high = frames_at(texts["min"], rates), frames_at(texts["max"], rates)
            if low is not None and high is not None and low > high:
                found = f"min {texts['min']} over max {texts['max']}"
                yield finder.problem((*path, "min"), found, "min at or under max")
