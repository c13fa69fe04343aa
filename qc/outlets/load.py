"""A station profile from its name or file: read, bases merged, every problem told at once."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from qc.outlets.contradictions import contradictions
from qc.outlets.expected import Finder, model_at, refusals
from qc.outlets.folder import label_of, shipped_bases, shipped_outlets
from qc.outlets.inherit import Merged, gather, merge
from qc.outlets.layer import Layer
from qc.outlets.problems import Problem, ProfileError, UnknownProfile, plain
from qc.outlets.schema import Profile
from qc.outlets.values import value_problems
from qc.outlets.where import Path as KeyPath

__all__ = [
    "LoadedProfile",
    "ProfileError",
    "UnknownProfile",
    "list_bases",
    "list_profiles",
    "load_base",
    "load_profile",
]

#: Lists that may be refused for one item, or as a whole, and hold another that is unknown.
_LISTS = ("accept", "columns")
_NO_OUTLET = {"name": "(base)", "code": "base"}


@dataclass(frozen=True)
class LoadedProfile:
    """One outlet's requirements, resolved.

    file     the profile's own file, named alike on every machine
    sha256   over all files it was resolved from, in merge order: two profiles with one hash ask the same
    origins  "section.requirement.key" -> file that set it
    chain    all those files in merge order, the profile last
    removed  requirements that an inheriting file took away: id -> file that says so
    """

    profile: Profile
    file: str
    sha256: str
    origins: dict[str, str] = field(default_factory=dict)
    chain: tuple[str, ...] = ()
    removed: dict[str, str] = field(default_factory=dict)


def load_profile(name_or_path: str | Path) -> LoadedProfile:
    """The profile of an outlet, by code, by file stem (in any case) or by path to a .toml file.

    Raises ProfileError with all problems, UnknownProfile if there is no such profile.
    """
    path = find_profile(name_or_path)
    return _load(path, _asked(name_or_path, path), outlet=True)


def load_base(name_or_path: str | Path) -> LoadedProfile:
    """A base on its own, with a stand-in outlet. Raises as load_profile."""
    path = find_profile(name_or_path, bases=True)
    return _load(path, _asked(name_or_path, path), outlet=False)


def list_profiles() -> list[Path]:
    """Files of the outlets that come with the tool, full profiles first; bases are not outlets."""
    return shipped_outlets()


def list_bases() -> list[Path]:
    """Files of the published standards that profiles inherit from."""
    return shipped_bases()


def find_profile(name_or_path: str | Path, bases: bool = False) -> Path:
    """The file that a name or path means. Raises UnknownProfile with the nearest name."""
    text = str(name_or_path)
    if "\0" in text or not text.strip():
        raise UnknownProfile(
            plain(text), "a profile's name cannot be empty or hold a zero byte", "See qc profiles list"
        )
    if isinstance(name_or_path, Path) or text.lower().endswith(".toml") or "/" in text or "\\" in text:
        return _existing(Path(text))
    wanted = text.strip().lower()
    candidates = [*shipped_outlets(), *shipped_bases()] if bases else shipped_outlets()
    for path in candidates:
        if path.stem.lower() == wanted:
            return path
    if not bases and any(path.stem.lower() == wanted for path in shipped_bases()):
        raise UnknownProfile(text, f"{text} is a base, not an outlet", "Inherit from it in a profile: base = [...]")
    names = [path.stem for path in candidates]
    near = get_close_matches(wanted.replace(" ", "-"), names, n=1) or [n for n in names if n.startswith(wanted)][:1]
    hint = f"Did you mean {near[0]}?" if near else "See qc profiles list, or give the path of a .toml file"
    raise UnknownProfile(text, f"no outlet profile is called {plain(text)!r}", hint)


def _existing(path: Path) -> Path:
    try:
        if path.exists():
            return path
        folder = path.parent
        near = get_close_matches(
            path.name, sorted(p.name for p in folder.glob("*.toml")) if folder.is_dir() else [], n=1
        )
    except (OSError, ValueError):  # a name that is too long, or a folder that cannot be read
        near = []
    hint = f"Did you mean {near[0]}?" if near else "Give the path of a .toml file, or a name from qc profiles list"
    raise UnknownProfile(str(path), f"there is no profile {plain(str(path))}", hint)


def _asked(name_or_path: str | Path, path: Path) -> str:
    """How the file is named in errors: shipped files by their label, others as the user typed them."""
    label = label_of(path, path.parent)
    return label if label.startswith("profiles/") else str(name_or_path)


def _load(path: Path, asked: str, *, outlet: bool) -> LoadedProfile:
    layers, problems = gather(path)
    top = layers[-1]
    for layer in layers:
        problems += [problem for problem in layer.problems if problem not in problems]
    unreadable = [layer for layer in layers if layer.problems and not layer.data]
    merged = merge(layers)
    finder = Finder(merged, top.label)
    problems += _removed_problems(merged, layers)
    if outlet and not unreadable:
        problems += _own_name(top)
    data = merged.data if outlet else {**merged.data, "outlet": merged.data.get("outlet", _NO_OUTLET)}
    profile, found = _validated(data, finder)
    if not unreadable:
        no_base = any(problem.key == "base" for problem in problems)
        spoilt = {name for layer in layers for name in layer.spoilt}
        for problem in found:
            unsaid = problem.absent and (no_base or _again(problem, problems))
            if not unsaid and not _about(problem, spoilt) and problem not in problems:
                problems.append(problem)
    if problems or profile is None:
        raise ProfileError(asked, _in_order(problems, layers, top.label))
    return LoadedProfile(
        profile=profile,
        file=top.label,
        sha256=_hash(layers),
        origins={".".join(map(str, key)): layer.label for key, layer in merged.origins.items()},
        chain=tuple(dict.fromkeys(layer.label for layer in layers)),
        removed={key: layer.label for key, layer in merged.removed.items()},
    )


def _validated(data: dict[str, Any], finder: Finder) -> tuple[Profile | None, list[Problem]]:
    """The profile, or None and every problem: what is refused is set aside so that the rest can be read too."""
    found: list[Problem] = []
    of_values = list(value_problems(data, finder))
    for _ in range(3):
        try:
            profile = Profile.model_validate(data)
        except ValidationError as error:
            refused = refusals(error, data, finder)
            found += [problem for problems in refused.values() for problem in problems]
            data = {name: _without(name, value, set(refused)) for name, value in data.items() if (name,) not in refused}
            data.setdefault("outlet", _NO_OUTLET)
        else:
            found += [problem for problem in of_values if problem.key in _LISTS or not _again(problem, found)]
            rest = [problem for problem in contradictions(profile, finder) if not _again(problem, found)]
            return (None if found else profile), found + rest
    return None, found + of_values


def _without(section: str, value: Any, refused: set[KeyPath]) -> Any:
    """A section without its refused requirements and settings; an outlet keeps a name in any case."""
    if not isinstance(value, dict):
        return value
    bad = {path[1] for path in refused if path[0] == section and len(path) > 1}
    kept = {name: item for name, item in value.items() if name not in bad}
    return {**_NO_OUTLET, **kept} if section == "outlet" else kept


def _again(problem: Problem, found: list[Problem]) -> bool:
    return any((problem.section, problem.key) == (other.section, other.key) for other in found)


def _own_name(top: Layer) -> list[Problem]:
    """An inherited name would let two outlets' reports overwrite each other."""
    own = top.data.get("outlet")
    problems = []
    for key, expected in (("name", "the outlet's own name"), ("code", "the outlet's own short name: a-z, 0-9 and -")):
        if not isinstance(own, dict) or key not in own:
            if "outlet" in top.spoilt:
                continue
            problems.append(Problem(top.label, top.line(("outlet",)), "outlet", key, "nothing of its own", expected))
    return problems


def _removed_problems(merged: Merged, layers: list[Layer]) -> list[Problem]:
    """level = "off" for a requirement that the schema does not have would hide a misspelt name."""
    problems = []
    for removed, layer in merged.removed.items():
        section, key = removed.split(".", 1)
        owner = model_at((section,))
        finder = Finder(merged, layers[-1].label)
        finder.merged.origins.setdefault((section, key), layer)
        if owner is None:
            continue  # the section itself is refused
        if key not in owner.model_fields or model_at((section, key)) is None:
            problems.append(finder.unknown((section, key), table=True))
            continue
        known = set(owner.model_fields) if (owner := model_at((section, key))) else set()
        for name in layer.data[section][key]:
            if name not in known:
                finder.merged.origins.setdefault((section, key, name), layer)
                problems.append(finder.unknown((section, key, name)))
    return problems


def _about(problem: Problem, spoilt: set[str]) -> bool:
    return problem.section in spoilt or any(problem.section.startswith(f"{name}.") for name in spoilt if name)


def _in_order(problems: list[Problem], layers: list[Layer], top: str) -> list[Problem]:
    """The profile's own problems by line, then those of its bases; inherited ones are marked."""
    rank = {layer.label: place for place, layer in enumerate(reversed(layers))}
    marked = [
        problem if problem.file == top else Problem(**{**problem.__dict__, "inherited": True}) for problem in problems
    ]
    return sorted(dict.fromkeys(marked), key=lambda problem: (rank.get(problem.file, 0), problem.line or 0))


def _hash(layers: list[Layer]) -> str:
    total = hashlib.sha256()
    for layer in layers:
        total.update(bytes.fromhex(layer.sha256))
    return total.hexdigest()
