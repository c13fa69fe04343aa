"""Bases merged into a profile: left to right, the profile last, every value with the file it came from.

Tables merge key by key; a list takes the place of the inherited list. A requirement that is given in
another form (min and max instead of target and tolerance) loses the inherited form. A value that is
changed loses the inherited ``source`` and ``note``, which spoke of the old value, and the inherited
``tolerance``, which would widen a limit that its author wrote without one. ``level = "off"`` takes an
inherited requirement away.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from qc.outlets.folder import find_base, is_plain_name, label_of, names_near
from qc.outlets.layer import Layer, read_layer
from qc.outlets.problems import Problem
from qc.outlets.where import Path as KeyPath

MOST_FILES = 40
_ONE_VALUE = ("target", "exact")
_RANGE = ("min", "max")
_VALUES = (*_ONE_VALUE, *_RANGE, "before")  # what a tolerance may stand beside
_WORDS = ("level", "clause", "source", "note")  # keys that are not the limit itself


@dataclass
class Merged:
    """Values of all layers together.

    origins  layer that each key came from, by path
    removed  requirements that level = "off" took away: id -> layer that says so
    idle     ids that are off although no base asked for them
    """

    data: dict[str, Any] = field(default_factory=dict)
    origins: dict[KeyPath, Layer] = field(default_factory=dict)
    removed: dict[str, Layer] = field(default_factory=dict)
    idle: list[str] = field(default_factory=list)

    def origin(self, path: KeyPath) -> Layer | None:
        """Layer of a key, or of the nearest table around it."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.origins:
                return self.origins[path[:length]]
        return None


def gather(path: Path) -> tuple[list[Layer], list[Problem]]:
    """The profile and all its bases in merge order (the profile last), and what is wrong with the bases' names."""
    layers: list[Layer] = []
    problems: list[Problem] = []
    known: dict[Path, Layer] = {}
    top = path.parent

    def visit(file: Path, way: tuple[Path, ...]) -> None:
        resolved = file.resolve()
        if resolved not in known:
            known[resolved] = read_layer(file, label_of(file, top))
        layer = known[resolved]
        for place, name in _bases(layer, problems):
            line = layer.line(("base", place)) or layer.line(("base",))
            chain = (*(known[step.resolve()].label for step in way), layer.label)

            def say(
                found: str, expected: str, meant: str = "", chain: tuple[str, ...] = (), line: int | None = line
            ) -> None:
                problem = Problem(layer.label, line, "", "base", found, expected, meant, chain)
                if problem not in problems:
                    problems.append(problem)

            if not is_plain_name(name):
                say(f"{_shown(name)}  (text)", "the plain name of a profile in this folder or its base/ folder")
                continue
            base = find_base(name, file.parent)
            if base is None:
                near = get_close_matches(name.lower(), names_near(file.parent), n=1)
                say(
                    f"{_shown(name)}, which does not exist",
                    "the name of a base",
                    near[0] if near else "",
                    (*chain, name),
                )
            elif base.resolve() in {step.resolve() for step in (*way, file)}:
                say(f"{_shown(name)}, which leads back here", "bases without a loop", "", (*chain, label_of(base, top)))
            elif len(layers) >= MOST_FILES or len(way) >= MOST_FILES:
                say(f"more than {MOST_FILES} files", "a short line of bases")
                return
            else:
                visit(base, (*way, file))
        layers.append(layer)

    visit(path, ())
    return layers, problems


def _bases(layer: Layer, problems: list[Problem]) -> Iterator[tuple[int, str]]:
    named = layer.data.get("base", [])
    for place, name in enumerate(named if isinstance(named, list) else [named]):
        if isinstance(name, str):
            yield place, name
        else:
            problems.append(
                Problem(
                    layer.label, layer.line(("base",)), "", "base", _shown(name), 'names in quotes, as in ["ebu-r128"]'
                )
            )


def merge(layers: list[Layer]) -> Merged:
    """All layers in one, without the requirements that are off."""
    merged = Merged()
    for layer in layers:
        for section, value in layer.data.items():
            if section == "base":
                continue
            if not isinstance(value, dict) or not isinstance(merged.data.get(section, {}), dict):
                _put(merged, (section,), dict(value) if isinstance(value, dict) else value, layer, merged.data)
                continue
            into = merged.data.setdefault(section, {})
            merged.origins[(section,)] = layer
            for name, item in value.items():
                _merge_item(merged, section, name, item, into, layer)
    _drop_what_is_off(merged)
    return merged


def _merge_item(merged: Merged, section: str, name: str, item: Any, into: dict[str, Any], layer: Layer) -> None:
    path: KeyPath = (section, name)
    old = into.get(name)
    if old is None and isinstance(item, dict) and item.get("level") == "off":
        merged.idle.append(f"{section}.{name}")
    if not isinstance(item, dict) or not isinstance(old, dict):
        _put(merged, path, item, layer, into)
        return
    gone: set[str] = set()
    if any(key in item for key in _ONE_VALUE):
        gone.update(key for key in _RANGE if key not in item)
    if any(key in item for key in _RANGE) and any(key in old for key in _ONE_VALUE):
        gone.update(key for key in _ONE_VALUE if key not in item)
    if "tolerance" not in item and any(key in item and old.get(key) != item[key] for key in _VALUES):
        gone.add("tolerance")
    if any(key not in _WORDS and key in old and old[key] != value for key, value in item.items()):
        gone.update(key for key in ("source", "note") if key not in item)
    fresh = {key: value for key, value in old.items() if key not in gone}
    for key in gone:
        merged.origins.pop((*path, key), None)
    into[name] = fresh
    merged.origins[path] = layer
    for key, value in item.items():
        _put(merged, (*path, key), value, layer, fresh)


def _put(merged: Merged, path: KeyPath, value: Any, layer: Layer, into: dict[str, Any]) -> None:
    """One value in its place; what was known of the places below it is forgotten."""
    for known in [known for known in merged.origins if known[: len(path)] == path]:
        del merged.origins[known]
    into[str(path[-1])] = dict(value) if isinstance(value, dict) else value
    merged.origins[path] = layer
    if isinstance(value, dict):
        for key in value:
            merged.origins[(*path, key)] = layer


def _drop_what_is_off(merged: Merged) -> None:
    for section, table in merged.data.items():
        if not isinstance(table, dict):
            continue
        for name, item in list(table.items()):
            if isinstance(item, dict) and item.get("level") == "off":
                merged.removed[f"{section}.{name}"] = merged.origins[(section, name)]
                del table[name]


def _shown(value: object) -> str:
    text = f'"{value}"' if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
