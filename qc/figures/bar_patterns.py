"""Colour bars as they are published: which colour stands where, in which code values.

Sources, from memory where no code values are computed here: SMPTE RP 219 (also ARIB STD-B28), layout of the pattern
and its percentages; SMPTE EG 1, layout; ITU-R BT.471-1, names such as 100/0/75/0 (white, black, and the largest
and smallest primary in the coloured bars, in percent). Code values follow from the percentages by the matrices of
ITU-R BT.709-6, BT.601-7 and BT.2020-2 and the narrow range of BT.709-6, 4.6; they are not taken from a table.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

#: Name of a matrix -> weights of red and blue in luma: BT.709-6, 3.2; BT.601-7, 2.5.1; BT.2020-2, table 4.
MATRICES = {"BT.709": (0.2126, 0.0722), "BT.601": (0.299, 0.114), "BT.2020": (0.2627, 0.0593)}

RGB = tuple[float, float, float]

#: White, yellow, cyan, green, magenta, red, blue: in the order of falling luma.
_ORDER: tuple[RGB, ...] = ((1, 1, 1), (1, 1, 0), (0, 1, 1), (0, 1, 0), (1, 0, 1), (1, 0, 0), (0, 0, 1))
_BLACK, _WHITE = (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)


@dataclass(frozen=True)
class Patch:
    """One field of a pattern: its place in shares of width and height, its colour in shares of full level."""

    left: float
    right: float
    top: float
    bottom: float
    colour: RGB


@dataclass(frozen=True)
class Pattern:
    """A published pattern.

    patches  fields that must be there; fields that the publication leaves open, ramps and PLUGE are not among them
    """

    name: str
    patches: tuple[Patch, ...]


def codes(colour: RGB, matrix: str) -> tuple[float, float, float]:
    """Y', Cb, Cr of a colour in 8-bit narrow range, not rounded; four times that in 10 bits."""
    red_weight, blue_weight = MATRICES[matrix]
    red, green, blue = colour
    luma = red_weight * red + (1 - red_weight - blue_weight) * green + blue_weight * blue
    return (
        16 + 219 * luma,
        128 + 224 * (blue - luma) / (2 * (1 - blue_weight)),
        128 + 224 * (red - luma) / (2 * (1 - red_weight)),
    )


def table(pattern: Pattern, matrix: str) -> np.ndarray:
    """(patches, 3) float64: the codes of all patches."""
    return np.array([codes(patch.colour, matrix) for patch in pattern.patches])


def _at(level: float, colour: RGB) -> RGB:
    return level * colour[0], level * colour[1], level * colour[2]


def _grey(level: float) -> RGB:
    return level, level, level


def _row(colours: list[RGB], left: float, right: float, top: float, bottom: float) -> Iterator[Patch]:
    width = (right - left) / len(colours)
    for place, colour in enumerate(colours):
        yield Patch(left + place * width, left + (place + 1) * width, top, bottom, colour)


def _ebu(white: float, level: float) -> tuple[Patch, ...]:
    """Eight bars of full height."""
    colours = [_grey(white), *(_at(level, colour) for colour in _ORDER[1:]), _BLACK]
    return tuple(_row(colours, 0, 1, 0, 1))


def _rp_219_middle(left: float, right: float) -> Iterator[Patch]:
    """What the 4:3 and the 16:9 form have in common: bars of 75 %, and black and white below them."""
    bar = (right - left) / 7
    yield from _row([_at(0.75, colour) for colour in _ORDER], left, right, 0, 7 / 12)
    yield Patch(left + 1.5 * bar, left + 3.5 * bar, 9 / 12, 1, _WHITE)
    yield Patch(left, left + 1.5 * bar, 9 / 12, 1, _BLACK)
    yield Patch(left + 6 * bar, right, 9 / 12, 1, _BLACK)


def _rp_219() -> tuple[Patch, ...]:
    side = 1 / 8
    return (
        Patch(0, side, 0, 7 / 12, _grey(0.4)),
        Patch(1 - side, 1, 0, 7 / 12, _grey(0.4)),
        Patch(0, side, 7 / 12, 8 / 12, (0, 1, 1)),
        Patch(1 - side, 1, 7 / 12, 8 / 12, (0, 0, 1)),
        Patch(0, side, 8 / 12, 9 / 12, (1, 1, 0)),
        Patch(1 - side, 1, 8 / 12, 9 / 12, (1, 0, 0)),
        Patch(0, side, 9 / 12, 1, _grey(0.15)),
        Patch(1 - side, 1, 9 / 12, 1, _grey(0.15)),
        *_rp_219_middle(side, 1 - side),
    )


def _eg_1() -> tuple[Patch, ...]:
    blue_row = [(0, 0, 1), _BLACK, (1, 0, 1), _BLACK, (0, 1, 1), _BLACK, (1, 1, 1)]
    return (
        *_row([_at(0.75, colour) for colour in _ORDER], 0, 1, 0, 2 / 3),
        *_row([_at(0.75, colour) for colour in blue_row], 0, 1, 2 / 3, 3 / 4),
        Patch(5 / 28, 10 / 28, 3 / 4, 1, _WHITE),
        Patch(6 / 7, 1, 3 / 4, 1, _BLACK),
    )


PATTERNS: tuple[Pattern, ...] = (
    Pattern("SMPTE RP 219", _rp_219()),
    Pattern("SMPTE RP 219, 4:3", tuple(_rp_219_middle(0, 1))),
    Pattern("SMPTE EG 1", _eg_1()),
    Pattern("EBU 100/0/75/0", _ebu(1.0, 0.75)),
    Pattern("EBU 100/0/100/0", _ebu(1.0, 1.0)),
    Pattern("EBU 75/0/75/0", _ebu(0.75, 0.75)),
)
