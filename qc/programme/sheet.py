"""The timing sheet: acts as somebody declares them, with SOM and EOM as labels.

The sheet is read strictly, because traffic schedules breaks from it: a label that does not exist, a row
that runs backwards, acts that overlap are errors, all of them told at once. Whether EOM is the last
frame (inclusive) or the frame after it (exclusive) differs between desks and is stated by the caller.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Literal

from qc.programme.sheet_problems import SheetError, SheetProblem
from qc.programme.sheet_table import LONGEST_CELL, Row, Table, read_table
from qc.timing.timecode import Clock, Counting, TimecodeError

_ACT = re.compile(r"(?:(?:act|part|segment)\s{0,3})?#?\s{0,3}(\d{1,2})\.?", re.ASCII | re.IGNORECASE)
_NOT_A_PART = re.compile(r"(break|black|total|trt|slot|sum|none|programme with breaks)\b.*", re.ASCII | re.IGNORECASE)
_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")


@dataclass(frozen=True)
class SheetRow:
    """One declared stretch.

    number  of the act; None for an element (opening, credits)
    som     label number of the first frame, 0 to a day
    eom     label number of the frame after the last, whichever way the sheet wrote it; over a day's
            frames if the row crosses midnight
    """

    name: str
    number: int | None
    som: int
    eom: int
    line: int

    @property
    def frames(self) -> int:
        return self.eom - self.som


@dataclass(frozen=True)
class TimingSheet:
    """What the sheet says, in frames of its counting."""

    file: str
    encoding: str
    separator: str
    counting: Counting
    eom: Literal["exclusive", "inclusive"]
    acts: tuple[SheetRow, ...]
    elements: tuple[SheetRow, ...]


def read_sheet(
    path: Path, counting: Counting | Clock, eom: Literal["exclusive", "inclusive"] = "exclusive"
) -> TimingSheet:
    """The sheet in a CSV file with columns act, SOM, EOM.

    counting  how its labels count; a Clock stands for its counting
    Rows that are neither act nor element (breaks, totals) are left out if their name says so.
    Raises SheetError with every problem found.
    """
    if eom not in ("exclusive", "inclusive"):
        raise ValueError(f"EOM is exclusive or inclusive, not {eom!r}")
    counting = counting.counting if isinstance(counting, Clock) else counting
    table = read_table(path)
    problems: list[SheetProblem] = []
    rows = [found for row in table.rows if (found := _row(row, table, counting, eom, problems)) is not None]
    problems += _claims(table, eom)
    acts = sorted((row for row in rows if row.number is not None), key=lambda row: (row.number or 0, row.line))
    if not problems:
        problems += _order(acts, counting)
    if problems:
        raise SheetError(path.name, sorted(problems, key=lambda problem: problem.line))
    elements = tuple(row for row in rows if row.number is None)
    return TimingSheet(path.name, table.encoding, table.separator, counting, eom, tuple(acts), elements)


def _row(row: Row, table: Table, counting: Counting, eom: str, problems: list[SheetProblem]) -> SheetRow | None:
    name, kind = row.cells["act"], row.cells.get("kind", "")
    if _NOT_A_PART.fullmatch(kind) or _NOT_A_PART.fullmatch(name):
        return None
    before = len(problems)
    for what, cell in row.cells.items():
        _clean(row.line, table.columns[what], cell, problems)
    if not name:
        problems.append(SheetProblem(row.line, table.columns["act"], "an empty cell", "the act's number or a name"))
    if len(problems) > before:
        return None
    som = _label(row, "som", table, counting, problems)
    end = _label(row, "eom", table, counting, problems)
    if som is None or end is None:
        return None
    end += eom == "inclusive"
    day = counting.frames_per_day
    if end < som and som >= day - day // 24 and end <= day // 24:
        end += day  # the row crosses midnight
    if end <= som:
        found = f"{row.cells['eom']} after a SOM of {row.cells['som']}"
        remedy = "exchange the two" if end < som else f"EOM counts as {eom} here: the row holds no frame"
        problems.append(SheetProblem(row.line, table.columns["eom"], found, "an EOM later than SOM", remedy))
        return None
    match = _ACT.fullmatch(name)
    return SheetRow(name, int(match[1]) if match else None, som, end, row.line)


def _clean(line: int, column: str, cell: str, problems: list[SheetProblem]) -> None:
    if cell.startswith(_FORMULA):
        problems.append(
            SheetProblem(line, column, f"a formula: {cell}", "a plain value", "export values, not formulas")
        )
    elif len(cell) > LONGEST_CELL or any(not char.isprintable() for char in cell):
        problems.append(SheetProblem(line, column, f"junk: {cell}", "one short line of text"))


def _label(row: Row, what: str, table: Table, counting: Counting, problems: list[SheetProblem]) -> int | None:
    text = row.cells[what]
    try:
        return counting.frame(text)
    except TimecodeError as error:
        mark = ";" if counting.drop else ":"
        expected = f"HH:MM:SS{mark}FF, {counting.name}, {counting.base} frames a second"
        found = f"{text} ({error.what})" if text else "an empty cell"
        cut = counting.drop and table.separator == "semicolon" and text.count(":") == 2 and len(text) == 8
        remedy = "put labels that hold a semicolon in quotes" if cut else error.remedy
        problems.append(SheetProblem(row.line, table.columns[what], found, expected, remedy))
        return None


def _claims(table: Table, eom: str) -> list[SheetProblem]:
    """A sheet that states its own way to write EOM must not be read the other way."""
    for row in table.rows:
        said = row.cells.get("eom is", "").lower()
        if said in ("exclusive", "inclusive") and said != eom:
            column, expected = table.columns["eom is"], f"{eom}, as the outlet writes EOM"
            return [SheetProblem(row.line, column, said, expected, "use the sheet that was made for this outlet")]
    return []


def _order(acts: list[SheetRow], counting: Counting) -> list[SheetProblem]:
    """Numbers run from 1 without gaps, times run forward without overlap; a day may end in between."""
    if not acts:
        return [SheetProblem(0, "", "no act", "a row for each act, named 1, 2 ... or act 1, act 2 ...")]
    problems = []
    for wanted, act in enumerate(acts, start=1):
        if act.number != wanted:
            found = f"act {act.number} where act {wanted} should follow"
            problems.append(SheetProblem(act.line, "act", found, "acts numbered from 1, each once"))
            return problems
    day = counting.frames_per_day
    for before, act in pairwise(acts):
        ahead = (act.som - before.eom) % day
        if ahead >= day // 2:
            over = day - ahead
            found = f"SOM {counting.label(act.som)}, {over} frames before the end of act {before.number}"
            problems.append(SheetProblem(act.line, "SOM", found, "acts that follow one another without overlap"))
    return problems
