"""Box averages of planes, and how they are read from memory and written to it.

Two steps of exact 2 x 2 averages cost less than one direct reduction.
"""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import DTypeLike

#: Bytes of a plane that are fetched from memory at once: they stay in the processor's cache.
_FETCHED = 1 << 20


class Scratch:
    """Arrays that are written again for every frame: fresh ones of this size cost as much as what is done with them."""

    def __init__(self, most: int = 8) -> None:
        self._most = most
        self._rooms: dict[tuple[str, tuple[int, ...], np.dtype], np.ndarray] = {}

    def room(self, shape: tuple[int, ...], kind: DTypeLike, name: str = "") -> np.ndarray:
        """An array of this shape, whatever it held before; the next who asks for the same one writes over it."""
        key = name, shape, np.dtype(kind)
        room = self._rooms.get(key)
        if room is None:
            if len(self._rooms) >= self._most:  # rasters that change all the time
                self._rooms.clear()
            room = self._rooms[key] = np.empty(shape, kind)
        return room


def halved(plane: np.ndarray, room: np.ndarray | None = None) -> np.ndarray:
    """(h // 2, w // 2): average of each 2 x 2, rounded; an odd last row or column is left out."""
    height, width = plane.shape[0] // 2, plane.shape[1] // 2
    if not height or not width:
        return plane[:1, :1]
    return cv2.resize(plane[: 2 * height, : 2 * width], (width, height), room, interpolation=cv2.INTER_AREA)


def fetch(plane: np.ndarray) -> None:
    """Bring a plane from memory into the processor's cache. A sum along it takes a third of the time of what waits for
    every line by itself: averages, every second line, single points."""
    cv2.norm(plane, cv2.NORM_L1)


def first_halved(plane: np.ndarray, room: np.ndarray, fields: bool = False, step: int = 1) -> np.ndarray:
    """Fills ``room`` (h // 2 // step, w // 2) from a plane that nobody has read yet: of every ``step``-th row, or with
    ``fields`` the two fields by themselves, line by line (h a multiple of four).

    What is fetched is averaged at full speed, a stretch at a time: both take two thirds of the time of the average.
    """
    for first, band in _fetched(plane):
        part = room[first // step // 2 : (first + len(band)) // step // 2]
        if not len(part):
            continue
        if fields:
            halved(band[0::2], part[0::2])
            halved(band[1::2], part[1::2])
        else:
            halved(band[::step], part)
    return room


def pairs_halved(plane: np.ndarray, room: np.ndarray, spare: np.ndarray) -> np.ndarray:
    """Fills ``room`` (h // 4, w // 2), likewise: of the first two rows of each four, one of each field (h a multiple of
    four). In ``spare`` (h // 2, w) they are put together."""
    for first, band in _fetched(plane):
        pairs = spare[: len(band) // 2]
        pairs[0::2], pairs[1::2] = band[0::4], band[1::4]
        halved(pairs, room[first // 4 : (first + len(band)) // 4])
    return room


def _fetched(plane: np.ndarray) -> Iterator[tuple[int, np.ndarray]]:
    """First row and rows of stretches of a plane, a multiple of four but for the last, each fetched from memory."""
    rows = max(4, _FETCHED // max(1, plane.strides[0]) // 4 * 4)
    for first in range(0, len(plane), rows):
        band = plane[first : first + rows]
        fetch(band)
        yield first, band


def paired(plane: np.ndarray, bits: int) -> np.ndarray:
    """(h // 2, w): average of each two rows, rounded."""
    upper, lower = plane[0::2], plane[1::2]
    if plane.dtype == np.uint8 or bits > 15:  # a word does not hold the sum
        return cv2.addWeighted(upper, 0.5, lower, 0.5, 0.0)
    both = np.asarray(cv2.add(upper, lower), np.uint16)
    both += 1
    return np.right_shift(both, 1, out=both)
