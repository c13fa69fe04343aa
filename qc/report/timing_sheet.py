"""The timing sheet as CSV: acts, breaks and TRT as measured, in the outlet's own convention.

One table with one kind of row, so that a spreadsheet opens it and a traffic system reads it. Every row states
how it was counted, because a sheet without its convention schedules a break seconds off.
CSV by RFC 4180: CRLF, UTF-8. Text that a spreadsheet would take for a formula gets a leading apostrophe.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from qc.judge.verdict import Verdict
from qc.report.visible import visible

COLUMNS = (
    "part",
    "act",
    "SOM",
    "EOM",
    "duration",
    "frames",
    "first frame",
    "counting",
    "accounting",
    "EOM is",
    "file",
    "outlet",
    "note",
)

#: First characters that start a formula or a command in a spreadsheet, with their full-width forms.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")

Cell = str | int


def timing_sheet(verdict: Verdict) -> bytes:
    """The sheet of one file for one outlet; without acts it has one row that says why."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in _rows(verdict):
        writer.writerow([guarded(cell) for cell in row])
    return stream.getvalue().encode()


def _rows(verdict: Verdict) -> Iterator[list[Cell]]:
    table = verdict.programme
    how: list[Cell] = [table.counting, table.accounting, table.eom, verdict.file, verdict.profile.name]
    if not table.acts:
        note = table.note or "no programme structure was found"
        yield ["none", "", "", "", "", "", "", *how, note]
        return
    breaks = {row.number: row for row in table.breaks}
    for act in table.acts:
        yield ["act", act.number, act.som, act.eom, act.duration, act.frames, act.span.first, *how, ""]
        gap = breaks.get(act.number)
        if gap:
            yield [
                "break",
                "",
                gap.start,
                "",
                gap.duration,
                gap.frames,
                gap.span.first,
                *how,
                f"after act {act.number}",
            ]
    other = f"by the other accounting {table.trt_other_accounting}" if table.trt_other_accounting else ""
    yield ["TRT", "", "", "", table.trt, table.trt_frames, "", *how, other]


def guarded(cell: Cell) -> Cell:
    """A cell that no spreadsheet runs; whole numbers of our own pass as they are."""
    if isinstance(cell, int):
        return cell
    dangerous = cell.startswith(_FORMULA)
    text = visible(cell)
    return f"'{text}" if dangerous or text.startswith(_FORMULA) else text
