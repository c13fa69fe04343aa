"""Station profiles for a reader at a terminal: listed, one resolved, compared. 80 columns, plain text."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from qc.judge.catalogue import check_of
from qc.outlets.diff import Difference
from qc.outlets.lint import Oddity
from qc.outlets.load import LoadedProfile
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import Requirement
from qc.outlets.wording import group_words, limit_words, settings
from qc.report.visible import visible

WIDTH = 80


def list_text(full: Sequence[LoadedProfile], short: Sequence[LoadedProfile], bases: Sequence[tuple[str, str]]) -> str:
    """Outlets, the short forms of the demo, and bases as (name, title)."""
    lines = ["Outlets", *_columns((p.profile.outlet.code, _who(p.profile)) for p in full)]
    if short:
        lines += [
            "",
            "Short forms of the demo, one tenth of time",
            *_columns((p.profile.outlet.code, "") for p in short),
        ]
    lines += ["", "Bases that a profile can inherit from", *_columns(bases)]
    lines += ["", "See one whole: qc profiles show NAME"]
    return "\n".join(lines) + "\n"


def _who(profile: Profile) -> str:
    outlet = profile.outlet
    return ", ".join(visible(part) for part in (outlet.name, outlet.region, outlet.kind) if part)


def _columns(rows: Iterable[tuple[str, str]]) -> Iterator[str]:
    rows = list(rows)
    width = max((len(name) for name, _ in rows), default=0)
    for name, text in rows:
        yield from _wrapped(f"{visible(name):<{width}}  {text}".rstrip(), "  ", " " * (width + 4))


def show_text(loaded: LoadedProfile, *, base: bool = False) -> str:
    """One profile, resolved: every limit in words, every value with the file that it came from."""
    outlet = loaded.profile.outlet
    lines = [f"{visible(outlet.name)}  ({visible(outlet.code)})"] if not base else [f"{loaded.file}, a base"]
    who = ", ".join(visible(part) for part in (outlet.region, outlet.kind) if part)
    document = ", ".join(visible(part) for part in (outlet.specification, outlet.revision) if part)
    lines += [row for text in (who, document) if text for row in _wrapped(text, "  ")]
    numbers = {file: place for place, file in enumerate(loaded.chain, 1)}
    lines += ["", "Files, in the order they are merged; each value below names its file"]
    lines += [f"  [{place}] {file}" for file, place in numbers.items()]
    lines += [f"  sha256 of all: {loaded.sha256[:32]}", f"{'':17}{loaded.sha256[32:]}"]
    section = ""
    for key, requirement in loaded.profile.requirements():
        if key.split(".")[0] != section:
            section = key.split(".")[0]
            lines += ["", section.upper().replace("_", " ")]
        lines += _requirement(key, requirement, loaded, numbers)
    lines += ["", "HOW IT COUNTS"]
    for key, words, value in settings(loaded.profile):
        lines += _wrapped(f"{words} {value} {_from(loaded, key, numbers)}".rstrip(), "  ")
    if loaded.profile.audio.group:
        lines += ["", f"CHANNELS {_from(loaded, 'audio.group', numbers)}".rstrip()]
        for group in loaded.profile.audio.group:
            lines += _wrapped(f"{visible(group.name)}: {group_words(group)}", "  ")
    if loaded.removed:
        lines += ["", "TAKEN AWAY"]
        lines += [f"  {check_of(key)[1]}  ({key})  [{numbers[file]}]" for key, file in loaded.removed.items()]
    if outlet.not_covered:
        lines += ["", f"ASKED FOR AND NOT CHECKED BY THIS TOOL {_from(loaded, 'outlet.not_covered', numbers)}".rstrip()]
        lines += [row for text in outlet.not_covered for row in _wrapped(visible(text), "  - ", "    ")]
    return "\n".join(lines) + "\n"


def _requirement(key: str, requirement: Requirement, loaded: LoadedProfile, numbers: dict[str, int]) -> Iterator[str]:
    clause = f"   {visible(requirement.clause)}" if requirement.clause else ""
    yield from _wrapped(
        f"{check_of(key)[1]}: {limit_words(key, requirement)} ({requirement.level}){clause}", "  ", "    "
    )
    values = []
    words = list(Requirement.model_fields)
    own = [name for name in type(requirement).model_fields if name not in words]
    for name in (*own, *words):
        value = getattr(requirement, name)
        origin = _from(loaded, f"{key}.{name}", numbers)
        if value in (None, "") or not origin:
            continue
        values.append(f"{name} {_plain(value)} {origin}")
    if not values:  # an item of a list: the list came from one file
        values = [_from(loaded, ".".join(key.split(".")[:2]), numbers)]
    yield from _wrapped("; ".join(values), "    ")


def _plain(value: object) -> str:
    if isinstance(value, list | tuple):
        return ", ".join(_plain(item) for item in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return visible(str(value))


def _from(loaded: LoadedProfile, key: str, numbers: dict[str, int]) -> str:
    file = loaded.origins.get(key)
    return f"[{numbers[file]}]" if file in numbers else ""


def lint_text(file: str, warnings: Sequence[Oddity]) -> str:
    """A profile without problems, and what is odd in it."""
    if not warnings:
        return f"{visible(file)}: no problems.\n"
    count = "1 thing is odd" if len(warnings) == 1 else f"{len(warnings)} things are odd"
    lines = [f"{visible(file)}: no problems; {count}."]
    for warning in warnings:
        lines += _wrapped(
            f"{warning.where}: {visible(warning.text)}" if warning.where else visible(warning.text), "  ", "    "
        )
    return "\n".join(lines) + "\n"


def diff_text(left: LoadedProfile, right: LoadedProfile, found: Sequence[Difference]) -> str:
    """What two outlets ask differently."""
    names = [visible(loaded.profile.outlet.name) for loaded in (left, right)]
    if not found:
        return f"{names[0]} and {names[1]} ask for the same.\n"
    width = max(len(name) for name in names)
    known = {key: f"{words} ..." for key, words, _ in settings(left.profile)}
    lines = [f"{names[0]} and {names[1]} differ in {len(found)} {'point' if len(found) == 1 else 'points'}."]
    for difference in found:
        lines += ["", f"{known.get(difference.key) or _title(difference.key)}   {difference.key}"]
        for name, text in zip(names, (difference.left, difference.right), strict=True):
            lines += _wrapped(f"{name:<{width}}  {visible(text) or 'not asked for'}", "  ", " " * (width + 4))
    return "\n".join(lines) + "\n"


def _title(key: str) -> str:
    return "Channels" if key.startswith("audio.group.") else check_of(key)[1]


def _wrapped(text: str, first: str, rest: str | None = None) -> list[str]:
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=first if rest is None else rest,
        break_on_hyphens=False,
    ) or [first.rstrip()]
