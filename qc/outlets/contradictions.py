"""What no single value shows: lines of a profile that cannot be met together."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator

from qc.outlets.arithmetic import sums
from qc.outlets.expected import Finder, shown
from qc.outlets.picture_rules import picture_rules
from qc.outlets.problems import Problem
from qc.outlets.rates import label_problems
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import Count

_CODE = re.compile(r"[a-z0-9][a-z0-9-]{0,39}", re.ASCII)

Rule = Callable[[Profile, Finder], Iterator[Problem]]


def contradictions(profile: Profile, finder: Finder) -> list[Problem]:
    """Every contradiction in a profile whose values are well formed one by one."""
    return [problem for rule in _RULES for problem in rule(profile, finder)]


def _outlet(profile: Profile, finder: Finder) -> Iterator[Problem]:
    """The code names report files: nothing but small letters, digits and - may be in it."""
    outlet = profile.outlet
    if not _CODE.fullmatch(outlet.code):
        yield finder.problem(("outlet", "code"), shown(outlet.code), "1 to 40 of a-z, 0-9 and -")
    if not outlet.name.strip() or len(outlet.name) > 80 or not outlet.name.isprintable():
        yield finder.problem(("outlet", "name"), shown(outlet.name), "a name of 1 to 80 characters that print")


def _bounds(count: Count | None) -> tuple[int | None, int | None]:
    """Lowest and highest accepted number; None is open."""
    if count is None:
        return None, None
    return (count.min, count.max) if count.exact is None else (count.exact, count.exact)


def _channels(profile: Profile, finder: Finder) -> Iterator[Problem]:
    audio = profile.audio
    most = _bounds(audio.channels)[1]
    names: dict[str, int] = {}
    carried: dict[int, tuple[str, str]] = {}
    for place, group in enumerate(audio.group):
        path = ("audio", "group", place)
        if group.name in names:
            found, expected = f"{shown(group.name)}, the name of another group too", "a name of its own"
            yield finder.problem((*path, "name"), found, expected)
        names.setdefault(group.name, place)
        if group.carries == "silence" and group.judged:
            found = 'carries = "silence" without judged = false'
            expected = "judged = false: there is no loudness of silence"
            yield finder.problem((*path, "carries"), found, expected)
        for number in group.channels:
            if most is not None and number > most:
                found = f"channel {number}, but [audio.channels] accepts {most} at most"
                yield finder.problem((*path, "channels"), found, f"channels from 1 to {most}")
            other, content = carried.setdefault(number, (group.name, group.carries))
            if {content, group.carries} == {"programme", "silence"}:
                found = f'channel {number} carries {group.carries} here and {content} in group "{other}"'
                yield finder.problem((*path, "channels"), found, "one content for each channel")
    for key, side, what in (("must_carry", "min", "lowest"), ("must_be_silent", "max", "highest")):
        limit = getattr(audio, key)
        if limit is not None and getattr(limit, side) is None:
            yield finder.problem(("audio", key), f"no {side}", f"the {what} peak in dBFS as {side}", table=True)


def _parting(profile: Profile, finder: Finder) -> Iterator[Problem]:
    structure = profile.structure
    parts, acts, breaks = structure.parts, structure.acts, structure.break_length
    single = parts is not None and set(parts.accept) == {"single"}
    fewest, most = _bounds(acts)
    if acts is not None and most == 0:
        yield finder.problem(("structure", "acts"), "0 acts", "1 act or more")
    if single and fewest is not None and fewest > 1:
        found = f'"single" with {fewest} acts or more'
        yield finder.problem(("structure", "parts", "accept"), found, "soft parts or hard parts, or one act")
    if single and breaks is not None:
        found = '"single" with a length for breaks'
        yield finder.problem(("structure", "parts", "accept"), found, "no [structure.break_length], or parts")
    if parts is not None and "single" not in parts.accept and most == 1:
        found, expected = f"{shown(parts.accept[0])[:-8]} with one act".strip(), '"single", or 2 acts or more'
        yield finder.problem(("structure", "parts", "accept"), found, expected)
    seen: set[int] = set()
    for place, act in enumerate(structure.act):
        path = ("structure", "act", place, "number")
        if act.number in seen:
            yield finder.problem(path, f"act {act.number} again", "each act once")
        elif most is not None and act.number > most:
            yield finder.problem(path, f"act {act.number} of {most}", f"1 to {most}")
        seen.add(act.number)
    elements = Counter(element.name for element in structure.element)
    for place, element in enumerate(structure.element):
        if elements[element.name] > 1:
            found = f"{shown(element.name)} {elements[element.name]} times"
            yield finder.problem(("structure", "element", place, "name"), found, "each element once")


_RULES: tuple[Rule, ...] = (_outlet, picture_rules, label_problems, _parting, sums, _channels)
