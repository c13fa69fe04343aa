"""Made-up pictures by a made-up camera: scenes that slide past, and some that stand still before it.

Each shows both fields at their own moment. A moment is half a frame.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

import numpy as np

from qc.demo.raster import BLACK, GREY, Planes, Raster, code

#: Moment of the upper and of the lower field.
Moments = tuple[int, int]

#: Darkest and brightest luma, and the most colour, of the three kinds of usual scenes. Less than 20 cd/m2 lie between
#: them in both published readings of luminance (ITU-R BT.1702-3; Ofcom), so nothing that slides past can flash.
_LIGHT = (40, 92), (95, 122), (120, 138)
_TINT = 16, 36, 36

#: Red at 109 % of full level: luma and both other colours are legal.
DOOR = code(1.09, 0.2, 0.2)
#: Of the screen in percent, and of its sides.
DOOR_BOX = (0.40, 0.28, 0.55, 0.78)


class Scene(Protocol):
    def at(self, moments: Moments) -> Planes:
        """A fresh picture, to be written on."""


class Sliding:
    """One background that slides sideways, and a block that crosses it and comes back."""

    def __init__(self, raster: Raster, number: int, dim: float = 1.0) -> None:
        width, height = raster.width, raster.height
        self._width, self._height = width, height
        rows, columns = np.mgrid[0:height, 0 : 2 * width].astype(np.float32)
        turn = 2 * np.pi * columns / width
        kind = number % 3
        if kind == 0:
            wave = 0.4 + 0.35 * np.sin(3 * turn) + 0.25 * rows / height
        elif kind == 1:
            wave = 0.5 + 0.3 * np.sin(2 * turn + 4 * rows / height) + 0.2 * np.cos(turn - 6 * rows / height)
        else:
            wave = 0.4 + 0.35 * np.tanh(3 * np.sin(4 * turn)) + 0.25 * rows / height  # bars, a little out of focus
        darkest, brightest = _LIGHT[kind]
        self._luma = (BLACK + dim * (darkest + wave.clip(0, 1) * (brightest - darkest) - BLACK)).astype(np.uint8)
        tint = dim * _TINT[kind] * np.sin(turn + number)
        self._blue = (GREY + tint).astype(np.uint8)[:, ::2]
        self._red = (GREY - tint * np.cos(number) / 2).astype(np.uint8)[:, ::2]
        self._speed = 2 + number % 3
        self._block = _Block(raster, round(BLACK + dim * (170 - BLACK)), self._speed)

    def at(self, moments: Moments) -> Planes:
        luma = np.empty((self._height, self._width), np.uint8)
        for field, moment in enumerate(moments):
            start = moment * self._speed // 2 % self._width
            luma[field::2] = self._luma[field::2, start : start + self._width]
        self._block.draw(luma, moments)
        start = min(moments) * self._speed // 4 % (self._width // 2)
        blue, red = (plane[:, start : start + self._width // 2].copy() for plane in (self._blue, self._red))
        return luma, blue, red


class Still:
    """What a camera on its tripod sees: nothing moves but a block."""

    def __init__(self, raster: Raster, luma: np.ndarray, blue: np.ndarray, red: np.ndarray, block: int | None) -> None:
        """``block`` is its luma, None without one."""
        self._planes = luma.astype(np.uint8), blue, red
        self._block = None if block is None else _Block(raster, block, 3)

    def at(self, moments: Moments) -> Planes:
        luma, blue, red = (plane.copy() for plane in self._planes)
        if self._block:
            self._block.draw(luma, moments)
        return luma, blue, red


class Slates:
    """Courses of a slate roof over a good third of the screen; the camera swings up and down before it, or drifts."""

    PERIOD = 12  # rows

    def __init__(self, raster: Raster, swings: bool) -> None:
        height, width = raster.height, raster.width
        self._raster, self._swings = raster, swings
        rows = np.arange(height + 2 * self.PERIOD)
        self._courses = (120 + 38 * np.sin(2 * np.pi * rows / self.PERIOD)).astype(np.uint8)[:, None]
        self._right = width - round(0.36 * width)
        self._wall = _wall(raster)

    def at(self, moments: Moments) -> Planes:
        luma = self._wall.copy()
        for field, moment in enumerate(moments):
            shift = round(5 + 5 * np.sin(2 * np.pi * moment / 50)) if self._swings else moment // 2 % self.PERIOD
            luma[field::2, self._right :] = self._courses[shift + field : shift + self._raster.height : 2]
        return luma, self._raster.chroma(), self._raster.chroma()


class _Block:
    """Goes to and fro between the sides."""

    def __init__(self, raster: Raster, luma: int, speed: int) -> None:
        self._luma, self._speed = luma, speed
        self._top, self._bottom = raster.height // 3, raster.height // 2
        self._wide = raster.width // 8
        self._way = raster.width - self._wide

    def draw(self, luma: np.ndarray, moments: Moments) -> None:
        for field, moment in enumerate(moments):
            left = moment * self._speed % (2 * self._way)
            left = min(left, 2 * self._way - left)
            luma[self._top + field : self._bottom : 2, left : left + self._wide] = self._luma


def _wall(raster: Raster) -> np.ndarray:
    """Plaster in soft light."""
    rows, columns = np.mgrid[0 : raster.height, 0 : raster.width].astype(np.float32)
    light = 95 + 25 * np.cos(2 * np.pi * (columns / raster.width - 0.3)) - 20 * rows / raster.height
    return light.astype(np.uint8)


def _corduroy(share: float) -> Callable[[Raster], Scene]:
    """Cloth with upright ribs, over a share of the screen, and a plain wall."""

    def make(raster: Raster) -> Scene:
        luma = _wall(raster)
        wide = round(share * raster.width)
        luma[:, :wide] = 120 + 60 * np.sin(2 * np.pi * np.arange(wide) / (raster.width / 32))
        return Still(raster, luma, raster.chroma(), raster.chroma(), 140)

    return make


def _door(raster: Raster) -> Scene:
    luma, blue, red = _wall(raster), raster.chroma(), raster.chroma()
    left, top, right, bottom = door_box(raster)
    for plane, step, value in ((luma, 1, DOOR[0]), (blue, 2, DOOR[1]), (red, 2, DOOR[2])):
        plane[top:bottom, left // step : right // step] = value
    return Still(raster, luma, blue, red, None)


def door_box(raster: Raster) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the red door in whole pairs of pixels and rows."""
    left, top, right, bottom = DOOR_BOX
    across, down = raster.width // 2, raster.height // 2
    return 2 * round(left * across), 2 * round(top * down), 2 * round(right * across), 2 * round(bottom * down)


def _workshop(raster: Raster) -> Scene:
    """Dark benches and racks; what the arc shines on."""
    rows, columns = np.mgrid[0 : raster.height, 0 : raster.width].astype(np.float32)
    racks = np.sin(2 * np.pi * columns * 5 / raster.width) * np.sin(2 * np.pi * rows * 3 / raster.height)
    return Still(raster, 42 + 10 * racks, raster.chroma(), raster.chroma(), 70)


def _garden(raster: Raster) -> Scene:
    """A garden at night: leaves that are all but black, a lamp and what it shines on."""
    rows, columns = np.mgrid[0 : raster.height, 0 : raster.width].astype(np.float32)
    leaves = np.sin(columns * 0.11 + 2 * np.sin(rows * 0.07)) * np.sin(rows * 0.13 + 2 * np.sin(columns * 0.05))
    far = np.hypot((columns / raster.width - 0.7) * 16 / 9, rows / raster.height - 0.45)
    lamp = 120 * np.exp(-((far / 0.1) ** 4)) + 12 * np.exp(-far / 0.2)
    return Still(raster, 24 + 3 * leaves + lamp, raster.chroma(), raster.chroma(), None)


#: Scenes that a version may ask for by name.
KINDS: dict[str, Callable[[Raster], Scene]] = {
    "corduroy": _corduroy(0.62),
    "corduroy trousers": _corduroy(0.2),
    "slates, camera swings": lambda raster: Slates(raster, swings=True),
    "slates, camera drifts": lambda raster: Slates(raster, swings=False),
    "red door": _door,
    "wall": lambda raster: Still(raster, _wall(raster), raster.chroma(), raster.chroma(), 140),
    "workshop": _workshop,
    "night garden": _garden,
}
