"""Truly interlaced pictures of the open film: every field is a moment of its own, as a camera of 50 fields takes them.

A moment is a window of the film's 1280 x 720, which moves and zooms with every field, through a camera's filter over
lines. Things move with every field too where each takes the next picture of the film; at the film's own pace they stand
for two fields or three. Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import cv2
import numpy as np

from tests.kit.film_faults import (
    FILM_RATE,
    SIZE,
    STRANGE,
    Cut,
    field_of,
    film_pictures,
    planes_of,
    with_field,
)

FILM_SIZE = (1280, 720)
#: Pictures of the film to a field at its own pace, in 25 frames.
OWN_PACE = FILM_RATE / 50
#: Lines that a field's line is taken from, which keeps fine detail from twittering. Common practice, no source.
CAMERA = np.array([[0.25], [0.5], [0.25]], np.float32)


@dataclass(frozen=True)
class Move:
    """Of the window, in slow turns: pixels of the film that its middle goes, periods (across, down, zoom) in moments,
    pixels of the film to one of ours, and by how much that changes."""

    across: float = 110.0
    down: float = 50.0
    periods: tuple[float, float, float] = (310.0, 170.0, 400.0)
    zoom: float = 1.55
    depth: float = 0.1

    def at(self, moment: int) -> tuple[float, float, float]:
        """Scale, and the window's left and upper edge."""
        across, down, depth = (np.sin(2 * np.pi * moment / period) for period in self.periods)
        scale = self.zoom + self.depth * depth
        left, top = ((whole - scale * own) / 2 for whole, own in zip(FILM_SIZE, SIZE, strict=True))
        return scale, left + self.across * across, top + self.down * down


#: The camera stands.
STANDS = Move(across=0.0, down=0.0, zoom=2.0, depth=0.0)


@dataclass(frozen=True)
class Shot:
    """Frames from a picture of the film on; pace: pictures of the film to a field."""

    first: int
    frames: int
    pace: float = 1.0
    move: Move = Move()
    top_first: bool = True

    def moments(self) -> Iterator[np.ndarray]:
        """(height * 3 / 2, width) uint8, 4:2:0, two for each frame."""
        fields = 2 * self.frames
        wanted = np.floor(np.arange(fields) * self.pace).astype(int).tolist()
        moment = 0
        for number, picture in enumerate(film_pictures(self.first, wanted[-1] + 1, FILM_SIZE)):
            while moment < fields and wanted[moment] == number:
                yield _window(picture, *self.move.at(moment))
                moment += 1


def _window(picture: np.ndarray, scale: float, left: float, top: float) -> np.ndarray:
    width, height = SIZE
    made = np.empty((height * 3 // 2, width), np.uint8)
    for source, out, part in zip(planes_of(picture), planes_of(made), (1, 2, 2), strict=True):
        move = np.array([[scale, 0, left / part], [0, scale, top / part]], np.float32)
        cv2.warpAffine(source, move, out.shape[::-1], dst=out, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP)
    made[:height] = cv2.sepFilter2D(made[:height], -1, np.ones(1, np.float32), CAMERA)
    return made


def in_fields(moments: Sequence[np.ndarray], top_first: bool = True) -> Iterator[np.ndarray]:
    """A frame of each two moments: lines of the upper field from one, those of the lower field from the other."""
    for earlier, later in zip(moments[::2], moments[1::2], strict=True):
        upper, lower = (earlier, later) if top_first else (later, earlier)
        yield with_field(upper, field_of(lower, 1), 1)


@dataclass(frozen=True)
class WovenCut(Cut):
    """Interlaced shots, one after the other. All frames are kept: the film is read once."""

    shots: tuple[Shot, ...] = ()

    @classmethod
    def of(cls, *shots: Shot) -> WovenCut:
        return cls(tuple((shot.first, shot.frames) for shot in shots), shots)

    @cached_property
    def _made(self) -> tuple[list[np.ndarray], np.ndarray]:
        frames: list[np.ndarray] = []
        cuts: list[bool] = []
        for shot in self.shots:
            moments, last = shot.moments(), None
            for two in zip(moments, moments, strict=True):
                fine = [_fine(moment) for moment in two]
                cuts.append(last is None or not all(_alike(*both) for both in pairwise([last, *fine])))
                frames += in_fields(two, shot.top_first)
                last = fine[-1]
        return frames, np.array(cuts)

    def pictures(self) -> Iterator[np.ndarray]:
        yield from self._made[0]

    @property
    def cuts(self) -> np.ndarray:  # type: ignore[override]
        """(frames,) bool: cuts of the film, also such that fall between the fields of a frame, and those of shots."""
        return self._made[1]

    def strange(self) -> list[list[np.ndarray]]:
        return [list(in_fields(list(Shot(first, 3).moments()))) for first in STRANGE]

    def places(self, kind: str) -> np.ndarray:
        found = super().places(kind)
        if not kind.endswith("at a cut"):
            return found
        return found[np.isin(found, np.cumsum([shot.frames for shot in self.shots]))]  # where no frame holds two


def _fine(moment: np.ndarray) -> np.ndarray:
    small = cv2.resize(planes_of(moment)[0], (160, 90), interpolation=cv2.INTER_AREA).astype(np.float32)
    return small - cv2.blur(small, (15, 15))


def _alike(one: np.ndarray, other: np.ndarray) -> bool:
    return bool((one * other).mean() >= 0.25 * np.sqrt((one**2).mean() * (other**2).mean() + 1e-3))
