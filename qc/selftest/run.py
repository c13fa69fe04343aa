"""Runs the published signals through the meters and figures that every check uses."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from qc.figures import loudness, peaks
from qc.figures.groups import SURROUND, ChannelGroup
from qc.measurement.record import SoundSeries
from qc.meters.sound.bank import SoundBank
from qc.meters.sound.full_scale_runs import FLOAT_FULL_SCALE
from qc.selftest.signals import SIGNALS, Signal
from qc.timing.spans import Span

UNITS = {"I": "LUFS", "M": "LUFS", "S": "LUFS", "LRA": "LU", "TP": "dBTP"}


@dataclass(frozen=True)
class Row:
    """One reading of one signal: of many values, the one furthest from what was expected.

    measured, deviation  None if there was no reading, which is never ok
    """

    source: str
    number: str
    what: str
    figure: str
    unit: str
    expected: float
    under: float
    over: float
    measured: float | None
    deviation: float | None
    ok: bool


def run(rate: int = 48_000) -> Iterator[Row]:
    """Every reading of every signal, as it is made."""
    for signal in SIGNALS:
        yield from read(signal, [series_of(samples, rate) for samples in signal.make(rate)])


def series_of(samples: np.ndarray, rate: int) -> SoundSeries:
    """What the meters make of (samples, channels)."""
    bank = SoundBank(rate, samples.shape[1], full_scale=FLOAT_FULL_SCALE)
    for begin in range(0, len(samples), rate):
        bank.feed(samples[begin : begin + rate])
    rows = bank.finish()
    channels = samples.shape[1]
    count = len(rows["energy"])
    return SoundSeries(
        energy=rows["energy"],
        plain=rows["plain"],
        sample_peak=rows["sample_peak"],
        true_peak=rows["true_peak"],
        full_scale_runs=rows["full_scale_runs"],
        extent=np.tile(np.array([0, count], np.int64), (channels, 1)),
        samples=np.full(channels, rows["samples"], np.int64),
        invalid_samples=rows["invalid_samples"],
        used_bits=np.zeros(channels, np.int16),
    )


def read(signal: Signal, files: list[SoundSeries]) -> Iterator[Row]:
    """The readings of one signal from the series of its files."""
    for figure in signal.figures:
        values = [value for sound in files for value in _values(signal, figure, sound)]
        wanted = signal.expected if len(signal.expected) == len(values) else signal.expected * len(values)
        pairs = [(value, target) for value, target in zip(values, wanted, strict=True) if value is not None]
        measured = expected = deviation = None
        if pairs and len(pairs) == len(values):
            measured, expected = max(pairs, key=lambda pair: abs(pair[0] - pair[1]))
            deviation = measured - expected
        yield Row(
            source=signal.source,
            number=signal.number,
            what=signal.what,
            figure=figure,
            unit=UNITS[figure.split()[0]],
            expected=signal.expected[0] if expected is None else expected,
            under=signal.under,
            over=signal.over,
            measured=measured,
            deviation=deviation,
            ok=deviation is not None and -signal.under <= deviation <= signal.over,
        )


def _values(signal: Signal, figure: str, sound: SoundSeries) -> list[float | None]:
    channels = tuple(range(sound.channels))
    weights = (1.0, 1.0, 1.0, SURROUND, SURROUND)[: len(channels)]
    group, whole = ChannelGroup("signal", channels, weights), Span(0, sound.rows)
    name, _, manner = figure.partition(" ")
    if manner == "steady":
        curve = loudness.short_term_curve if name == "S" else loudness.momentary_curve
        values = curve(sound, group, whole)
        # Tech 3341: constant after 3 s (signal 9) and after 1 s (signal 12).
        settled = values if name == "S" else values[100 - loudness.MOMENTARY_ROWS :]
        return [float(settled.min()), float(settled.max())]
    if manner == "in turn":
        highest = loudness.max_short_term if name == "S" else loudness.max_momentary
        assert signal.segment is not None
        length = round(100 * signal.segment)
        return [highest(sound, group, [Span(first, first + length)]).value for first in range(0, sound.rows, length)]
    figures = {
        "I": loudness.integrated,
        "M": loudness.max_momentary,
        "S": loudness.max_short_term,
        "LRA": loudness.loudness_range,
        "TP": peaks.true_peak,
    }
    return [figures[name](sound, group, [whole]).value]
