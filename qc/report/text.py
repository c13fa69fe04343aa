"""A verdict for the terminal: outcome, what is wrong and where, what to do. 80 columns.

Plain text unless colour is asked for; colour only underlines what the words already say. Foreign text
cannot reach the terminal as an escape sequence.
"""

from __future__ import annotations

import textwrap
import unicodedata
from collections.abc import Iterable, Sequence

from qc.judge.catalogue import CAUTIONS
from qc.judge.mix import OneMix
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.report import wording
from qc.report.gravity import gravest_first
from qc.report.tally import tally
from qc.report.visible import visible

WIDTH = 80
_INDENT = "  "
_BRIEF = " " * 4
_BODY = " " * 8

#: What the cautions of every verdict come to (qc.judge.catalogue.CAUTIONS).
IN_SHORT = (
    "Flashing is screened only, no certified test: use the one that your station requires. Captions are not checked. "
    "Nothing here is a statement about any law; the station's own specification counts. In full in every report."
)

#: Places named for one finding.
MOST_PLACES = 2

_SGR = {
    Outcome.FAIL: "1;31",
    Outcome.NOT_MEASURED: "1;35",
    Outcome.ADVISORY: "33",
    Outcome.WAIVED: "36",
    Outcome.PASS: "32",
}


def verdict_text(verdict: Verdict, *, colour: bool = False) -> str:
    """The summary of one verdict; passes are only counted. Ends with a newline."""
    word = _painted(wording.WORDS[verdict.outcome], verdict.outcome, colour)
    lines = [f"{word}  {visible(verdict.profile.name, 60)}", *_wrapped(visible(verdict.file), _INDENT)]
    lines += _wrapped(wording.headline(verdict), _INDENT)
    lines += _wrapped(f"{wording.counted(verdict)}.", _INDENT)
    for outcome in wording.ORDER:
        if outcome == Outcome.PASS:
            continue
        for group in _alike(verdict.of(outcome)):
            lines += ["", *(_finding(group[0], colour) if len(group) == 1 else _unmeasured(group, colour))]
    table = verdict.programme
    if table.acts:
        acts = "1 act" if len(table.acts) == 1 else f"{len(table.acts)} acts"
        how = f"{visible(table.counting)}, {visible(table.accounting)}"
        trt = f"TRT {visible(table.trt)} ({wording.frames(table.trt_frames)}; {how}); {acts}."
        lines += ["", *_wrapped(trt, _INDENT)]
    elif table.note:
        lines += ["", *_wrapped(f"No acts: {visible(table.note)}.", _INDENT)]
    if verdict.not_covered:
        count = len(verdict.not_covered)
        lines += _wrapped(
            f"{count} {'thing' if count == 1 else 'things'} this outlet asks for "
            f"{'is' if count == 1 else 'are'} not checked here; the report lists them.",
            _INDENT,
        )
    return "\n".join(lines) + "\n"


def overview_text(verdicts: Sequence[Verdict], *, colour: bool = False) -> str:
    """One line per file and outlet, for the end of a run; "" for fewer than two verdicts."""
    if len(verdicts) < 2:
        return ""
    several = len({verdict.file for verdict in verdicts}) > 1
    lines = _wrapped(f"{len(verdicts)} verdicts: {tally(verdicts)}.", "")
    width = max(len(wording.WORDS[verdict.outcome]) for verdict in verdicts)
    before = None
    for verdict in verdicts:
        if several and verdict.file != before:
            lines.append(_cut(visible(verdict.file, 2 * WIDTH), WIDTH))
            before = verdict.file
        word = wording.WORDS[verdict.outcome].ljust(width)
        row = f"{visible(verdict.profile.name, 20):<20}  {_first_words(verdict)}".rstrip()
        lines.append(f"{_INDENT}{_painted(word, verdict.outcome, colour)}  {_cut(row, WIDTH - width - 4)}")
    return "\n".join(lines) + "\n"


def one_mix_text(mix: OneMix | None) -> str:
    """Whether one level of a file's mix serves all its outlets; "" where that is no question."""
    return "\n".join(_wrapped(f"One mix for all: {visible(mix.sentence, 2000)}", _INDENT)) + "\n" if mix else ""


def cautions_text(verdicts: Iterable[Verdict]) -> str:
    """Every caution once, however many verdicts carry it; for the end of a run. "" if there is none.

    Those that every verdict carries are one paragraph here; the reports have them in full.
    """
    carried = dict.fromkeys(caution for verdict in verdicts for caution in verdict.cautions)
    standing = [IN_SHORT] if carried.keys() & set(CAUTIONS) else []
    cautions = [*standing, *(caution for caution in carried if caution not in CAUTIONS)]
    lines = [line for caution in cautions for line in _wrapped(f"Caution: {visible(caution)}", "", _INDENT)]
    return "\n".join(lines) + "\n" if lines else ""


def header_text(findings: Iterable[Finding], *, colour: bool = False) -> str:
    """Findings that the headers alone gave, a line each: the verdict after the long pass has the rest.

    "" if none needs a reader.
    """
    seen = [finding for finding in findings if finding.outcome != Outcome.PASS]
    seen.sort(key=lambda finding: wording.ORDER.index(finding.outcome))
    lines = [line for finding in seen for line in _in_brief(finding, colour)]
    return "\n".join(lines) + "\n" if lines else ""


def _in_brief(finding: Finding, colour: bool) -> list[str]:
    word = wording.WORDS[finding.outcome]
    unmeasured = finding.outcome == Outcome.NOT_MEASURED
    said = visible(finding.reason) if unmeasured else f"{wording.measured(finding)}, limit {wording.limit(finding)}"
    lines = _wrapped(f"{word}  {wording.title(finding)}: {said}", _BRIEF, _BODY)
    if colour:
        lines[0] = lines[0].replace(word, _painted(word, finding.outcome, True), 1)
    return lines


def _finding(finding: Finding, colour: bool) -> list[str]:
    word = wording.WORDS[finding.outcome]
    head = f"{word}  {wording.title(finding)}"
    if finding.outcome != Outcome.NOT_MEASURED:
        head += f": {wording.measured(finding)}"
    if finding.margin is not None:
        head += f", {wording.margin(finding)}"
    lines = _wrapped(head + (", at the limit" if finding.at_limit else ""), _INDENT, _BODY)
    if colour:
        lines[0] = lines[0].replace(word, _painted(word, finding.outcome, True), 1)
    clause = f" ({visible(finding.clause)})" if finding.clause else ""
    if finding.limit or clause:
        lines += _wrapped(f"limit {wording.limit(finding)}{clause}", _BODY)
    if finding.remarks:
        lines += _wrapped(visible(finding.remarks), _BODY)
    for place in finding.places[:MOST_PLACES]:
        lines += _wrapped(f"at {wording.place_short(place)}", _BODY, _BODY + "   ")
    more = len(finding.places[MOST_PLACES:]) + finding.more_places
    if more:
        lines.append(f"{_BODY}and {more} more")
    if finding.waiver:
        lines += _wrapped(wording.waiver_words(finding), _BODY)
    if finding.fix:
        lines += _wrapped(f"-> {visible(finding.fix.sentence)}", _BODY, _BODY + "   ")
    return lines


def _alike(findings: Iterable[Finding]) -> list[list[Finding]]:
    """Findings that were not measured for the same reason and at the same level, together; each other one alone."""
    groups: dict[object, list[Finding]] = {}
    for number, finding in enumerate(findings):
        missing = finding.outcome == Outcome.NOT_MEASURED
        groups.setdefault((finding.remarks, finding.level) if missing else number, []).append(finding)
    return list(groups.values())


def _unmeasured(group: list[Finding], colour: bool) -> list[str]:
    word = wording.WORDS[Outcome.NOT_MEASURED]
    level = "" if group[0].level == "must" else f" ({visible(group[0].level)})"
    head = f"{word}  {len(group)} requirements{level}: {visible(group[0].reason) or 'no reason recorded'}"
    lines = _wrapped(head, _INDENT, _BODY)
    if colour:
        lines[0] = lines[0].replace(word, _painted(word, Outcome.NOT_MEASURED, True), 1)
    return lines + _wrapped("; ".join(wording.title(finding) for finding in group), _BODY)


def _first_words(verdict: Verdict) -> str:
    """What matters most of a verdict in a few words."""
    first = next(iter(gravest_first(verdict.findings)), None) or next(iter(verdict.of(Outcome.WAIVED)), None)
    if first is None:
        return ""
    words, alike = wording.title(first), len(verdict.of(first.outcome)) - 1
    if first.outcome == Outcome.FAIL and wording.margin(first):
        words += f" {wording.margin(first)}"
    return words + (f" (+{alike} {first.outcome.value})" if alike else "")


def _wrapped(text: str, first: str, later: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if later is None else later)


def _cut(text: str, room: int) -> str:
    """The text in at most ``room`` columns."""
    if _columns(text) <= room:
        return text
    while _columns(text) > room - 3:
        text = text[:-1]
    return f"{text}..."


def _columns(text: str) -> int:
    """Columns on a terminal: wide East Asian characters take two, combining marks none."""
    return sum(
        0 if unicodedata.combining(character) else 2 if unicodedata.east_asian_width(character) in "WF" else 1
        for character in text
    )


def _painted(word: str, outcome: Outcome, colour: bool) -> str:
    return f"\x1b[{_SGR[outcome]}m{word}\x1b[0m" if colour else word
