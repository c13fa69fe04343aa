"""Where the blacks of a programme stand: lifted, or crushed, from the luma histograms of all its pictures.

Lifted is a long stretch whose pictures hold nothing dark, not even 0.1 % of one. Crushed are pictures with a pile of
pixels at reference black into which brightness runs down, in pictures that are no nights. One shot shows neither: a fog
has no black, and a cave is black. Common practice, no source for any of the numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from qc.figures.black import runs_of
from qc.figures.scaling import BELOW_BLACK, code_of, percent_of_code
from qc.measurement.record import PictureSeries
from qc.timing.spans import Span

#: Share of a picture's pixels that says how dark it gets.
DARKEST = 0.001
#: Share of the programme that a fault of its making takes up; less of it is a scene.
LASTING = 0.2
#: Median luma of a picture that is no night, in percent of the nominal range.
DAY = 20.0
#: The pile lies from just under reference black up to it (8-bit codes, last not counted), and less lies under it ...
_PILE = (BELOW_BLACK, 17)
#: ... and brightness runs down to it through these codes, clear of what coding scatters round a flat black ...
_SLOPE = (19, 25)
#: ... each of them holding from so much to so much of what lies in the pile: without a slope it is flat black, and
#: five codes of an even slope hold five times what one holds.
_SLOPE_LEAST, _SLOPE_MOST = 1 / 100, 1 / 6
#: The wall: so many times what lies under reference black stands at it; noise lies on both sides.
_WALL = 1.5
#: What this part of the pictures has at black is always there: bands of a letterbox, a frame, a vignette.
_ALWAYS = 0.05
_AT_ONCE = 4096


@dataclass(frozen=True)
class BlackLevel:
    """Blacks of a programme.

    darkest   percent of the nominal range that the darkest 0.1 % of its darkest picture keep to
    bright    longest stretch of pictures with nothing as dark as asked, act by act; of so many pictures, keeping to
              ``lowest`` percent
    piled     share of the pictures that are no nights in which black is piled up
    piles     stretches of those, the longest first
    worst     of the picture with the largest pile: its place, and the share of it that is piled up
    pictures  counted
    """

    darkest: float
    bright: tuple[Span, ...]
    bright_pictures: int
    lowest: float
    piled: float
    piles: tuple[Span, ...]
    worst: int
    worst_share: float
    pictures: int


def black_level(picture: PictureSeries, spans: Sequence[Span], percent: float, area_percent: float) -> BlackLevel:
    """Blacks of the pictures of the spans, one after the other; damaged pictures are left out.

    percent       of the nominal range that the darkest 0.1 % of a picture reach if it has black
    area_percent  of a picture that is let be piled up at reference black
    """
    at = np.concatenate([np.arange(0), *(np.arange(span.first, min(span.end, picture.frames)) for span in spans)])
    at = at[picture.counted[at] > 0]
    if not len(at):
        return BlackLevel(0.0, (), 0, 0.0, 0.0, (), 0, 0.0, 0)
    rows = [_read(picture, at[first : first + _AT_ONCE]) for first in range(0, len(at), _AT_ONCE)]
    dark, median, far, under, wall, slope = (np.concatenate(column) for column in zip(*rows, strict=True))
    pile, wall = under + wall - np.quantile(under + wall, _ALWAYS), wall - np.quantile(wall, _ALWAYS)
    day = median >= DAY
    piled = day & (100 * pile > area_percent) & (far < pile) & (wall >= _WALL * under)
    piled &= (slope >= _SLOPE_LEAST * pile) & (slope <= _SLOPE_MOST * pile)
    longest = max(runs_of(dark > percent), key=lambda run: run.frames, default=Span(0, 0))
    worst = int(np.argmax(np.where(piled, pile, -1)))
    stretches = [span for run in runs_of(piled) for span in _in_file(at, run, spans)]
    return BlackLevel(
        darkest=float(dark.min()),
        bright=tuple(_in_file(at, longest, spans)),
        bright_pictures=longest.frames,
        lowest=float(dark[longest.first : longest.end].min()) if longest.frames else 0.0,
        piled=float(piled.sum() / max(1, day.sum())),
        piles=tuple(sorted(stretches, key=lambda span: (-span.frames, span.first))),
        worst=int(at[worst]),
        worst_share=float(pile[worst]),
        pictures=len(at),
    )


def _read(picture: PictureSeries, at: np.ndarray) -> tuple[np.ndarray, ...]:
    """Of each picture: level of its darkest 0.1 % and of its median, then shares: under the pile, in it under reference
    black and at it, and mean of a code over it."""
    share = picture.luma[at] / picture.counted[at].astype(np.float64)[:, None]
    below, starts = np.cumsum(share, axis=1), picture.bins.edges[:-1]
    slope = _between(share, picture, _SLOPE) / (_SLOPE[1] - _SLOPE[0])

    def level(part: float) -> np.ndarray:
        reached = np.minimum((below < part - 1e-9).sum(axis=1), len(starts) - 1)
        return percent_of_code(picture.bins, starts[reached])

    low, high = _PILE
    far, under, wall = (
        _between(share, picture, steps) for steps in ((-1 << 16, low), (low, high - 1.5), (high - 1.5, high))
    )
    return level(DARKEST), level(0.5), far, under, wall, slope


def _between(share: np.ndarray, picture: PictureSeries, steps: tuple[float, float]) -> np.ndarray:
    """Share from one code of 8 bits to under another."""
    starts = picture.bins.edges[:-1]
    low, high = (code_of(picture.bins, step) for step in steps)
    total: np.ndarray = share[:, (starts >= low) & (starts < high)].sum(axis=1)
    return total


def _in_file(at: np.ndarray, run: Span, spans: Sequence[Span]) -> list[Span]:
    """A run of counted pictures as spans of the file, cut where the programme is."""
    if not run.frames:
        return []
    first, end = int(at[run.first]), int(at[run.end - 1]) + 1
    cut = [Span(max(first, span.first), min(end, span.end)) for span in spans if span.first < end and first < span.end]
    return [span for span in cut if span.frames]
