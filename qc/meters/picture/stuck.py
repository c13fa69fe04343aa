"""Pixels that stand still while the picture changes: dead, hot or stuck elements of a camera.

About every two seconds every pixel is compared with the median of its 5 x 5 neighbours. What stands alone, one to nine
pixels that differ far more than anything near them, is a candidate; text, logos, noise, texture and the edges of
letterboxes have neighbours that differ as well. Candidates are watched from then on, at a fixed place: in how many
looks they could be seen, in how many they were, and over how many different pictures. A glint in the set of a
locked-off camera comes back shot after shot, but always in the same picture; so pictures count as different by what
is on them, not by the cuts between. The method is common practice; there is no published one.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.luma import nominal_range
from qc.meters.picture.planes import Planes
from qc.meters.picture.stuck_watch import DOMINANT, NEAR, STANDS_OUT, Look, Watched, room_for

#: One look in so many seconds, a frame less: never in step with what repeats each second.
SECONDS = 2
#: Candidates of one look, the strongest.
MOST_AT_ONCE = 64
#: A picture is looked at if its mean lies between these parts of the nominal range.
DARKEST, BRIGHTEST = 0.01, 0.95
#: Size of the small picture that tells one picture from another.
_ACROSS, _DOWN = 16, 9
_CELL = 8


class StuckPixelMeter:
    """Series, for places that came back in at least two different pictures; frames and raster of the file:

    stuck.looks    (looks,) int32, frames that were looked at
    stuck.raster   (2,) uint16, width and height looked at
    stuck.place    (places, 2) uint16, column and row
    stuck.frames   (places, 3) int32: first and last frame in which it was seen, and the one where it shows most
    stuck.counts   (places, 7) uint16: looks in which it was seen; looks in which it could be seen; different
                   pictures in which it was seen (at most 8 are told apart); of those, the ones in which it was seen
                   nearly always; looks in these pictures; pixels it covers; looks in which it was brighter than its
                   neighbours
    stuck.level    (places, 3) float32, codes of 8 bits, where it was seen: mean difference from its neighbours, its own
                   mean value and the spread of it
    """

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        self._every = max(1, round(SECONDS * kind.rate) - 1) if kind.rate else 48
        self._frames = 0
        self._looks: list[int] = []
        self._raster: tuple[int, int] | None = None
        self._room: tuple[np.ndarray, np.ndarray] | None = None
        self._codes: np.ndarray | None = None
        self._pictures = _Pictures()
        self._watched = Watched()

    def feed(self, planes: Planes) -> None:
        if self._frames % self._every == self._every // 2:
            self._look(planes)
        self._frames += 1

    def skip(self) -> None:
        self._frames += 1

    def finish(self) -> dict[str, np.ndarray]:
        return {
            "stuck.looks": np.array(self._looks, np.int32),
            "stuck.raster": np.array(self._raster or (0, 0), np.uint16),
            **self._watched.finish(),
        }

    def _look(self, planes: Planes) -> None:
        raster = planes.width, planes.height
        if min(raster) < 4 * NEAR or (self._raster not in (None, raster)):
            return  # a place means something in one raster only: the first
        small = planes.eighth.astype(np.float32)
        black, white = nominal_range(planes.bits, planes.full_range)
        if not DARKEST <= (float(small.mean()) - black) / (white - black) <= BRIGHTEST:
            return
        picture = self._pictures.number(cv2.resize(small, (_ACROSS, _DOWN), interpolation=cv2.INTER_AREA))
        self._raster = raster
        luma = planes.luma
        if self._room is None:
            self._room, self._codes = room_for(luma.shape), np.empty(luma.shape, np.uint8)
        if luma.dtype != np.uint8:
            luma = cv2.convertScaleAbs(luma, dst=self._codes, alpha=2.0 ** (8 - planes.bits))
        look = Look(luma, small * 2.0 ** (8 - planes.bits), self._frames, picture, self._room)
        self._looks.append(self._frames)
        self._watched.look_again(look)
        self._watched.add(look, candidates(look))


def candidates(look: Look) -> np.ndarray:
    """(candidates, 2) int64 columns and rows of what stands alone, the strongest first."""
    apart = look.apart
    most = _most_in_cells(apart)
    if not most.size:
        return np.empty((0, 2), np.int64)
    usual = cv2.medianBlur(most, 3)
    alone = (most >= STANDS_OUT) & (most.astype(np.float32) >= DOMINANT * usual) & (most == cv2.dilate(most, _SQUARE))
    rows, columns = np.nonzero(alone)
    strongest = np.argsort(most[rows, columns])[::-1][: 4 * MOST_AT_ONCE]
    corners = np.stack([columns[strongest], rows[strongest]], axis=1) * _CELL
    inside = _blocks(apart, corners)
    at = inside.reshape(-1, _CELL * _CELL).argmax(axis=1)
    places = np.minimum(corners + np.stack([at % _CELL, at // _CELL], axis=1), np.array(apart.shape[::-1]) - 1)
    return places[look.around(places).alone][:MOST_AT_ONCE]


def _most_in_cells(apart: np.ndarray) -> np.ndarray:
    """(ceil(h / 8), ceil(w / 8)) highest difference in each cell."""
    below, right = -apart.shape[0] % _CELL, -apart.shape[1] % _CELL
    plane = cv2.copyMakeBorder(apart, 0, below, 0, right, cv2.BORDER_CONSTANT, value=0) if below or right else apart
    for _ in range(2):
        for _ in range(3):
            plane = cv2.max(plane[0::2], plane[1::2])
        plane = np.ascontiguousarray(plane.T)
    return plane


def _blocks(plane: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """(places, 8, 8) cells from their upper left corners; beyond the raster the last line is repeated."""
    step = np.arange(_CELL)
    rows, columns = (corners[:, 1, None] + step), (corners[:, 0, None] + step)
    rows, columns = rows.clip(max=plane.shape[0] - 1), columns.clip(max=plane.shape[1] - 1)
    return np.asarray(plane[rows[:, :, None], columns[:, None, :]])


class _Pictures:
    """Numbers for pictures: one that looks like an earlier one gets its number, whatever came between."""

    _ALIKE = 0.7
    _MOST = 400

    def __init__(self) -> None:
        self._known = np.empty((0, _ACROSS * _DOWN))

    def number(self, small: np.ndarray) -> int:
        flat = small.ravel() - small.mean()
        flat = flat / max(1e-9, float(np.linalg.norm(flat)))
        alike = self._known @ flat
        if len(alike) and (alike.max() >= self._ALIKE or len(alike) >= self._MOST):
            return int(alike.argmax())
        self._known = np.concatenate([self._known, flat[None]])
        return len(self._known) - 1


_SQUARE = np.ones((3, 3), np.uint8)
