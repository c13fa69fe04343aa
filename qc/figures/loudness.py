"""Loudness of any channel group over any spans, exact from the K-weighted energy per 10 ms.

Sources: ITU-R BS.1770-5, Annex 1 (formula, gates); EBU Tech 3341 v4 (momentary, short-term); EBU Tech 3342
(loudness range). 1 LKFS = 1 LUFS. Spans are half-open, in rows. Several spans are joined: their rows follow
one another as if the programme had been cut to them; the highest momentary and short-term values never
reach across a join.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.figures.rows import clipped, joined, window_sums
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span

#: ITU-R BS.1770-5, Annex 1: makes up for the K-weighting's gain at 997 Hz.
OFFSET = -0.691
#: ITU-R BS.1770-5, Annex 1: gating blocks of 400 ms, one each 100 ms; gates.
BLOCK_ROWS, HOP_ROWS = 40, 10
ABSOLUTE_GATE, RELATIVE_GATE_LU = -70.0, -10.0
#: EBU Tech 3341, section 2.2: momentary and short-term windows.
MOMENTARY_ROWS, SHORT_TERM_ROWS = 40, 300
#: EBU Tech 3342, section 3: relative gate and percentiles; a value each 100 ms.
RANGE_GATE_LU, RANGE_LOW, RANGE_HIGH = -20.0, 0.10, 0.95

SILENT = f"silent: nothing is louder than {ABSOLUTE_GATE:.0f} LUFS"


def integrated(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
    """Gated programme loudness of the joined spans, LUFS."""
    energy, reason = _energy(sound, group, spans)
    if reason:
        return Reading(None, reason)
    rows = joined(energy, clipped(spans, sound.rows))
    if len(rows) < BLOCK_ROWS:
        return Reading(None, _too_short(len(rows), "400 ms"))
    # Blocks start on the hop grid: sums of ten rows, then of four tens.
    tens = rows[: len(rows) // HOP_ROWS * HOP_ROWS].reshape(-1, HOP_ROWS).sum(axis=1)
    blocks = window_sums(tens, BLOCK_ROWS // HOP_ROWS) / BLOCK_ROWS
    loud = blocks[blocks > _power(ABSOLUTE_GATE)]
    if not len(loud):
        return Reading(None, SILENT, silent=True)
    gated = loud[loud > loud.mean() * 10 ** (RELATIVE_GATE_LU / 10)]
    return Reading(_lufs(gated.mean()))


def max_momentary(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
    """Highest loudness of 400 ms, LUFS, at every 10 ms; ``row`` is the window's first."""
    return _highest(sound, group, spans, MOMENTARY_ROWS, "400 ms")


def max_short_term(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
    """Highest loudness of 3 s, LUFS, at every 10 ms; ``row`` is the window's first."""
    return _highest(sound, group, spans, SHORT_TERM_ROWS, "3 s")


def loudness_range(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
    """Spread of the short-term loudness of the joined spans, LU.

    Tech 3342 does not mean it for programmes of less than a minute; a value is given from 3 s on.
    """
    energy, reason = _energy(sound, group, spans)
    if reason:
        return Reading(None, reason)
    rows = joined(energy, clipped(spans, sound.rows))
    if len(rows) < SHORT_TERM_ROWS:
        return Reading(None, _too_short(len(rows), "3 s"))
    tens = rows[: len(rows) // HOP_ROWS * HOP_ROWS].reshape(-1, HOP_ROWS).sum(axis=1)
    powers = window_sums(tens, SHORT_TERM_ROWS // HOP_ROWS) / SHORT_TERM_ROWS
    kept = powers[powers >= _power(ABSOLUTE_GATE)]
    if not len(kept):
        return Reading(None, SILENT, silent=True)
    kept = np.sort(kept[kept >= kept.mean() * 10 ** (RANGE_GATE_LU / 10)])
    low, high = (kept[int((len(kept) - 1) * share + 0.5)] for share in (RANGE_LOW, RANGE_HIGH))
    return Reading(float(10 * np.log10(high / low)))


def momentary_curve(sound: SoundSeries, group: ChannelGroup, span: Span) -> np.ndarray:
    """Loudness of each 400 ms, LUFS, one value per row at which a window begins; -inf where silent."""
    return _curve(sound, group, span, MOMENTARY_ROWS)


def short_term_curve(sound: SoundSeries, group: ChannelGroup, span: Span) -> np.ndarray:
    """Loudness of each 3 s, LUFS, one value per row at which a window begins; -inf where silent."""
    return _curve(sound, group, span, SHORT_TERM_ROWS)


def _curve(sound: SoundSeries, group: ChannelGroup, span: Span, length: int) -> np.ndarray:
    energy, reason = _energy(sound, group, [span])
    if reason:
        return np.empty(0)
    powers = window_sums(joined(energy, clipped([span], sound.rows)), length) / length
    with np.errstate(divide="ignore"):
        return OFFSET + 10 * np.log10(powers)


def _highest(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span], length: int, named: str) -> Reading:
    energy, reason = _energy(sound, group, spans)
    if reason:
        return Reading(None, reason)
    best, at = -1.0, 0
    inside = clipped(spans, sound.rows)
    for span in inside:
        powers = window_sums(energy[span.first : span.end], length)
        if len(powers) and powers.max() > best:
            best, at = float(powers.max()), span.first + int(powers.argmax())
    if best < 0:
        return Reading(None, _too_short(max((span.frames for span in inside), default=0), named))
    if best == 0:
        return Reading(None, "digital silence", silent=True)
    return Reading(_lufs(best / length), row=at)


def _energy(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> tuple[np.ndarray, str]:
    """Weighted sum of the group's channels, (rows,) float64, nought outside the spans' reach; or a reason."""
    empty = np.empty(0)
    counted = [(channel, weight) for channel, weight in zip(group.channels, group.weights, strict=True) if weight]
    absent = [channel + 1 for channel in group.channels if channel >= sound.channels]
    if absent:
        return empty, f"the file has no channel {absent[0]}"
    if not counted:
        return empty, "none of these channels counts for loudness: an LFE alone, or channels of unknown order"
    inside = clipped(spans, sound.rows)
    if not inside:
        return empty, "the span holds no sound"
    first, end = min(span.first for span in inside), max(span.end for span in inside)
    energy = np.zeros(sound.rows)
    for channel, weight in counted:
        energy[first:end] += weight * sound.energy[first:end, channel].astype(np.float64)
    return energy, ""


def _power(lufs: float) -> float:
    return float(10 ** ((lufs - OFFSET) / 10))


def _lufs(power: float) -> float:
    return float(OFFSET + 10 * np.log10(power))


def _too_short(rows: int, needed: str) -> str:
    return f"too short: {rows * 10} ms of sound, {needed} needed"
