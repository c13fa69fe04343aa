"""Pictures of known code values, and what the meter of levels says of them."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.level_ladder import LADDER, TESTED
from qc.meters.picture.levels import LevelsMeter
from qc.meters.picture.planes import Planes

Codes = tuple[int, int, int]


def picture(
    codes: Codes,
    size: tuple[int, int] = (320, 180),
    bits: int = 8,
    sampling: str = "4:2:2",
    *,
    patch: tuple[Codes, tuple[int, int, int, int]] | None = None,
    **more: bool,
) -> Planes:
    """One colour, and another in a rectangle (left, top, width, height: even numbers)."""
    width, height = size
    across, down = {"4:4:4": (1, 1), "4:2:2": (2, 1), "4:2:0": (2, 2), "4:0:0": (0, 0)}[sampling]
    kind = np.uint8 if bits == 8 else np.uint16
    planes: list[np.ndarray | None] = []
    for place, code in enumerate(codes):
        x, y = (1, 1) if place == 0 else (across, down)
        if not x:
            planes.append(None)
            continue
        plane = np.full((-(-height // y), -(-width // x)), code, kind)
        if patch is not None:
            colour, (left, top, wide, high) = patch
            plane[top // y : (top + high) // y, left // x : (left + wide) // x] = colour[place]
        planes.append(plane)
    assert planes[0] is not None
    return Planes(0, planes[0], planes[1], planes[2], bits, **more)


def measured(
    pictures: Iterable[Planes], matrix: str | None = "BT.709", transfer: str | None = None
) -> dict[str, np.ndarray]:
    """The meter's series of some pictures."""
    pictures = list(pictures)
    meter = LevelsMeter(PictureKind(pictures[0].width, pictures[0].height, Fraction(25), matrix, transfer))
    for planes in pictures:
        meter.feed(planes)
    return meter.finish()


def shares(planes: Planes, matrix: str | None = "BT.709") -> dict[tuple[str, int], float]:
    """Share of one picture beyond each level; only those that are not nothing."""
    series = measured([planes], matrix)
    if series["levels.state"][0] != TESTED:
        return {}
    return {
        level: float(value) / 65535 for level, value in zip(LADDER, series["levels.share"][0], strict=True) if value
    }
