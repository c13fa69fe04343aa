"""From changes of single cells to what the rule asks: how much of the screen changes together, and how much of it
has changed how often within the last second.

Time is counted in ticks, two to a frame: the first of a progressive frame, both of an interlaced one. Two moments
lie within one second when they are less than one second apart, so seven changes spread over exactly one second
are six.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np

#: Cells that change in one direction within this time change together (concurrently): three frames at 24 to 30 a
#: second. Interpretation, no source: a flash that takes a few frames to rise reaches dark parts later than bright
#: ones, and a longer time would add up what moves past (credits, a pan).
TOGETHER = Fraction(1, 10)
#: Leading edges this far apart are accepted whatever the area, in a 50 Hz and in a 60 Hz environment; 334 ms is
#: 20 fields at 59.94 Hz, 333.67 ms, rounded up. Source: ITU-R BT.1702-3, Guideline 1.
APART_50, APART_60 = Fraction(360, 1000), Fraction(3336, 10000)
#: Neighbourhoods across and down in which opposite changes cancel out: what moves is brighter here, darker beside it.
NEIGHBOURHOODS = (16, 9)
#: Changes within the last second for which the share of the screen is kept ("so many or more").
COUNTS = tuple(range(4, 13))
#: The count that the leading edges decide: with fewer it is no fault, with more they cannot be that far apart.
_DECIDED = 7
#: Shares are whole hundredths of a percent of the screen.
FULL = 10_000
#: A moment is kept if at least this much of the screen changes, or this much has had the least of COUNTS.
KEPT_CHANGE, KEPT_COUNT = FULL // 100, FULL // 20
_LONG_AGO = -(1 << 30)
#: Columns of the shares before those of COUNTS.
NOW, TOGETHER_NOW, NET = slice(0, 2), slice(2, 4), slice(4, 6)


@dataclass(frozen=True)
class TickTimes:
    """Lengths of time in ticks."""

    second: int  # changes fewer ticks apart lie within one second
    together: int
    apart: int

    @classmethod
    def of(cls, rate: Fraction) -> TickTimes:
        apart = APART_50 if rate % 25 == 0 else APART_60
        return cls(ceil(2 * rate), 2 * ceil(rate * TOGETHER), ceil(2 * rate * apart))


class ChangeCounter:
    """Counts the changes of equal parts of the screen, for several readings of it at once (cells of one behind those
    of another); one row for each moment of a reading that matters.

    The cells stand ``down`` rows of ``across``, whole multiples of NEIGHBOURHOODS.
    """

    def __init__(self, across: int, down: int, times: TickTimes, readings: int = 1) -> None:
        self._times = times
        self._cells = cells = across * down
        # Sums of neighbourhoods are products with these from both sides, the readings below each other
        self._across = _sums_of(NEIGHBOURHOODS[0], across).T
        self._down = _sums_of(NEIGHBOURHOODS[1] * readings, down * readings)
        self._unit = FULL / cells
        self._ends = np.arange(1, readings + 1) * cells
        everywhere = cells * readings
        self._count = np.zeros(everywhere, np.uint16)  # changes within the last second
        self._accepted = np.zeros(everywhere, bool)  # seven, but with leading edges far enough apart
        self._total = np.zeros(everywhere, np.uint8)  # changes so far, modulo 256
        self._ticks = np.full((8, everywhere), _LONG_AGO, np.int32)  # of the last eight changes, by turns
        self._last = np.full(everywhere, _LONG_AGO, np.int32)  # last change
        self._weight = np.ones(everywhere, np.float32)  # how much of a cell takes part in its last change
        self._weighed = _LONG_AGO  # the last tick at which that was not all of each
        # The weight of every cell whose last change is not longer ago than TOGETHER, less than 0 if it was down
        self._moved = np.zeros(everywhere, np.float32)
        self._recent: deque[tuple[int, np.ndarray, np.ndarray]] = deque()
        self._expiring: deque[tuple[int, np.ndarray]] = deque()
        self._kept: list[list[tuple[float, ...]]] = [[] for _ in range(readings)]

    def together(self, direction: int) -> np.ndarray:
        """(readings, cells) bool: changed in the direction (0 up, 1 down) together with what changed last."""
        cells = np.zeros(len(self._count), bool)
        for _, *changed in self._recent:
            cells[changed[direction]] = True
        return cells.reshape(-1, self._cells)

    def add(self, tick: int, up: np.ndarray, down: np.ndarray) -> None:
        """Indices of the cells that change at this tick; a cell is in one of them at most."""
        while self._expiring and self._expiring[0][0] <= tick - self._times.second:
            self._count[self._expiring.popleft()[1]] -= 1
        while self._recent and self._recent[0][0] <= tick - self._times.together:
            then, *changed = self._recent.popleft()
            for cells in changed:
                self._moved[cells[self._last[cells] == then]] = 0
        cells = up if not len(down) else down if not len(up) else np.concatenate([up, down])
        self._last[cells] = tick
        total = self._total[cells]
        self._ticks[total % 8, cells] = tick
        self._total[cells] = total + 1
        count = self._count[cells] + 1
        self._count[cells] = count
        self._weight[cells] = 1.0
        self._moved[up] = 1.0
        self._moved[down] = -1.0
        self._accepted[cells] = False
        self._expiring.append((tick, cells))
        self._recent.append((tick, up, down))
        seven = cells[count == _DECIDED]
        if len(seven):
            self._accepted[seven] = self._far_apart(seven)

    def weigh(self, tick: int, cells: np.ndarray, parts: np.ndarray) -> None:
        """Only this part (0 to 1) of each of the cells takes part in its change at this tick."""
        self._weighed = tick
        self._weight[cells] = parts
        self._moved[cells] *= parts

    def keep(self, tick: int, up: np.ndarray, down: np.ndarray) -> None:
        """Write down the moment, after ``add``, where it matters."""
        together: list[tuple[float, ...]] = []
        ends = zip(up.searchsorted(self._ends).tolist(), down.searchsorted(self._ends).tolist(), strict=True)
        start = (0, 0)
        for reading, (kept, end) in enumerate(zip(self._kept, ends, strict=True)):
            risen, fallen = up[start[0] : end[0]], down[start[1] : end[1]]
            start = end
            changed = len(risen) + len(fallen)
            if not changed:
                continue
            own = slice(reading * self._cells, (reading + 1) * self._cells)
            count = self._count[own]
            often: np.ndarray = (count >= COUNTS[0]).nonzero()[0]
            if changed * self._unit < KEPT_CHANGE and len(often) * self._unit < KEPT_COUNT:
                continue
            if not together:
                together = self._together()
            weight = self._weight[own]
            now = (part.size if self._weighed != tick else self._weight[part].sum() for part in (risen, fallen))
            shares = (*now, *together[reading], *self._reached(often, count, weight, self._accepted[own]))
            kept.append((tick, *(float(share) * self._unit for share in shares)))

    @staticmethod
    def _reached(often: np.ndarray, count: np.ndarray, weight: np.ndarray, accepted: np.ndarray) -> list[float]:
        """Cells with COUNTS[0] changes or more, and so on through COUNTS; ``often`` are those of the first."""
        if not len(often):
            return [0.0] * len(COUNTS)
        counts = count[often]
        counts -= accepted[often] & (counts == _DECIDED)
        np.minimum(counts, COUNTS[-1], out=counts)
        by_count = np.bincount(counts, weights=weight[often], minlength=COUNTS[-1] + 1)
        return by_count[::-1].cumsum()[::-1][COUNTS[0] :].tolist()  # type: ignore[no-any-return]

    def _together(self) -> list[tuple[float, ...]]:
        """For each reading the cells whose last change was up, and down, together with this moment; and both less the
        opposite of their neighbourhood."""
        readings = len(self._kept)
        net: list[float] = []
        found: list[tuple[float, ...]] = []
        for reading, (more, all_of_it) in enumerate(zip(*_sums(self._moved, readings), strict=True)):
            risen, fallen = (all_of_it + more) / 2, (all_of_it - more) / 2
            if all_of_it * self._unit < KEPT_COUNT or not risen or not fallen:
                found.append((risen, fallen, risen, fallen))
                continue
            if not net:
                near = self._down @ self._moved.reshape(-1, self._across.shape[0]) @ self._across
                net = _sums(near, readings)[1]
            found.append((risen, fallen, (net[reading] + more) / 2, (net[reading] - more) / 2))
        return found

    def finish(self) -> list[tuple[np.ndarray, np.ndarray]]:
        """For each reading (rows,) int32 ticks and (rows, 6 + len(COUNTS)) uint16 shares of the screen in 1/10000.

        Columns: what changes up and down at this moment; what did so last, together with it; both of these less
        the opposite changes of their neighbourhood; and what has changed COUNTS[0] times within the last second or
        more, and so on through COUNTS.
        """
        return [self._table(kept) for kept in self._kept]

    @staticmethod
    def _table(kept: list[tuple[float, ...]]) -> tuple[np.ndarray, np.ndarray]:
        rows = np.array(kept, np.float64).reshape(len(kept), 1 + NET.stop + len(COUNTS))
        return rows[:, 0].astype(np.int32), np.rint(np.clip(rows[:, 1:], 0, FULL)).astype(np.uint16)

    def _far_apart(self, cells: np.ndarray) -> np.ndarray:
        """Of seven changes the second, fourth and sixth are leading edges that stand far enough apart.

        The other four would take longer than a second if they did.
        """
        newest = self._total[cells].astype(np.int64) - 1
        second, fourth, sixth = (self._ticks[(newest - back) % 8, cells] for back in (5, 3, 1))
        return (fourth - second >= self._times.apart) & (sixth - fourth >= self._times.apart)


def _sums_of(groups: int, cells: int) -> np.ndarray:
    """(groups, cells) float32 of 0 and 1: times (cells,) it sums neighbours up, group by group."""
    return np.kron(np.eye(groups, dtype=np.float32), np.ones(cells // groups, np.float32))


def _sums(moved: np.ndarray, readings: int) -> tuple[list[float], list[float]]:
    """Of each reading's part: the sum, and the sum without regard to the sign."""
    parts = moved.reshape(readings, -1)
    return parts.sum(axis=1).tolist(), np.abs(parts).sum(axis=1).tolist()
