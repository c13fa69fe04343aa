"""Flashes to and from saturated red, whatever their luminance: on single points, evenly spaced over the screen.

A point of colour is a sample of the picture's own chroma beside the small plane of luma, not an average: the mean
of red and its surroundings is no saturated red, so cells would lose red all round an area's edge.
"""

from __future__ import annotations

from functools import cache
from math import ceil
from typing import NamedTuple

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.display_light import COLOUR_FIRST, COLOUR_LAST, COLOUR_STEPS, SDR_WHITE, Lookup, colour_table
from qc.meters.picture.flash_counts import ChangeCounter, TickTimes
from qc.meters.picture.planes import Planes

#: Saturated red: R / (R + G + B) in linear light of at least this, and a change of more than this in CIE 1976 u'v'.
#: BT.1702-3 gives no number. Source: ISO 9241-391:2016 as quoted by W3C, WCAG 2.2, "general flash and red flash".
RED_SHARE, RED_CHANGE = 0.8, 0.2

#: Points for red across and down.
ACROSS, DOWN = 112, 63
#: Light that every screen reflects, for the colour of what is nearly black: 0.4 cd/m2 (no source).
FLARE = 0.002 * SDR_WHITE
#: Moments without red that may go by between two that are walked.
_WAITS = 3
#: Steps of the table of light below those of colour_table: R', G', B' of all codes there are is -1.15 at least.
_BELOW = 1024

# Primaries with white D65. Sources: ITU-R BT.709-6, item 1.3; ITU-R BT.2020-2, Table 3.
_PRIMARIES_709 = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
_PRIMARIES_2020 = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))
_D65 = (0.3127, 0.3290)
# Kr and Kb. Sources: ITU-R BT.709-6, 3.2; BT.601-7, 2.5.1; BT.2020-2, Table 4; SMPTE ST 240 (from memory).
_WEIGHTS = {
    "bt.709": (0.2126, 0.0722),
    "bt.2020": (0.2627, 0.0593),
    "smpte 170m": (0.299, 0.114),
    "bt.470 bg": (0.299, 0.114),
    "fcc": (0.30, 0.11),
    "smpte 240m": (0.212, 0.087),
    "rgb": (0.2126, 0.0722),  # the reader brings it to BT.709
}
_ALSO = {"bt709": "bt.709", "bt2020nc": "bt.2020", "smpte170m": "smpte 170m", "bt470bg": "bt.470 bg"}
_ALSO |= {"smpte240m": "smpte 240m", "gbr": "rgb"}

_NONE = np.empty(0, np.intp)


class Moment(NamedTuple):
    """What the points of a moment are taken from: luma, Cb and Cr of any sizes, and what their codes mean."""

    luma: np.ndarray
    cb: np.ndarray
    cr: np.ndarray
    bits: int
    full_range: bool


class RedFlashes:
    """Samples of the picture, walked where anything may be red, and the counter of their changes."""

    def __init__(self, model: int, weights: tuple[float, float], times: TickTimes) -> None:
        kr, kb = weights
        kg = 1 - kr - kb
        self._to_rgb = np.array(
            [
                [1, 0, 2 * (1 - kr)],
                [1, -2 * (1 - kb) * kb / kg, -2 * (1 - kr) * kr / kg],
                [1, 2 * (1 - kb), 0],
            ],
            np.float32,
        )
        self._coding = (0, False)
        self._matrix: np.ndarray  # from codes of this kind to places in the table
        self._shift: np.ndarray
        self._lookup = Lookup(np.pad(colour_table(model) + np.float32(FLARE), (_BELOW, 0), mode="edge")[:, None])
        primaries = _PRIMARIES_2020 if weights == _WEIGHTS["bt.2020"] else _PRIMARIES_709
        points = ACROSS * DOWN
        self._walk = RedWalk(points, to_xyz(primaries))
        # Used again and again, and as few as can be: what is not in the cache costs as much as what is done with it
        self._codes, self._places = np.empty((2, 3, points), np.float32)
        self._steps = np.empty((3, points), np.uint16)
        # The last moment that was not walked; its planes are held until the next
        self._waiting: Moment | None = None
        self._waits = 0
        self._least, self._slope = least_red(model, weights)
        self.counter = ChangeCounter(ACROSS, DOWN, times)

    def step(self, tick: int, planes: Planes, luma: np.ndarray, parity: int | None) -> None:
        """Where nothing is near red, every fourth moment is walked, and the one right before red turns up."""
        assert planes.cb is not None and planes.cr is not None
        moment = Moment(luma, field_of(planes.cb, parity), field_of(planes.cr, parity), planes.bits, planes.full_range)
        cr = _points(moment.cr)
        near = self._walk.anywhere or self.may_be_red(moment, cr)
        if not near and self._waits < _WAITS:
            self._waiting = moment
            self._waits += 1
            return
        if near and self._waiting is not None:
            self._walk.step(self._light(self._waiting, _points(self._waiting.cr)))
        self._waiting, self._waits = None, 0
        came, left = self._walk.step(self._light(moment, cr))
        if len(came) or len(left):
            self.counter.add(tick, came, left)
            self.counter.keep(tick, came, left)

    def may_be_red(self, moment: Moment, cr: np.ndarray) -> bool:
        """False if Cr, given at the points, is too small everywhere, by itself or beside luma."""
        scale, offset = _scale(moment.bits, moment.full_range)
        at: np.ndarray = (cr >= ceil((self._least + offset[2]) / scale[2])).nonzero()[0]
        if not len(at):
            return False
        bound = _points(moment.luma)[at] * np.float32(self._slope * scale[0] / scale[2])
        bound += np.float32((offset[2] - self._slope * offset[0]) / scale[2])
        return bool((cr[at] >= bound).any())

    def _light(self, moment: Moment, cr: np.ndarray) -> np.ndarray:
        codes = self._codes
        codes[0], codes[1], codes[2] = _points(moment.luma), _points(moment.cb), cr
        if moment.bits > 8:  # words may hold more than their depth
            np.minimum(codes, (1 << moment.bits) - 1, out=codes)
        return self.linear(codes, moment.bits, moment.full_range)

    def linear(self, codes: np.ndarray, bits: int, full_range: bool) -> np.ndarray:
        """(3, points) linear R, G, B, FLARE added, in the place of float32 Y', Cb, Cr."""
        if self._coding != (bits, full_range):
            self._coding = bits, full_range
            scale, offset = _scale(bits, full_range)
            # Straight to places in the table of light, which no code is below; half a step up for rounding
            steps = COLOUR_STEPS / (COLOUR_LAST - COLOUR_FIRST)
            self._matrix = self._to_rgb * (scale * np.float32(steps))
            shift = self._to_rgb @ offset * np.float32(steps) + np.float32(COLOUR_FIRST * steps - _BELOW - 0.5)
            self._shift = shift[:, None]
        if self._places.shape != codes.shape:
            self._places = np.empty(codes.shape, np.float32)
            self._steps = np.empty(codes.shape, np.uint16)
        places = np.matmul(self._matrix, codes, out=self._places)
        places -= self._shift
        np.copyto(self._steps, places, casting="unsafe")
        return self._lookup.fill(self._steps, codes)


class RedWalk:
    """Takes linear (3, points) R, G, B, FLARE added: near black a colour has no meaning, and noise would make it red.
    Each step says which points went to saturated red, and which left it.

    primaries  (3, 3) matrix to CIE XYZ of the picture's R, G, B
    """

    def __init__(self, points: int, primaries: np.ndarray) -> None:
        x, y, z = primaries
        # CIE 1976 u'v' less that of the red primary, times the denominator of both; the denominator; and how much R is
        # over its share in red: all as one product
        below = x + 15 * y + 3 * z
        over = np.array([1 - RED_SHARE, -RED_SHARE, -RED_SHARE])
        red_u, red_v = 4 * x[0] / below[0], 9 * y[0] / below[0]
        self._to_sums = np.stack([4 * x - red_u * below, 9 * y - red_v * below, below, over]).astype(np.float32)
        self._sums = np.empty((4, points), np.float32)
        self._inside = np.zeros(points, bool)
        self.anywhere = False  # some point is red, or near what was red
        self._from: np.ndarray | None = None  # (2, points) u'v' of the last extreme, from red on
        self._distance = np.zeros(points, np.float32)  # of it from red, squared

    def step(self, light: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Indices of the points that changed to red, and from red, with this moment; ``light`` is used up."""
        sums = np.matmul(self._to_sums, light, out=self._sums)
        uv = np.divide(sums[:2], sums[2], out=sums[:2])  # from red on
        red = sums[3] >= 0
        off = np.multiply(uv, uv, out=light[:2])
        distance = np.add(off[0], off[1], out=off[0])
        if self._from is None:
            self._from, self._distance, self._inside = uv.copy(), distance.copy(), red
            self.anywhere = bool(red.any())
            return _NONE, _NONE
        # An extreme is the farthest from red outside, the nearest inside
        renew: np.ndarray = (distance > self._distance) != self._inside
        turned: np.ndarray = (red | self._inside).nonzero()[0]
        if len(turned):
            move = uv[:, turned] - self._from[:, turned]
            turned = turned[move[0] * move[0] + move[1] * move[1] > RED_CHANGE * RED_CHANGE]
            renew[turned] = True
        new: np.ndarray = renew.nonzero()[0]
        if len(new):
            self._from[:, new], self._distance[new] = uv[:, new], distance[new]
        if not len(turned):
            return _NONE, _NONE
        came = ~self._inside[turned]
        self._inside[turned] = came
        self.anywhere = bool(self._inside.any())
        return turned[came], turned[~came]


def field_of(plane: np.ndarray, parity: int | None) -> np.ndarray:
    """Rows of the upper (0) or lower (1) field; all of them for None, or where there is a single row."""
    return plane if parity is None or plane.shape[0] < 2 else plane[parity::2]


def _points(plane: np.ndarray) -> np.ndarray:
    """(DOWN * ACROSS,) single samples, evenly spaced."""
    rows, columns = _places(plane.shape)
    # Whole rows first: fetched from memory in one go, they are read in no time
    return plane[rows].take(columns, axis=1).ravel()


@cache
def _places(shape: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Rows and columns of a plane that have points: the middles of DOWN and ACROSS equal parts."""
    rows, columns = np.indices(shape, np.float32, sparse=True)
    way = cv2.INTER_NEAREST_EXACT
    row, column = cv2.resize(rows, (1, DOWN), interpolation=way), cv2.resize(columns, (ACROSS, 1), interpolation=way)
    return row.ravel().astype(np.intp), column.ravel().astype(np.intp)


def luma_weights(kind: PictureKind) -> tuple[float, float] | None:
    """Kr and Kb of the picture; by its height where no matrix is tagged (common practice); None for another coding."""
    if kind.matrix is None:
        return _WEIGHTS["bt.709" if kind.height > 576 else "smpte 170m"]
    name = kind.matrix.casefold()
    return _WEIGHTS.get(_ALSO.get(name, name))


def to_xyz(primaries: tuple[tuple[float, float], ...]) -> np.ndarray:
    """(3, 3) from linear R, G, B to CIE XYZ with D65 at 1, 1, 1. Source: SMPTE RP 177 (from memory)."""
    columns = np.array([[x / y, 1.0, (1 - x - y) / y] for x, y in (*primaries, _D65)]).T
    return np.asarray(columns[:, :3] * np.linalg.solve(columns[:, :3], columns[:, 3]))


@cache
def _scale(bits: int, full_range: bool) -> tuple[np.ndarray, np.ndarray]:
    """Y', Cb, Cr as fractions are codes times the first less the second. Source: ITU-R BT.709-6, item 4.6."""
    step, top = 2.0 ** (bits - 8), float((1 << bits) - 1)
    black, luma, chroma = (0.0, top, top) if full_range else (16 * step, 219 * step, 224 * step)
    scale = np.array([1 / luma, 1 / chroma, 1 / chroma], np.float32)
    return scale, np.array([black / luma, 128 * step / chroma, 128 * step / chroma], np.float32)


@cache
def least_red(model: int, weights: tuple[float, float]) -> tuple[float, float]:
    """The least Cr (a fraction, -0.5 to 0.5) and the least Cr / Y' that any saturated red has: below either, nothing
    is red.

    Found over all R', G', B' in steps of 1/60, and lowered by what may lie between them.
    """
    kr, kb = weights
    steps = np.linspace(0.0, COLOUR_LAST, 76)
    light = np.interp(steps, np.linspace(COLOUR_FIRST, COLOUR_LAST, COLOUR_STEPS + 1), colour_table(model)) + FLARE
    red, green, blue = np.meshgrid(light, light, light, indexing="ij", sparse=True)
    saturated = red >= RED_SHARE * (red + green + blue)
    r, g, b = np.meshgrid(steps, steps, steps, indexing="ij", sparse=True)
    luma = kr * r + (1 - kr - kb) * g + kb * b
    difference = ((r - luma) / (2 * (1 - kr)))[saturated] - steps[1]
    return float(difference.min()), float((difference / (luma[saturated] + steps[1])).min())
