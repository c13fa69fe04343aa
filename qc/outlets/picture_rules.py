"""Lines about the picture that cannot be met together."""

from __future__ import annotations

from collections.abc import Iterator

from qc.outlets.expected import Finder
from qc.outlets.problems import Problem
from qc.outlets.schema import Profile

#: What a picture can show whose flags are right: progressive pictures in fields (PsF) show no order of their own.
_SHOWN = {
    "progressive": ("progressive content",),
    "interlaced, top first": ("top first", "progressive content"),
    "interlaced, bottom first": ("bottom first", "progressive content"),
}


def picture_rules(profile: Profile, finder: Finder) -> Iterator[Problem]:
    """Scan and the order of fields, shapes of inserts, stripes at rest and changing."""
    yield from _fields(profile, finder)
    inserts = profile.active_picture.inserts
    if inserts is not None and "none" in inserts.accept and len(inserts.accept) > 1:
        shapes = " or ".join(f'"{shape}"' for shape in inserts.accept if shape != "none")
        found = f'"none" beside {shapes}'
        yield finder.problem(("active_picture", "inserts", "accept"), found, f'"none" alone, or {shapes} without it')
    stripes = profile.flashing.patterns
    if stripes is not None and stripes.changing_percent > stripes.still_percent:
        found = f"changing_percent {stripes.changing_percent:g} over still_percent {stripes.still_percent:g}"
        expected = "changing_percent at or under still_percent: stripes that change are the worse ones"
        yield finder.problem(("flashing", "patterns", "changing_percent"), found, expected)


def _fields(profile: Profile, finder: Finder) -> Iterator[Problem]:
    scan, measured = profile.picture.scan, profile.field_order.measured
    if scan is None or measured is None:
        return
    possible = list(dict.fromkeys(shown for accepted in scan.accept for shown in _SHOWN.get(accepted, ())))
    if possible and not set(possible) & set(measured.accept):
        found = f"{_any_of(measured.accept)} with [picture.scan] {_any_of(scan.accept)}"
        yield finder.problem(("field_order", "measured", "accept"), found, _any_of(possible))


def _any_of(words: list[str]) -> str:
    return " or ".join(f'"{word}"' for word in words)
