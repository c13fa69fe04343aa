"""Limits and settings of a profile as a person says them: "-24.0 LKFS +/- 2.0", "10 s +/- 1 frame"."""

from __future__ import annotations

from collections.abc import Iterator

from qc.outlets.schema import ActEnds, BreakContent, Group, Profile, SheetAgreement, Slot, TimecodeStart
from qc.outlets.schema_kinds import Choice, Count, DurationLimit, NumberChoice, NumberLimit, Requirement

_CHOICE_UNITS = {"audio.sample_rate": " Hz", "audio.bit_depth": " bit", "picture.bit_depth": " bit"}
_CHOICE_UNITS |= {"picture.rotation": " degrees", "picture.frame_rate": " frames a second"}
_FLAGS = {
    "wrapper.extension": "ending agrees with the content",
    "integrity.decodable": "whole and decodable",
    "integrity.constant_rate": "constant",
    "timecode.valid_labels": "every label exists",
    "timecode.agreement": "all sources agree",
    "cadence.unbroken": "in step throughout",
}
_COUNTS = {
    "streams.pictures": "picture stream",
    "streams.timecode_tracks": "timecode track",
    "structure.acts": "act",
    "audio.channels": "channel",
}


def limit_words(key: str, requirement: Requirement) -> str:
    """The limit of one requirement; ``key`` is its id, such as "loudness.programme". Some have words of their own."""
    if words := getattr(requirement, "words", ""):
        return str(words)
    if isinstance(requirement, Choice | NumberChoice):
        return " or ".join(str(value) for value in requirement.accept) + _CHOICE_UNITS.get(key, "")
    if isinstance(requirement, Count):
        return _count(requirement, _COUNTS.get(key, ""))
    if isinstance(requirement, NumberLimit):
        return number_words(requirement)
    if isinstance(requirement, DurationLimit):
        return duration_words(requirement)
    if isinstance(requirement, TimecodeStart):
        return requirement.at
    if isinstance(requirement, BreakContent):
        luma, peak = _number(requirement.max_luma_percent), _number(requirement.max_peak_dbfs)
        return f"luma at most {luma} % of white, peaks at most {peak} dBFS"
    if isinstance(requirement, ActEnds):
        return f"at most {_number(requirement.max_level_dbfs)} dBFS in the last two frames"
    if isinstance(requirement, SheetAgreement):
        exact = requirement.tolerance.split(" ")[0].strip("0.") == ""
        agreed = "agrees to the frame" if exact else f"agrees within {requirement.tolerance}"
        return f"required, {agreed}" if requirement.required else f"{agreed}, where one is given"
    if isinstance(requirement, Slot):
        return f"{requirement.exact} exactly"
    return _FLAGS.get(key, "required")


def number_words(limit: NumberLimit) -> str:
    """A number with unit: "-24.0 LKFS -4.0 / +1.0", "at most -2.0 dBTP"."""
    decimals = 0 if limit.unit == "frames" else 1
    spread = ""
    if isinstance(limit.tolerance, tuple):
        below, above = limit.tolerance
        spread = f"{_signed(below, decimals)} / {_signed(above, decimals)}"
    elif limit.tolerance is not None:
        spread = f"+/- {_number(limit.tolerance, decimals)}"
    if limit.target is not None:
        return f"{_number(limit.target, decimals)} {limit.unit} {spread}"
    low = None if limit.min is None else _number(limit.min, decimals)
    high = None if limit.max is None else _number(limit.max, decimals)
    unit = "frame" if limit.unit == "frames" and limit.max == 1 else limit.unit
    words = f"{_range(low, high)} {unit}"
    return f"{words}, measured within {spread}" if spread else words


def duration_words(limit: DurationLimit) -> str:
    """A length of time: "00:21:30;00 exactly", "10 s +/- 1 frame", "at most 2 s"."""
    if limit.exact is not None:
        return f"{limit.exact} +/- {limit.tolerance}" if limit.tolerance else f"{limit.exact} exactly"
    return _range(limit.min, limit.max)


def group_words(group: Group) -> str:
    """What one group of channels is: "channels 1, 2, stereo, carries programme, judged"."""
    channels = ", ".join(str(number) for number in group.channels)
    word = "channel" if len(group.channels) == 1 else "channels"
    carries = {"programme": "carries programme", "silence": "must be silent", "anything": "may carry anything"}
    judged = "loudness and peaks judged" if group.judged else "loudness and peaks not judged"
    return f"{word} {channels}, {group.layout}, {carries[group.carries]}, {judged}"


def settings(profile: Profile) -> Iterator[tuple[str, str, str]]:
    """What is no requirement but changes the count: (key, what it says, value in words)."""
    yield "programme.accounting", "TRT is counted", profile.programme.accounting
    yield "programme.eom", "EOM of an act is", profile.programme.eom
    yield "timing_sheet.columns", "Columns of the timing sheet are", ", ".join(profile.timing_sheet.columns)
    yield "black.pixel_percent", "A pixel is black up to", f"{_number(profile.black.pixel_percent)} % of nominal white"
    share = f"{_number(profile.black.picture_percent)} % of its pixels"
    yield "black.picture_percent", "A frame is black from", share
    stray = profile.black.stray_frames
    yield "black.stray_frames", "Black that is no fade is stray up to", f"{stray} frame{'' if stray == 1 else 's'}"
    yield "loudness.anchor", "Loudness is that of", f"the {profile.loudness.anchor}".replace("the dialogue", "dialogue")
    yield "silence.below_dbfs", "Sound is silent under", f"{_number(profile.silence.below_dbfs)} dBFS"


def _count(count: Count, noun: str) -> str:
    def many(number: int | None) -> str:
        return f"{number} {noun}{'' if number == 1 else 's'}" if noun else str(number)

    if count.exact is not None:
        return f"exactly {many(count.exact)}"
    if count.min is not None and count.max is not None:
        return f"{count.min} to {many(count.max)}"
    return f"at least {many(count.min)}" if count.max is None else f"at most {many(count.max)}"


def _range(low: str | None, high: str | None) -> str:
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


def _number(value: float, decimals: int = 1) -> str:
    """At least ``decimals`` digits, more if the value has them; never "-0.0"."""
    if value == 0:
        value = 0.0
    short = f"{value:.{decimals}f}"
    return short if float(short) == value else repr(value)


def _signed(value: float, decimals: int) -> str:
    return f"+{_number(value, decimals)}" if value > 0 else _number(value, decimals)
