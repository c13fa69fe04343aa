"""What the run's index and the sheets that people forward say alike."""

from __future__ import annotations

import re
from dataclasses import dataclass
from urllib.parse import quote

from qc.figures.resolution import on_meter
from qc.report.overview import Link
from qc.report.run import RunBlock
from qc.report.visible import sentence, visible

#: Longest sentence about a run, in characters.
LONGEST = 4000

_NOT_MEASURED = "not measured"
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


@dataclass(frozen=True)
class Column:
    """One column of a table; ``kind`` is its class: "figure" for numbers, "code" for timecodes, or ""."""

    name: str
    kind: str = ""


@dataclass(frozen=True)
class Grid:
    """A table of strings: the cell in column ``header`` names its row; ``strong`` rows are totals."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    header: int = 0
    strong: tuple[int, ...] = ()


@dataclass(frozen=True)
class Address:
    """A link as the template prints it: printable ASCII, relative."""

    label: str
    href: str


def address(link: Link) -> Address:
    """A first part with a colon would be read as a scheme: "./" stands before it (RFC 3986, 4.2)."""
    href = quote(link.href, safe="%/:@!$&'()*+,;=~#?", errors="surrogateescape")
    return Address(visible(link.label), f"./{href}" if ":" in href.split("/", 1)[0] else href)


def on_one_decimal(value: float | None, unit: str = "") -> str:
    """A level as a meter shows it: one decimal, half away from zero."""
    if value is None:
        return _NOT_MEASURED
    return f"{on_meter(value):.1f}" + (f" {visible(unit)}" if unit else "")


def gain(value: float | None) -> str:
    """ "+1.3 dB", "0.0 dB"; "none" if there is none."""
    if value is None:
        return "none"
    shown = on_meter(value)
    return f"{shown:+.1f} dB" if shown else "0.0 dB"


def folderless(name: str) -> str:
    """The file's own name; a run that holds two of the same name puts folders before it."""
    return re.split(r"[/\\]", name)[-1] or name


def whole(text: str) -> str:
    """A sentence about several outlets, which may be longer than a piece of foreign text is shown elsewhere."""
    return sentence(text, LONGEST)


def made_by(run: RunBlock) -> str:
    """Which tool, when: the last line of a sheet."""
    return f"Made by {visible(run.tool)} {visible(run.version)}, {moment(run.finished)}."


def moment(text: str) -> str:
    """ "2 January 2026, 03:14 UTC" from ISO 8601; other text as it is."""
    match = re.fullmatch(r"(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d):\d\d\+00:00", text)
    if match is None or not 1 <= int(match[2]) <= 12:
        return visible(text)
    return f"{int(match[3])} {_MONTHS[int(match[2]) - 1]} {match[1]}, {match[4]} UTC"


def listed(names: tuple[str, ...]) -> str:
    """ "A", "A and B", "A, B and C"."""
    shown = [visible(name) for name in names]
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} and {shown[-1]}" if shown else ""


def count(number: int, noun: str) -> str:
    """ "1 file", "3 files"; the plural is regular."""
    return f"{number} {noun}{'' if number == 1 else 's'}"
