"""Active picture from the counts of blank lines: edges that stay the same through a stretch, and boxes they make.

A frame tells how many lines are blank at a side if the picture right beside them is bright; a dark frame only tells
that no more are than it shows. An edge is claimed where frames that tell say the same, to a line, for a while, and
no frame says less; so vignettes and night scenes, whose edges wander, claim nothing. What is black and straight
and stands still at one side for a while may be part of the picture: a large one is claimed only if it stays there
throughout. Common practice; there is no published method.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from qc.meters.picture.geometry_series import EDGES_EVERY, NOTHING, SIDES
from qc.timing.spans import Span

#: A frame tells where the picture beside is this bright (codes of 8 bits above black).
_BRIGHT_BESIDE = 16
#: Brightest average inside a real blank edge, codes of 8 bits above black, unless it is there throughout.
_FLAT = 5
#: Frames that must tell the same, and the longest time without one, in looks.
_LEAST_LOOKS, _LONGEST_BLIND = 4, 40
#: An edge that is there for this share of what is judged is there throughout.
THROUGHOUT = 0.9
#: The programme as a whole is as it is shown for this share of what is judged.
MOSTLY = 0.5
#: Lines at one side from which it is no edge but a bar: parts of the raster's size.
BAR = 0.015
#: Widest dark edge of a single side that is claimed although it is not there throughout.
_EDGE_MOST = 0.05
_FACING = {"left": "right", "top": "bottom", "right": "left", "bottom": "top"}


@dataclass(frozen=True)
class BlankEdge:
    """Blank lines at one side, the same throughout a stretch.

    side   one of "left", "top", "right", "bottom"
    lines  blank columns or rows
    span   frames, each end to within EDGES_EVERY
    best   the frame in which the picture beside is brightest
    share  of the pictures that were looked at
    """

    side: str
    lines: int
    span: Span
    best: int
    share: float


@dataclass(frozen=True)
class Box:
    """Two bars facing each other.

    kind    "letterbox" (top and bottom) or "pillarbox" (left and right)
    lines   of the first (top, left) and second bar
    """

    kind: str
    lines: tuple[int, int]
    span: Span
    best: int
    share: float


@dataclass(frozen=True)
class Unseen:
    """Outer lines of one side in which no frame shows a picture, and no edge tells that they are blank.

    Blank with an end that is not straight (a tilted bar, a soft one, one with words in it), or dark from first to last.

    best  the frame in which the picture beside is brightest
    """

    side: str
    lines: int
    best: int


@dataclass(frozen=True)
class ActivePicture:
    """What a stretch of the file shows.

    raster   width and height; (0, 0) if no frame was looked at
    looks    frames looked at that hold a picture
    changed  the raster changes within the stretch: counted on the first only
    least    fewest blank lines at each side in any frame: outside of them there is never a picture; None where no
             frame holds one
    blind    sides beside which no frame is bright enough to tell
    unseen   sides whose outer lines are unknown
    edges    blank edges that belong to no box
    boxes    letterbox and pillarbox
    """

    raster: tuple[int, int]
    looks: int
    changed: bool
    least: tuple[int, int, int, int] | None
    blind: tuple[str, ...]
    unseen: tuple[Unseen, ...]
    edges: tuple[BlankEdge, ...]
    boxes: tuple[Box, ...]

    def is_bar(self, edge: BlankEdge) -> bool:
        """Broad, and there throughout."""
        return _is_bar(edge, self.raster)

    @property
    def bars_unseen(self) -> tuple[Unseen, ...]:
        """Sides where bars may be."""
        return tuple(side for side in self.unseen if side.lines >= BAR * _size(side.side, self.raster))


def measured(series: Mapping[str, np.ndarray]) -> bool:
    """Whether any frame was looked at."""
    return len(series.get("active.frame", ())) > 0


def active_picture(series: Mapping[str, np.ndarray], spans: Sequence[Span]) -> ActivePicture:
    """Blank edges and boxes within some spans of frames."""
    frames = series["active.frame"].astype(np.int64)
    inside = np.zeros(len(frames), bool)
    for span in spans:
        inside |= (frames >= span.first) & (frames < span.end)
    blank = series["active.blank"].astype(np.int64)
    rasters = series["active.raster"].astype(np.int64)
    seen = np.flatnonzero(inside & (blank[:, 0] != NOTHING))
    if not len(seen):
        return ActivePicture((0, 0), 0, False, None, SIDES, (), (), ())
    width, height = (int(value) for value in rasters[seen[0]])
    same = (rasters[seen] == rasters[seen[0]]).all(axis=1)
    changed, seen = not bool(same.all()), seen[same]
    sides = {
        side: _Looks(
            side,
            frames[seen],
            blank[seen, number],
            series["active.beside"][seen, number].astype(np.int64),
            series["active.within"][seen, number] / 2,
        )
        for number, side in enumerate(SIDES)
    }
    found = {side: _edges(looks, looks.tells | _less(looks), spans) for side, looks in sides.items()}
    for side, facing in _FACING.items():
        if _shown(found[facing]) < MOSTLY and any(_is_bar(edge, (width, height)) for edge in found[side]):
            alike = _edges(sides[facing], sides[facing].tells, spans)
            found[facing] = [edge for edge in alike if any(_face(other, edge) for other in found[side])]
    least = blank[seen].min(axis=0)
    boxes, edges = _boxes([edge for side in SIDES for edge in found[side]], (width, height))
    return ActivePicture(
        raster=(width, height),
        looks=len(seen),
        changed=changed,
        least=(int(least[0]), int(least[1]), int(least[2]), int(least[3])),
        blind=tuple(side for side, looks in sides.items() if not looks.tells.any()),
        unseen=tuple(
            Unseen(side, int(looks.count.min()), int(looks.frames[np.argmax(looks.beside)]))
            for side, looks in sides.items()
            if looks.count.min() and _shown(found[side]) < MOSTLY
        ),
        edges=tuple(edge for edge in edges if _plain(edge, (width, height))),
        boxes=boxes,
    )


def aspect(active: tuple[int, int], lines: Sequence[int]) -> float:
    """Width over height of what ``lines`` (left, top, right, bottom) leave of a raster, in pixels."""
    width, height = active
    return (width - lines[0] - lines[2]) / max(1, height - lines[1] - lines[3])


def is_two_k(raster: tuple[int, int], box: Box) -> bool:
    """A 2048x1080 picture scaled to the width of a 16:9 raster: 1012.5 lines of 1080, so 67.5 blank together.

    By arithmetic: 1920 x 1080 / 2048 = 1012.5. Two lines are tolerated: the half ones are mixed with black.
    """
    width, height = raster
    if box.kind != "letterbox" or width * 9 != height * 16:
        return False
    return abs(sum(box.lines) - height / 16) <= 2 * max(1.0, height / 1080)


def afd_codes(series: Mapping[str, np.ndarray], spans: Sequence[Span]) -> list[tuple[int, Span]]:
    """Runs of one active format description, as (four bits, frames); frames without one are passed over."""
    afd = series.get("active.afd")
    if afd is None or not len(afd):
        return []
    runs: list[tuple[int, Span]] = []
    for span in spans:
        part = afd[span.first : span.end]
        told = np.flatnonzero(part != 255)
        if not len(told):
            continue
        starts = np.concatenate([[0], np.flatnonzero(np.diff(part[told].astype(int))) + 1])
        ends = np.concatenate([starts[1:], [len(told)]])
        runs += [
            (int(part[told[start]]), Span(span.first + int(told[start]), span.first + int(told[end - 1]) + 1))
            for start, end in zip(starts, ends, strict=True)
        ]
    return runs


@dataclass(frozen=True)
class _Looks:
    """One side in the frames that were looked at: (looks,) each, as in the series."""

    side: str
    frames: np.ndarray
    count: np.ndarray
    beside: np.ndarray
    within: np.ndarray

    @property
    def tells(self) -> np.ndarray:
        return np.asarray((self.count == 0) | (self.beside >= _BRIGHT_BESIDE))


def _is_bar(edge: BlankEdge, raster: tuple[int, int]) -> bool:
    return edge.share >= THROUGHOUT and edge.lines >= BAR * _size(edge.side, raster)


def _shown(edges: Sequence[BlankEdge]) -> float:
    """Share of the pictures in which one of these edges is there."""
    return sum(edge.share for edge in edges)


def _size(side: str, raster: tuple[int, int]) -> int:
    return raster[0] if side in ("left", "right") else raster[1]


def _edges(looks: _Looks, heard: np.ndarray, spans: Sequence[Span]) -> list[BlankEdge]:
    """Stretches in which the frames that tell say the same count, other than none, and no other says less.

    heard  (looks,) bool, the frames that have a say: those that tell, and others that contradict them
    """
    side, frames, count, tells = looks.side, looks.frames, looks.count, looks.tells
    if not tells.any():
        return []
    at = np.flatnonzero(heard)
    found = []
    for first, last, lines in _groups(frames[at], count[at]):
        rows = slice(at[first], at[last] + 1)
        telling = at[first : last + 1]
        telling = telling[tells[telling] & (np.abs(count[telling] - lines) <= 1)]
        if not lines or len(telling) < _LEAST_LOOKS:
            continue
        span = _clipped(Span(int(frames[rows][0]), int(frames[rows][-1]) + EDGES_EVERY), spans)
        best = int(frames[telling[np.argmax(looks.beside[telling])]])
        edge = BlankEdge(side, lines, span, best, float((rows.stop - rows.start) / len(count)))
        if float(np.median(looks.within[telling])) <= _FLAT or edge.share >= THROUGHOUT:
            found.append(edge)
    return _joined(found)


def _less(looks: _Looks) -> np.ndarray:
    """Frames that do not tell, and yet show fewer blank lines than those that do on either side of them: something
    dim stands where those have nothing. Words in a bar do; so does a picture that was black at its edge before."""
    count, tells = looks.count, looks.tells
    told = np.flatnonzero(tells)
    if not len(told):
        return np.zeros(len(count), bool)
    place = np.searchsorted(told, np.arange(len(count)))
    before, after = count[told[(place - 1).clip(0)]], count[told[place.clip(max=len(told) - 1)]]
    return np.asarray(~tells & (count < np.minimum(before, after)))


def _groups(frames: np.ndarray, count: np.ndarray) -> list[tuple[int, int, int]]:
    """Frames that tell, in groups that say the same to a line: (first, last, lines). Short groups that say more than
    both their neighbours (something dark stood at the edge) are passed over."""
    groups: list[list[int]] = []  # first, last, least, looks
    breaks = np.flatnonzero((np.abs(np.diff(count)) > 1) | (np.diff(frames) > _LONGEST_BLIND * EDGES_EVERY)) + 1
    starts = np.concatenate([[0], breaks])
    ends = np.concatenate([breaks, [len(count)]])
    for start, end in zip(starts, ends, strict=True):
        groups.append([int(start), int(end) - 1, int(count[start:end].min()), int(end - start)])
    kept: list[list[int]] = []
    for place, group in enumerate(groups):
        after = groups[place + 1][2] if place + 1 < len(groups) else -1
        if kept and group[3] < _LEAST_LOOKS and group[2] > max(kept[-1][2], after):
            continue
        near = kept and frames[group[0]] - frames[kept[-1][1]] <= _LONGEST_BLIND * EDGES_EVERY
        if near and abs(kept[-1][2] - group[2]) <= 1 and min(kept[-1][2], group[2]) > 0:
            kept[-1] = [kept[-1][0], group[1], min(kept[-1][2], group[2]), kept[-1][3] + group[3]]
        else:
            kept.append(group)
    return [(group[0], group[1], group[2]) for group in kept]


def _joined(edges: list[BlankEdge]) -> list[BlankEdge]:
    """Stretches of one count that together are there throughout become one."""
    found = []
    for lines in dict.fromkeys(edge.lines for edge in edges):
        same = [edge for edge in edges if edge.lines == lines]
        share = sum(edge.share for edge in same)
        if len(same) > 1 and share >= THROUGHOUT / 2:
            span = Span(same[0].span.first, same[-1].span.end)
            same = [replace(same[0], span=span, best=same[len(same) // 2].best, share=min(1.0, share))]
        found += same
    return sorted(found, key=lambda edge: edge.span)


def _boxes(edges: Sequence[BlankEdge], raster: tuple[int, int]) -> tuple[tuple[Box, ...], list[BlankEdge]]:
    """Bars that face each other at the same time, and the edges that remain."""
    left = list(edges)
    boxes = []
    for kind, first, second in (("letterbox", "top", "bottom"), ("pillarbox", "left", "right")):
        size = raster[1] if kind == "letterbox" else raster[0]
        bars = [edge for edge in edges if edge.lines >= BAR * size]
        for one in (bar for bar in bars if bar.side == first):
            other = next((bar for bar in bars if bar.side == second and bar in left and _face(one, bar)), None)
            if other is None:
                continue
            span = Span(max(one.span.first, other.span.first), min(one.span.end, other.span.end))
            share = min(one.share, other.share)
            boxes.append(Box(kind, (one.lines, other.lines), span, one.best, share))
            left.remove(one)
            left.remove(other)
    return tuple(sorted(boxes, key=lambda box: box.span)), left


def _face(one: BlankEdge, other: BlankEdge) -> bool:
    """At the same time, and as wide as each other, unless both are there throughout (a picture off centre)."""
    together = one.span.overlap(other.span) >= 0.7 * max(one.span.frames, other.span.frames)
    alike = abs(one.lines - other.lines) <= 2 + 0.15 * max(one.lines, other.lines)
    return together and (alike or min(one.share, other.share) >= THROUGHOUT)


def _plain(edge: BlankEdge, raster: tuple[int, int]) -> bool:
    """Narrow enough to be a blank edge, or there throughout."""
    return edge.lines <= max(2.0, _EDGE_MOST * _size(edge.side, raster)) or edge.share >= THROUGHOUT


def _clipped(span: Span, spans: Sequence[Span]) -> Span:
    end = max((one.end for one in spans), default=span.end)
    return Span(span.first, max(span.first, min(span.end, end)))
