"""Every picture of one version: scenes with a walking clock on them, what was staged in them, and what stands before.

Planar 8-bit 4:2:2, narrow range, top field first unless something else is staged.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qc.demo import head_cards, leader
from qc.demo.camera import Lamps, Noise
from qc.demo.raster import BLACK, GREY, WHITE, Planes, Raster
from qc.demo.shots import KINDS, Scene, Sliding
from qc.demo.staging import Staging
from qc.media.letters import written
from qc.timing.timecode import Clock

#: Luma of letters and of the plate behind them. The title is near white and near black, as something in a programme
#: is; the clock is soft: its digits change in every frame.
_TITLE, _CLOCK = (225, 20), (110, 50)
#: Frames of a usual scene: no act of any version begins or ends near a cut, which would leave a shot of a few frames.
SCENE_FRAMES = 93


@dataclass(frozen=True)
class Stretch:
    """Frames of one kind: "bars", "slate", "countdown", "clock", "blip", "black", "programme".

    first  place of its first frame in the episode's content, so that every version shows the same picture there
    """

    kind: str
    frames: int
    first: int = 0


class Pictures:
    """Every frame of one version, as the bytes of its three planes."""

    def __init__(self, raster: Raster, episode: int, clock: Clock, staging: Staging | None = None) -> None:
        self._raster = raster
        self._episode = episode
        self._slate_lines: list[str] = []
        self._slate_bytes = b""
        self._labels = clock
        self._staging = staged = staging or Staging()
        self._source = staged.sources()
        self._levels = {dip.first + step: level for dip in staged.dips for step, level in enumerate(dip.level)}
        self._scale = max(1, raster.height // 90)
        self._scenes: list[Scene] = [Sliding(raster, number, staged.dim) for number in range(6)]
        self._shots = {kind: KINDS[kind](raster) for kind in dict.fromkeys(shot.kind for shot in staged.shots)}
        self._noise = Noise(raster, episode)
        self._lamps = Lamps(raster, staged.lights)
        self._dark = _bytes((raster.plane(BLACK), raster.chroma(), raster.chroma()))

    def all(self, stretches: tuple[Stretch, ...]) -> Iterator[bytes]:
        """Frames in order; the walking clock shows the label of each, the slate what the programme is."""
        self._slate_lines = self._lines(stretches)
        at = 0
        for stretch in stretches:
            make = getattr(self, f"_{stretch.kind}")
            for step in range(stretch.frames):
                yield make(stretch, step, at)
                at += 1

    def _lines(self, stretches: tuple[Stretch, ...]) -> list[str]:
        """What the slate says."""
        som = sum(stretch.frames for stretch in itertools.takewhile(lambda one: one.kind != "programme", stretches))
        trt = sum(stretch.frames for stretch in stretches if stretch.kind == "programme")
        return [
            "BRINDLEWICK LANE",
            f"BRLN {self._episode}",
            f"SOM {self._labels.at(som)}",
            f"TRT {self._labels.counting.duration(trt)}",
            "STEREO 1 2",
        ]

    def _black(self, stretch: Stretch, step: int, at: int) -> bytes:
        return self._dark

    def _programme(self, stretch: Stretch, step: int, at: int) -> bytes:
        content = stretch.first + step
        level = self._levels.get(content, 1.0)
        if level == 0:
            return self._dark
        source = self._source.get(content, content)
        planes = self._seen(source)
        self._write(planes, f"BRLN {self._episode}", 0.08, _TITLE)
        self._write(planes, self._labels.at(at - (content - source)).replace(".", ":"), 0.80, _CLOCK)
        return _bytes(planes if level == 1 else _darkened(planes, level))

    def _seen(self, content: int) -> Planes:
        """What the camera sees, without letters."""
        staged = self._staging
        moments = (2 * content + 1, 2 * content) if staged.bottom_first else (2 * content, 2 * content + 1)
        planes = self._lamps.shine(self._scene(content).at(moments), content)
        self._noise.add(planes[0], content)
        if staged.hot_pixel:
            column, row = staged.hot_pixel
            planes[0][row, column] = WHITE
        return planes

    def _scene(self, content: int) -> Scene:
        for shot in self._staging.shots:
            if shot.first <= content < shot.first + shot.frames:
                return self._shots[shot.kind]
        number = content // SCENE_FRAMES + (2 if content in self._staging.leftover else 0)
        return self._scenes[number % len(self._scenes)]

    def _bars(self, stretch: Stretch, step: int, at: int) -> bytes:
        return _bytes(leader.bars(self._raster))

    def _slate(self, stretch: Stretch, step: int, at: int) -> bytes:
        if not self._slate_bytes:
            self._slate_bytes = _bytes(head_cards.slate(self._raster, self._slate_lines))
        return self._slate_bytes

    def _countdown(self, stretch: Stretch, step: int, at: int) -> bytes:
        """From ten to one, whatever the countdown is long."""
        return _bytes(head_cards.countdown(self._raster, 10 - 10 * step // stretch.frames))

    def _clock(self, stretch: Stretch, step: int, at: int) -> bytes:
        """A third of a turn, which is twenty seconds at full length."""
        return _bytes(head_cards.clock(self._raster, step / stretch.frames / 3))

    def _blip(self, stretch: Stretch, step: int, at: int) -> bytes:
        return _bytes((self._raster.plane(180), self._raster.chroma(), self._raster.chroma()))

    def _write(self, planes: Planes, text: str, down: float, ink_and_plate: tuple[int, int]) -> None:
        """Light text on a dark plate without colour, centred, its top at a share of the height."""
        ink = written(text, self._scale)
        height, width = ink.shape
        top, left = int(self._raster.height * down), (self._raster.width - width) // 4 * 2
        luma, *chroma = planes
        luma[top : top + height, left : left + width] = np.where(ink, *ink_and_plate)
        for plane in chroma:
            plane[top : top + height, left // 2 : (left + width + 1) // 2] = GREY


def _darkened(planes: Planes, level: float) -> Planes:
    luma, blue, red = (
        (rest + (plane.astype(np.float32) - rest) * level).astype(np.uint8)
        for plane, rest in zip(planes, (BLACK, GREY, GREY), strict=True)
    )
    return luma, blue, red


def _bytes(planes: Planes) -> bytes:
    return b"".join(plane.tobytes() for plane in planes)
