"""Candidate gaps: runs of black, and how many of their frames are silent.

A gap is only a candidate. Whether it is a break, a fade, a night scene or stray black is decided by
qc.programme.find, which knows what the outlet expects.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

import numpy as np

from qc.figures.black import black_runs
from qc.figures.silence import silent_runs
from qc.measurement.record import STEPS_PER_SECOND, PictureSeries, SoundSeries
from qc.programme.structure import Gap
from qc.timing.spans import Span

#: Frames of noise or flash that may interrupt one black, and the black that must lie on both sides
#: (common practice, no source). What is inside a break is judged as break content.
NOISE_FRAMES = 2
NOISE_NEEDS_BLACK = 12


def find_gaps(
    picture: PictureSeries,
    sound: SoundSeries | None,
    channels: Sequence[int],
    rate: Fraction,
    *,
    pixel_percent: float,
    picture_percent: float,
    silence_below_dbfs: float,
) -> list[Gap]:
    """Every run of black of the picture, one frame or more, in order.

    channels  flat-list indices of the programme sound, from 0; without sound or channels all is silent
    rate      picture frames a second
    The other numbers are the outlet's rules for black and silence.
    """
    runs = without_noise(black_runs(picture, pixel_percent, picture_percent, at_least=1))
    if sound is None or not channels:
        return [Gap(run, run.frames) for run in runs]
    silent = silent_runs(sound, list(channels), silence_below_dbfs)
    counts = silent_frames(runs, silent, sound.rows, rate)
    return [Gap(run, count) for run, count in zip(runs, counts, strict=True)]


def without_noise(runs: Sequence[Span]) -> list[Span]:
    """Black runs with interruptions of up to NOISE_FRAMES inside longer black closed."""
    merged: list[Span] = []
    for run in runs:
        last = merged[-1] if merged else None
        if (
            last is not None
            and run.first - last.end <= NOISE_FRAMES
            and min(last.frames, run.frames) >= NOISE_NEEDS_BLACK
        ):
            merged[-1] = Span(last.first, run.end)
        else:
            merged.append(run)
    return merged


def silent_frames(gaps: Sequence[Span], silent: Sequence[Span], rows: int, rate: Fraction) -> list[int]:
    """How many frames of each gap are silent.

    gaps    frames; silent  rows of 10 ms; rows  length of the sound series
    A frame is silent if every row that lies wholly inside it is: rows shared with a neighbouring
    frame belong to neither. Sound that ends before the picture is silent from there on.
    """
    change = np.zeros(rows + 1, dtype=np.int32)
    for run in silent:
        change[min(run.first, rows)] += 1
        change[min(run.end, rows)] -= 1
    loud_before = np.concatenate([[0], np.cumsum(np.cumsum(change[:rows]) <= 0)])
    counts = []
    for gap in gaps:
        frames = np.arange(gap.first, gap.end, dtype=np.int64)
        per, over = STEPS_PER_SECOND * rate.denominator, rate.numerator
        first = -((-frames * per) // over)
        end = np.maximum((frames + 1) * per // over, first + 1)
        loud = loud_before[np.minimum(end, rows)] - loud_before[np.minimum(first, rows)]
        counts.append(int(np.count_nonzero(loud == 0)))
    return counts
