"""Black pictures, and how dark a stretch is: from the luma histograms, for any rule.

A pixel is black when its code is at or below reference black plus so many percent of the nominal
range, rounded down; a picture is black when at least so many percent of its pixels are. This is
the rule of FFmpeg's blackdetect filter (pix_th, pic_th; libavfilter/vf_blackdetect.c): 10 percent
of 8-bit narrow range makes 37 black and 38 not.

Two things that the filter calls black are none here: lettering on black (a credit line is half a percent of the
picture), and a dark colour (full blue has the luma of black).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from qc.measurement.record import LumaBins, PictureSeries
from qc.timing.spans import Span

#: Pixels over so many percent are lit, and more than this share of them is lettering: a line of small type is 0.3 % of
#: a picture (common practice, no source). Up to there the histogram counts singly. A rule that lets more than 2 % of
#: the picture be anything lets lettering be, too.
LIT_PERCENT, LIT_SHARE, STRICT_PERCENT = 20.0, 0.001, 98
#: Codes of Cb or Cr (8 bits) from grey beyond which a dark picture has a colour: full blue has 112, a night scene 20.
VIVID = 30


def nominal_codes(bins: LumaBins) -> tuple[int, int]:
    """Codes of reference black and nominal white. Source: ITU-R BT.709-6, item 4.6."""
    if bins.full_range:
        return 0, (1 << bins.depth) - 1
    return 16 << (bins.depth - 8), 235 << (bins.depth - 8)


def darkest_limit(bins: LumaBins, pixel_percent: float) -> int:
    """Highest code that counts as black."""
    black, white = nominal_codes(bins)
    return int(black + Fraction(str(pixel_percent)) * (white - black) // 100)


def black_frames(
    picture: PictureSeries, pixel_percent: float, picture_percent: float, span: Span | None = None
) -> np.ndarray:
    """(frames,) bool: which pictures, of the whole or of a span, the rule calls black, but for those with lettering
    or of a colour.

    Raises ValueError for a rule above what the histogram counts singly.
    """
    rows = slice(None) if span is None else slice(span.first, span.end)
    counted = picture.counted[rows].astype(np.int64)
    share = Fraction(str(picture_percent)) / 100
    dark = _up_to(picture, rows, pixel_percent) * share.denominator >= counted * share.numerator
    black = (counted > 0) & dark & ~_coloured(picture, rows)
    if picture_percent >= STRICT_PERCENT:
        black &= _up_to(picture, rows, max(LIT_PERCENT, pixel_percent)) >= counted * (1 - LIT_SHARE)
    return np.asarray(black)


def _up_to(picture: PictureSeries, rows: slice, percent: float) -> np.ndarray:
    """(frames,) int64: pixels up to so many percent of the nominal range."""
    first_above = darkest_limit(picture.bins, percent) + 1
    if first_above > picture.bins.finest:
        raise ValueError(f"pixels of {percent} % of the nominal range are beyond what is counted singly")
    bins = int(np.searchsorted(picture.bins.edges, first_above))
    return np.asarray(picture.luma[rows, :bins].sum(axis=1, dtype=np.int64))


def _coloured(picture: PictureSeries, rows: slice) -> np.ndarray:
    """(frames,) bool: the commonest colour of the picture is far from grey; False where that was not measured."""
    both = [picture.extra.get(f"look.solid_{part}") for part in ("cb", "cr")]
    if any(series is None for series in both):
        return np.zeros(len(picture.counted[rows]), bool)
    cb, cr = (np.abs(series[rows]) for series in both if series is not None)
    return np.asarray(np.fmax(cb, cr) > VIVID)


def runs_of(flags: np.ndarray, at_least: int = 1) -> list[Span]:
    """Unbroken stretches of True, ``at_least`` long."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return [
        Span(int(first), int(end))
        for first, end in zip(edges[::2], edges[1::2], strict=True)
        if end - first >= at_least
    ]


def black_runs(picture: PictureSeries, pixel_percent: float, picture_percent: float, at_least: int = 1) -> list[Span]:
    """Runs of black pictures in frames, ``at_least`` frames long."""
    return runs_of(black_frames(picture, pixel_percent, picture_percent), at_least)


@dataclass(frozen=True)
class Darkness:
    """How dark a stretch is, in percent of the nominal range (0 is reference black, 100 nominal white).

    highest      the brightest single pixel, and the frame that holds it
    percentile   the code that 99.9 % of the pixels of a picture do not exceed, of the worst picture,
                 and that picture; where the histogram is coarse its bin's upper end is taken
    """

    highest: float
    highest_frame: int
    percentile: float
    percentile_frame: int


def darkness(picture: PictureSeries, span: Span, share: float = 0.999) -> Darkness | None:
    """The darkness of a span; None if it holds no picture."""
    rows = slice(max(0, span.first), max(0, span.end))
    luma, counted = picture.luma[rows].astype(np.int64), picture.counted[rows].astype(np.int64)
    if not counted.any():
        return None
    brightest = picture.brightest[rows].astype(np.int64)
    reached = np.cumsum(luma, axis=1) >= np.ceil(counted * share)[:, None]
    codes = np.minimum(picture.bins.edges[1:][np.argmax(reached, axis=1)] - 1, brightest)
    codes, brightest = np.where(counted > 0, codes, 0), np.where(counted > 0, brightest, 0)
    at, worst = int(np.argmax(brightest)), int(np.argmax(codes))
    return Darkness(
        highest=_percent(picture.bins, int(brightest[at])),
        highest_frame=rows.start + at,
        percentile=_percent(picture.bins, int(codes[worst])),
        percentile_frame=rows.start + worst,
    )


def _percent(bins: LumaBins, code: int) -> float:
    black, white = nominal_codes(bins)
    return 100.0 * (code - black) / (white - black)
