"""Regular stripes over a large part of the screen: light and dark in turn, in any direction. A hint to look, no more.

Source of what is looked for: ITU-R BT.1702-3, Guideline 2 and its attachment (more than five light-dark pairs of
clearly discernible stripes; over 40 % of the screen at rest, 25 % if they oscillate, flash or reverse; a smooth
drift in one direction is exempt). What "clearly discernible" means is no number there: here stripes that differ by
20 cd/m2, the light ones of more than 50 (common practice in research on pattern sensitivity, from memory).

Twice a second the directions of the gradient decide whether anything can be striped at all. Then the picture is
turned so that stripes stand upright, and every line of it is read for light and dark that alternate at an even
pace. Where a large area does, the next quarter of a second is followed frame by frame: do they rest, drift, swing?
"""

from __future__ import annotations

from math import ceil

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.display_light import light_lookup, model_of
from qc.meters.picture.flashing import small_luma
from qc.meters.picture.planes import Planes
from qc.meters.picture.stripes_series import COLUMNS, LOOKS

#: How long each look follows what it found, as a part of a second.
FOLLOWS = 4
#: Difference of light and dark stripes, and the least light of the light ones, cd/m2.
DIFFERENCE, LIGHT = 20.0, 50.0
#: More than five pairs: from eleven stripes on.
LEAST_STRIPES = 11
#: Periods that follow each other, and widths of one kind, differ by no more than this part (and one sample).
_EVEN, _ALIKE = 0.2, 0.35
#: Share of the screen from which a find is written down.
LEAST_AREA = 0.2
#: Blocks of one direction, and how much of their gradient has it, before anything is turned and read.
_BLOCKS = (16, 9)
_ONE_WAY, _ALIGNED = 0.6, 0.15
#: One line in so many is read first: where these are not striped over half the least area, no more are.
_SOME = 4
_STEEP = 4.0  # mean gradient of a block, cd/m2 per sample


class StripesMeter:
    """Series stripes.found (rows, 8) float32: one row per look that found stripes (see stripes_series)."""

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        rate = float(kind.rate) if kind.rate is not None and kind.rate > 0 else 25.0
        self._every, self._follow = max(1, round(rate / LOOKS)), max(1, ceil(rate / FOLLOWS))
        self._looks, self._looked, self._next = 0, 0, 0
        self._odd = (0, round(0.08 * rate), -round(0.12 * rate))  # not in step with stripes that come and go
        self._model = model_of(kind.transfer)
        self._frames = 0
        self._lit = np.empty((0, 0), np.float32)
        self._directions = _Directions()
        self._found: _Found | None = None
        self._rows: list[tuple[float, ...]] = []

    def feed(self, planes: Planes) -> None:
        if self._frames >= self._next:
            self._close()
            self._found = self._look(self._light(planes))
            self._looked = self._frames
            self._looks += 1
            self._next = self._frames + max(1, self._every + self._odd[self._looks % 3])
        elif self._found is not None and self._frames - self._looked <= self._follow:
            self._found.follow(self._light(planes))
        self._frames += 1

    def skip(self) -> None:
        """A damaged picture is not looked at; the next good one is."""
        self._frames += 1

    def finish(self) -> dict[str, np.ndarray]:
        self._close()
        return {"stripes.found": np.array(self._rows, np.float32).reshape(-1, len(COLUMNS))}

    def _look(self, light: np.ndarray) -> _Found | None:
        across = self._directions.of(light)
        if across is None:
            return None
        turn = _Turn(across, (light.shape[0], light.shape[1]))
        some = turn.upright(light, _SOME)
        stripes = _even_stripes(some, _waves(some))
        if stripes is None or _SOME * float(stripes[0].sum()) < LEAST_AREA / 2 * light.size:
            return None
        upright = turn.upright(light)
        waves = _waves(upright)
        stripes = _even_stripes(upright, waves)
        if stripes is None:
            return None
        where, pairs, period = stripes
        area = float(where.sum()) / light.size
        if area < LEAST_AREA:
            return None
        found = _Found(self._frames, turn, min(1.0, area), pairs, period, where)
        found.start(waves)
        return found

    def _close(self) -> None:
        if self._found is not None:
            self._rows.append(self._found.row())
        self._found = None

    def _light(self, planes: Planes) -> np.ndarray:
        """(rows, columns) float32 cd/m2, good until the next call."""
        codes = small_luma(planes, None)
        if self._lit.shape != codes.shape:
            self._lit = np.empty(codes.shape, np.float32)
        return light_lookup(self._model, planes.bits, planes.full_range, 0).fill(codes, self._lit)


class _Found:
    """Stripes of one look, and what becomes of them."""

    def __init__(self, frame: int, turn: _Turn, area: float, pairs: float, period: float, where: np.ndarray) -> None:
        self._frame, self._turn, self._area, self._pairs = frame, turn, area, pairs
        self._where = where
        self._period = period
        self._contrast: list[float] = [1.0]
        self._phase: list[float] = [0.0]
        # What the stripes look like, and the same a quarter of a period on: their product with a later picture
        # says how far they moved
        self._still: np.ndarray | None = None
        self._moved: np.ndarray | None = None

    def start(self, waves: np.ndarray) -> None:
        shift = np.array([[1, 0, self._period / 4], [0, 1, 0]], np.float32)
        moved = cv2.warpAffine(waves, shift, waves.shape[::-1], borderMode=cv2.BORDER_REFLECT)
        self._still, self._moved = waves * self._where, moved * self._where

    def follow(self, light: np.ndarray) -> None:
        if self._still is None or self._moved is None or light.shape != self._turn.shape:
            return
        waves = _waves(self._turn.upright(light))
        whole = float(np.vdot(self._still, self._still))
        here = float(np.vdot(waves, self._still)) / whole
        aside = float(np.vdot(waves, self._moved)) / max(1e-6, float(np.vdot(self._moved, self._moved)))
        self._contrast.append(float(np.hypot(here, aside)))
        self._phase.append(float(np.arctan2(aside, here)) / (2 * np.pi))

    def row(self) -> tuple[float, ...]:
        steps = np.diff(self._phase)
        steps -= np.rint(steps)
        drift, travelled = float(steps.sum()), float(np.abs(steps).sum())
        return (
            float(self._frame),
            100 * self._area,
            self._turn.direction,
            self._pairs,
            min(self._contrast) / max(self._contrast),
            drift,
            travelled - abs(drift),
            float(np.abs(steps).max(initial=0.0)),
        )


class _Turn:
    """Brings stripes of one direction upright. ``across`` is the direction of light to dark in degrees, -90 to 90."""

    def __init__(self, across: float, shape: tuple[int, int]) -> None:
        self.shape = shape
        self.direction = float((90.0 - across) % 180.0)
        self._square = 0.0 if abs(across) < 2 else 90.0 if abs(across) > 88 else None
        rows, columns = shape
        angle = np.deg2rad(across)
        c, s = float(np.cos(angle)), float(np.sin(angle))
        width, height = ceil(columns * abs(c) + rows * abs(s)), ceil(columns * abs(s) + rows * abs(c))
        self._size = (width, height)
        self._matrix = np.array(
            [[c, s, (width - c * columns - s * rows) / 2], [-s, c, (height + s * columns - c * rows) / 2]], np.float32
        )

    def upright(self, light: np.ndarray, step: int = 1) -> np.ndarray:
        """The picture turned, or one in so many lines of it; -1 where there is none."""
        if self._square == 0.0:
            return light[::step]
        if self._square == 90.0:
            return np.ascontiguousarray(light.T[::step])
        width, height = self._size
        matrix = self._matrix.copy()
        matrix[1] /= step
        turned: np.ndarray = cv2.warpAffine(light, matrix, (width, ceil(height / step)), borderValue=(-1.0,))
        return turned


class _Directions:
    """The direction of the gradient that enough of the picture shares.

    What it works in is used again: fresh arrays of this size cost several times what is done with them.
    """

    def __init__(self) -> None:
        self._arrays = np.empty((3, 0, 0), np.float32)

    def of(self, light: np.ndarray) -> float | None:
        """In degrees; None if there is none."""
        if light.shape[0] < 4 * _BLOCKS[1] or light.shape[1] < 4 * _BLOCKS[0]:
            return None
        if self._arrays.shape[1:] != light.shape:
            self._arrays = np.empty((3, *light.shape), np.float32)
        gx, gy, product = self._arrays
        cv2.Sobel(light, cv2.CV_32F, 1, 0, gx, scale=1 / 8)
        cv2.Sobel(light, cv2.CV_32F, 0, 1, gy, scale=1 / 8)
        xx, yy, xy = (_blocks(cv2.multiply(one, other, product)) for one, other in ((gx, gx), (gy, gy), (gx, gy)))
        energy, along, aslant = xx + yy, xx - yy, 2 * xy
        one_way = (np.hypot(along, aslant) >= _ONE_WAY * energy) & (energy >= _STEEP**2)
        if one_way.mean() < _ALIGNED:
            return None
        double = np.arctan2(aslant, along)
        # The direction most of the blocks have, each counting once
        bins = np.histogram(double[one_way], 24, (-np.pi, np.pi))[0]
        peak = int(np.argmax(bins + np.roll(bins, -1)))
        middle = -np.pi + (peak + 1) * 2 * np.pi / 24
        near = one_way & (np.abs(np.angle(np.exp(1j * (double - middle)))) < np.pi / 8)
        if near.mean() < _ALIGNED:
            return None
        return float(np.rad2deg(np.arctan2(aslant[near].sum(), along[near].sum()))) / 2


def _blocks(plane: np.ndarray) -> np.ndarray:
    """Averages of _BLOCKS; first down, which takes a fraction of the time of both ways at once."""
    rows, columns = plane.shape
    down = _BLOCKS[1]
    if rows % down == 0:
        each = rows // down
        plane = np.matmul(np.full((1, each), 1 / each, np.float32), plane.reshape(down, each, columns))[:, 0]
    return np.asarray(cv2.resize(plane, _BLOCKS, interpolation=cv2.INTER_AREA))


def _waves(upright: np.ndarray) -> np.ndarray:
    """Light less its mean over a sixth of the line, so that six pairs across the line still stand out."""
    inside = upright >= 0
    lit = np.maximum(upright, 0.0)
    span = (max(3, upright.shape[1] // 6) | 1, 1)
    if inside.all():
        mean = cv2.blur(lit, span, borderType=cv2.BORDER_REFLECT)
    else:
        part = cv2.blur(inside.astype(np.float32), span)
        mean = cv2.blur(lit, span) / np.maximum(part, 1e-3)
    return np.where(inside, lit - mean, 0.0).astype(np.float32)


def _runs(waves: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Stretches of each line that are light (1) or dark (-1), with what is neither within them: line, first and last
    column, side."""
    rows, columns = waves.shape
    # A column of neither ends the lines
    sides = np.zeros((rows, columns + 1), np.int8)
    light, dark = waves >= DIFFERENCE / 2, waves <= -DIFFERENCE / 2
    np.subtract(light.view(np.int8), dark.view(np.int8), out=sides[:, :-1])
    flat = sides.ravel()
    # One before each change: there what was ends, and after it the next begins
    change: np.ndarray = (flat[1:] != flat[:-1]).nonzero()[0]
    start, stop = np.r_[0, change + 1], np.r_[change, flat.size - 1]
    kept = flat[start] != 0
    start, stop = start[kept], stop[kept]
    side, line = flat[start], start // (columns + 1)
    new = np.r_[True, (line[1:] != line[:-1]) | (side[1:] != side[:-1])] if len(line) else np.zeros(0, bool)
    first = new.nonzero()[0]
    last = np.r_[first[1:] - 1, len(line) - 1][: len(first)]
    at = line[first] * (columns + 1)
    return line[first], start[first] - at, stop[last] - at, side[first]


def _even_stripes(upright: np.ndarray, waves: np.ndarray) -> tuple[np.ndarray, float, float] | None:
    """Where lines alternate evenly: (rows, columns) float32 of 0 and 1, pairs side by side, period in samples."""
    line, begin, end, side = _runs(waves)
    if len(line) < LEAST_STRIPES:
        return None
    middle = (begin + end) / 2
    bright = (side < 0) | (upright[line, middle.astype(np.intp)] > LIGHT)
    # Stripe i, i + 1, i + 2 and i + 3 keep an even pace, light ones like light ones, dark like dark
    width = end - begin + 1.0
    alike = np.abs(width[2:] - width[:-2]) <= _ALIKE * np.maximum(width[2:], width[:-2]) + 1
    period = middle[2:] - middle[:-2]
    even = np.abs(np.diff(period)) <= _EVEN * np.maximum(period[1:], period[:-1]) + 1
    even &= alike[1:] & alike[:-1]
    even &= (line[3:] == line[:-3]) & bright[:-3] & bright[1:-2] & bright[2:-1] & bright[3:]
    edges = np.flatnonzero(np.diff(np.r_[False, even, False].astype(np.int8)))
    begins, ends = edges[::2], edges[1::2] + 2  # first and last stripe of each even stretch
    long_enough = ends - begins + 1 >= LEAST_STRIPES
    begins, ends = begins[long_enough], ends[long_enough]
    if not len(begins):
        return None
    stripes = ends - begins + 1
    pace = (middle[ends] - middle[begins]) / (stripes - 1) * 2
    typical = _middle(np.repeat(pace, stripes))
    alike = np.abs(pace - typical) <= 0.25 * typical
    if not alike.any():
        return None
    begins, ends, pace, stripes = begins[alike], ends[alike], pace[alike], stripes[alike]
    # Each stretch is marked by its two ends, then summed up along the line
    marks = np.zeros((upright.shape[0], upright.shape[1] + 1), np.int32)
    left = np.clip(middle[begins] - pace / 4, 0, upright.shape[1]).astype(np.intp)
    right = np.clip(middle[ends] + pace / 4 + 1, 0, upright.shape[1]).astype(np.intp)
    np.add.at(marks, (line[begins], left), 1)
    np.add.at(marks, (line[begins], right), -1)
    where = ((marks.cumsum(axis=1)[:, :-1] > 0) & (upright >= 0)).astype(np.float32)
    return where, _middle(np.repeat(stripes, stripes)) / 2, typical


def _middle(values: np.ndarray) -> float:
    """The median, the upper one of two (NumPy's own brings in its masked arrays: slower than all the rest)."""
    return float(np.partition(values, len(values) // 2)[len(values) // 2])
