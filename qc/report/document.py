"""The JSON document of a run: files, verdicts and, apart from them, the run.

The same files and profiles give the same bytes, except for the block "run". Keys stand in a fixed order,
numbers have three decimals, NaN and infinity cannot occur. Its JSON Schema is shipped beside this file.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping, Sequence
from numbers import Integral, Real
from pathlib import Path
from typing import Any

from qc.judge.mix import OneMix
from qc.judge.verdict import ActRow, BreakRow, Finding, ProgrammeTable, Verdict
from qc.report.facts_document import event_document, facts_document
from qc.report.fix_document import fix_document, place_document
from qc.report.media_file import MediaFile
from qc.report.mix_document import mix_document, one_mix_document
from qc.report.run import RunBlock
from qc.report.visible import encodable
from qc.timing.spans import Span

SCHEMA_NAME = "airworthy-report/1"
SCHEMA_FILE = Path(__file__).parent / "schema" / "airworthy-report-1.json"

#: Decimals of every number that is not whole: a thousandth is finer than any meter here resolves.
DECIMALS = 3


def report_document(
    files: Iterable[MediaFile],
    verdicts: Iterable[Verdict],
    run: RunBlock,
    one_mixes: Mapping[str, OneMix | None] | None = None,
) -> dict[str, Any]:
    """Everything a run found, as plain data.

    one_mixes  by file name, whether one level of the mix serves all outlets
    """
    known = one_mixes or {}
    return {
        "schema": SCHEMA_NAME,
        "files": [file_document(file, known.get(file.name)) for file in files],
        "verdicts": [verdict_document(verdict) for verdict in verdicts],
        "run": run.document(),
    }


def report_json(
    files: Iterable[MediaFile],
    verdicts: Iterable[Verdict],
    run: RunBlock,
    one_mixes: Mapping[str, OneMix | None] | None = None,
) -> bytes:
    """The document as UTF-8, indented, with a newline at its end."""
    return as_json(report_document(files, verdicts, run, one_mixes))


def as_json(document: dict[str, Any]) -> bytes:
    """Raises ValueError for NaN or infinity: that would be a fault of a meter or judge, never data."""
    text = json.dumps(_plain(document), ensure_ascii=False, allow_nan=False, indent=2)
    return (text + "\n").encode()


def file_document(file: MediaFile, one_mix: OneMix | None = None) -> dict[str, Any]:
    return {
        "name": file.name,
        "size": file.size,
        "sha256": file.sha256,
        "complete": file.complete,
        "incomplete_because": file.incomplete_because,
        "facts": facts_document(file.facts) if file.facts else None,
        "figures": file.figures,
        "events": [event_document(event) for event in file.events],
        "one_mix": None if one_mix is None else one_mix_document(one_mix),
    }


def verdict_document(verdict: Verdict) -> dict[str, Any]:
    profile = verdict.profile
    return {
        "file": verdict.file,
        "outlet": profile.name,
        "code": profile.code,
        "profile": {
            "file": profile.file,
            "sha256": profile.sha256,
            "specification": profile.specification,
            "revision": profile.revision,
        },
        "outcome": verdict.outcome.value,
        "measurable": verdict.measurable,
        "findings": [_finding(finding) for finding in verdict.findings],
        "programme": _programme(verdict.programme),
        "mixes": [mix_document(sheet) for sheet in verdict.mixes],
        "not_covered": list(verdict.not_covered),
        "cautions": list(verdict.cautions),
    }


def _finding(finding: Finding) -> dict[str, Any]:
    fix, waiver = finding.fix, finding.waiver
    return {
        "requirement": finding.requirement,
        "check": finding.check,
        "title": finding.title,
        "subject": finding.subject,
        "outcome": finding.outcome.value,
        "level": finding.level,
        "measured": finding.measured,
        "limit": finding.limit,
        "tolerance": finding.tolerance,
        "margin": finding.margin,
        "unit": finding.unit,
        "at_limit": finding.at_limit,
        "span": finding.span,
        "clause": finding.clause,
        "source": finding.source,
        "places": [place_document(place) for place in finding.places],
        "more_places": finding.more_places,
        "reason": finding.remarks,
        "fix": None if fix is None else fix_document(fix),
        "waiver": None if waiver is None else {"who": waiver.who, "why": waiver.why, "until": waiver.until},
    }


def _programme(table: ProgrammeTable) -> dict[str, Any]:
    return {
        "found_by": table.found_by,
        "note": table.note,
        "counting": table.counting,
        "accounting": table.accounting,
        "eom": table.eom,
        "trt": table.trt,
        "trt_frames": table.trt_frames,
        "trt_other_accounting": table.trt_other_accounting,
        "head": _span(table.head),
        "acts": [_act(act) for act in table.acts],
        "breaks": [_break(row) for row in table.breaks],
        "tail": _span(table.tail),
    }


def _act(act: ActRow) -> dict[str, Any]:
    return {
        "number": act.number,
        "som": act.som,
        "eom": act.eom,
        "duration": act.duration,
        "frames": act.frames,
        "first_frame": act.span.first,
        "integrated": act.integrated,
        "max_short_term": act.max_short_term,
        "loudness_range": act.loudness_range,
        "true_peak_dbtp": act.true_peak_dbtp,
    }


def _break(row: BreakRow) -> dict[str, Any]:
    return {
        "number": row.number,
        "start": row.start,
        "duration": row.duration,
        "frames": row.frames,
        "first_frame": row.span.first,
    }


def _span(span: Span) -> dict[str, int]:
    return {"first_frame": span.first, "frames": span.frames}


def _plain(value: Any) -> Any:
    """The same data with rounded floats and text that UTF-8 can hold."""
    if isinstance(value, bool) or value is None:
        return value
    if isinstance(value, Integral):  # an array library's whole numbers among them
        return int(value)
    if isinstance(value, Real):
        return _rounded(float(value))
    if isinstance(value, str):
        return encodable(value)
    if isinstance(value, dict):
        return {encodable(str(name)): _plain(item) for name, item in value.items()}
    if isinstance(value, Sequence):
        return [_plain(item) for item in value]
    raise TypeError(f"{type(value).__name__} cannot stand in a report")


def _rounded(value: float) -> float:
    if not math.isfinite(value):
        raise ValueError("a report cannot hold NaN or infinity")
    return round(value, DECIMALS) + 0.0
