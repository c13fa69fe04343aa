"""The elements that an outlet asks for against those that were found, in order.

The cheapest way to make one list of the other: an element that was found may stand for one that is asked for, be
one too many, or be missing. What could not be recognised may stand for anything that it cannot be told from.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from qc.programme.leader import Element, Kind


class Fit(StrEnum):
    """How an element that was found meets one that is asked for."""

    AS_ASKED = "as asked"
    NO_TONE = "no tone"
    UNKNOWN = "not recognised"
    OTHER = "something else"


@dataclass(frozen=True)
class Placed:
    """One element that is asked for.

    number  in the outlet's list, from 0
    found   what stands there; None if it is missing
    before  elements that nobody asked for, between the one before and this one; after the last one too
    """

    number: int
    found: Element | None
    fit: Fit | None
    before: tuple[Element, ...] = ()
    after: tuple[Element, ...] = ()


_COST = {Fit.AS_ASKED: 0.0, Fit.NO_TONE: 0.3, Fit.UNKNOWN: 0.6, Fit.OTHER: 1.7}
_MISSING, _TOO_MANY = 1.0, 0.7
_ANYTHING = (Kind.MOVING, Kind.STILL, Kind.SLATE)
_KINDS: dict[str, tuple[tuple[Kind, ...], tuple[Kind, ...]]] = {
    # asked for -> what it is, and what it cannot be told from
    "bars": ((Kind.BARS,), _ANYTHING),
    "bars and tone": ((Kind.BARS,), _ANYTHING),
    "tone": ((Kind.BLACK, Kind.STILL, Kind.SLATE), ()),
    "slate": ((Kind.SLATE,), (Kind.STILL, Kind.MOVING)),
    "still": ((Kind.STILL, Kind.SLATE), (Kind.MOVING,)),
    "countdown": ((Kind.COUNT,), (Kind.MOVING,)),
    "clock": ((Kind.COUNT,), (Kind.MOVING,)),
    "black": ((Kind.BLACK,), ()),
}


def fit(asked: str, element: Element) -> Fit:
    """How an element meets one that is asked for by its word in a profile."""
    right, doubtful = _KINDS[asked]
    if element.kind in right:
        tone_missing = asked in ("tone", "bars and tone") and element.tone is None
        return Fit.NO_TONE if tone_missing else Fit.AS_ASKED
    return Fit.UNKNOWN if element.kind in doubtful else Fit.OTHER


def place_elements(asked: Sequence[str], found: Sequence[Element]) -> tuple[Placed, ...]:
    """One record for each element that is asked for, in the outlet's order."""

    rows, columns = len(asked), len(found)
    cost = [[_MISSING * (rows - i) + _TOO_MANY * (columns - j) for j in range(columns + 1)] for i in range(rows + 1)]
    for i in range(rows - 1, -1, -1):
        for j in range(columns - 1, -1, -1):
            together = cost[i + 1][j + 1] + _COST[fit(asked[i], found[j])]
            cost[i][j] = min(together, cost[i + 1][j] + _MISSING, cost[i][j + 1] + _TOO_MANY)
    placed: list[Placed] = []
    extra: list[Element] = []
    i = j = 0
    while i < rows:
        if j < columns and cost[i][j] == cost[i + 1][j + 1] + _COST[fit(asked[i], found[j])]:
            placed.append(Placed(i, found[j], fit(asked[i], found[j]), tuple(extra)))
            i, j, extra = i + 1, j + 1, []
        elif j < columns and cost[i][j] == cost[i][j + 1] + _TOO_MANY:
            extra.append(found[j])
            j += 1
        else:
            placed.append(Placed(i, None, None, tuple(extra)))
            i, extra = i + 1, []
    extra += found[j:]
    if extra and placed:
        last = placed[-1]
        placed[-1] = Placed(last.number, last.found, last.fit, last.before, tuple(extra))
    return tuple(placed)
