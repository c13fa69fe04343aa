"""Curves for drawing: the highest value of each step of the whole file, so that a drawing hides no maximum.

Sources: ITU-R BS.1770-5, Annexes 1 and 2; EBU Tech 3341 v4 (momentary 400 ms, short-term 3 s).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from qc.figures.groups import ChannelGroup
from qc.figures.loudness import OFFSET, _energy
from qc.figures.rows import window_sums
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span


def loudness_steps(
    sound: SoundSeries, group: ChannelGroup, lengths: Sequence[int], step_rows: int
) -> list[np.ndarray] | None:
    """For each window length in rows: the highest loudness, LUFS, of the windows whose last row lies in each step.

    (ceil(rows / step_rows),) float32 each; -inf where silent, nan where no window has ended yet. None if the
    loudness of this group is not defined, or the file does not have its channels.
    """
    energy, reason = _energy(sound, group, [Span(0, sound.rows)])
    if reason:
        return None
    curves = []
    for length in lengths:
        ends = np.full(-(-sound.rows // step_rows) * step_rows, np.nan)
        powers = window_sums(energy, length) / length
        ends[length - 1 : length - 1 + len(powers)] = powers
        highest = np.fmax.reduce(ends.reshape(-1, step_rows), axis=1)
        with np.errstate(divide="ignore"):
            curves.append((OFFSET + 10 * np.log10(highest)).astype(np.float32))
    return curves


def true_peak_steps(sound: SoundSeries, channels: Sequence[int], step_rows: int) -> np.ndarray | None:
    """Highest true peak of the channels (from 0) in each step, dBTP, -inf where silent; None if one is not there."""
    return _decibel_steps(sound, sound.true_peak, channels, step_rows, 20)


def level_steps(sound: SoundSeries, channels: Sequence[int], step_rows: int) -> np.ndarray | None:
    """Highest RMS of 10 ms of any of the channels (from 0) in each step, dBFS, -inf where silent; or None."""
    return _decibel_steps(sound, sound.plain, channels, step_rows, 10)


def _decibel_steps(
    sound: SoundSeries, series: np.ndarray, channels: Sequence[int], step_rows: int, factor: int
) -> np.ndarray | None:
    if not channels or max(channels) >= sound.channels:
        return None
    rows = series[:, channels[0]]
    for channel in channels[1:]:
        rows = np.maximum(rows, series[:, channel])
    filled = np.zeros(-(-len(rows) // step_rows) * step_rows, series.dtype)
    filled[: len(rows)] = rows
    with np.errstate(divide="ignore"):
        return (factor * np.log10(filled.reshape(-1, step_rows).max(axis=1).astype(np.float64))).astype(np.float32)
