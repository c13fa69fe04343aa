"""What the schema accepts at a place, in an author's words; and its refusals turned into problems."""

from __future__ import annotations

import datetime
import math
import types
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from qc.outlets.inherit import Merged
from qc.outlets.problems import Problem
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import LENGTH, Contradiction, Requirement
from qc.outlets.where import Path

_UNITS = {
    "LoudnessLimit": "LUFS or LKFS",
    "LoudnessRangeLimit": "LU",
    "TruePeakLimit": "dBTP",
    "LevelLimit": "dBFS",
    "BitRateLimit": "Mb/s",
    "FramesLimit": "frames",
    "ToneLevel": "dBFS",
    "ToneFrequency": "Hz",
}
_EXAMPLES = {
    "LoudnessLimit": "-24.0",
    "LoudnessRangeLimit": "18.0",
    "TruePeakLimit": "-2.0",
    "LevelLimit": "-60.0",
    "BitRateLimit": "50",
    "FramesLimit": "1",
    "ToneLevel": "-20.0",
    "ToneFrequency": "1000",
}
_SPREAD = {"LoudnessLimit": "LU", "LoudnessRangeLimit": "LU", "TruePeakLimit": "dB", "LevelLimit": "dB"}
_SPREAD |= {"ToneLevel": "dB"}
_TEXT_KEYS = {
    "at": 'a timecode in quotes, such as "01:00:00;00"',
    "base": 'names in quotes, as in ["ebu-r128"]',
    "name": "a name in quotes",
    "code": "a short name in quotes: small letters, digits and -",
}
_RANGES = {
    ("BreakContent", "max_luma_percent"): "0 to 20 percent of nominal white",
    ("BreakContent", "max_peak_dbfs"): "dBFS as a number of 0 or less, such as -60.0",
    ("ActEnds", "max_level_dbfs"): "dBFS as a number of 0 or less, such as -30.0",
    ("Black", "pixel_percent"): "over 0, up to 20 percent of nominal white",
    ("Black", "picture_percent"): "75 to 100 percent of the picture",
    ("Black", "stray_frames"): "frames: a whole number from 0 to 25",
    ("Silence", "below_dbfs"): "dBFS from -120 to -20, such as -60.0",
    ("ActLength", "number"): "the number of an act, 1 or more",
    ("Group", "channels"): "channel numbers from 1 to 64, as in [1, 2]",
}


def models_of(annotation: Any) -> Iterator[type[BaseModel]]:
    """Record types inside an annotation such as ``list[ActLength]`` or ``Choice | None``."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    elif get_origin(annotation) in (list, Union, types.UnionType, Annotated, tuple):
        for part in get_args(annotation):
            yield from models_of(part)


def model_at(path: Path) -> type[BaseModel] | None:
    """The record type that a table at this path fills; None if the schema has no table there."""
    model: type[BaseModel] = Profile
    for step in path:
        if isinstance(step, int):
            continue
        if step not in model.model_fields:
            return None
        inner = next(models_of(model.model_fields[step].annotation), None)
        if inner is None:
            return None
        model = inner
    return model


def kind_of(value: object) -> str:
    """What a TOML value is, in a word."""
    if isinstance(value, bool):
        return "yes or no"
    if isinstance(value, float) and not math.isfinite(value):
        return "no finite number"
    if isinstance(value, int | float):
        return "number"
    if isinstance(value, str):
        return "text"
    if isinstance(value, list):
        return "list"
    if isinstance(value, dict):
        return "table"
    if isinstance(value, datetime.time):
        return "time of day"
    return "date"


def shown(value: object) -> str:
    """A TOML value as its author wrote it, with its kind."""
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, str):
        text = f'"{value}"'
    elif isinstance(value, list):
        text = (
            "["
            + ", ".join(shown(item).rsplit("  (", 1)[0] for item in value[:8])
            + ("" if len(value) < 9 else ", ...")
            + "]"
        )
    elif isinstance(value, dict):
        return "a table"
    elif isinstance(value, datetime.date | datetime.time):
        text = value.isoformat()
    else:
        text = _number(value)
    text = text if len(text) <= 60 else text[:57] + "..."
    return f"{text}  ({kind_of(value)})"


def _number(value: object) -> str:
    try:
        return str(value)
    except ValueError:  # more digits than Python is willing to write
        return "a number of thousands of digits"


def expected_at(owner: type[BaseModel], key: str) -> str:
    """What a key of a record accepts."""
    name = owner.__name__
    if (name, key) in _RANGES:
        return _RANGES[(name, key)]
    if key in (own := getattr(owner, "EXPECTED", {})):
        return str(own[key])
    if key == "level" and name in ("ActLength", "ElementLength"):
        return '"must" or "should"'
    if key == "level":
        return '"must", "should", or "off" to take an inherited requirement away'
    if (
        key in ("clause", "source", "note", "region", "kind", "specification", "revision")
        and owner.__name__ != "Wrapper"
    ):
        return "text in quotes"
    annotation = owner.model_fields[key].annotation
    literals = [str(word) for word in _literals(annotation)]
    if literals:
        return " or ".join("true" if word == "True" else f'"{word}"' for word in literals)
    if key == "tolerance" and name in _UNITS:
        spread = _SPREAD.get(name, _UNITS[name])
        return f"{spread} as a number or a pair, such as 2.0 or [-4.0, 1.0]"
    if name in _UNITS and key in ("target", "min", "max"):
        return f"{_UNITS[name]} as a number, such as {_EXAMPLES[name]}"
    if name in ("DurationLimit", "ActLength", "ElementLength", "Slot", "SheetAgreement") and key != "name":
        return LENGTH
    if name == "Count":
        return "a whole number of 0 or more"
    if name == "NumberChoice" and key == "accept":
        return "a list of whole numbers, as in [48000]"
    if key in ("accept", "not_covered", "columns"):
        return 'a list of texts, as in ["..."]'
    if key in _TEXT_KEYS:
        return _TEXT_KEYS[key]
    if key == "judged":
        return "true or false, without quotes"
    if inner := next(models_of(annotation), None):
        return "a table of its own" if not inner.model_fields else f"a table with {_listed(list(inner.model_fields))}"
    return "percent as a number, such as 105.0" if key.endswith("_percent") else "text in quotes"


def _literals(annotation: Any) -> Iterator[object]:
    if get_origin(annotation) is Literal:
        yield from get_args(annotation)
    elif get_origin(annotation) in (Union, types.UnionType, Annotated):
        for part in get_args(annotation):
            yield from _literals(part)


def _listed(names: list[str]) -> str:
    return ", ".join(names[:-1]) + " and " + names[-1] if len(names) > 1 else "".join(names)


def table_name(path: Path) -> str:
    return ".".join(str(step) for step in path if isinstance(step, str))


class Finder:
    """Makes problems about places in a merged profile: file and line come from the layer that set them."""

    def __init__(self, merged: Merged, top: str) -> None:
        self.merged = merged
        self.top = top

    def problem(
        self, path: Path, found: str, expected: str = "", meant: str = "", table: bool = False, absent: bool = False
    ) -> Problem:
        """``table``: the place is a table, not a key in one."""
        layer = self.merged.origin(path)
        section, key = (table_name(path), "") if table else (table_name(path[:-1]), str(path[-1]))
        if not table and isinstance(path[-1], int):
            section, key = table_name(path[:-2]), str(path[-2])
        if layer is None:
            return Problem(self.top, None, section, key, found, expected, meant, absent=absent)
        return Problem(
            layer.label,
            layer.line(path),
            section,
            key,
            found,
            expected,
            meant,
            inherited=layer.label != self.top,
            absent=absent,
        )

    def unknown(self, path: Path, table: bool = False) -> Problem:
        """A key, requirement or section that the schema does not have."""
        parent, name = path[:-1], str(path[-1])
        owner = model_at(parent)
        valid = list(owner.model_fields) if owner else []
        near = get_close_matches(name, valid, n=1, cutoff=0.6)
        if not parent:
            found, accepted = "a section that a profile does not have", _listed(valid)
            return self.problem(path, found, "" if near else accepted, f"[{near[0]}]" if near else "", table=True)
        if owner and issubclass(owner, Requirement):
            found = "a key that this requirement does not have"
        elif owner and len(parent) == 1 and parent[0] != "outlet":
            found = "a requirement or setting that this section does not have"
        else:
            found = "a key that this table does not have"
        meant = (f"[{table_name((*parent, near[0]))}]" if table else near[0]) if near else ""
        return self.problem(path, found, "" if near else _listed(valid), meant, table=table)


def refusals(error: ValidationError, data: dict[str, Any], finder: Finder) -> dict[Path, list[Problem]]:
    """Every refusal of the schema, by place in the data, in the order of the schema."""
    problems: dict[Path, list[Problem]] = {}
    for detail in error.errors(include_url=False):
        path, value = _real_path(detail["loc"], data)
        kind = detail["type"]
        cause = detail.get("ctx", {}).get("error")
        if kind == "extra_forbidden":
            problem = finder.unknown(path, table=isinstance(value, dict))
        elif isinstance(cause, Contradiction):
            at = next((key for key in cause.keys if isinstance(value, dict) and key in value), "")
            path = (*path, at) if at else path
            problem = finder.problem(path, cause.found, cause.expected, table=not at, absent=cause.absent)
        elif kind == "missing" and value is None:
            owner = model_at(path[:-1])
            problem = finder.problem(
                path, "nothing", expected_at(owner, str(path[-1])) if owner else "a value", absent=True
            )
        elif path in problems:
            continue  # another member of a union refused the same value
        else:
            problem = _refused(path, value, kind, finder)
        problems.setdefault(path, []).append(problem)
    return problems


def _refused(path: Path, value: object, kind: str, finder: Finder) -> Problem:
    names = [step for step in path if isinstance(step, str)]
    owner = model_at(tuple(names[:-1])) if names else None
    inner = model_at(tuple(names))
    if inner is not None and owner is not None:  # a table is wanted here
        many = str(owner.model_fields[names[-1]].annotation).startswith("list")
        wanted = f"[[{'.'.join(names)}]], a table for each" if many else f"a table [{'.'.join(names)}]"
        return finder.problem(path, shown(value), wanted)
    if owner is None:
        return finder.problem(path, shown(value), "a table", table=True)
    found = shown(value)
    if value == [] and isinstance(value, list):
        found = "an empty list"
    expected = expected_at(owner, names[-1])
    if isinstance(value, datetime.time):
        expected = f'quotes and a declared form, such as "{value.isoformat()[:8]}:00"'
    return finder.problem(path, found, expected)


def _real_path(loc: tuple[str | int, ...], data: dict[str, Any]) -> tuple[Path, object]:
    """The part of pydantic's place that exists in the data: it adds names of union members."""
    path: Path = ()
    here: Any = data
    for step in loc:
        if isinstance(here, dict) and isinstance(step, str):
            owner = model_at(path)
            if step not in here and (owner is None or step not in owner.model_fields):
                break
            path, here = (*path, step), here.get(step)
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            path, here = (*path, step), here[step]
        else:
            break
    return path, here
