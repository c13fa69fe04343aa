"""Measured field order: what the combing of compared pairs says, pair by pair and for a stretch.

A pair votes only where something moves and where the weaves differ clearly; fine lines, noise and cuts comb in all of
them alike and do not vote. One vote proves little, a run of them does: common practice, no published method.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from qc.timing.spans import Span

#: Votes that an answer needs, unless an outlet asks for another number. Common practice asks for some fifty frames
#: with motion; each pair stands for seven of them.
LEAST_VOTES = 12

#: What a pair says.
TOP, BOTTOM, PROGRESSIVE, UNDECIDED, STILL = 1, 2, 3, 0, -1

TOP_FIRST, BOTTOM_FIRST, PROGRESSIVE_CONTENT = "top first", "bottom first", "progressive content"
MIXED, TOO_STILL = "mixed", "not enough motion"

#: Share of the compared pixels from which a pair may vote; from the upper one on it is a cut.
_MOVING, _CUT = 0.001, 0.8
#: The weaves must differ by this many codes of 8 bits, and by this part of the one that combs most.
_CLEAR_CODES, _CLEAR_PART = 1.0, 0.3
#: And by this for an order: what small rasters at low rates leave of progressive pictures differs by 1.3 codes as often
#: as not, interlaced ones of the same kind by 2.7 (the open film at 320 x 180).
_ORDER_CODES = 1.4
#: Of that difference: how far apart the two interlaced weaves are if there is an order, and if there is none.
_ORDER, _NO_ORDER = 0.5, 0.25
#: By how much of it a frame's own rows may comb less than the better weave: they are as far apart in time, or further.
_OWN_LESS = 0.4
#: Votes that make a run, more of them among progressive pictures, and how many pairs may lie between two of them.
_RUN, _RUN_AMONG_PROGRESSIVE, _NEAR = 3, 5, 6
#: Progressive pictures with interlaced inserts, rather than the reverse, from so many times as many votes.
_MAINLY = 4


@dataclass(frozen=True)
class FieldOrder:
    """What a stretch is, and on what grounds.

    answer       TOP_FIRST, BOTTOM_FIRST, PROGRESSIVE_CONTENT, MIXED or TOO_STILL
    top, bottom, progressive  votes; those for an order only where they come in runs
    still        compared pairs in which too little moved
    pairs        all compared pairs
    top_runs, bottom_runs  where an order shows, in frames, each to within seven frames
    liveliest    first frame of the pair in which most moves, cuts apart; None where nothing does
    """

    answer: str
    top: int
    bottom: int
    progressive: int
    still: int
    pairs: int
    top_runs: tuple[Span, ...]
    bottom_runs: tuple[Span, ...]
    liveliest: int | None = None

    @property
    def votes(self) -> int:
        return self.top + self.bottom + self.progressive


def measured(series: Mapping[str, np.ndarray]) -> bool:
    """Whether any pair was compared at all."""
    return len(series.get("fields.frame", ())) > 0


def votes(series: Mapping[str, np.ndarray]) -> np.ndarray:
    """(pairs,) int8: TOP, BOTTOM, PROGRESSIVE, UNDECIDED or STILL."""
    energy = series["fields.energy"].astype(np.float64)
    own, top, bottom, share = (energy[:, column] for column in range(4))
    least, most = energy[:, :3].min(axis=1), energy[:, :3].max(axis=1)
    apart = np.maximum(most - least, 1e-9)
    order = (bottom - top) / apart
    lead = (own - least) / apart
    found = np.full(len(energy), UNDECIDED, np.int8)
    apart_in_time = np.minimum(top, bottom) - own <= _OWN_LESS * apart
    found[(order >= _ORDER) & apart_in_time] = TOP
    found[(order <= -_ORDER) & apart_in_time] = BOTTOM
    found[(np.abs(order) <= _NO_ORDER) & (lead <= _NO_ORDER) & (share < _CUT)] = PROGRESSIVE
    found[(most - least < _CLEAR_CODES) | (most - least < _CLEAR_PART * most)] = UNDECIDED
    faint = most - least < _ORDER_CODES
    found[faint & ((found == TOP) | (found == BOTTOM))] = UNDECIDED
    found[share < _MOVING] = STILL
    return found


def field_order(series: Mapping[str, np.ndarray], spans: Sequence[Span], least_votes: int) -> FieldOrder:
    """The order shown within some spans of frames.

    least_votes  fewer are no ground for an answer
    """
    frames, vote = series["fields.frame"].astype(np.int64), votes(series)
    inside = np.zeros(len(frames), bool)
    runs: dict[int, list[tuple[int, int, int]]] = {TOP: [], BOTTOM: []}
    for span in spans:
        within = (frames >= span.first) & (frames + 1 < span.end)
        inside |= within
        for kind, first, last, count in _runs(np.flatnonzero(within & ((vote == TOP) | (vote == BOTTOM))), vote):
            runs[kind].append((int(frames[first]), int(frames[last]) + 2, count))
    progressive = int(np.count_nonzero(inside & (vote == PROGRESSIVE)))
    if progressive >= _MAINLY * sum(count for found in runs.values() for _, _, count in found):
        runs = {kind: [run for run in found if run[2] >= _RUN_AMONG_PROGRESSIVE] for kind, found in runs.items()}
    top, bottom = (sum(count for _, _, count in runs[kind]) for kind in (TOP, BOTTOM))
    still = int(np.count_nonzero(inside & (vote == STILL)))
    spans_of = {kind: tuple(Span(first, end) for first, end, _ in runs[kind]) for kind in runs}
    answer = _answer(top, bottom, progressive, least_votes)
    share = np.where(inside & (series["fields.energy"][:, 3] < _CUT), series["fields.energy"][:, 3], 0.0)
    return FieldOrder(
        answer,
        top,
        bottom,
        progressive,
        still,
        int(np.count_nonzero(inside)),
        spans_of[TOP],
        spans_of[BOTTOM],
        int(frames[np.argmax(share)]) if share.any() else None,
    )


def _answer(top: int, bottom: int, progressive: int, least: int) -> str:
    if top + bottom + progressive < least:
        return TOO_STILL
    if progressive >= _MAINLY * (top + bottom):
        return PROGRESSIVE_CONTENT
    if top and bottom:
        return MIXED
    return TOP_FIRST if top else BOTTOM_FIRST


def _runs(at: np.ndarray, vote: np.ndarray) -> list[tuple[int, int, int, int]]:
    """Runs of one order among the pairs ``at`` that show one: (kind, first pair, last pair, votes)."""
    if not len(at):
        return []
    breaks = np.flatnonzero((vote[at][1:] != vote[at][:-1]) | (np.diff(at) > _NEAR)) + 1
    starts, ends = np.concatenate([[0], breaks]), np.concatenate([breaks, [len(at)]])
    return [
        (int(vote[at[start]]), int(at[start]), int(at[end - 1]), int(end - start))
        for start, end in zip(starts, ends, strict=True)
        if end - start >= _RUN
    ]
