"""Flashing: what of the screen changes by how much, how often and how much at once. Screening, never a certificate.

The rule is on luminance on the screen, so codes become cd/m2 first and are averaged over cells of 1/80 x 1/45 of
the screen afterwards. Both published readings of standard dynamic range (ITU-R BT.1702-3, and the table of Ofcom)
are measured side by side; HLG and PQ by their own transfer functions. Saturated red is taken from points (flash_red).
The fields of an interlaced frame are moments of their own.

A cell that an edge of the flashing area cuts counts by the part of it that moves; it would otherwise add up to half
a cell all round. Frames that repeat the picture before exactly are passed over: a walk over extremes that is given
the same number twice stays where it is, so nothing can be missed. Any tolerance would move the extremes by as much.
"""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.display_light import SDR, WIDE_LUT, light_lookup, luminance_table, model_of, pair_lookup
from qc.meters.picture.flash_counts import ChangeCounter, TickTimes
from qc.meters.picture.flash_red import RedFlashes, field_of, luma_weights
from qc.meters.picture.flash_walk import LuminanceWalk
from qc.meters.picture.planes import Planes

#: Cells across and down: whole numbers of samples of the small plane at 720, 1080 and 2160 lines.
ACROSS, DOWN = 80, 45
CELLS = ACROSS * DOWN
#: Samples of a cell's edge that move by at least this part of the one that moves most are part of the flash.
_MOVES = 0.25
#: From this share of changed cells on, those at the edge are looked at closely: it matters near the limit only.
_CLOSELY = CELLS // 10
#: Name of each reading in the series, in the order of luminance_table.
READINGS = {True: ("bt1702", "ofcom"), False: ("bt1702",)}


class FlashingMeter:
    """Series (``<reading>`` is bt1702, ofcom or red; see ChangeCounter.finish):

    flashing.luminance       (frames, readings) float32, mean cd/m2 of the picture, of both its fields; -1 not measured
    flashing.<reading>.ticks (rows,) int32, two ticks to a frame: only moments at which something changes
    flashing.<reading>.share (rows, 15) uint16, shares of the screen in 1/10000
    flashing.model           (1,) int8, display model: 0 standard dynamic range, 1 HLG, 2 PQ

    Without a constant rate there is no second to count in: then only the luminance is kept. Red is absent where the
    matrix is not one of Y'CbCr.
    """

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        self._model = model_of(kind.transfer)
        self._readings = READINGS[self._model == SDR]
        self._light = _Light(self._model)
        self._means: list[np.ndarray] = []
        self._nothing = np.full(len(self._readings), -1.0, np.float32)
        self._frames = 0
        self._luminance: _LuminanceFlashes | None = None
        self._red: RedFlashes | None = None
        if kind.rate is not None and kind.rate > 0:
            times = TickTimes.of(kind.rate)
            self._luminance = _LuminanceFlashes(self._model, len(self._readings), times)
            weights = luma_weights(kind)
            if weights is not None:
                self._red = RedFlashes(self._model, weights, times)

    def feed(self, planes: Planes) -> None:
        tick = 2 * self._frames
        if planes.interlaced:
            parities = (0, 1) if planes.top_first else (1, 0)
            means = [self._moment(planes, tick + late, parity) for late, parity in enumerate(parities)]
            self._means.append((means[0] + means[1]) / 2)
        else:
            self._means.append(self._moment(planes, tick, None))
        self._frames += 1

    def skip(self) -> None:
        """A damaged picture: time goes on, the walk does not."""
        self._means.append(self._nothing)
        self._frames += 1

    def finish(self) -> dict[str, np.ndarray]:
        arrays: dict[str, np.ndarray] = {
            "flashing.luminance": np.array(self._means, np.float32).reshape(-1, len(self._readings)),
            "flashing.model": np.array([self._model], np.int8),
        }
        found: list[tuple[np.ndarray, np.ndarray]] = []
        names: tuple[str, ...] = ()
        if self._luminance is not None:
            found, names = self._luminance.counter.finish(), self._readings
        if self._red is not None:
            found, names = found + self._red.counter.finish(), (*names, "red")
        for name, (ticks, share) in zip(names, found, strict=True):
            arrays[f"flashing.{name}.ticks"], arrays[f"flashing.{name}.share"] = ticks, share
        return arrays

    def _moment(self, planes: Planes, tick: int, parity: int | None) -> np.ndarray:
        """Measure one moment; mean cd/m2 of each reading."""
        codes = small_luma(planes, parity)
        if self._light.renew(codes, planes.bits, planes.full_range) and self._luminance is not None:
            self._luminance.step(tick, self._light)
        if self._red is not None and planes.cb is not None:
            self._red.step(tick, planes, codes, parity)
        return self._light.mean


class _Light:
    """The picture of the moment: cells in cd/m2, and samples, of which the codes are kept, with those before."""

    def __init__(self, model: int) -> None:
        self._model = model
        self.codes: np.ndarray | None = None  # (rows, columns) of the small plane
        self.before: np.ndarray | None = None  # the codes of the moment before, if they are of the same kind
        self._kind: tuple[object, ...] = ()
        self.table: np.ndarray = luminance_table(model, 8, False)
        self.cells: np.ndarray = np.zeros((1, CELLS), np.float32)  # (readings, cells)
        self.mean: np.ndarray = np.zeros(1, np.float32)
        self._cells: _EvenCells | _UnevenCells

    def renew(self, codes: np.ndarray, bits: int, full_range: bool) -> bool:
        """False if nothing differs from the moment before."""
        kind, old = (bits, full_range, codes.dtype, codes.shape), self.codes
        if old is not None and kind == self._kind:
            if _same(old, codes):
                return False
            self.before = old
        else:
            self._kind, self.before = kind, None
            self.table = luminance_table(self._model, bits, full_range)
            cells_of = _EvenCells if _whole(codes.shape) else _UnevenCells
            self._cells = cells_of(codes, self._model, bits, full_range)
        self.codes = codes
        self.cells = self._cells.of(codes)
        self.mean = self.cells.sum(axis=1) / np.float32(CELLS)
        return True


class _EvenCells:
    """Averages of light over cells that are whole numbers of samples: added up down, then across. Samples of 8 bits are
    looked up two at a time."""

    def __init__(self, codes: np.ndarray, model: int, bits: int, full_range: bool) -> None:
        rows, columns = codes.shape
        across = columns // ACROSS
        self._samples = np.float32(across * (rows // DOWN))
        self._word = codes.dtype
        self._lookup = light_lookup(model, bits, full_range)
        if WIDE_LUT and codes.dtype == np.uint8 and across % 2 == 0:
            self._word, across = np.dtype(np.uint16), across // 2
            self._lookup = pair_lookup(model, full_range)
        readings = self._lookup.width
        # Used again and again: fresh arrays of this size cost more than what is done with them
        self._light = np.empty((rows, ACROSS * across * readings), np.float32)
        self._sums = np.empty((DOWN, ACROSS * across * readings), np.float32)
        # From the samples of a cell side by side, their readings by turns
        self._across = np.tile(np.eye(readings, dtype=np.float32), across)

    def of(self, codes: np.ndarray) -> np.ndarray:
        """(readings, cells) cd/m2."""
        light = self._lookup.fill(np.ascontiguousarray(codes).view(self._word), self._light)
        np.add.reduce(light.reshape(DOWN, -1, light.shape[1]), axis=1, out=self._sums)
        cells = np.asarray(self._across @ self._sums.reshape(CELLS, -1).T)
        return np.divide(cells, self._samples, out=cells)


class _UnevenCells:
    """The same where cells cut samples; a picture smaller than the grid is only spread."""

    def __init__(self, codes: np.ndarray, model: int, bits: int, full_range: bool) -> None:
        rows, columns = codes.shape
        self._lookup = light_lookup(model, bits, full_range)
        self._light = np.empty((rows, columns * self._lookup.width), np.float32)
        averages = rows >= DOWN and columns >= ACROSS
        self._way = cv2.INTER_AREA if averages else cv2.INTER_NEAREST

    def of(self, codes: np.ndarray) -> np.ndarray:
        """(readings, cells) cd/m2."""
        self._lookup.fill(codes, self._light)
        light = self._light.reshape(*codes.shape, -1)
        cells = cv2.resize(light, (ACROSS, DOWN), interpolation=self._way)
        return np.ascontiguousarray(cells.reshape(CELLS, -1).T)


class _LuminanceFlashes:
    def __init__(self, model: int, readings: int, times: TickTimes) -> None:
        self._walk = LuminanceWalk(readings * CELLS, model)
        self.counter = ChangeCounter(ACROSS, DOWN, times, readings)

    def step(self, tick: int, light: _Light) -> None:
        up, down = self._walk.step(light.cells.ravel())
        if not len(up) and not len(down):
            return
        self.counter.add(tick, up, down)
        for direction, changed in enumerate((up, down)):
            if len(changed) >= _CLOSELY and light.before is not None:
                cut = changed[_at_edge(self.counter.together(direction))[changed]]
                self.counter.weigh(tick, cut, _moving_part(cut % CELLS, light, 1 - 2 * direction))
        self.counter.keep(tick, up, down)


def small_luma(planes: Planes, parity: int | None) -> np.ndarray:
    """The smallest shared plane with at least some samples in every cell: 480 x 270 at 1080 lines; 480 x 135 of a field
    (parity 0 upper, 1 lower; None for the whole frame)."""
    if parity is not None:
        if planes.height < 8 * DOWN:
            return np.ascontiguousarray(field_of(planes.luma, parity))
        return planes.fields[parity]
    for step, name in ((8, "eighth"), (4, "quarter"), (2, "half")):
        if planes.height >= 4 * step * DOWN and planes.width >= 4 * step * ACROSS:
            return getattr(planes, name)  # type: ignore[no-any-return]
    return planes.luma


def _same(one: np.ndarray, other: np.ndarray) -> bool:
    """A single row tells most pictures apart."""
    middle = len(one) // 2
    return one[middle].tobytes() == other[middle].tobytes() and cv2.norm(one, other, cv2.NORM_INF) == 0


def _at_edge(together: np.ndarray) -> np.ndarray:
    """(readings * cells,) bool: beside a cell that does not change together with it. The edge of the screen is none."""
    grid = np.ones((len(together), DOWN + 2, ACROSS + 2), bool)
    grid[:, 1:-1, 1:-1] = together.reshape(-1, DOWN, ACROSS)
    inside = grid[:, :-2, 1:-1] & grid[:, 2:, 1:-1] & grid[:, 1:-1, :-2] & grid[:, 1:-1, 2:]
    return ~inside.ravel()


def _moving_part(cells: np.ndarray, light: _Light, sign: int) -> np.ndarray:
    """(cells,) share of each cell's samples that move with it since the moment before."""
    assert light.codes is not None and light.before is not None
    table = np.ascontiguousarray(light.table[:, 0])
    now, then = (table.take(_samples(codes, cells), mode="clip") for codes in (light.codes, light.before))
    move = np.multiply(np.subtract(now, then, out=now), sign, out=now)
    most = move.max(axis=(1, 2), keepdims=True)
    return np.asarray((move >= np.maximum(most * _MOVES, 1e-6)).mean(axis=(1, 2)), np.float32)


def _samples(codes: np.ndarray, cells: np.ndarray) -> np.ndarray:
    """(cells, n, m) the samples of the small plane that lie in each of the cells."""
    row, column = np.divmod(cells, ACROSS)
    if _whole(codes.shape):
        return codes.reshape(DOWN, codes.shape[0] // DOWN, ACROSS, -1)[row, :, column]
    rows, columns = _samples_of(codes.shape)
    return codes[rows[row][:, :, None], columns[column][:, None, :]]


def _whole(shape: tuple[int, ...]) -> bool:
    """Whether the cells are whole numbers of samples each way."""
    return shape[0] % DOWN == shape[1] % ACROSS == 0


@cache
def _samples_of(shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """(DOWN, n) rows and (ACROSS, m) columns of the small plane that lie in each row and column of cells."""

    def places(samples: int, cells: int) -> np.ndarray:
        each = max(1, round(samples / cells))
        middle = (np.arange(cells * each) + 0.5) / (cells * each) * samples
        return middle.astype(np.intp).reshape(cells, each)

    return places(shape[0], DOWN), places(shape[1], ACROSS)
