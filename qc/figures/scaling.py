"""Whether a programme was scaled for another range than it says: from the luma histograms of all its pictures.

Full-range pictures called narrow have a solid mass of pixels both below black and above white; narrow pictures scaled
to narrow once more have none near either, not even in titles. Common practice, no source for any of the numbers.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from qc.measurement.record import LumaBins, PictureSeries
from qc.timing.spans import Span

#: 8-bit narrow-range codes: surely below black (16) and above white (235), and what a second scaling leaves unused.
BELOW_BLACK, ABOVE_WHITE, DARK, LIGHT = 12, 240, 30, 220
#: Shares of all pixels of the programme: a solid mass under black, over white; and as good as none.
MASS_BELOW, MASS_ABOVE, NONE = 0.005, 0.002, 0.00005
#: Pictures that are too few to tell.
FEWEST = 250
_AT_ONCE = 4096


@dataclass(frozen=True)
class RangeUse:
    """Shares of the pixels of a programme, each picture weighing the same.

    below, above  under code 12, over code 240 (8-bit narrow range)
    dark, light   under 30, from 220 on
    darkest, lightest   percent of the nominal range that as good as all pixels lie between
    pictures      counted
    """

    below: float
    above: float
    dark: float
    light: float
    darkest: float
    lightest: float
    pictures: int

    @property
    def full_range(self) -> bool:
        """A solid mass below black and above white."""
        return self.below >= MASS_BELOW and self.above >= MASS_ABOVE

    @property
    def has_black(self) -> bool:
        """Something near black."""
        return self.dark > NONE

    @property
    def has_white(self) -> bool:
        """Something near white."""
        return self.light > NONE

    @property
    def scaled_twice(self) -> bool:
        """Nothing near black, nothing near white."""
        return not self.has_black and not self.has_white


def range_use(picture: PictureSeries, spans: Sequence[Span]) -> RangeUse:
    """How the pictures of the spans use the range; damaged ones are left out."""
    total, pictures = np.zeros(picture.luma.shape[1]), 0
    for span in spans:
        for first in range(span.first, span.end, _AT_ONCE):
            rows = slice(first, min(first + _AT_ONCE, span.end))
            counted = picture.counted[rows].astype(np.float64)
            weights = np.divide(1.0, counted, out=np.zeros_like(counted), where=counted > 0)
            total += weights @ picture.luma[rows].astype(np.float64)
            pictures += int((counted > 0).sum())
    share = total / max(1, pictures)
    starts, ends = picture.bins.edges[:-1], picture.bins.edges[1:] - 1
    used = np.flatnonzero((np.cumsum(share) > NONE) & (np.cumsum(share[::-1])[::-1] > NONE))
    lowest, highest = (used[0], used[-1]) if len(used) else (0, len(starts) - 1)
    return RangeUse(
        below=float(share[starts < code_of(picture.bins, BELOW_BLACK)].sum()),
        above=float(share[starts >= code_of(picture.bins, ABOVE_WHITE)].sum()),
        dark=float(share[starts < code_of(picture.bins, DARK)].sum()),
        light=float(share[starts >= code_of(picture.bins, LIGHT)].sum()),
        darkest=float(percent_of_code(picture.bins, starts[lowest])),
        lightest=float(percent_of_code(picture.bins, ends[highest])),
        pictures=pictures,
    )


def code_of(bins: LumaBins, step: float) -> float:
    """The picture's own code for an 8-bit narrow-range one. Source: ITU-R BT.709-6, item 4.6."""
    if bins.full_range:
        return (step - 16) / 219 * ((1 << bins.depth) - 1)
    return step * 2.0 ** (bins.depth - 8)


def percent_of_code(bins: LumaBins, codes: np.ndarray) -> np.ndarray:
    """Percent of the nominal range of the picture's own codes. Source: ITU-R BT.709-6, item 4.6."""
    if bins.full_range:
        return codes * (100.0 / ((1 << bins.depth) - 1))
    return (codes / 2.0 ** (bins.depth - 8) - 16) * (100 / 219)
