"""The counter of changes against its definition, cell by cell from the whole history.

Rules: ITU-R BT.1702-3, Guideline 1; what counts as together, the neighbourhoods and what is kept are the counter's own.
"""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.picture.flash_counts import FULL, KEPT_CHANGE, KEPT_COUNT, ChangeCounter, TickTimes

ACROSS, DOWN = 32, 9
CELLS = ACROSS * DOWN
TIMES = TickTimes(second=50, together=6, apart=18)

#: Distances of moments: short ones, ones about each length of time there is, and leading edges far apart in a second.
GAPS = [
    [1, 2, 1, 3, 1, 2, 1, 1, 2],
    [4, 5, 6, 7, 5, 6],
    [1, 17, 1, 17, 1, 1, 60],
    [1, 17, 1, 16, 1, 1, 60],
    [9, 18, 49, 1, 50],
]

#: Changes of one cell: tick, direction (1 up, -1 down), part that takes part.
History = list[tuple[int, int, float]]


def row(histories: list[History], tick: int) -> list[float] | None:
    """What is to be written down at a tick, in 1/10000 of the screen; None if nothing is."""
    now = [sum(part for cell in histories for when, way, part in cell[-1:] if (when, way) == (tick, wanted))
           for wanted in (1, -1)]  # fmt: skip
    changed = sum(cell[-1][0] == tick for cell in histories if cell)
    moved = np.array([cell[-1][1] * cell[-1][2] if cell and cell[-1][0] > tick - 6 else 0.0 for cell in histories])
    together = [np.maximum(moved, 0).sum(), np.maximum(-moved, 0).sum()]
    near = moved.reshape(9, DOWN // 9, 16, ACROSS // 16).sum(axis=(1, 3))
    net = [np.maximum(near, 0).sum(), np.maximum(-near, 0).sum()]
    if sum(together) * FULL / CELLS < KEPT_COUNT or not all(together):
        net = together
    counts = []
    for cell in histories:
        within = [change for change in cell if change[0] > tick - 50]
        apart = len(within) == 7 and all(within[late][0] - within[late - 2][0] >= 18 for late in (3, 5))
        counts.append(6 if apart else len(within))
    reached = [sum(cell[-1][2] for cell, count in zip(histories, counts, strict=True) if count >= least)
               for least in range(4, 13)]  # fmt: skip
    often = sum(sum(change[0] > tick - 50 for change in cell) >= 4 for cell in histories)
    if not changed or (changed * FULL / CELLS < KEPT_CHANGE and often * FULL / CELLS < KEPT_COUNT):
        return None
    return [part * FULL / CELLS for part in (*now, *together, *net, *reached)]


@pytest.mark.parametrize("seed", range(3))
def test_shares_are_those_of_the_whole_history(seed):
    """Cells of two readings change by turns, at random, alone and in areas, at distances below and above each length of
    time there is, and some of them in part."""
    rng = np.random.default_rng(seed)
    counter = ChangeCounter(ACROSS, DOWN, TIMES, 2)
    histories: list[History] = [[] for _ in range(2 * CELLS)]
    wanted: list[list[list[float]]] = [[], []]
    ticks: list[list[int]] = [[], []]
    tick = 0
    for gap in [gap for pattern in rng.permutation(3 * len(GAPS)) % len(GAPS) for gap in GAPS[pattern]]:
        tick += gap
        area = np.full((2, DOWN, ACROSS), rng.random() < 0.7)
        top, left = rng.integers(DOWN), rng.integers(ACROSS)
        area[:, top : top + rng.integers(1, DOWN), left : left + rng.integers(1, ACROSS)] = True
        changing = np.flatnonzero(area.ravel() & (rng.random(2 * CELLS) < rng.choice([0.01, 0.9, 1.0, 1.0, 1.0])))
        way = np.array([-histories[cell][-1][1] if histories[cell] else (-1) ** (cell // 7) for cell in changing])
        up, down = changing[way > 0], changing[way < 0]
        if not len(changing):
            continue
        counter.add(tick, up, down)
        for direction, cells in ((1, up), (-1, down)):
            parts = np.where(rng.random(len(cells)) < 0.5, rng.integers(0, 5, len(cells)) / 4, 1.0)
            parts[:] = parts if rng.random() < 0.5 else 1.0
            cut = parts < 1
            if cut.any():
                counter.weigh(tick, cells[cut], parts[cut].astype(np.float32))
            for cell, part in zip(cells, parts, strict=True):
                histories[cell] = [*histories[cell][-15:], (tick, direction, float(part))]  # more are never asked for
        together = np.array([[bool(cell) and any(when > tick - 6 and way == wished for when, way, _ in cell)
                              for cell in histories] for wished in (1, -1)])  # fmt: skip
        for direction in (0, 1):
            assert (counter.together(direction).ravel() == together[direction]).all()
        counter.keep(tick, up, down)
        for reading in (0, 1):
            own = row(histories[reading * CELLS : (reading + 1) * CELLS], tick)
            if own is not None:
                wanted[reading].append(own)
                ticks[reading].append(tick)
    for reading, (found_ticks, shares) in enumerate(counter.finish()):
        assert found_ticks.tolist() == ticks[reading]
        assert np.abs(shares - np.clip(wanted[reading], 0, FULL)).max() <= 0.51
    seven, six, net, together = (np.array(wanted[0])[:, column] for column in (9, 8, 4, 2))
    assert (seven > 0).any() and (six > seven).any() and ((net > 0) & (net < together - 1)).any()
