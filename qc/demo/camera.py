"""What a camera adds: noise that is never twice the same, a hot pixel; and lamps that light up what it sees."""

from __future__ import annotations

import numpy as np

from qc.demo.raster import GREY, Planes, Raster
from qc.demo.staging import Light

#: Standard deviation of the noise in codes.
NOISE = 1.3
#: Brightest luma of a scene that is lit up: legal with what colour is left then.
BRIGHTEST = 224
_ROOM = 64


class Noise:
    """Light noise in luma: one field of it, laid over each frame from another corner."""

    def __init__(self, raster: Raster, seed: int) -> None:
        rng = np.random.default_rng(seed)
        whole = np.rint(rng.normal(0, NOISE, (raster.height + _ROOM, raster.width + _ROOM)))
        self._grain = whole.clip(-6, 6).astype(np.int8).view(np.uint8)
        self._corners = rng.integers(0, _ROOM, (4096, 2))
        self._raster = raster

    def add(self, luma: np.ndarray, frame: int) -> None:
        """In place; all codes are far enough from 0 and 255."""
        down, across = self._corners[frame % len(self._corners)]
        luma += self._grain[down : down + self._raster.height, across : across + self._raster.width]


class Lamps:
    """Welding arcs and photographers' flashes, frame by frame."""

    def __init__(self, raster: Raster, lights: tuple[Light, ...]) -> None:
        self._lights = {
            light.first + step: (light.kind, level) for light in lights for step, level in enumerate(light.level)
        }
        rows, columns = np.mgrid[0 : raster.height, 0 : raster.width].astype(np.float32)
        far = np.hypot((columns / raster.width - 0.5) / 0.42, (rows / raster.height - 0.5) / 0.42)
        self._glow = {"arc": 190 * np.exp(-(far**6)), "photo": np.full(far.shape, 55.0)}

    def shine(self, planes: Planes, frame: int) -> Planes:
        """Brighter, and paler; unchanged where no lamp shines."""
        if frame not in self._lights:
            return planes
        kind, level = self._lights[frame]
        luma, *chroma = planes
        lit = np.minimum(luma + level * self._glow[kind], BRIGHTEST).astype(np.uint8)
        blue, red = ((GREY + (plane.astype(np.float32) - GREY) * 0.3).astype(np.uint8) for plane in chroma)
        return lit, blue, red
