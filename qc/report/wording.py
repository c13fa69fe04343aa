"""Figures and places as words, the same in every report that a person reads.

Everything here formats a field of a finding; nothing is judged.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.report.visible import sentence, visible

#: The word for an outcome, and a letter so that it never depends on a colour.
WORDS = {
    Outcome.PASS: "PASS",
    Outcome.FAIL: "FAIL",
    Outcome.ADVISORY: "ADVISORY",
    Outcome.NOT_MEASURED: "NOT MEASURED",
    Outcome.WAIVED: "WAIVED",
}
LETTERS = {outcome: word[0] for outcome, word in WORDS.items()}

#: Most serious first: the order of groups in every report.
ORDER = (Outcome.FAIL, Outcome.NOT_MEASURED, Outcome.ADVISORY, Outcome.WAIVED, Outcome.PASS)

ROUNDING_RULE = (
    "Loudness and peak are judged on the value rounded to 0.1, the resolution of a meter, and shown with two "
    "decimals. A value is marked 'at the limit' when it lies within 0.05 of the limit before rounding. "
    "Frames are whole numbers and are judged exactly. Files for machines give numbers with three decimals."
)

#: The difference between two levels has a unit of its own (EBU Tech 3341: relative values in LU).
_DIFFERENCE_UNITS = {"LKFS": "LU", "LUFS": "LU", "dBTP": "dB", "dBFS": "dB"}


#: Units that a meter reads; they keep their two decimals. Others are counts where they are whole.
_METERED_UNITS = {"LKFS", "LUFS", "LU", "dBTP", "dBFS", "dB", "Mb/s", "%"}


#: Units that are counted: how they read beside a single one.
_ONE = {
    "frames": "frame",
    "streams": "stream",
    "tracks": "track",
    "channels": "channel",
    "acts": "act",
    "pixels": "pixel",
    "lines": "line",
    "changes": "change",
}


def number(value: float | int, unit: str = "") -> str:
    """A number with its unit: whole numbers as they are, others with two decimals."""
    if isinstance(value, bool):
        text = "yes" if value else "no"
    elif isinstance(value, int) or (value == int(value) and unit not in _METERED_UNITS):
        text = str(int(value))
    else:
        text = f"{value + 0.0:.2f}"
        text = "0.00" if text == "-0.00" else text
    if text in ("1", "-1"):
        unit = _ONE.get(unit, unit)
    return f"{text} {visible(unit)}" if unit else text


def measured(finding: Finding) -> str:
    """What was measured, with unit; the words "not measured" if nothing was."""
    if finding.measured is None:
        return "not measured"
    if isinstance(finding.measured, str):
        text = visible(finding.measured)
        return _with_unit(text, finding.unit) if _FIGURE.fullmatch(text) else text
    return number(finding.measured, finding.unit)


#: A number that stands for itself in words: "25", "30000/1001".
_FIGURE = re.compile(r"\d+(\.\d+|/\d+)?")


def _with_unit(text: str, unit: str) -> str:
    """The unit behind words that end in a number: "at most 1 frame", "8 or 10 bit"."""
    *_, last = text.split()
    unit = visible(_ONE.get(unit, unit) if last == "1" else unit)
    return f"{text} {unit}".strip()


def margin(finding: Finding) -> str:
    """How far inside or outside the limit, "" if that is not a number."""
    if finding.margin is None:
        return ""
    size = number(abs(finding.margin), _DIFFERENCE_UNITS.get(finding.unit, finding.unit))
    if float(finding.margin) == 0:
        return "on the limit"
    return f"{size} {'inside' if finding.margin > 0 else 'outside'}"


def limit(finding: Finding) -> str:
    """The limit in words, with the unit of the finding where it is a bare number."""
    text = visible(finding.limit)
    if text and _FIGURE.fullmatch(text.split()[-1]) and finding.unit not in text.split():
        text = _with_unit(text, finding.unit)
    return text or "not given"


def frames(span_frames: int) -> str:
    return "1 frame" if span_frames == 1 else f"{span_frames} frames"


def _has_timecode(place: Place) -> bool:
    """A file without timecode names its places by elapsed time alone."""
    return place.timecode != place.offset


def place_range(place: Place) -> str:
    """First label to the label after the last, or the one label of a single frame; says so if it is no timecode."""
    kind = "" if _has_timecode(place) else "elapsed "
    if place.span.frames <= 1 or place.until == place.timecode:
        return kind + visible(place.timecode)
    return f"{kind}{visible(place.timecode)} to {visible(place.until)}"


def place_details(place: Place, unit: str) -> tuple[str, ...]:
    """The rest of a place: frame, offset, act-relative time, channel, worst value, note; no figure twice."""
    length = frames(place.span.frames)
    details = [f"frame {place.span.first}"]
    if place.span.frames > 1 and not _says(place.note, length):
        details.append(length)
    if _has_timecode(place):
        details.append(f"{visible(place.offset)} from the first frame")
    if place.within:
        details.append(visible(place.within))
    if place.channel is not None:
        details.append(f"channel {place.channel}")
    if place.value is not None:
        value = number(place.value, unit)
        told = value == length or any(_says(place.note, words) for words in (value, *_shorter(place.value, unit)))
        details += [] if told else [value]
    if place.note:
        details.append(visible(place.note))
    return tuple(details)


def _says(note: str, figure: str) -> bool:
    return re.search(rf"(?<![\d.,:-]){re.escape(figure)}(?!\w)", note) is not None


def _shorter(value: float, unit: str) -> tuple[str, ...]:
    """How a note may write a value with fewer decimals, if that is all of it: "8.0 %", "55 %"."""
    return tuple(f"{value:.{places}f} {unit}" for places in (0, 1) if unit and round(value, places) == value)


def place_short(place: Place) -> str:
    """A place in a few words for a terminal: label, frame, act-relative time, channel."""
    words = [f"{place_range(place)} (frame {place.span.first})"]
    words += [visible(place.within)] if place.within else []
    words += [f"channel {place.channel}"] if place.channel is not None else []
    words += [visible(place.note)] if place.note else []
    return ", ".join(words)


def title(finding: Finding) -> str:
    """Title and subject, "True peak, act 2"; the subject is left out where the title names it or it is the file."""
    name, subject = visible(finding.title), visible(finding.subject)
    if not subject or subject == "file" or subject.casefold().removesuffix("s") in name.casefold():
        return name
    return f"{name}, {subject}"


def after(figures: dict[str, float], unit: str = "") -> str:
    """Figures after a fix: "true peak -2.40 dBTP, integrated -23.00 LUFS".

    unit  of the finding; a loudness that names no unit of its own has it
    """
    return ", ".join(_after_one(name, value, unit) for name, value in sorted(figures.items()))


_NAMED_UNITS = {
    "dbtp": "dBTP",
    "dbfs": "dBFS",
    "lufs": "LUFS",
    "lkfs": "LKFS",
    "lu": "LU",
    "db": "dB",
    "frames": "frames",
}


def _after_one(name: str, value: float, of_finding: str) -> str:
    words, _, last = name.rpartition("_")
    unit = _NAMED_UNITS.get(last.lower(), "")
    if name == "integrated":
        words, unit = name, of_finding if of_finding in {"LUFS", "LKFS"} else "LUFS"
    plain = visible(words if unit else name).replace("_", " ")
    shown = {"trt": "TRT", "lra": "LRA"}.get(plain, plain)
    figure = number(int(value) if unit == "frames" else float(value), unit)
    return f"{shown} {figure}".strip()


def counts(findings: Iterable[Finding]) -> tuple[tuple[Outcome, int], ...]:
    """How many findings of each outcome, most serious first; outcomes without any are left out."""
    listed = list(findings)
    tally = [(outcome, sum(finding.outcome == outcome for finding in listed)) for outcome in ORDER]
    return tuple((outcome, count) for outcome, count in tally if count)


def counted(verdict: Verdict) -> str:
    """One line: "2 fail, 1 not measured, 21 pass"."""
    parts = [f"{count} {outcome.value}" for outcome, count in counts(verdict.findings)]
    return ", ".join(parts) or "nothing was judged"


def headline(verdict: Verdict) -> str:
    """The outcome in one plain sentence."""
    failed = len(verdict.of(Outcome.FAIL))
    missing = verdict.of(Outcome.NOT_MEASURED)
    musts = sum(finding.level == "must" for finding in missing)
    if verdict.outcome == Outcome.NOT_MEASURED:
        return f"Not judged. {sentence(missing[0].reason)}"
    if verdict.outcome == Outcome.FAIL:
        reasons = []
        if failed:
            reasons.append(f"{_requirements(failed)} {'is' if failed == 1 else 'are'} not met")
        if musts:
            reasons.append(f"{_requirements(musts)} could not be measured")
        because = " and ".join(reasons) or "the file could not be measured"
        return f"{'Not deliverable as it is' if failed else 'Cannot be called deliverable'}: {because}."
    met = "is met or waived" if verdict.of(Outcome.WAIVED) else "is met"
    if verdict.outcome == Outcome.ADVISORY:
        return f"Every must {met}; a person has to look at what is listed before the file is sent."
    if missing:
        return f"Every must was measured and {met}; {_requirements(len(missing))} could not be measured."
    return f"Every requirement that this profile states was measured and {met}."


def _requirements(count: int) -> str:
    return "1 requirement" if count == 1 else f"{count} requirements"


def waiver_words(finding: Finding) -> str:
    if finding.waiver is None:
        return ""
    waiver = finding.waiver
    return f"Waived by {visible(waiver.who)} until {visible(waiver.until)}: {visible(waiver.why)}"
