"""The score in words: per file what was found, missed and false, and at the end one row per check."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from qc.demo.layout import layout
from qc.demo.outlet_forms import FORMS
from qc.demo.tally import CheckTally
from qc.demo.truth import FalseAlarm, Score
from qc.demo.version import Expected, Version
from qc.judge.lengths import frames_text
from qc.report import wording
from qc.report.visible import visible

#: Rows of checks: with its heading, the sums and the last words of the demo they fit on a screen of 24 lines.
MOST_ROWS = 14
COLUMNS = 80


def score_text(version: Version, score: Score) -> str:
    lines = [("found", _planted(version, expected)) for expected in score.found]
    lines += [("MISSED", _planted(version, expected)) for expected in score.missed]
    lines += [("FALSE", _alarm(alarm)) for alarm in score.false]
    return "".join(_wrapped(f"          {word:8}", words) for word, words in lines)


def _wrapped(start: str, words: str) -> str:
    lines = textwrap.wrap(words, COLUMNS, initial_indent=start, subsequent_indent=" " * len(start))
    return "".join(f"{line}\n" for line in lines)


def _planted(version: Version, expected: Expected) -> str:
    plan = layout(FORMS[version.outlet], version)
    span = plan.span(expected.at)
    where = f"{plan.clock.at(span.first)}, frame {span.first}, {frames_text(span.frames)}"
    return f"{expected.requirement:24} {where}"


def _alarm(alarm: FalseAlarm) -> str:
    finding = alarm.finding
    words = (
        f"{finding.requirement}, {finding.subject}: {wording.measured(finding)}, limit {wording.limit(finding)} "
        f"({finding.outcome.value}) {finding.remarks}"
    )
    places = [f"{at.timecode}, frame {at.span.first}, {frames_text(at.span.frames)}" for at in alarm.places]
    return visible("; ".join([words.rstrip(), *places]))


def tally_text(rows: Sequence[CheckTally]) -> str:
    """A table of 80 columns at most: checks with something planted or alarmed, what is wrong first; then the sums."""
    shown = sorted((row for row in rows if row.planted or row.false), key=lambda row: row.right)
    lines = ["check                              planted    found   missed    false"]
    lines += [_line(row.check, [row]) for row in shown[:MOST_ROWS]]
    if shown[MOST_ROWS:]:
        lines.append(_line(f"{len(shown) - MOST_ROWS} more", shown[MOST_ROWS:]))
    lines.append(_line("all", rows))
    quiet = len(rows) - len(shown)
    if quiet:
        lines.append(f"{quiet} more check{'s' if quiet > 1 else ''} had nothing planted and raised no alarm.")
    return "".join(f"{line}\n" for line in lines)


def _line(name: str, rows: Sequence[CheckTally]) -> str:
    sums = [sum(getattr(row, part) for row in rows) for part in ("planted", "found", "missed", "false")]
    return f"{name[:32]:33}" + "".join(f"{figure:9}" for figure in sums)
