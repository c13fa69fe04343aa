"""Solid frames: a picture of one colour, as a card that stands in for missing media, or a generator left in the cut."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qc.figures.black import VIVID, runs_of
from qc.figures.frame_series import FrameSeries
from qc.timing.spans import Span

#: Luma, codes of 8 bits, from which a solid picture without colour is white: a flash or a dip to white.
WHITE = 200
#: Codes of Cb and Cr from no colour up to which a solid picture has none.
GREY = 6
#: Structure, codes, up to which there is nothing on it. With lettering on it a colour counts only if it is vivid: plain
#: grounds of titles and credits are black and grey, those of cards for missing media red, blue or green.
PLAIN = 1.0
#: Lettering on a vivid ground may take so much of the picture more where all of it stands still: no frame is more
#: than so many codes from the one before.
LETTERING, STILL = 0.05, 0.2
#: A white picture of so many frames is a flash.
FLASH_FRAMES = 3
#: Share of one colour, less than solid, from which the frame beside a run is already on its way to it: a fade.
ON_THE_WAY = 0.5
#: Mean change, codes, from which the step to the frame beside a run is a cut rather than a fade.
HARD = 12.0
#: Change of the frame beside a run, against that step, up to which it stands rather than fades: sky may fill half.
STANDS = 0.25


@dataclass(frozen=True)
class SolidRun:
    """Frames of one colour.

    share  of the picture in that colour, of the frame that has most
    colour luma, Cb, Cr of it as codes of 8 bits
    hard   cut to or from on at least one side; False for a wash that fades in and out
    """

    span: Span
    share: float
    colour: tuple[int, int, int]
    hard: bool


def solid_runs(series: FrameSeries, percent: float, black: np.ndarray) -> list[SolidRun]:
    """Runs of frames that are of one colour to ``percent`` of the picture; no black, no white flash, no plain title.

    black  (frames,) bool: frames that are black by the profile's rule
    """
    share, structure = series.known("look.solid", 0.0), series.known("motion.structure", 0.0)
    vivid = np.maximum(*(np.abs(series.known(f"look.solid_{part}", 0.0)) for part in ("cb", "cr"))) > VIVID
    # without any signal at all luma is that of black, and Cb and Cr of 0 are green
    counts = (share >= percent / 100) & (vivid | (~np.asarray(black, bool) & (structure <= PLAIN)))
    lettered = vivid & (share >= percent / 100 - LETTERING)
    found = []
    for span in _cards(series, counts, lettered):
        colour = _colour(series, span.first)
        white = colour[0] >= WHITE and max(abs(colour[1] - 128), abs(colour[2] - 128)) <= GREY
        if white and span.frames <= FLASH_FRAMES:
            continue
        best = float(share[span.first : span.end].max())
        hard = _hard(series, span.first, span.first - 1) or _hard(series, span.end, span.end + 1)
        found.append(SolidRun(span, best, colour, hard))
    return found


def _cards(series: FrameSeries, counts: np.ndarray, lettered: np.ndarray) -> Iterator[Span]:
    """Runs of frames that count, or that have more lettering and stand still."""
    mean = series.known("motion.mean", 0.0)
    for span in runs_of(counts | lettered):
        inside = slice(span.first, span.end)
        if counts[inside].all() or (mean[span.first + 1 : span.end] <= STILL).all():
            yield span
        else:
            yield from (Span(span.first + run.first, span.first + run.end) for run in runs_of(counts[inside]))


def _colour(series: FrameSeries, frame: int) -> tuple[int, int, int]:
    luma = int(series.known("look.solid_luma", 0.0)[frame])
    return luma, *(128 + int(series.known(f"look.solid_{part}", 0.0)[frame]) for part in ("cb", "cr"))  # type: ignore[return-value]


def _hard(series: FrameSeries, frame: int, outside: int) -> bool:
    """The step from the frame before to this one is no part of a fade; ``outside`` is the next step off the run."""
    if frame <= 0 or frame >= series.frames:
        return True
    beside = float(series.known("look.solid", 0.0)[frame - 1 : frame + 1].min())
    mean = series.known("motion.mean", 0.0)
    stands = not 0 < outside < series.frames or mean[outside] <= STANDS * mean[frame]
    return bool(mean[frame] >= HARD and (beside < ON_THE_WAY or stands))
