"""Line-up tone and short bursts, from rows of 10 ms.

A row belongs to a tone when its crest is that of a sine (peak over RMS 3.01 dB), and its neighbours have the same
level and frequency. Levels are given in both conventions, which differ by 3.01 dB: RMS with 1.0 as the reference
(a full-scale sine reads -3.01 dBFS) and sine peak (a full-scale sine reads 0 dBFS; common with line-up levels).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from qc.figures.rows import runs
from qc.measurement.record import STEPS_PER_SECOND, SoundSeries
from qc.timing.spans import Span

CROSSINGS = "tone.crossings"
#: A full-scale sine has half the power of a full-scale constant.
SINE_PEAK_DB = 10 * math.log10(2)
#: Quieter than this is no line-up tone (our choice: common levels are -18 and -20 dBFS).
_QUIETEST_DBFS = -50.0
#: Crest of a row may differ from a sine's by so many dB: below some 300 Hz a row holds no whole cycles.
_CREST_DB = 0.7
#: Rows of one tone differ by at most this from the middle of the run.
_STEADY_DB = 0.5
_STEADY_CROSSINGS = 1.5
#: Interruptions that an identification of the left channel makes (250 ms every 3 s; EBU, from memory) are bridged.
_INTERRUPTION_ROWS = 32
#: Shortest tone: a blip is shorter (our choice).
_SHORTEST_ROWS = 25


@dataclass(frozen=True)
class Tone:
    """One tone of one channel.

    channel        from 0
    rows           of 10 ms, interruptions included
    rms_dbfs       level with 1.0 as the reference
    hertz          half the zero crossings of a second
    resolution     of the frequency in Hz: one crossing more or less
    interruptions  short silences inside
    """

    channel: int
    rows: Span
    rms_dbfs: float
    hertz: float
    resolution: float
    interruptions: int = 0

    @property
    def peak_dbfs(self) -> float:
        """Level in the sine peak convention."""
        return self.rms_dbfs + SINE_PEAK_DB


#: A steady sound fills its first row by the share of energy that this row holds: its onset is known to about half a
#: cycle of 1 kHz and some rounding. One that has no whole row between its edges may begin anywhere in its first.
FINE_MS, COARSE_MS = 1.0, 10.0
#: Sound under this is silence beside a burst: a blip has line-up level (our choice, well above any noise floor).
_BURST_DBFS = -45.0
_LONGEST_BURST_ROWS, _SILENCE_ROWS = 10, 8


@dataclass(frozen=True)
class Burst:
    """A short sound between silences.

    rows           of 10 ms that it touches
    onset          seconds from the first picture
    seconds        how long it sounds
    resolution_ms  of both
    channels       from 0, that carry it
    """

    rows: Span
    onset: float
    seconds: float
    resolution_ms: float
    channels: tuple[int, ...]


def tones(sound: SoundSeries, channels: Sequence[int], span: Span) -> list[Tone]:
    """Every tone in the rows of a span, by channel and time; the longest run of steady level and frequency each.

    Without zero crossings in the record there is none.
    """
    crossings = sound.extra.get(CROSSINGS)
    if crossings is None or crossings.shape != sound.plain.shape:
        return []
    found = []
    rows = slice(max(0, span.first), min(span.end, sound.rows))
    for channel in channels:
        if channel < sound.channels:
            found += _of_channel(
                channel,
                rows.start,
                sound.plain[rows, channel].astype(np.float64),
                sound.true_peak[rows, channel].astype(np.float64),
                crossings[rows, channel].astype(np.float64),
            )
    return found


def _of_channel(channel: int, start: int, power: np.ndarray, peak: np.ndarray, crossings: np.ndarray) -> list[Tone]:
    with np.errstate(divide="ignore", invalid="ignore"):
        level = 10 * np.log10(power)
        crest = 20 * np.log10(peak) - level
    like = (level > _QUIETEST_DBFS) & (np.abs(crest - SINE_PEAK_DB) <= _CREST_DB) & (crossings >= 2)
    found: list[Tone] = []
    first, end = runs(like)
    for a, b in zip(first.tolist(), end.tolist(), strict=True):
        for c, d in _steady(level[a:b], crossings[a:b]):
            _add(found, channel, start, a + c, a + d, power, crossings, level)
    return [tone for tone in found if tone.rows.frames >= _SHORTEST_ROWS]


def _steady(level: np.ndarray, crossings: np.ndarray) -> list[tuple[int, int]]:
    """Runs in which level and frequency keep near those of the run's middle."""
    jumps = (np.abs(np.diff(level)) > _STEADY_DB) | (np.abs(np.diff(crossings)) > 2 * _STEADY_CROSSINGS)
    edges = [0, *(np.flatnonzero(jumps) + 1).tolist(), len(level)]
    kept = []
    for a, b in pairwise(edges):
        if b - a < 3:
            continue
        off = np.abs(level[a:b] - np.median(level[a:b])) <= _STEADY_DB
        off &= np.abs(crossings[a:b] - np.median(crossings[a:b])) <= _STEADY_CROSSINGS
        if off.mean() >= 0.95:
            kept.append((a, b))
    return kept


def _add(
    found: list[Tone],
    channel: int,
    start: int,
    first: int,
    end: int,
    power: np.ndarray,
    crossings: np.ndarray,
    level: np.ndarray,
) -> None:
    """One more stretch: a tone of its own, or the one before it going on after an interruption."""
    inner = slice(first, end)
    seconds = (end - first) / STEPS_PER_SECOND
    # Crossings of the inner rows alone: edge rows may be partly filled.
    hertz = float(crossings[inner].mean()) * STEPS_PER_SECOND / 2
    rms = 10 * math.log10(float(power[inner].mean()))
    whole = Span(start + first, start + end)
    before = found[-1] if found else None
    if (
        before is not None
        and whole.first - before.rows.end <= _INTERRUPTION_ROWS
        and abs(before.rms_dbfs - rms) <= _STEADY_DB
        and abs(before.hertz - hertz) <= max(2.0, 0.01 * hertz, 0.5 / seconds)
    ):
        ours, theirs = whole.frames, before.rows.frames
        share = ours / (ours + theirs)
        found[-1] = Tone(
            channel,
            Span(before.rows.first, whole.end),
            before.rms_dbfs + share * (rms - before.rms_dbfs),
            before.hertz + share * (hertz - before.hertz),
            min(before.resolution, 0.5 / seconds),
            before.interruptions + (whole.first - before.rows.end > 2),
        )
    else:
        found.append(Tone(channel, whole, rms, hertz, 0.5 / seconds))


def bursts(sound: SoundSeries, channels: Sequence[int], span: Span) -> list[Burst]:
    """Short sounds in the rows of a span that any of the channels carries, with silence before and after.

    The span's end may cut off the silence after it: the programme may begin at once.
    """
    inside = [channel for channel in channels if channel < sound.channels]
    rows = slice(max(0, span.first), max(0, min(span.end, sound.rows)))
    if not inside or rows.stop <= rows.start:
        return []
    power = sound.plain[rows][:, inside].astype(np.float64)
    loud: np.ndarray = np.asarray(power >= 10 ** (_BURST_DBFS / 10))
    first, end = (edges.tolist() for edges in runs(np.any(loud, axis=1)))
    quiet = zip([0, *end], [*first, len(power)], strict=True)
    found = []
    before = next(quiet)
    for a, b, after in zip(first, end, quiet, strict=True):
        cut_off = after[0] < after[1] == len(power)
        silent = before[1] - before[0] >= _SILENCE_ROWS and (after[1] - after[0] >= _SILENCE_ROWS or cut_off)
        before = after
        if silent and b - a <= _LONGEST_BURST_ROWS:
            late, length = _edges(power[a:b].sum(axis=1))
            found.append(
                Burst(
                    rows=Span(rows.start + a, rows.start + b),
                    onset=(rows.start + a + late) / STEPS_PER_SECOND,
                    seconds=length / STEPS_PER_SECOND,
                    resolution_ms=FINE_MS if b - a > 2 else COARSE_MS,
                    channels=tuple(
                        channel
                        for channel, any_loud in zip(inside, np.any(loud[a:b], axis=0).tolist(), strict=True)
                        if any_loud
                    ),
                )
            )
    return found


def _edges(power: np.ndarray) -> tuple[float, float]:
    """Rows before the sound begins in its first row, and rows that it sounds."""
    if len(power) < 3:
        return 0.0, float(len(power))
    full = float(np.median(power[1:-1]))
    head, tail = min(1.0, float(power[0]) / full), min(1.0, float(power[-1]) / full)
    return 1.0 - head, head + tail + len(power) - 2
