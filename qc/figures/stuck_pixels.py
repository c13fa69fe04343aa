"""Stuck pixels among the watched places: those that stood out over several different pictures, on changing ground."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from qc.meters.picture.geometry_series import SPREAD

#: Looks in which it has to be seen, and their share of the looks in which it could be.
_LEAST_SEEN, _LEAST_SHARE = 6, 0.15
#: Share of the looks in which it deviates to the same side, unless it stands at one value.
_SAME_SIDE = 0.9


@dataclass(frozen=True)
class StuckPixel:
    """One place of the raster.

    column, row  from the upper left corner, from 0
    kind         "bright" or "dark" against its neighbours; "stuck" if now the one, now the other
    size         pixels it covers
    first, last, best  frames: first and last in which it was seen, and where it shows most
    seen, could  looks in which it was seen, and in which it could have been
    pictures     different pictures in which it was seen in nearly every look
    difference   mean, in codes of 8 bits, from its neighbours
    level        its own mean value
    """

    column: int
    row: int
    kind: str
    size: int
    first: int
    last: int
    best: int
    seen: int
    could: int
    pictures: int
    difference: float
    level: float


def measured(series: Mapping[str, np.ndarray]) -> bool:
    """Whether any picture was looked at."""
    return len(series.get("stuck.looks", ())) > 0


def looks(series: Mapping[str, np.ndarray]) -> int:
    return len(series["stuck.looks"])


def raster(series: Mapping[str, np.ndarray]) -> tuple[int, int]:
    """Width and height that places are counted in."""
    width, height = (int(value) for value in series["stuck.raster"])
    return width, height


def stuck_pixels(series: Mapping[str, np.ndarray], least_pictures: int = 3) -> list[StuckPixel]:
    """All of them, the most conspicuous first.

    least_pictures  different pictures in which each must have been seen
    """
    counts, level = series["stuck.counts"].astype(np.int64), series["stuck.level"].astype(np.float64)
    if not len(counts):
        return []
    seen, could, brighter = counts[:, 0], counts[:, 1], counts[:, 6]
    one_side = np.maximum(brighter, seen - brighter) >= _SAME_SIDE * seen
    real = (
        (counts[:, 3] >= least_pictures)
        & (seen >= _LEAST_SEEN)
        & (seen >= _LEAST_SHARE * could)
        & (one_side | (level[:, 2] <= SPREAD))
    )
    found = []
    for at in np.flatnonzero(real):
        column, row = (int(value) for value in series["stuck.place"][at])
        first, last, best = (int(value) for value in series["stuck.frames"][at])
        kind = ("bright" if 2 * brighter[at] > seen[at] else "dark") if one_side[at] else "stuck"
        found.append(
            StuckPixel(
                column=column,
                row=row,
                kind=kind,
                size=int(counts[at, 5]),
                first=first,
                last=last,
                best=best,
                seen=int(seen[at]),
                could=int(could[at]),
                pictures=int(counts[at, 3]),
                difference=float(level[at, 0]),
                level=float(level[at, 1]),
            )
        )
    return sorted(found, key=lambda one: (-one.seen * abs(one.difference), one.row, one.column))
