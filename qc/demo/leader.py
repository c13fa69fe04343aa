"""What stands before a programme: colour bars, a slate, a countdown.

The bars are those of SMPTE RP 219 without its ramp and its steps near black (layout and percentages from memory).
"""

from __future__ import annotations

from functools import cache

from qc.demo.raster import Planes, Raster, code

_COLOURS = ((1, 1, 1), (1, 1, 0), (0, 1, 1), (0, 1, 0), (1, 0, 1), (1, 0, 0), (0, 0, 1))
_SIDE = 1 / 8
_Patch = tuple[float, float, tuple[float, ...]]


@cache
def bars(raster: Raster) -> Planes:
    planes = raster.plane(16), raster.chroma(), raster.chroma()
    down = 0.0
    for until, patches in _rows():
        for left, right, colour in patches:
            for plane, step, value in zip(planes, (1, 2, 2), code(*colour), strict=True):
                top, bottom = round(down * raster.height), round(until * raster.height)
                # Whole pairs of pixels, so that colour and luma end together
                first, end = (round(edge * raster.width / 2) * 2 // step for edge in (left, right))
                plane[top:bottom, first:end] = value
        down = until
    return planes


def _rows() -> tuple[tuple[float, tuple[_Patch, ...]], ...]:
    bar = (1 - 2 * _SIDE) / 7

    def between(left: _Patch, right: _Patch, *middle: _Patch) -> tuple[_Patch, ...]:
        return left, *middle, right

    def side(colour: tuple[float, ...], other: tuple[float, ...]) -> tuple[_Patch, _Patch]:
        return (0.0, _SIDE, colour), (1 - _SIDE, 1.0, other)

    seven = [
        (_SIDE + place * bar, _SIDE + (place + 1) * bar, tuple(0.75 * part for part in colour))
        for place, colour in enumerate(_COLOURS)
    ]
    white = (_SIDE + 1.5 * bar, _SIDE + 3.5 * bar, (1.0, 1.0, 1.0))
    grey = (0.4,) * 3
    return (
        (7 / 12, between(*side(grey, grey), *seven)),
        (8 / 12, between(*side((0, 1, 1), (0, 0, 1)), (_SIDE, 1 - _SIDE, (0.75,) * 3))),
        (9 / 12, between(*side((1, 1, 0), (1, 0, 0)))),
        (1.0, between(*side((0.15,) * 3, (0.15,) * 3), white)),
    )
