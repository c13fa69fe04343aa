"""Stray frames: shots too short to be meant, left over at a cut or put into a shot by mistake.

A shot is short when its structure has nothing in common with what stands before and after it (or most of a soft
picture changes at once, up here and down there), while the picture is calm on both sides. So these are none: a
photo flash or a lightning (structure stays), a whip pan or a crash zoom (one change follows another), a montage
(the shots beside it are short, too), a frame whose fields are of the two shots on either side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qc.figures.frame_series import FrameSeries, shifted, smallest_near
from qc.timing.spans import Span

#: Frames on each side that have to be calm, the cut itself apart.
CALM_FRAMES = 4
#: A change of picture to picture is calm when structure is alike to this degree, and the change is no more than this
#: part of what changes at the cut (in a crash zoom in the open film it is 0.45 and more) ...
ALIKE, STIR_PART = 0.35, 0.4
#: ... or when the picture changes by no more than this part of that: rolling type, black.
SMALL_PART = 0.25
#: Within a stray shot that stands between hard cuts, the picture may change by this part of that.
FAST_PART = 0.4
#: Two pictures with this much structure in common are of one shot: what stands around a stray frame is one.
RETURNS = 0.5
#: ... or when their light differs, cell by cell, by no more than this part of what the stray differs by from either.
BACK_PART = 0.25
#: Codes of 8 bits: this share of a picture's cells at least so bright is a picture burnt out by a flash.
BURNT_OUT, BURNT_SHARE = 200, 0.8
#: Longest shot that the series can tell, in frames.
LONGEST = 3


@dataclass(frozen=True)
class Stray:
    """A short shot.

    kind  "inside a shot" (the picture around it is one shot), "between shots", "at black" (beside black, or beside
          the first or the last frame of the file); "field inside a shot" and "field at a cut" where it is only one
          field of the frame (stray_fields)
    """

    span: Span
    kind: str

    @property
    def frames(self) -> float:
        return 0.5 if self.kind.startswith("field") else float(self.span.frames)


def stray_shots(series: FrameSeries, shortest: int, black: np.ndarray) -> list[Stray]:
    """Shots shorter than ``shortest`` frames (at most 4: the series tell no more), in order.

    black  (frames,) bool: frames that are black by the profile's rule; a run of these is no shot
    """
    found = [
        stray
        for length in range(1, min(shortest - 1, LONGEST) + 1)
        for stray in _of_length(series, length, np.asarray(black, bool))
    ]
    return sorted(found, key=lambda stray: stray.span)


def _of_length(series: FrameSeries, length: int, black: np.ndarray) -> list[Stray]:
    """Shots of exactly so many frames that begin at each frame."""
    hard, mean, frames = series.cuts, series.known("motion.mean", 0.0), series.frames
    cuts, alike = hard | series.swaps, series.known("motion.like1", 1.0)
    begins, ends = cuts.copy(), shifted(cuts, length, False)
    clear = hard & shifted(hard, length, False)
    change = np.minimum(mean, shifted(mean, length, np.inf))
    if frames:  # the file's first and last frames are shots that nothing stands beside
        last = -length if length <= frames else 0
        begins[0] = clear[0] = ends[last] = clear[last] = True
        change[0] = mean[length] if length < frames else 0.0
    calm = np.ones(frames, bool)
    for step in range(1, CALM_FRAMES + 1):
        for place in (-step, length + step):
            beside = shifted(mean, place, 0.0)
            stirs = clear & (shifted(alike, place, 1.0) >= ALIKE) & (beside <= STIR_PART * change)
            calm &= (beside <= SMALL_PART * change) | stirs
    whole = np.ones(frames, bool)
    for step in range(1, length):
        # soft pictures have little structure to share, fast ones nothing in place
        little = shifted(mean, step, 0.0) <= np.where(clear, FAST_PART, SMALL_PART) * change
        whole &= ((shifted(alike, step, 1.0) >= ALIKE) | little) & (~shifted(cuts, step, False) | clear & little)
    lit = smallest_near((~black).astype(np.float64), 0, length, 1.0) > 0
    if length == 1:
        begins = begins & ~series.mixed
    at = np.flatnonzero(begins & ends & calm & whole & lit & ~np.isnan(series["motion.luma"]))
    return [
        Stray(Span(int(first), int(first) + length), _kind(series, int(first), length, black))
        for first in at
        if first + length <= frames and not _flash(series, int(first), length)
    ]


def _kind(series: FrameSeries, first: int, length: int, black: np.ndarray) -> str:
    end = first + length
    if first == 0 or end >= series.frames or black[first - 1] or black[end]:
        return "at black"
    if series.known(f"motion.like{length + 1}", 0.0)[end] >= RETURNS:
        return "inside a shot"
    before, own, after = (series.series["motion.grid"][at].astype(np.float32) for at in (first - 1, first, end))
    back, away = np.abs(after - before).mean(), min(np.abs(own - other).mean() for other in (before, after))
    return "inside a shot" if back <= BACK_PART * away else "between shots"  # a pan moves on meanwhile


def _flash(series: FrameSeries, first: int, length: int) -> bool:
    """Brighter everywhere than what stands around it, and burnt out to white, or with no other structure than that:
    a flash."""
    end = first + length
    if first == 0 or end >= series.frames:
        return False
    grid = series.series["motion.grid"]
    around = np.maximum(grid[first - 1], grid[end]).astype(np.int16)
    own = grid[first:end].astype(np.int16).max(axis=0)
    if (own >= around - 3).mean() < 0.97:
        return False
    hard = bool(series.cuts[first] and series.cuts[end])
    return bool((own >= BURNT_OUT).mean() >= BURNT_SHARE) or not hard
