"""A CSV file from any desk, as rows of named cells: encoding, separator and header names are found out.

Encodings: UTF-8 and UTF-16 with or without byte order mark, else Latin-1; which one was taken is
stated. Separators: comma, semicolon, tab. Nothing is executed, nothing is guessed from a cell.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from pathlib import Path

from qc.programme.sheet_problems import SheetError, SheetProblem

LARGEST = 1_000_000  # bytes; a timing sheet is under 10 KB
MOST_ROWS = 500
LONGEST_CELL = 200  # characters

#: Header names without case, blanks and signs -> what the column is (common practice, no source).
NAMES = {
    "act": ("act", "acts", "actno", "actnumber", "segment", "segmentno", "element", "name", "item"),
    "som": ("som", "start", "tcin", "in", "timecodein", "startofmessage", "intc"),
    "eom": ("eom", "end", "tcout", "out", "timecodeout", "endofmessage", "outtc"),
    "kind": ("part", "kind", "type"),
    "eom is": ("eomis",),
}
SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}


@dataclass(frozen=True)
class Row:
    """One row: cells by what they are, and the line it ends on."""

    line: int
    cells: dict[str, str]


@dataclass(frozen=True)
class Table:
    """The rows below the header.

    columns  what a column is -> its name in this file
    """

    encoding: str
    separator: str
    columns: dict[str, str]
    rows: tuple[Row, ...]


def read_table(path: Path) -> Table:
    """Raises SheetError if the file cannot be read or is no table with act (or part), SOM and EOM."""
    name = path.name
    text, encoding = _text(name, _bytes(path))
    header_line, separator, columns = _header(name, text)
    rows: list[Row] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    try:
        for cells in reader:
            if reader.line_num <= header_line or not any(cell.strip() for cell in cells):
                continue
            if len(rows) >= MOST_ROWS:
                raise _error(name, reader.line_num, "", f"more than {MOST_ROWS} rows", "the acts of one programme")
            named = {what: cells[place].strip() if place < len(cells) else "" for what, (place, _) in columns.items()}
            rows.append(Row(reader.line_num, named))
    except csv.Error as error:
        raise _error(name, reader.line_num, "", f"a broken row ({error})", "cells, quoted as CSV quotes") from error
    return Table(encoding, SEPARATORS[separator], {what: shown for what, (_, shown) in columns.items()}, tuple(rows))


def _bytes(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise _error(path.name, 0, "", "no such file" if not path.exists() else "not a regular file", "a CSV file")
        with path.open("rb") as file:
            data = file.read(LARGEST + 1)
    except (OSError, ValueError) as error:
        reason = (getattr(error, "strerror", None) or "the name cannot be used").lower()
        raise _error(path.name, 0, "", f"a file that cannot be read: {reason}", "a CSV file") from error
    if len(data) > LARGEST:
        raise _error(path.name, 0, "", f"more than {LARGEST} bytes", "a timing sheet of a few kilobytes")
    if not data.strip():
        raise _error(path.name, 0, "", "an empty file", "a CSV file with act, SOM and EOM")
    return data


def _text(name: str, data: bytes) -> tuple[str, str]:
    """The text and the encoding taken."""
    text, encoding = None, ""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        text, encoding = _decoded(data, "utf-16"), "UTF-16"
    elif data[:200].count(0) * 3 > len(data[:200]):
        little = data[1:200:2].count(0) >= data[0:200:2].count(0)
        text, encoding = _decoded(data, "utf-16-le" if little else "utf-16-be"), "UTF-16"
    else:
        text, encoding = _decoded(data, "utf-8-sig"), "UTF-8"
        if text is None:
            text, encoding = data.decode("latin-1"), "Latin-1"
    if text is None or any(ord(char) < 32 and char not in "\t\r\n" for char in text):
        raise _error(name, 0, "", "bytes that are no text", "a CSV file", "export the sheet as CSV, not as a workbook")
    return text, encoding


def _decoded(data: bytes, codec: str) -> str | None:
    try:
        return data.decode(codec)
    except UnicodeDecodeError:
        return None


def _header(name: str, text: str) -> tuple[int, str, dict[str, tuple[int, str]]]:
    """(line, separator, {what: (place, name here)}) of the first line that names SOM and EOM.

    A title may stand above it, a few lines at most.
    """
    seen: list[str] = []
    for number, line in enumerate(io.StringIO(text, newline="").readlines()[:10], start=1):
        for separator in sorted(SEPARATORS, key=line.count, reverse=True):
            try:
                cells = next(csv.reader([line], delimiter=separator), [])
            except csv.Error as error:
                raise _error(name, number, "", f"a broken row ({error})", "cells, quoted as CSV quotes") from error
            columns, twice = _columns(cells)
            if twice:
                raise _error(name, number, twice, "two columns for the same thing", "one column each")
            if "som" in columns and "eom" in columns:
                if "act" not in columns and "kind" not in columns:
                    raise _error(name, number, "", "no column that names the act", "columns act, SOM, EOM")
                if "act" not in columns:
                    columns["act"] = columns.pop("kind")
                return number, separator, columns
        seen.append(line.strip())
    first = next((line for line in seen if line), "")
    raise _error(
        name, 1, "", first or "no text", "a header with act, SOM and EOM, separated by comma, semicolon or tab"
    )


def _columns(cells: list[str]) -> tuple[dict[str, tuple[int, str]], str]:
    found: dict[str, tuple[int, str]] = {}
    for place, cell in enumerate(cells):
        bare = re.sub(r"[^a-z0-9]", "", cell.lower())
        what = next((what for what, names in NAMES.items() if bare in names), None)
        if what and what in found:
            return found, cell.strip()
        if what:
            found[what] = (place, cell.strip())
    return found, ""


def _error(name: str, line: int, column: str, found: str, expected: str, remedy: str = "") -> SheetError:
    return SheetError(name, [SheetProblem(line, column, found, expected, remedy)])
