"""Picture levels: how much of each picture lies outside levels of luma, R, G and B, and where.

Method of EBU R 103 v3.0 (2020): R, G, B and luma are filtered (level_filter), and the share of the picture beyond a
level counts. Shares are kept for a small ladder of levels (level_ladder), so that any outlet's limits can be read off.

Only every third picture is looked at: a run of three or more pictures outside cannot hide between two of them, and
shorter ones (or shorter gaps in a run) are no subject of any rule here. A look begins with a screen (level_screen) that
cannot miss what the filter would find; tiles that it suspects go through the filter, or the whole picture where they
are many. Where a look differs from the one before, the pictures between them are tested, so the first and last picture
of a run are exact, but for shares that stay under a quarter of a percent. While a long run goes on and the screen sees
no change, one test stands for up to twelve pictures; those are marked as carried, and every run begins and ends with a
test.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.level_filter import Filtered
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
    PAIRS,
    SIDES,
    TEST_EVERY,
    TESTED,
    Side,
    limit_step,
    matrix_of,
    percents,
)
from qc.meters.picture.level_screen import LevelScreen, Suspects
from qc.meters.picture.level_tally import LevelTally
from qc.meters.picture.level_windows import TILE_HIGH, TILE_WIDE
from qc.meters.picture.planes import Planes

#: From this share of suspected tiles on it costs less to filter the whole picture.
_MANY = 1 / 8
#: Two looks differ where a share does by more than a quarter, two screens by more than a tenth; small numbers may.
_SHARE_DIFFERS, _SCREEN_DIFFERS = 0.25, 0.1
#: Below this share in both looks, a run may begin or end up to two pictures beside the one that is named.
_SMALL_SHARE = 0.0025

_INNERMOST: dict[Side, int] = {side: limit_step(percents(*side)[0]) for side in SIDES}


@dataclass(frozen=True)
class _Found:
    """One picture that was looked at.

    share   (levels,) of the picture beyond each level of the ladder
    reach   (levels,) 1/100 % that the outermost tenth of what is beyond each level reaches; 0 if nothing is
    box     (levels, 4) left, top, right, bottom of the largest area beyond, in 1/255 of the picture
    alone   (pairs,) of the picture beyond a colour's level in areas that luma does not account for, by PAIRS
    alone_box  (pairs, 4) the largest of these areas
    counts  what the screen saw: tiles for each side
    """

    state: int
    share: np.ndarray
    reach: np.ndarray
    box: np.ndarray
    alone: np.ndarray
    alone_box: np.ndarray
    counts: np.ndarray
    frame: int = -1


class LevelsMeter:
    """Series:

    levels.state   (frames,) uint8: not measured, clear (looked at: under 0.1 % at every level), between (not looked
                   at, between two looks that agree), tested (has a row below) or carried (looks like the tested one
                   before it)
    levels.at      (rows,) int32, number of each tested picture with 0.1 % or more outside some level
    levels.share   (rows, 11) uint16, share beyond each level of LADDER in 1/65535 of the picture
    levels.reach   (rows, 11) int16, level in 1/100 % that the outermost tenth of what is beyond each reaches; 0 if
                   nothing is
    levels.box     (rows, 11, 4) uint8, largest area beyond each level: left, top, right, bottom in 1/255
    levels.alone   (rows, 15) uint16, for each of PAIRS what lies beyond the colour's level in areas over less than half
                   of which luma is beyond its own, in 1/65535 of the picture
    levels.alone_box  (rows, 15, 4) uint8, the largest of these areas
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
        alone = np.array([row.alone for row in rows]).reshape(-1, len(PAIRS))
        return {
            "levels.state": np.array(self._states, np.uint8),
            "levels.at": np.array([row.frame for row in rows], np.int32),
            "levels.share": np.round(share * 65535).astype(np.uint16),
            "levels.reach": np.array([row.reach for row in rows]).reshape(-1, len(LADDER)).astype(np.int16),
            "levels.box": np.array([row.box for row in rows]).reshape(-1, len(LADDER), 4).astype(np.uint8),
            "levels.alone": np.round(alone * 65535).astype(np.uint16),
            "levels.alone_box": np.array([row.alone_box for row in rows]).reshape(-1, len(PAIRS), 4).astype(np.uint8),
            "levels.matrix": np.array([self._matrix_place if self._colour else NO_MATRIX, self._assumed], np.int8),
        }

    def _look(self) -> None:
        """At the newest picture, and at those before it if it is unlike the last that was looked at."""
        *between, newest = self._held
        self._held = []
        frame = len(self._states) + len(between)
        found = self._measure(newest, frame, carry=True)
        if self._last is not None and _differ(self._last.share, found.share):
            self._test_last()
            for planes in between:
                self._keep(self._measure(planes, len(self._states)))
        else:
            self._states += [BETWEEN] * len(between)
        self._keep(found)
        self._last, self._looked = found, newest

    def _close(self) -> None:
        """What goes before is over: its last picture is tested."""
        if not self._held:
            self._test_last()
        for planes in self._held:
            self._keep(self._measure(planes, len(self._states)))
        self._held, self._looked, self._last, self._tested = [], None, None, None

    def _test_last(self) -> None:
        """The last picture that was looked at, if another test stood for it."""
        if self._last is not None and self._last.state == CARRIED and self._looked is not None:
            self._states.pop()
            self._keep(self._measure(self._looked, len(self._states)))

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
            little = FLOOR * planes.width * planes.height / (TILE_WIDE * TILE_HIGH)
            if frame - before.frame < TEST_EVERY and _alike(before.counts, counts, little):
                return replace(before, state=CARRIED, frame=frame)
        return self._test(planes, suspects, counts, frame)

    def _test(self, planes: Planes, suspects: Suspects, counts: np.ndarray, frame: int) -> _Found:
        """The filter, where something is suspected."""
        tally = LevelTally(planes)
        if suspects.tiles:
            filtered = Filtered(planes, self._matrix)
            anywhere = suspects.anywhere()
            if len(anywhere) > _MANY * suspects.columns * suspects.rows:
                for rows, levels in filtered.whole(
                    "".join(dict.fromkeys(component for component, _ in suspects.tiles))
                ):
                    tally.add_rows(rows, levels, suspects.tiles)
            else:
                for parts, columns, rows, level in filtered.tiles(suspects.tiles, anywhere, suspects.rows):
                    tally.add_tiles(parts, columns, rows, level)
        pixels = planes.width * planes.height
        share = tally.counts / pixels
        if share.max() < FLOOR:
            none, alone = np.zeros(len(LADDER)), np.zeros(len(PAIRS))
            boxes, alone_boxes = np.zeros((len(LADDER), 4), np.uint8), np.zeros((len(PAIRS), 4), np.uint8)
            return _Found(CLEAR, none, none, boxes, alone, alone_boxes, counts, frame)
        boxes, own, alone_boxes = tally.areas()
        return _Found(TESTED, share, tally.reach(), boxes, own / pixels, alone_boxes, counts, frame)


def _format(planes: Planes) -> tuple[object, ...]:
    chroma = None if planes.cb is None else planes.cb.shape
    return planes.luma.shape, planes.luma.dtype, chroma, planes.bits, planes.full_range, planes.interlaced


def _differ(before: np.ndarray, now: np.ndarray) -> bool:
    larger = np.maximum(before, now)
    apart = np.abs(before - now) > np.maximum(_SHARE_DIFFERS * larger, FLOOR)
    return bool((apart & (larger > _SMALL_SHARE)).any())


def _alike(before: np.ndarray, now: np.ndarray, little: float) -> bool:
    return bool((np.abs(before - now) <= _SCREEN_DIFFERS * np.maximum(before, now) + little).all())
