"""Peaks of any channels over any spans: how high, when, in which channel. An LFE counts as any other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.figures.rows import clipped
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span

#: Peaks of one channel no further apart than this are told as one event (100 ms; our choice).
SAME_EVENT_ROWS = 10


@dataclass(frozen=True)
class Peak:
    """Rows in which one channel goes over a ceiling; ``row`` holds the highest, ``dbtp``."""

    span: Span
    channel: int  # index in the flat list, from 0
    dbtp: float
    row: int


def true_peak(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
    """Highest true peak, dBTP (ITU-R BS.1770-5, Annex 2), with its row and channel."""
    return highest(sound, sound.true_peak, group.channels, spans)


def sample_peak(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span]) -> Reading:
    """Highest sample magnitude, dBFS, with its row and channel."""
    return highest(sound, sound.sample_peak, group.channels, spans)


def peaks_above(
    sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span], ceiling_dbtp: float, most: int | None = None
) -> list[Peak]:
    """Events over the ceiling, in order of time; only the ``most`` highest of them if given."""
    events = _events(sound, group, spans, ceiling_dbtp)
    order = _highest_first(events)[: len(events) if most is None else most]
    return sorted((_peak(row) for row in events[order]), key=lambda peak: (peak.span.first, peak.channel))


def worst_peaks(
    sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span], ceiling_dbtp: float, most: int
) -> tuple[tuple[Peak, ...], int]:
    """The ``most`` highest events over the ceiling, worst first, and how many there are in all."""
    events = _events(sound, group, spans, ceiling_dbtp)
    return tuple(_peak(row) for row in events[_highest_first(events)[:most]]), len(events)


#: An event: first row, end row, channel, row of its highest magnitude, that magnitude.
_EVENT = np.dtype([("first", "i8"), ("end", "i8"), ("channel", "i8"), ("row", "i8"), ("top", "f4")])


def _events(sound: SoundSeries, group: ChannelGroup, spans: Sequence[Span], ceiling_dbtp: float) -> np.ndarray:
    """(events,) of every channel and span, not in order."""
    ceiling = _at_or_under(10 ** (ceiling_dbtp / 20))
    found = []
    for span in clipped(spans, sound.rows):
        for channel in group.channels:
            if channel >= sound.channels:
                continue
            values = sound.true_peak[span.first : span.end, channel]
            over = np.flatnonzero(values > ceiling)
            if not len(over):
                continue
            starts = np.concatenate([[0], np.flatnonzero(np.diff(over) > SAME_EVENT_ROWS) + 1])
            lengths = np.diff(np.concatenate([starts, [len(over)]]))
            tops = np.maximum.reduceat(values[over], starts)
            highest_rows = np.flatnonzero(values[over] == np.repeat(tops, lengths))
            firsts = highest_rows[np.searchsorted(highest_rows, starts)]
            events = np.empty(len(starts), _EVENT)
            events["first"], events["end"] = span.first + over[starts], span.first + over[starts + lengths - 1] + 1
            events["channel"], events["row"], events["top"] = channel, span.first + over[firsts], tops
            found.append(events)
    return np.concatenate(found) if found else np.empty(0, _EVENT)


def _at_or_under(magnitude: float) -> np.float32:
    """The highest number of the series' own precision up to this one: whatever is over the one is over the other."""
    near = np.float32(magnitude)
    return np.nextafter(near, np.float32(-np.inf)) if float(near) > magnitude else near


def _highest_first(events: np.ndarray) -> np.ndarray:
    """Order of events by height, then time, then channel."""
    return np.lexsort((events["channel"], events["first"], -events["top"]))


def _peak(event: np.void) -> Peak:
    return Peak(
        Span(int(event["first"]), int(event["end"])),
        int(event["channel"]),
        decibel(float(event["top"])),
        int(event["row"]),
    )


def decibel(magnitude: float) -> float:
    """20 log10 of a magnitude over nought."""
    return float(20 * np.log10(magnitude))


def highest(sound: SoundSeries, series: np.ndarray, channels: Sequence[int], spans: Sequence[Span]) -> Reading:
    absent = [channel + 1 for channel in channels if channel >= sound.channels]
    if absent:
        return Reading(None, f"the file has no channel {absent[0]}")
    inside = clipped(spans, sound.rows)
    if not inside or not channels:
        return Reading(None, "the span holds no sound")
    best, row, where = 0.0, 0, 0
    for span in inside:
        part = series[span.first : span.end, list(channels)]
        at = int(part.argmax())
        value = float(part.flat[at])
        if value > best:
            best, row, where = value, span.first + at // len(channels), channels[at % len(channels)]
    if best == 0.0:
        return Reading(None, "digital silence", silent=True)
    return Reading(decibel(best), row=row, channel=where)
