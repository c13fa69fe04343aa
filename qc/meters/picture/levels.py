"""Picture levels: how much of each picture lies outside levels of luma, R, G and B, and where.

Method of EBU R 103 v3.0 (2020): R, G, B and luma are filtered (level_filter), and the share of the picture beyond a
level counts. Shares are kept for a small ladder of levels (level_ladder), so that any outlet's limits can be read off.

Where nothing is found only every third picture is looked at: a run of three or more pictures outside cannot hide
between two of them, and shorter ones are no subject of any rule here. A look begins with a screen (level_screen) that
cannot miss what the filter would find; tiles that it suspects go through the filter, or the whole picture where they
are many. Where a look differs from the one before, the pictures between them are tested, so the first and last picture
of a run are exact. While a long run goes on and the screen sees no change, one test stands for up to twelve pictures;
those are marked as carried, and every run begins and ends with a test.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.level_filter import TILE, Filtered
from qc.meters.picture.level_ladder import (
    BETWEEN,
    CARRIED,
    CLEAR,
    FLOOR,
    LADDER,
    LOOK_EVERY,
    MATRICES,
    NO_MATRIX,
    NOT_MEASURED,
    SIDES,
    TEST_EVERY,
    TESTED,
    limit_step,
    matrix_of,
    percent_of,
    rows_of_side,
)
from qc.meters.picture.level_screen import LevelScreen, Side, Suspects
from qc.meters.picture.planes import Planes

#: Colours are sums of rounded numbers; they count as beyond a limit from this part of a step on. Luma is exact.
_ROUNDED = 1 / 512
#: From this share of suspected tiles on it costs less to filter the whole picture.
_MANY = 1 / 8
#: Cells across and down in which what is outside is placed.
_ACROSS, _DOWN = 64, 36
#: A cell belongs to the area outside if this share of it is, or half of what the fullest cell has.
_CELL = 0.05
#: Two looks differ where a share does by more than a quarter, two screens by more than a tenth; small numbers may.
_SHARE_DIFFERS, _SCREEN_DIFFERS = 0.25, 0.1

_PLACES = {side: rows_of_side(*side) for side in SIDES}
_STEPS = [limit_step(percent) for _, percent in LADDER]
_INNERMOST: dict[Side, int] = {side: _STEPS[places[0]] for side, places in _PLACES.items()}


@dataclass(frozen=True)
class _Found:
    """One picture that was looked at.

    share   (levels,) of the picture beyond each level of the ladder
    reach   (sides,) percent that the outermost tenth of what is beyond the innermost level reaches; 0 if nothing is
    box     (levels, 4) left, top, right, bottom of the largest area beyond, in 1/255 of the picture
    counts  what the screen saw: tiles for each side
    """

    state: int
    share: np.ndarray
    reach: np.ndarray
    box: np.ndarray
    counts: np.ndarray
    frame: int = -1


class LevelsMeter:
    """Series:

    levels.state   (frames,) uint8: not measured, clear (looked at: under 0.1 % at every level), between (not looked
                   at, between two looks that agree), tested (has a row below) or carried (looks like the tested one
                   before it)
    levels.at      (rows,) int32, number of each tested picture with 0.1 % or more outside some level
    levels.share   (rows, 11) uint16, share beyond each level of LADDER in 1/65535 of the picture
    levels.reach   (rows, 8) int16, for each of SIDES the level in 1/100 % that the outermost tenth of what is outside
                   its innermost level reaches; 0 if nothing is
    levels.box     (rows, 11, 4) uint8, largest area beyond each level: left, top, right, bottom in 1/255
    levels.matrix  (2,) int8, place in MATRICES (-1: R, G and B could not be derived), and 1 if it was assumed
    """

    def __init__(self, kind: PictureKind) -> None:
        cv2.setNumThreads(1)
        self._matrix_place, self._assumed = matrix_of(kind.matrix, kind.transfer, kind.height)
        self._matrix = None if self._matrix_place == NO_MATRIX else MATRICES[self._matrix_place]
        self._screen = LevelScreen(self._matrix)
        self._colour = False
        self._states: list[int] = []
        self._rows: list[_Found] = []
        self._held: list[Planes] = []
        self._looked: Planes | None = None
        self._last: _Found | None = None
        self._tested: _Found | None = None

    def feed(self, planes: Planes) -> None:
        if self._looked is not None and _format(self._looked) != _format(planes):
            self._close()
        self._held.append(planes)
        if self._last is None or len(self._held) == LOOK_EVERY:
            self._look()

    def skip(self) -> None:
        """A damaged picture: what is before it and after it stands for itself."""
        self._close()
        self._states.append(NOT_MEASURED)

    def finish(self) -> dict[str, np.ndarray]:
        self._close()
        rows = self._rows
        share = np.array([row.share for row in rows]).reshape(-1, len(LADDER))
        return {
            "levels.state": np.array(self._states, np.uint8),
            "levels.at": np.array([row.frame for row in rows], np.int32),
            "levels.share": np.round(share * 65535).astype(np.uint16),
            "levels.reach": np.array([row.reach for row in rows]).reshape(-1, len(SIDES)).astype(np.int16),
            "levels.box": np.array([row.box for row in rows]).reshape(-1, len(LADDER), 4).astype(np.uint8),
            "levels.matrix": np.array([self._matrix_place if self._colour else NO_MATRIX, self._assumed], np.int8),
        }

    def _look(self) -> None:
        """At the newest picture, and at those before it if it is unlike the last that was looked at."""
        *between, newest = self._held
        self._held = []
        frame = len(self._states) + len(between)
        found = self._measure(newest, frame, carry=True)
        if self._last is not None and _differ(self._last.share, found.share):
            for planes in between:
                self._keep(self._measure(planes, len(self._states)))
        else:
            self._states += [BETWEEN] * len(between)
        self._keep(found)
        self._last, self._looked = found, newest

    def _close(self) -> None:
        """What goes before is over: its last picture is tested."""
        if self._held:
            for planes in self._held:
                self._keep(self._measure(planes, len(self._states)))
        elif self._last is not None and self._last.state == CARRIED and self._looked is not None:
            self._states.pop()
            self._keep(self._measure(self._looked, len(self._states)))
        self._held, self._looked, self._last, self._tested = [], None, None, None

    def _keep(self, found: _Found) -> None:
        self._states.append(found.state)
        if found.state == TESTED:
            self._rows.append(found)
            self._tested = found

    def _measure(self, planes: Planes, frame: int, carry: bool = False) -> _Found:
        """``carry``: a test before may stand for this picture."""
        colour = planes.cb is not None and self._matrix is not None
        self._colour |= colour
        limits = {side: step for side, step in _INNERMOST.items() if colour or side[0] == "Y"}
        suspects = self._screen.suspects(planes, limits)
        counts = np.array([suspects.counts.get(side, 0) for side in SIDES])
        before = self._tested
        if carry and before is not None and self._last is not None and self._last.state in (TESTED, CARRIED):
            little = FLOOR * planes.width * planes.height / TILE**2
            if frame - before.frame < TEST_EVERY and _alike(before.counts, counts, little):
                return replace(before, state=CARRIED, frame=frame)
        return self._test(planes, suspects, counts, frame)

    def _test(self, planes: Planes, suspects: Suspects, counts: np.ndarray, frame: int) -> _Found:
        """The filter, where something is suspected."""
        tally = _Tally(planes)
        if suspects.tiles:
            anywhere = np.logical_or.reduce(list(suspects.tiles.values()))
            components = "".join(dict.fromkeys(component for component, _ in suspects.tiles))
            filtered = Filtered(planes, self._matrix)
            if np.count_nonzero(anywhere) > _MANY * anywhere.size:
                for rows, levels in filtered.whole(components):
                    tally.add_rows(rows, levels, suspects.tiles)
            else:
                columns, rows = np.nonzero(anywhere)
                for run, levels in filtered.tiles(columns, rows, components):
                    tally.add_tiles(columns[run], rows[run], levels, suspects.tiles)
        share = tally.counts / (planes.width * planes.height)
        state = TESTED if share.max() >= FLOOR else CLEAR
        if state == CLEAR:
            share = np.zeros_like(share)
        boxes = tally.boxes() if state == TESTED else np.zeros((len(LADDER), 4), np.uint8)
        return _Found(state, share, tally.reach(), boxes, counts, frame)


class _Tally:
    """What is beyond each level in one picture."""

    def __init__(self, planes: Planes) -> None:
        self._width, self._height = planes.width, planes.height
        self.counts = np.zeros(len(LADDER), np.int64)
        self._cells = np.zeros((len(LADDER), _DOWN, _ACROSS))
        self._values: dict[Side, list[np.ndarray]] = {}

    def add_rows(self, rows: np.ndarray, levels: dict[str, np.ndarray], sides: dict[Side, np.ndarray]) -> None:
        """``levels`` (rows, w) of each component in steps."""
        cell = int(rows[len(rows) // 2]) * _DOWN // self._height
        starts = np.arange(_ACROSS) * self._width // _ACROSS
        for side in sides:
            for place, beyond in self._beyond(side, levels[side[0]]):
                columns = beyond.sum(axis=0, dtype=np.int64)
                self.counts[place] += columns.sum()
                wide = np.concatenate([[0], np.cumsum(columns)])
                self._cells[place, cell] += np.diff(wide[np.append(starts, self._width)])

    def add_tiles(
        self, columns: np.ndarray, rows: np.ndarray, levels: dict[str, np.ndarray], sides: dict[Side, np.ndarray]
    ) -> None:
        """``levels`` (tiles, 16) of each component in steps."""
        x = TILE * columns[:, None] + np.arange(TILE**2) % TILE
        y = TILE * rows[:, None] + np.arange(TILE**2) // TILE
        real = (x < self._width) & (y < self._height)  # an odd raster ends within its last tiles
        cells = (TILE * rows * _DOWN // self._height) * _ACROSS + TILE * columns * _ACROSS // self._width
        for side in sides:
            for place, beyond in self._beyond(side, levels[side[0]], real):
                each = beyond.sum(axis=1)
                self.counts[place] += each.sum()
                self._cells[place] += np.bincount(cells, each, _DOWN * _ACROSS).reshape(_DOWN, _ACROSS)

    def _beyond(self, side: Side, level: np.ndarray, real: np.ndarray | None = None) -> list[tuple[int, np.ndarray]]:
        """Which pixels are beyond each level of a side, until there are none."""
        found: list[tuple[int, np.ndarray]] = []
        hair = 0.0 if side[0] == "Y" else _ROUNDED
        for place in _PLACES[side]:
            beyond = level > _STEPS[place] + hair if side[1] else level < _STEPS[place] - hair
            if real is not None:
                beyond &= real
            if not beyond.any():
                break
            if not found:
                self._values.setdefault(side, []).append(level[beyond])
            found.append((place, beyond))
        return found

    def reach(self) -> np.ndarray:
        reach = np.zeros(len(SIDES))
        for place, side in enumerate(SIDES):
            values = self._values.get(side)
            if values:
                reach[place] = round(
                    100 * percent_of(float(np.percentile(np.concatenate(values), 90 if side[1] else 10)))
                )
        return reach

    def boxes(self) -> np.ndarray:
        pixels = self._width * self._height / (_ACROSS * _DOWN)
        return np.array([_box(cells / pixels) for cells in self._cells], np.uint8)


def _box(cells: np.ndarray) -> tuple[int, int, int, int]:
    """The largest area of full cells, in 1/255 of the picture."""
    if not cells.any():
        return 0, 0, 0, 0
    full = (cells >= min(_CELL, cells.max() / 2)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(full, connectivity=8)
    largest = 1 + int(np.argmax([cells[labels == label].sum() for label in range(1, count)]))
    left, top, width, height = (int(value) for value in stats[largest][:4])
    return (
        left * 255 // _ACROSS,
        top * 255 // _DOWN,
        -(-(left + width) * 255 // _ACROSS),
        -(-(top + height) * 255 // _DOWN),
    )


def _format(planes: Planes) -> tuple[object, ...]:
    chroma = None if planes.cb is None else planes.cb.shape
    return planes.luma.shape, planes.luma.dtype, chroma, planes.bits, planes.full_range, planes.interlaced


def _differ(before: np.ndarray, now: np.ndarray) -> bool:
    return bool((np.abs(before - now) > np.maximum(_SHARE_DIFFERS * np.maximum(before, now), FLOOR)).any())


def _alike(before: np.ndarray, now: np.ndarray, little: float) -> bool:
    return bool((np.abs(before - now) <= _SCREEN_DIFFERS * np.maximum(before, now) + little).all())
