"""Findings that people agreed to let through: who, why, until when, and for exactly which file.

A file of waivers is TOML, one table for each:

    [[waiver]]
    outlet = "corvane-5"                         # whose waiver it is, by its code
    finding = "silence.inside_acts"              # id as in the report
    subject = "acts"                             # optional: only this act, channel ...
    span = ["01:03:10;00", "01:03:13;00"]        # optional: only inside this stretch
    file_sha256 = "..."                          # or: file = "name.mxf"
    who = "A. Person, Station"
    why = "designed pause"
    until = 2027-01-31

A waiver lets a failure or an advisory through, never damage (integrity.decodable) nor something that was not measured.
"""

from __future__ import annotations

import datetime
import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from qc.errors import UserError
from qc.judge.catalogue import CHECKS, kind_of
from qc.judge.places import first_of
from qc.judge.verdict import Finding, Outcome, Place, Waiver
from qc.measurement.record import FileIdentity
from qc.remedy.exports import look
from qc.timing.spans import Span
from qc.timing.timecode import Clock, TimecodeError

_LABEL = re.compile(r"\d{2}:\d{2}:\d{2}[:;]\d{2}", re.ASCII)
_HASH = re.compile(r"[0-9a-f]{64}", re.ASCII)
_TEXTS = ("outlet", "finding", "subject", "file", "file_sha256", "who", "why")
_KEYS = (*_TEXTS, "span", "until")
_LARGEST = 1_000_000


class WaiverError(UserError):
    """A file of waivers that cannot be taken as it stands: nothing was waived, nothing was checked.

    problems  what is wrong in it, each with its table and key; without any ``what`` says it
    """

    def __init__(self, what: str, *, where: str, remedy: str = "", problems: Sequence[str] = ()) -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.problems = tuple(problems)

    def __str__(self) -> str:
        if not self.problems:
            return super().__str__()
        return "\n".join([f"{self.where} has {self.what}.", "", *(f"  {problem}" for problem in self.problems)])


@dataclass(frozen=True)
class WaiverRule:
    """One waiver as written. ``origin`` names file and number for a reader."""

    outlet: str
    finding: str
    who: str
    why: str
    until: datetime.date
    origin: str
    subject: str = ""
    file: str = ""
    file_sha256: str = ""
    span: tuple[str, str] | None = None


def read_waivers(path: Path) -> tuple[WaiverRule, ...]:
    """All waivers of a file. Raises WaiverError with every problem, each with its table and key."""
    try:
        with path.open("rb") as stream:
            content = stream.read(_LARGEST + 1)
    except OSError as error:
        raise WaiverError(
            f"the waivers cannot be read: {error.strerror or 'unknown reason'}", where=path.name
        ) from error
    if len(content) > _LARGEST:
        raise WaiverError("over a megabyte is no file of waivers", where=path.name)
    try:
        data = tomllib.loads(content.decode("utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, RecursionError, ValueError) as error:
        raise WaiverError(f"not TOML: {error}", where=path.name, remedy="the README shows a waiver") from error
    problems = [f"{key}: unknown, expected [[waiver]] tables" for key in data if key != "waiver"]
    tables = data.get("waiver", [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise WaiverError("waiver has to be a list of tables, [[waiver]]", where=path.name)
    rules = []
    for count, table in enumerate(tables, 1):
        found = _problems(table)
        problems += [f"[[waiver]] {count}, {text}" for text in found]
        if not found:
            rules.append(_rule(table, f"{path.name}, waiver {count}"))
    if problems:
        number = f"{len(problems)} problem{'' if len(problems) == 1 else 's'}"
        raise WaiverError(f"{number}; nothing was waived and nothing was checked", where=path.name, problems=problems)
    return tuple(rules)


def _problems(table: dict[str, Any]) -> list[str]:
    found = []
    for key in table:
        if key not in _KEYS:
            near = get_close_matches(key, _KEYS, n=1)
            found.append(f"{key}: unknown key" + (f", meant {near[0]}?" if near else f", accepted: {', '.join(_KEYS)}"))
    for key in _TEXTS:
        if key in table and not (isinstance(table[key], str) and table[key].strip()):
            found.append(f"{key}: expected text in quotes")
    found += [f"{key}: missing" for key in ("finding", "who", "why", "until") if key not in table]
    if "outlet" not in table:
        found.append("outlet: missing; a waiver is of one outlet, by its code, such as corvane-5")
    if "file" not in table and "file_sha256" not in table:
        found.append("file_sha256: missing; a waiver is for one file, by file_sha256 or file")
    digest = table.get("file_sha256")
    if isinstance(digest, str) and not _HASH.fullmatch(digest.lower()):
        found.append("file_sha256: expected 64 hexadecimal digits")
    if "until" in table and (
        not isinstance(table["until"], datetime.date) or isinstance(table["until"], datetime.datetime)
    ):
        found.append("until: expected a date without quotes, such as 2027-01-31")
    name = table.get("finding")
    if isinstance(name, str) and name.strip():
        found += _unknown(name)
    if "span" in table:
        span = table["span"]
        if not (
            isinstance(span, list) and len(span) == 2 and all(isinstance(x, str) and _LABEL.fullmatch(x) for x in span)
        ):
            found.append('span: expected two timecodes, such as ["01:03:10;00", "01:03:13;00"]')
    return found


def _unknown(name: str) -> list[str]:
    known = [key for check in CHECKS.values() for key in check.requirements]
    if kind_of(name) in known:
        return []
    near = get_close_matches(name, known, n=1)
    return [f"finding: {name!r} is no finding" + (f", meant {near[0]}?" if near else "")]


def _rule(table: dict[str, Any], origin: str) -> WaiverRule:
    span = table.get("span")
    return WaiverRule(
        outlet=table["outlet"],
        finding=table["finding"],
        who=table["who"],
        why=table["why"],
        until=table["until"],
        origin=origin,
        subject=table.get("subject", ""),
        file=table.get("file", ""),
        file_sha256=table.get("file_sha256", "").lower(),
        span=(span[0], span[1]) if span else None,
    )


def waived(
    finding: Finding,
    rules: Sequence[WaiverRule],
    outlet: str,
    identity: FileIdentity,
    clock: Clock,
    today: datetime.date,
) -> Finding:
    """The finding after all waivers of the outlet of that code: let through, or as it was with a word on those that do
    not apply."""
    if finding.outcome not in (Outcome.FAIL, Outcome.ADVISORY):
        return finding
    about = [rule for rule in rules if rule.outlet == outlet and _is_about(rule, finding)]
    notes, used, left = [], [], list(finding.places)
    whole = False
    for rule in about:
        refused = _refused(rule, identity, today)
        if refused:
            notes.append(f"the waiver of {rule.who} ({rule.origin}) does not apply: {refused}")
            continue
        if rule.span is None:
            used, whole = [rule], True
            break
        inside = _covered(left, rule.span, clock)
        if inside:
            used.append(rule)
            left = [place for place in left if place not in inside]
        else:
            notes.append(f"the waiver of {rule.who} ({rule.origin}) does not apply: nothing found lies inside its span")
    if used and (whole or (not left and not finding.more_places)):
        first = used[0]
        waiver = Waiver(
            who=", ".join(dict.fromkeys(rule.who for rule in used)),
            why="; ".join(dict.fromkeys(rule.why for rule in used)),
            until=min(rule.until for rule in used).isoformat() if len(used) > 1 else first.until.isoformat(),
        )
        return replace(finding, outcome=Outcome.WAIVED, waiver=waiver)
    if used:
        count = len(finding.places) - len(left)
        notes.insert(0, f"{count} of its places waived by {', '.join(dict.fromkeys(rule.who for rule in used))}")
    if not notes:
        return finding
    told = replace(finding, waiver_notes=tuple(notes))
    return _of_the_rest(told, tuple(left)) if used else told


def _of_the_rest(finding: Finding, left: tuple[Place, ...]) -> Finding:
    """Some of its places are let through: value and fix are those of the others."""
    if not left:  # there are more than are listed
        return replace(finding, places=left)
    fix = finding.fix and look(f"See to what is left, at {first_of(left)}.", finding.fix.where)
    values = [place.value for place in finding.places if place.value is not None]
    kept = [place.value for place in left if place.value is not None]
    worst = finding.measured
    if isinstance(worst, str) or not kept or finding.more_places or worst not in (max(values), min(values)):
        return replace(finding, places=left, fix=fix)
    now = max(kept) if worst == max(values) else min(kept)
    margin = None if finding.margin is None or worst is None else finding.margin + abs(worst - now)
    return replace(finding, places=left, fix=fix, measured=now, margin=margin)


def _is_about(rule: WaiverRule, finding: Finding) -> bool:
    named = rule.finding in (finding.requirement, kind_of(finding.requirement))
    return named and rule.subject in ("", finding.subject)


def _refused(rule: WaiverRule, identity: FileIdentity, today: datetime.date) -> str:
    if rule.until < today:
        return f"it ended on {rule.until.isoformat()}"
    if rule.file_sha256 and rule.file_sha256 != (identity.sha256 or ""):
        return "it is for a file with another checksum"
    if rule.file and rule.file != identity.name:
        return "it is for a file of another name"
    return ""


def _covered(places: Sequence[Place], span: tuple[str, str], clock: Clock) -> list[Place]:
    """Places that lie wholly inside a span of labels."""
    if clock.start is None:
        return []
    try:
        first, end = (clock.counting.frame(label) - clock.start for label in span)
    except TimecodeError:
        return []
    if end < first:
        end += clock.counting.frames_per_day
    inside = Span(first, end)
    return [place for place in places if inside.overlap(place.span) == place.span.frames]
