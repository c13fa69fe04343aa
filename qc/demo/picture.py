"""Made-up pictures: shapes that move from field to field, a walking clock, bars, a slate, a countdown, black.

Planar 8-bit 4:2:2, narrow range (BT.709: black 16, white 235, no colour 128), top field first.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qc.media.letters import written
from qc.timing.timecode import Clock

BLACK, WHITE, GREY = 16, 235, 128
SCENE_FRAMES = 97


@dataclass(frozen=True)
class Raster:
    width: int
    height: int


@dataclass(frozen=True)
class Stretch:
    """Frames of one kind: "bars", "slate", "countdown", "black", "programme".

    first  place of its first frame in the episode's content, so that every version shows the same picture there
    """

    kind: str
    frames: int
    first: int = 0


@dataclass(frozen=True)
class Dip:
    """Frames of the programme, counted in its content, that are darkened.

    level  brightness of each frame, 0 black to 1 untouched
    """

    first: int
    level: tuple[float, ...]


class Pictures:
    """Every frame of one version, as the bytes of its three planes."""

    def __init__(
        self, raster: Raster, episode: int, clock: Clock, dips: tuple[Dip, ...] = (), odd: tuple[int, ...] = ()
    ) -> None:
        """odd  content frames that show a shot which does not belong there"""
        self._raster = raster
        self._episode = episode
        self._clock = clock
        self._levels = {dip.first + step: level for dip in dips for step, level in enumerate(dip.level)}
        self._odd = frozenset(odd)
        self._scale = max(1, raster.height // 90)
        self._scenes = [_Scene(raster, number) for number in range(6)]
        self._dark = self._plane(BLACK).tobytes() + self._no_colour()

    def all(self, stretches: tuple[Stretch, ...]) -> Iterator[bytes]:
        """Frames in order; the clock shows the label of each."""
        at = 0
        for stretch in stretches:
            make = getattr(self, f"_{stretch.kind}")
            for step in range(stretch.frames):
                yield make(stretch, step, at)
                at += 1

    def _black(self, stretch: Stretch, step: int, at: int) -> bytes:
        return self._dark

    def _programme(self, stretch: Stretch, step: int, at: int) -> bytes:
        content = stretch.first + step
        level = self._levels.get(content, 1.0)
        if level == 0:
            return self._dark
        number = content // SCENE_FRAMES + (3 if content in self._odd else 0)
        luma, chroma = self._scenes[number % len(self._scenes)].frame(content)
        self._write(luma, f"BRLN {self._episode}", 0.08)
        self._write(luma, self._clock.at(at).replace(".", ":"), 0.80)
        if level < 1:
            luma = (BLACK + (luma.astype(np.float32) - BLACK) * level).astype(np.uint8)
            chroma = [(GREY + (plane.astype(np.float32) - GREY) * level).astype(np.uint8) for plane in chroma]
        return luma.tobytes() + chroma[0].tobytes() + chroma[1].tobytes()

    def _bars(self, stretch: Stretch, step: int, at: int) -> bytes:
        width, height = self._raster.width, self._raster.height
        luma = np.linspace(180, 40, 8).astype(np.uint8).repeat(-(-width // 8))[:width]
        return np.tile(luma, (height, 1)).tobytes() + bytes([GREY]) * (width * height)

    def _slate(self, stretch: Stretch, step: int, at: int) -> bytes:
        luma = self._plane(50)
        self._write(luma, f"BRLN {self._episode}", 0.4)
        return luma.tobytes() + self._no_colour()

    def _countdown(self, stretch: Stretch, step: int, at: int) -> bytes:
        luma = self._plane(60)
        self._write(luma, str(max(0, (stretch.frames - 1 - step) // max(1, stretch.frames // 10))), 0.4)
        return luma.tobytes() + self._no_colour()

    def _write(self, luma: np.ndarray, text: str, down: float) -> None:
        """Light text on a dark plate, centred, its top at a share of the height."""
        ink = written(text, self._scale)
        height, width = ink.shape
        top, left = int(luma.shape[0] * down), (luma.shape[1] - width) // 2
        luma[top : top + height, left : left + width] = np.where(ink, 210, 32)

    def _plane(self, value: int) -> np.ndarray:
        return np.full((self._raster.height, self._raster.width), value, np.uint8)

    def _no_colour(self) -> bytes:
        return bytes([GREY]) * (self._raster.width * self._raster.height)


class _Scene:
    """One background that slides sideways, and a block that crosses it; both fields at their own moment."""

    def __init__(self, raster: Raster, number: int) -> None:
        width, height = raster.width, raster.height
        self._width, self._height = width, height
        rows, columns = np.mgrid[0:height, 0 : 2 * width].astype(np.float32)
        turn = 2 * np.pi * columns / width
        kind = number % 3
        if kind == 0:
            wave = 0.5 + 0.3 * np.sin(3 * turn) + 0.2 * rows / height
        elif kind == 1:
            wave = 0.5 + 0.25 * np.sin(2 * turn + 4 * rows / height) + 0.2 * np.cos(turn - 6 * rows / height)
        else:
            wave = 0.35 + 0.4 * ((np.floor(columns * 8 / width) % 2) == 0) + 0.2 * rows / height
        self._luma = np.clip(BLACK + 20 + wave * (160 - 15 * (number % 2)), 40, 205).astype(np.uint8)
        tint = 18 * np.sin(turn + number)
        self._blue = (GREY + tint).astype(np.uint8)[:, ::2]
        self._red = (GREY - tint * np.cos(number)).astype(np.uint8)[:, ::2]
        self._speed = 2 + number % 3

    def frame(self, content: int) -> tuple[np.ndarray, list[np.ndarray]]:
        """Planes of one frame: luma (height, width), chroma two of (height, width / 2)."""
        width = self._width
        moments = [(2 * content + field) * self._speed for field in (0, 1)]
        luma = np.empty((self._height, width), np.uint8)
        for field, moment in enumerate(moments):
            start = moment // 2 % width
            luma[field::2] = self._luma[field::2, start : start + width]
            left = moment % (width - width // 8)
            luma[self._height // 3 + field : self._height // 2 : 2, left : left + width // 8] = 185
        start = moments[0] // 4 % (width // 2)
        chroma = [plane[:, start : start + width // 2] for plane in (self._blue, self._red)]
        return luma, chroma
