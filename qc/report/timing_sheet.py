"""The timing sheet as CSV: acts, breaks and totals as measured, in the outlet's own columns and convention.

One table with one kind of row, so that a spreadsheet opens it and a traffic system reads it. The outlet says
which columns it wants; the usual ones state on every row how it was counted, because a sheet without its
convention schedules a break seconds off. Whatever the columns, ``qc check --sheet`` reads it back.
CSV by RFC 4180: CRLF, UTF-8. Text that a spreadsheet would take for a formula gets a leading apostrophe.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Sequence

from qc.judge.timing_form import TimingForm
from qc.judge.verdict import ActRow, BreakRow, ProgrammeTable, Verdict
from qc.outlets.schema import DEFAULT_COLUMNS
from qc.report.sheet_words import folderless
from qc.report.visible import visible

#: Columns where the outlet names none.
COLUMNS = DEFAULT_COLUMNS

#: First characters that start a formula or a command in a spreadsheet, with their full-width forms.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")

#: The same behind a semicolon: many spreadsheets split a row there, whatever it was separated by.
_FORMULA_BEHIND = re.compile("(;[\\s\"']*)(?=[=+\\-@＝＋－＠])")

Cell = str | int
Cells = dict[str, Cell]


def timing_sheet(verdict: Verdict) -> bytes:
    """The sheet of one file for one outlet; without acts it has one row that says why."""
    columns = columns_of(verdict.programme)
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(columns)
    constant = {"file": folderless(verdict.file), "outlet": verdict.profile.name}
    for row in sheet_rows(verdict.programme):
        cells: Cells = {**constant, **row}
        writer.writerow([guarded(cells.get(name, "")) for name in columns])
    return stream.getvalue().encode()


def columns_of(table: ProgrammeTable) -> tuple[str, ...]:
    return table.form.columns if table.form else COLUMNS


def sheet_rows(table: ProgrammeTable) -> Iterator[Cells]:
    """Every row by column name, "file" and "outlet" left out: acts and breaks in order, then the totals.

    With only one of "part" and "act" among the columns that one names the row whole: "act 2", "break 2".
    """
    columns = columns_of(table)
    for row in _rows(table):
        if "act" not in columns and row["part"] == "act":
            yield {**row, "part": f"act {row['act']}"}
        elif "part" not in columns and row["part"] != "act":
            yield {**row, "act": f"break {row['number']}" if row["part"] == "break" else row["part"]}
        elif "act" not in columns and row["part"] == "break":
            yield {**row, "part": f"break {row['number']}"}
        else:
            yield row


def _rows(table: ProgrammeTable) -> Iterator[Cells]:
    how: Cells = {"counting": table.counting, "accounting": table.accounting, "EOM is": table.eom, "act": ""}
    if not table.acts:
        yield {**how, "part": "none", "note": table.note or "no programme structure was found"}
        return
    form = table.form or TimingForm(COLUMNS)
    lengths: Sequence[str] = form.breaks or [row.duration for row in table.breaks]
    breaks = {row.number: _break(row, length) for row, length in zip(table.breaks, lengths, strict=True)}
    for act in table.acts:
        yield {**how, **_act(act)}
        if act.number in breaks:
            yield {**how, **breaks[act.number]}
    for total in form.totals:
        if total.name != "TRT":
            yield {
                **how,
                "part": total.name,
                "duration": total.duration,
                "accounting": total.accounting,
                "frames": total.frames,
                "note": total.note,
            }
    other = f"by the other accounting {table.trt_other_accounting}" if table.trt_other_accounting else ""
    yield {**how, "part": "TRT", "duration": table.trt, "frames": table.trt_frames, "note": other}


def _act(act: ActRow) -> Cells:
    return {
        "part": "act",
        "act": act.number,
        "SOM": act.som,
        "EOM": act.eom,
        "duration": act.duration,
        "frames": act.frames,
        "first frame": act.span.first,
        "last frame": act.span.last,
    }


def _break(row: BreakRow, duration: str) -> Cells:
    return {
        "part": "break",
        "number": row.number,
        "SOM": row.start,
        "EOM": row.eom,
        "duration": duration,
        "frames": row.frames,
        "first frame": row.span.first,
        "last frame": row.span.last,
        "note": f"after act {row.number}",
    }


def guarded(cell: Cell) -> Cell:
    """A cell that no spreadsheet runs; whole numbers of our own pass as they are."""
    if isinstance(cell, int):
        return cell
    dangerous = cell.startswith(_FORMULA)
    text = _FORMULA_BEHIND.sub(r"\1'", visible(cell))
    return f"'{text}" if dangerous or text.startswith(_FORMULA) else text
