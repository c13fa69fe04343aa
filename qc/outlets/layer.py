"""One profile file as it stands, before bases are merged in: values, lines, and what cannot be read."""

from __future__ import annotations

import hashlib
import re
import stat
import tomllib
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

from qc.outlets.problems import Problem
from qc.outlets.where import Path as KeyPath
from qc.outlets.where import key_lines

LARGEST_BYTES = 65_536
LONGEST_LINE = 1_000
_MOST_SYNTAX_PROBLEMS = 20

_PLACE = re.compile(r"^(?P<what>.*?) \(at (?:line (?P<line>\d+), column \d+|end of document)\)$", re.DOTALL)
_ASSIGNED = re.compile(r"^\s*(?P<key>[^=\s]+)\s*=\s*(?P<value>.*?)\s*(?:#.*)?$")
_COMMA = re.compile(r"[-+]?\d+,\d+")
_NUMBER_WITH_UNIT = re.compile(r"[-+]?\d+(?:\.\d+)?\s*(?:dB|dBTP|dBFS|LU|LUFS|LKFS|Mb/s|%)")
_TIME = re.compile(r"\d+:\d+.*|\d+(?:\.\d+)?\s*(?:frames?|s|ms)")
_HEADER = re.compile(r"^\s*\[+\s*(?P<name>[^\]]+?)\s*\]+")


@dataclass(frozen=True)
class Layer:
    """One file.

    label    how it is named to the user
    data     shared between runs of the same text: never changed
    spoilt   tables with a line that could not be read; nothing more is said of them
    """

    label: str
    path: Path
    data: dict[str, Any]
    lines: dict[KeyPath, int]
    sha256: str
    problems: tuple[Problem, ...] = ()
    spoilt: frozenset[str] = field(default_factory=frozenset)

    def line(self, path: KeyPath) -> int | None:
        """Line of a key, or of the nearest table around it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.lines:
                return self.lines[path[:length]]
        return None


def read_layer(path: Path, label: str) -> Layer:
    """Read one file; whatever is wrong with it is in ``problems``, nothing is raised."""

    def refused(found: str, expected: str, data: bytes = b"") -> Layer:
        problem = Problem(label, None, "", "the whole file", found, expected)
        return Layer(label, path, {}, {}, hashlib.sha256(data).hexdigest(), (problem,))

    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return refused("a folder, device or pipe", "a plain text file that ends in .toml")
        with path.open("rb") as stream:
            content = stream.read(LARGEST_BYTES + 1)
    except OSError as error:
        return refused(
            f"a file that cannot be read ({(error.strerror or 'unknown reason').lower()})", "a readable file"
        )
    if len(content) > LARGEST_BYTES:
        return refused(f"more than {LARGEST_BYTES} bytes", "a profile: a few pages of text")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        return refused(
            f"byte 0x{content[error.start]:02x} on line {line}, which is not UTF-8", "text saved as UTF-8", content
        )
    long = next((number for number, row in enumerate(text.split("\n"), 1) if len(row) > LONGEST_LINE), None)
    if long:
        return refused(f"line {long} has more than {LONGEST_LINE} characters", "shorter lines", content)
    text = text.replace("\r\n", "\n")
    data, lines, problems, spoilt = _understood(text, label)
    return Layer(label, path, data, lines, hashlib.sha256(content).hexdigest(), problems, spoilt)


@lru_cache(maxsize=64)
def _understood(
    text: str, label: str
) -> tuple[dict[str, Any], dict[KeyPath, int], tuple[Problem, ...], frozenset[str]]:
    """Values, lines and problems of a text; the bases that many outlets share are read once a run."""
    data, problems, spoilt = _parse(text, label)
    return data, key_lines(text), tuple(problems), frozenset(spoilt)


def _parse(text: str, label: str) -> tuple[dict[str, Any], list[Problem], set[str]]:
    """Values, and a problem for each line that cannot be read: such a line is set aside, the rest read on."""
    rows = text.split("\n")
    problems: list[Problem] = []
    spoilt: set[str] = set()
    while True:
        try:
            return tomllib.loads("\n".join(rows)), problems, spoilt
        except RecursionError:
            problem = Problem(label, None, "", "the whole file", "lists or tables nested too deep", "plain tables")
            return {}, [*problems, problem], spoilt
        except ValueError as error:  # TOMLDecodeError, or a number of too many digits
            match = _PLACE.match(str(error))
            what = match["what"] if match else str(error)
            line = int(match["line"]) if match and match["line"] else _last_line(rows)
            # the parser may point past the line end, at the start of the next line
            section = _section(rows, line)
            problems.append(_syntax_problem(rows, line, section, what, label))
            header = rows[line - 1].lstrip().startswith("[")
            if header or len(problems) >= _MOST_SYNTAX_PROBLEMS or not rows[line - 1].strip():
                return {}, problems, spoilt
            spoilt.add(section)
            rows[line - 1] = ""


def _last_line(rows: list[str]) -> int:
    return next((number for number in range(len(rows), 0, -1) if rows[number - 1].strip()), 1)


def _section(rows: list[str], line: int) -> str:
    for row in reversed(rows[:line]):
        if header := _HEADER.match(row):
            return header["name"]
    return ""


def _syntax_problem(rows: list[str], line: int, section: str, what: str, label: str) -> Problem:
    row = rows[line - 1]
    assigned = _ASSIGNED.match(row)
    if row.lstrip().startswith("["):
        name = _HEADER.match(row)
        if name and ("twice" in what or "overwrite" in what or "mutate" in what):
            first = next((n for n, other in enumerate(rows, 1) if _same_header(other, name["name"])), line)
            return Problem(
                label, line, name["name"], "", f"the table again; it stands on line {first}", "each table once"
            )
        return Problem(label, line, "", "table header", _quote(row.strip()), "a header such as [loudness.programme]")
    if not assigned:
        return Problem(label, line, section, "", _quote(row.strip()), "key = value")
    key, value = assigned["key"], assigned["value"]
    if "overwrite" in what:
        first = next(
            (n for n in range(line - 1, 0, -1) if (m := _ASSIGNED.match(rows[n - 1])) and m["key"] == key), line
        )
        return Problem(
            label, line, section, key, f"the key again; it stands on line {first}", "each key once in a table"
        )
    if _COMMA.fullmatch(value):
        return Problem(
            label,
            line,
            section,
            key,
            f"{value}  (a number with a comma)",
            f"a decimal point: {value.replace(',', '.')}",
        )
    if _NUMBER_WITH_UNIT.fullmatch(value):
        number = re.match(r"[-+]?\d+(?:\.\d+)?", value)
        return Problem(
            label,
            line,
            section,
            key,
            f"{value}  (a number with a unit)",
            f"the number alone, {number[0] if number else ''}; the unit has its own key",
        )
    if _TIME.fullmatch(value):
        return Problem(
            label, line, section, key, f"{value}  (a length of time without quotes)", f'in quotes, as in "{value}"'
        )
    if re.fullmatch(r"[^\"'\[{\d].*", value):
        return Problem(label, line, section, key, f"{value}  (text without quotes)", f'in quotes, as in "{value}"')
    return Problem(
        label, line, section, key, _quote(value) if value else "nothing", "text in quotes, a number or a list"
    )


def _same_header(row: str, name: str) -> bool:
    match = _HEADER.match(row)
    return bool(match) and match["name"] == name  # type: ignore[index]


def _quote(text: str) -> str:
    return text if len(text) <= 60 else text[:57] + "..."
