"""A verdict as the outlet may see it: what is not in the record any more cannot stand in its edition.

Out go the fixes and what they do elsewhere, who waived what and why, folders before file names, options and
instructions to the crew, the profile's own file. What was measured, every limit, place and clause, the checksums
and the versions stay as they are.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields, is_dataclass, replace
from typing import Any, TypeVar

from qc.judge.mix import MixSheet
from qc.judge.timeline import Timeline
from qc.judge.verdict import Finding, Verdict, Waiver
from qc.report.media_file import MediaFile
from qc.report.run import RunBlock

_Record = TypeVar("_Record")

#: The folders of an absolute path, of one below ~, . or .., on a drive or a server; a fraction ("30000/1001"),
#: a "+/-", a document ("A/85") and a web address are none.
_FOLDERS = re.compile(
    r"(?:^|(?<=[\s\"'(\[=,;:]))(?<!http:)(?<!https:)(?:file:)?(?:~|\.{1,2}|[A-Za-z]:)?[/\\](?:[^/\\\"'<>|;\n]*[/\\])*"
)

#: First words of a clause that is addressed to the crew.
_TO_THE_CREW = re.compile(
    r"(?:allow|ask|check|connect|convert|copy|correct|deliver|export|give|have|install|leave|listen|look|make|name|put|"
    r"re-?export|re-?flag|re-?wrap|replace|run|set|shorten|take|use|wait|write)\b",
    re.IGNORECASE,
)
_OPTION = re.compile(r"(?<![\w-])--[A-Za-z]")
_CLAUSE_END = re.compile(r"(?<=[;.])\s+")


@dataclass(frozen=True)
class OutletCopy:
    """Everything that the outlet's edition is made from."""

    verdict: Verdict
    file: MediaFile
    run: RunBlock


def outlet_copy(verdict: Verdict, file: MediaFile, run: RunBlock) -> OutletCopy:
    """Copies without anything internal; the originals stay as they are."""
    others = _other_outlets(verdict)
    programme = replace(verdict.programme, note=_neutral(verdict.programme.note, others))
    copy = replace(
        verdict,
        file=_last_part(verdict.file),
        profile=replace(verdict.profile, file=""),
        findings=tuple(_finding(finding, others) for finding in verdict.findings),
        programme=programme,
        not_covered=tuple(line for line in verdict.not_covered if not _names(line, others)),
        cautions=tuple(line for line in verdict.cautions if not _names(line, others)),
        mixes=tuple(_mix(sheet, others) for sheet in verdict.mixes),
        timeline=_timeline(verdict.timeline, others) if verdict.timeline else None,
    )
    own_file = replace(file, name=_last_part(file.name), incomplete_because=_neutral(file.incomplete_because, others))
    return OutletCopy(_without_folders(copy), _without_folders(own_file), _without_folders(replace(run, options={})))


def _other_outlets(verdict: Verdict) -> frozenset[str]:
    """Names and codes of the outlets that the same file was checked for, as far as the fixes name them."""
    consequences = [each for finding in verdict.findings if finding.fix for each in finding.fix.consequences]
    names = {name for each in consequences for name in (each.outlet, each.code)}
    return frozenset(names - {verdict.profile.name, verdict.profile.code, ""})


def _finding(finding: Finding, others: frozenset[str]) -> Finding:
    places = tuple(replace(place, note=_neutral(place.note, others)) for place in finding.places)
    return replace(
        finding,
        reason=_neutral(finding.reason, others),
        places=places,
        fix=None,
        waiver=Waiver("", "", finding.waiver.until) if finding.waiver else None,
        waiver_notes=(),
    )


def _mix(sheet: MixSheet, others: frozenset[str]) -> MixSheet:
    """Figures and limits; what the mixer is to do with them is the crew's own."""
    rows = tuple(replace(row, gain=None, note=_neutral(row.note, others)) for row in sheet.rows)
    return replace(sheet, rows=rows, gain=None, window=None, peaks=(), more_peaks=0, words="")


def _timeline(timeline: Timeline, others: frozenset[str]) -> Timeline:
    no_parts, no_curves = _neutral(timeline.no_parts, others), _neutral(timeline.no_curves, others)
    return replace(timeline, no_parts=no_parts, no_curves=no_curves)


def _neutral(text: str, others: frozenset[str]) -> str:
    """The clauses of a text that state something; those that ask the crew to do something, name an option of
    the tool or another outlet are left out."""
    kept = [
        clause
        for clause in _CLAUSE_END.split(text)
        if not (_TO_THE_CREW.match(clause) or _OPTION.search(clause) or _names(clause, others))
    ]
    return " ".join(kept).rstrip("; ")


def _names(text: str, others: frozenset[str]) -> bool:
    return any(re.search(rf"(?<!\w){re.escape(name)}(?!\w)", text) for name in others)


def _last_part(name: str) -> str:
    """A file's name alone; files of one name from two folders are told apart by folders inside the house only."""
    return re.split(r"[/\\]", name)[-1] or name


def _without_folders(record: _Record) -> _Record:
    """The record with every text in it, however deep, free of folders."""
    changed: Any = record
    if isinstance(record, str):
        changed = _FOLDERS.sub("", str(record)) if type(record) is str else record
    elif isinstance(record, tuple):
        changed = tuple(_without_folders(item) for item in record)
    elif isinstance(record, dict):
        changed = {key: _without_folders(value) for key, value in record.items()}
    elif is_dataclass(record) and not isinstance(record, type):
        values = {field.name: getattr(record, field.name) for field in fields(record) if field.init}
        new = {name: _without_folders(value) for name, value in values.items()}
        if any(new[name] is not values[name] for name in new):
            changed = replace(record, **new)
    return changed
