"""Acts, breaks, running time and slot of a profile: can they all be met by one programme?

Whole frames at the first accepted picture rate. Where the outlet counts each act outward to whole
seconds, an act may be up to two seconds shorter than it counts.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from qc.outlets.expected import Finder
from qc.outlets.problems import Problem
from qc.outlets.rates import frames_at, rates_of
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import DurationLimit


@dataclass(frozen=True)
class _Range:
    """Frames from low to high; high None is open."""

    low: int
    high: int | None

    def __add__(self, other: _Range) -> _Range:
        high = None if self.high is None or other.high is None else self.high + other.high
        return _Range(self.low + other.low, high)

    def times(self, count: int) -> _Range:
        return _Range(self.low * count, None if self.high is None else self.high * count)

    def meets(self, other: _Range) -> bool:
        below = self.high is not None and self.high < other.low
        above = other.high is not None and other.high < self.low
        return not (below or above)

    def __str__(self) -> str:
        if self.high is None:
            return f"{self.low} frames or more"
        return f"{self.low} frames" if self.low == self.high else f"{self.low} to {self.high} frames"


def _range(limit: DurationLimit | None, rates: list[Fraction]) -> _Range | None:
    """None if nothing is said, or if it cannot be counted (which is a problem of its own)."""
    if limit is None:
        return None
    said = {key: getattr(limit, key) for key in ("exact", "tolerance", "min", "max")}
    frames = {key: frames_at(text, rates) for key, text in said.items() if text is not None}
    if None in frames.values():
        return None
    known = {key: value for key, value in frames.items() if value is not None}
    if "exact" in known:
        spread = known.get("tolerance", 0)
        return _Range(max(0, known["exact"] - spread), known["exact"] + spread)
    low, high = known.get("min", 0), known.get("max")
    return None if high is not None and high < low else _Range(low, high)


def sums(profile: Profile, finder: Finder) -> Iterator[Problem]:
    """Acts against TRT, TRT and breaks against the slot, TRT against the whole file, the leader against the head."""
    rates = rates_of(profile)
    structure, duration = profile.structure, profile.duration
    trt = _range(duration.trt, rates)
    acts = structure.acts.exact if structure.acts else None
    if structure.parts is not None and set(structure.parts.accept) == {"single"}:
        acts = acts or 1
    if acts is not None and acts > 64:
        yield finder.problem(("structure", "acts", "exact"), f"{acts} acts", "64 acts or fewer")
        return
    slack = 0
    if profile.programme.accounting == "whole-second outward":
        slack = 2 * round(rates[0] if rates else Fraction(30)) * (acts or 1)
    if trt is not None:
        trt = _Range(max(0, trt.low - slack), trt.high)
        yield from _acts(profile, finder, trt, acts, rates)
        yield from _slot(profile, finder, trt, acts, rates)
    yield from _head(profile, finder, rates)
    whole = _range(duration.file, rates)
    if trt is not None and whole is not None and whole.high is not None and whole.high < trt.low:
        found = f"{whole} for the whole file, {trt} for the programme alone"
        yield finder.problem(("duration", "file"), found, "a file that can hold the programme", table=True)


def _acts(profile: Profile, finder: Finder, trt: _Range, acts: int | None, rates: list[Fraction]) -> Iterator[Problem]:
    if acts is None or (profile.structure.act_length is None and not profile.structure.act):
        return
    every = _range(profile.structure.act_length, rates) or _Range(0, None)
    own = {act.number: _range(act, rates) for act in profile.structure.act}
    total = _Range(0, 0)
    for number in range(1, acts + 1):
        total += own.get(number) or every
    if not total.meets(trt):
        found = f"{acts} acts of {total} together, TRT {trt}"
        place = ("structure", "act_length") if profile.structure.act_length else ("structure", "act")
        yield finder.problem(place, found, "act lengths that can add up to the TRT", table=True)


def _head(profile: Profile, finder: Finder, rates: list[Fraction]) -> Iterator[Problem]:
    """The elements of the leader against the length of the head."""
    layout, head = profile.leader.layout, _range(profile.structure.head, rates)
    if layout is None or head is None:
        return
    lengths = [_range(element.length, rates) or _Range(0, None) for element in layout.element]
    total = sum(lengths[1:], lengths[0])
    if not total.meets(head):
        found = f"elements of {total} together, with a head of {head}"
        yield finder.problem(("leader", "layout"), found, "elements that fill [structure.head]", table=True)


def _slot(profile: Profile, finder: Finder, trt: _Range, acts: int | None, rates: list[Fraction]) -> Iterator[Problem]:
    slot, breaks = profile.duration.slot, _range(profile.structure.break_length, rates)
    if slot is None or acts is None or (breaks is None and acts > 1):
        return
    wanted = frames_at(slot.exact, rates)
    total = trt + (breaks or _Range(0, 0)).times(acts - 1)
    if wanted is None or total.meets(_Range(wanted, wanted)):
        return
    plural = "" if acts == 2 else "s"
    found = f"slot {wanted} frames; TRT {trt} and {acts - 1} break{plural} make {total}"
    yield finder.problem(("duration", "slot", "exact"), found, "TRT and breaks that add up to the slot")
