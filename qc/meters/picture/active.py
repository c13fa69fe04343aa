"""Active picture: how many rows and columns at each side of the raster are blank, to the pixel.

A line is blank if nothing in it is brighter than near black, in averages of eight pixels along it (single pixels are
noise, or ringing of the codec). Lines are looked at from the edge inwards, a few at first and more only where those
are blank, so a full picture costs next to nothing. A dark picture has blank lines that its shot does not have:
whoever reads the series takes the least of many frames, and asks how bright the picture is right beside.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.geometry_series import EDGES_EVERY, NOTHING, SIDES
from qc.meters.picture.luma import nominal_range
from qc.meters.picture.planes import Planes

#: Near black, in parts of the nominal range: 10 codes of 8 bits. Common practice, no source.
NEAR_BLACK = 10 / 219
#: Pixels along a line that are averaged, and lines looked at in the first step; each further step looks at more.
_ALONG, _FIRST_LOOK, _MORE = 8, 8, 8
#: Share of a line that has to be as bright as is told.
REACHED = 0.65


class ActivePictureMeter:
    """Series; sides in the order of SIDES, brightness in codes of 8 bits above black:

    active.frame   (rows,) int32, the frames that were looked at
    active.raster  (rows, 2) uint16, width and height
    active.blank   (rows, 4) uint16, blank lines at each side; NOTHING where the whole picture is
    active.beside  (rows, 4) uint8, the two lines beside the blank ones: averages of eight pixels along them, the one
                   that 65 % of them reach (words in a bar do not, nor does something small and bright)
    active.within  (rows, 4) uint8, twice the brightest average within the blank lines but the last; 0 without such
    active.afd     (frames,) uint8, active format description (SMPTE ST 2016-1: the four bits) of each frame, else 255
    """

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        self._frames = 0
        self._at: list[int] = []
        self._rows: list[tuple[int, ...]] = []
        self._afd = bytearray()

    def feed(self, planes: Planes) -> None:
        if self._frames % EDGES_EVERY == EDGES_EVERY // 2 and min(planes.luma.shape) >= 4:
            self._at.append(self._frames)
            self._rows.append(_edges(planes))
        self._afd.append(255 if planes.afd is None else planes.afd & 15)
        self._frames += 1

    def skip(self) -> None:
        self._afd.append(255)
        self._frames += 1

    def finish(self) -> dict[str, np.ndarray]:
        rows = np.array(self._rows, np.int64).reshape(-1, 14)
        return {
            "active.frame": np.array(self._at, np.int32),
            "active.raster": rows[:, 0:2].astype(np.uint16),
            "active.blank": rows[:, 2:6].astype(np.uint16),
            "active.beside": rows[:, 6:10].astype(np.uint8),
            "active.within": rows[:, 10:14].astype(np.uint8),
            "active.afd": np.frombuffer(bytes(self._afd), np.uint8),
        }


def _edges(planes: Planes) -> tuple[int, ...]:
    """Width and height, four counts, four brightnesses beside, four within."""
    luma = planes.luma
    black, white = nominal_range(planes.bits, planes.full_range)
    code = (white - black) / 219
    limit = black + NEAR_BLACK * (white - black)
    upright = luma.shape[::-1]
    looks = [_Side(luma, side) for side in SIDES]
    found = [side.look(limit) for side in looks]
    if any(count is None for count in found):
        return (*upright, *[NOTHING] * 4, *[0] * 8)
    counts = [int(count) for count in found if count is not None]
    beside = [_byte((side.level(count, count + 2) - black) / code) for side, count in zip(looks, counts, strict=True)]
    within = [_byte(2 * (side.most(count - 1) - black) / code) for side, count in zip(looks, counts, strict=True)]
    return (*upright, *counts, *beside, *within)


class _Side:
    """Lines of a picture counted from one side inwards."""

    def __init__(self, luma: np.ndarray, side: str) -> None:
        self._rows = side in ("top", "bottom")
        self._back = side in ("right", "bottom")
        self._luma = luma
        self._count = luma.shape[0 if self._rows else 1]
        self._most: np.ndarray = np.empty(0)  # brightest average of each line looked at so far

    def look(self, limit: float) -> int | None:
        """Blank lines; None if all are."""
        at, more = 0, _FIRST_LOOK
        while at < self._count:
            end = min(self._count, at + more)
            self._most = np.concatenate([self._most, self._brightest(at, end)])
            bright = np.flatnonzero(self._most[at:end] > limit)
            if len(bright):
                return at + int(bright[0])
            at, more = end, more * _MORE
        return None

    def level(self, first: int, end: int) -> float:
        """What REACHED of the averages along some lines, taken together, are at least."""
        averages = self._averages(self._lines(first, min(end, self._count))).mean(axis=0 if self._rows else 1)
        place = int((1 - REACHED) * len(averages))
        return float(np.partition(averages, place)[place])

    def most(self, end: int) -> float:
        """Brightest average in lines 0 to ``end``; 0 without a line."""
        return float(self._most[: max(0, end)].max(initial=0.0))

    def _lines(self, first: int, end: int) -> np.ndarray:
        """Lines first..end-1 from the side, as part of the picture."""
        if self._back:
            first, end = self._count - end, self._count - first
        return self._luma[first:end] if self._rows else self._luma[:, first:end]

    def _brightest(self, first: int, end: int) -> np.ndarray:
        """(lines,) brightest average along each line, from the side inwards."""
        most = self._averages(self._lines(first, end)).max(axis=1 if self._rows else 0).astype(np.float64)
        return most[::-1] if self._back else most

    def _averages(self, lines: np.ndarray) -> np.ndarray:
        """Lines with every eight pixels along them made one."""
        along = lines.shape[1 if self._rows else 0]
        cells = max(1, along // _ALONG)
        size = (cells, lines.shape[0]) if self._rows else (lines.shape[1], cells)
        step = along // cells
        whole = lines[:, : cells * step] if self._rows else lines[: cells * step]
        return cv2.resize(whole, size, interpolation=cv2.INTER_AREA)


def _byte(value: float) -> int:
    return int(min(255.0, max(0.0, round(value))))
