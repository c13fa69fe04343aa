"""Best assignment of candidate blacks to the breaks of a clock, by dynamic programming.

A path goes from a start over blacks to an end; between two of them lie one or more acts (more than one
where a break is missing). Its cost is the sum of what is unlike in it (qc.programme.likeness):

    start + acts + breaks taken + blacks left that look like breaks + missing breaks + TRT + end

State: (next act, black before it). The TRT is no sum of single steps that could be settled black by
black, so every state keeps the cheapest few ways to it, each with the frames of its acts so far: up to
``BEAM``, fewer among many candidates, so that no act has more than ``MOST_WAYS``. Steps are whole arrays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from qc.programme.edges import Edge
from qc.programme.likeness import Breaks, mean_act, unlike_acts, unlike_programme
from qc.programme.structure import ExpectedClock

BEAM = 4
MOST_WAYS = 200
LONG_CLOCK = 8  # acts from which no more than ``MOST_MISSING`` breaks in a row are thought to be missing
MOST_MISSING = 3
MOST_ACTS = 12  # counts that are tried where the outlet states none


@dataclass(frozen=True)
class Assignment:
    """The cheapest path.

    taken   (break number, index of the candidate), in order
    """

    cost: float
    acts: int
    start: int
    end: int
    taken: tuple[tuple[int, int], ...]


@dataclass
class _States:
    """Ways to one act, as columns of equal length."""

    at: np.ndarray  # frame where the act starts
    cost: np.ndarray
    frames: np.ndarray  # of the acts before
    row: np.ndarray  # index into the log: how we came here


def assign(
    breaks: Breaks, starts: Sequence[Edge], ends: Sequence[Edge], expected: ExpectedClock, programme: int
) -> Assignment | None:
    """The best path for the stated number of acts, or for the number that fits best if none is stated.

    programme  frames between head and tail, for acts of which nothing is stated
    None if no act of at least one frame fits anywhere.
    """
    if expected.acts is not None:
        return _best(breaks, starts, ends, expected, expected.acts, programme, may_miss=True)
    most = min(MOST_ACTS, len(breaks.gaps) + 1)
    tried = [_best(breaks, starts, ends, expected, acts, programme, may_miss=False) for acts in range(1, most + 1)]
    return min((found for found in tried if found), key=lambda found: found.cost, default=None)


def _best(
    breaks: Breaks,
    starts: Sequence[Edge],
    ends: Sequence[Edge],
    expected: ExpectedClock,
    acts: int,
    programme: int,
    *,
    may_miss: bool,
) -> Assignment | None:
    mean = mean_act(expected, acts, programme)
    beam = max(1, min(BEAM, MOST_WAYS // max(1, len(breaks.gaps)))) if expected.programme_frames else 1
    # A black that is left costs what it lacks to "missing"; counted once for all, taken back where one is taken.
    left = float(np.sum(breaks.missing - breaks.unlike))
    take = breaks.unlike - (breaks.missing - breaks.unlike)
    end_at = np.array([edge.frame for edge in ends], dtype=np.int64)
    end_cost = np.array([edge.cost for edge in ends])

    log: list[tuple[int, int, int]] = [(-1, 0, edge.frame) for edge in starts]  # (row before, break number, what)
    first = _States(
        at=np.array([edge.frame for edge in starts], dtype=np.int64),
        cost=np.array([edge.cost for edge in starts]) + left,
        frames=np.zeros(len(starts), dtype=np.int64),
        row=np.arange(len(starts)),
    )
    waiting: dict[int, list[_States]] = {1: [first]}
    best, best_row, best_end = np.inf, -1, 0
    for act in range(1, acts + 1):
        here = _merged(waiting.pop(act, []), beam)
        if here is None:
            continue
        for last in _runs(act, acts) if may_miss else (act,):
            missed = (last - act) * breaks.missing
            if last < acts and len(breaks.gaps):
                length = breaks.first[None, :] - here.at[:, None]
                cost = here.cost[:, None] + missed + take[None, :]
                cost = np.where(length > 0, cost + unlike_acts(length, act, last, expected, mean), np.inf)
                reached = _cheapest(cost, here, length, breaks, beam, last, log)
                if reached is not None:
                    waiting.setdefault(last + 1, []).append(reached)
            if last == acts and len(ends):
                length = end_at[None, :] - here.at[:, None]
                cost = here.cost[:, None] + missed + end_cost[None, :]
                cost = cost + unlike_acts(length, act, last, expected, mean)
                cost = cost + unlike_programme(here.frames[:, None] + length, expected.programme_frames)
                cost = np.where(length > 0, cost, np.inf)
                place = int(np.argmin(cost))
                way, end = divmod(place, len(ends))
                if cost[way, end] < best:
                    best, best_row, best_end = float(cost[way, end]), int(here.row[way]), int(end_at[end])
    if not np.isfinite(best):
        return None
    taken: list[tuple[int, int]] = []
    row = best_row
    while log[row][0] >= 0:
        taken.append((log[row][1], log[row][2]))
        row = log[row][0]
    return Assignment(best, acts, log[row][2], best_end, tuple(reversed(taken)))


def _cheapest(
    cost: np.ndarray,
    here: _States,
    length: np.ndarray,
    breaks: Breaks,
    beam: int,
    number: int,
    log: list[tuple[int, int, int]],
) -> _States | None:
    """The ``beam`` cheapest ways to each black; cost and length are (ways, blacks)."""
    keep = min(beam, len(cost))
    if keep < len(cost):
        ways = np.argmin(cost, axis=0)[None, :] if keep == 1 else np.argpartition(cost, keep - 1, axis=0)[:keep]
    else:
        ways = np.broadcast_to(np.arange(keep)[:, None], cost.shape)
    gaps = np.broadcast_to(np.arange(cost.shape[1])[None, :], ways.shape)
    good = np.isfinite(cost[ways, gaps])
    way, gap = ways[good], gaps[good]
    if not len(way):
        return None
    row = len(log) + np.arange(len(way))
    log.extend(zip(here.row[way].tolist(), [number] * len(way), gap.tolist(), strict=True))
    return _States(breaks.end[gap], cost[way, gap], here.frames[way] + length[way, gap], row)


def _runs(act: int, acts: int) -> list[int]:
    """Last acts that a run from ``act`` may reach over missing breaks; to the end of the programme always."""
    furthest = acts if acts <= LONG_CLOCK else min(acts, act + MOST_MISSING)
    return sorted({*range(act, furthest + 1), acts})


def _merged(parts: Sequence[_States], beam: int) -> _States | None:
    """All ways to one act, the ``beam`` cheapest to each frame."""
    if not parts:
        return None
    if len(parts) == 1:
        return parts[0]
    at, cost, frames, row = (
        np.concatenate([getattr(part, column) for part in parts]) for column in ("at", "cost", "frames", "row")
    )
    order = np.lexsort((cost, at))
    same = at[order]
    rank = np.arange(len(order)) - np.searchsorted(same, same, side="left")
    keep = np.sort(order[rank < beam])
    return _States(at[keep], cost[keep], frames[keep], row[keep])
