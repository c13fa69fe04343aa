"""Values that are well formed and still wrong on their own: words nothing could match, numbers no file could have.

They are looked for in the data as written, so that one is told whatever else is wrong in its table.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from typing import Any, get_args

from pydantic import BaseModel

from qc.outlets.expected import Finder, models_of, shown
from qc.outlets.problems import Problem
from qc.outlets.schema import Profile, TimingSheetForm
from qc.outlets.schema_kinds import Choice, LevelLimit, LoudnessLimit, NumberChoice, NumberLimit
from qc.outlets.vocabulary import FORMS, NUMBERS, WORDS, nearest_word
from qc.outlets.where import Path


def value_problems(data: dict[str, Any], finder: Finder) -> Iterator[Problem]:
    """Every such value in merged data, which may hold anything: what has the wrong kind is the schema's to refuse."""
    for section, field in Profile.model_fields.items():
        table, model = data.get(section), next(models_of(field.annotation))
        if not isinstance(table, dict):
            continue
        if model is TimingSheetForm:
            yield from _words("timing_sheet.columns", (section, "columns"), table.get("columns"), "column", finder)
        for name, inner in model.model_fields.items():
            kind, value = next(models_of(inner.annotation), None), table.get(name)
            if kind is not None and isinstance(value, dict):
                yield from _of_requirement(kind, (section, name), value, finder)


def _of_requirement(kind: type[BaseModel], path: Path, value: dict[str, Any], finder: Finder) -> Iterator[Problem]:
    key = ".".join(map(str, path))
    if issubclass(kind, Choice):
        yield from _words(key, (*path, "accept"), value.get("accept"), "value", finder)
    elif issubclass(kind, NumberChoice):
        yield from _whole_numbers(key, (*path, "accept"), value.get("accept"), finder)
    elif issubclass(kind, NumberLimit):
        yield from _limits(kind, path, value, finder)


def _words(key: str, path: Path, items: object, noun: str, finder: Finder) -> Iterator[Problem]:
    words = [(place, item) for place, item in enumerate(_listed(items)) if isinstance(item, str)]
    for place, word in words:
        yield from _word(key, (*path, place), word, finder)
    yield from _twice([word for _, word in words], path, noun, finder)


def _whole_numbers(key: str, path: Path, items: object, finder: Finder) -> Iterator[Problem]:
    numbers = [(place, item) for place, item in enumerate(_listed(items)) if type(item) is int]
    for place, number in numbers:
        if key in NUMBERS and number not in NUMBERS[key]:
            yield finder.problem((*path, place), shown(number), _one_of([str(known) for known in NUMBERS[key]]))
    yield from _twice([number for _, number in numbers], path, "value", finder)


def _listed(items: object) -> list[Any]:
    return items if isinstance(items, list) else []


def _word(key: str, path: Path, word: str, finder: Finder) -> Iterator[Problem]:
    if key in FORMS:
        pattern, words = FORMS[key]
        if not pattern.fullmatch(word):
            yield finder.problem(path, shown(word), words)
    elif key in WORDS and word not in WORDS[key]:
        near = nearest_word(key, word)
        known = _one_of([f'"{one}"' for one in WORDS[key]])
        yield finder.problem(path, shown(word), known, f'"{near}"' if near else "")


def _twice(items: list[str] | list[int], path: Path, noun: str, finder: Finder) -> Iterator[Problem]:
    twice = [item for item, count in Counter(items).items() if count > 1]
    if twice:
        yield finder.problem(path, f"{shown(twice[0])} twice", f"each {noun} once")


def _one_of(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def _limits(kind: type[NumberLimit], path: Path, value: dict[str, Any], finder: Finder) -> Iterator[Problem]:
    """Numbers that no file could have: usually a lost minus sign."""
    units = get_args(kind.model_fields["unit"].annotation)
    unit = value.get("unit") if value.get("unit") in units else " or ".join(units)
    if issubclass(kind, LoudnessLimit):
        low, high, words = -70.0, 0.0, f"-70 to 0 {unit}: is the minus sign missing?"
    elif issubclass(kind, LevelLimit):
        low, high, words = -200.0, 0.0, "0 dBFS or less: is the minus sign missing?"
    elif unit == "dBTP":
        low, high, words = -70.0, 0.0, "-70 to 0 dBTP"
    else:
        low, high, words = 0.0, float("inf"), f"0 {unit} or more"
    for key in ("target", "min", "max"):
        number = value.get(key)
        if isinstance(number, int | float) and _counts(number) and not low <= number <= high:
            yield finder.problem((*path, key), shown(number), words)


def _counts(number: float) -> bool:
    try:
        return not isinstance(number, bool) and math.isfinite(number)
    except OverflowError:  # a whole number beyond any float: the schema refuses it
        return False
