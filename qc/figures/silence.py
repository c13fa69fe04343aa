"""Silence: runs of 10 ms rows whose RMS stays under a level.

RMS of 10 ms, so a lone zero crossing is no silence and a lone click ends one. No source: common practice
measures silence with a windowed RMS.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from qc.figures.rows import runs
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span

#: A pause of the other channels up to this long does not end a one-sided silence (0.5 s; our choice).
PAUSE_ROWS = 50


def silent_runs(sound: SoundSeries, channels: Sequence[int], below_dbfs: float, at_least_rows: int = 1) -> list[Span]:
    """Runs in which every one of the channels is silent, in rows of the whole file.

    A channel that the file does not have, or that has ended, is silent.
    """
    quiet = np.ones(sound.rows, bool)
    for channel in channels:
        if channel < sound.channels:
            quiet &= sound.plain[:, channel] < 10 ** (below_dbfs / 10)
    return _spans(quiet, at_least_rows)


def one_sided_runs(
    sound: SoundSeries, channels: Sequence[int], below_dbfs: float, at_least_rows: int = 1
) -> list[tuple[int, Span]]:
    """(channel, rows) in which one channel is silent while another of them carries sound, by channel and time."""
    quiet = _quiet(sound, channels, below_dbfs)
    every = np.logical_and.reduce(quiet, axis=1)
    found = []
    for place, channel in enumerate(channels):
        alone = quiet[:, place] & ~every
        if not alone.any():
            continue
        # Fill the others' short pauses, as long as this channel stays silent through them.
        first, end = runs(every)
        inner = (end - first <= PAUSE_ROWS) & (first > 0) & (end < len(alone))
        first, end = first[inner], end[inner]
        bridged = alone[first - 1] & alone[end]
        steps = np.zeros(len(alone), np.int8)
        steps[first[bridged]], steps[end[bridged]] = 1, -1
        alone |= np.cumsum(steps, dtype=np.int8) > 0
        found += [(channel, span) for span in _spans(alone, at_least_rows)]
    return found


def _quiet(sound: SoundSeries, channels: Sequence[int], below_dbfs: float) -> np.ndarray:
    """(rows, channels) True where the RMS is under the level."""
    quiet = np.ones((sound.rows, len(channels)), bool)
    for place, channel in enumerate(channels):
        if channel < sound.channels:
            quiet[:, place] = sound.plain[:, channel] < 10 ** (below_dbfs / 10)
    return quiet


def _spans(mask: np.ndarray, at_least_rows: int) -> list[Span]:
    first, end = runs(mask)
    long = end - first >= at_least_rows
    return [Span(int(a), int(b)) for a, b in zip(first[long], end[long], strict=True)]
