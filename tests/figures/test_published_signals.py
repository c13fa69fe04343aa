"""The published test signals, made here, through the real meters."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from qc.figures.loudness import integrated
from qc.selftest.run import Row, read, series_of
from qc.selftest.signals import SIGNALS, TECH_3341, TECH_3342
from tests.kit.sound import MONO, STEREO, libebur128, table, tone, whole

SIGNAL = {(signal.source, signal.number): signal for signal in SIGNALS}
CASES = [(TECH_3341, row) for row in table("ebu-tech-3341-table-1.csv")]
CASES += [(TECH_3342, row) for row in table("ebu-tech-3342-table-1.csv")]


@cache
def _readings(source: str, number: str, rate: int) -> dict[str, Row]:
    signal = SIGNAL[source, number]
    return {row.figure: row for row in read(signal, [series_of(x, rate) for x in signal.make(rate)])}


@pytest.mark.parametrize(("source", "row"), CASES, ids=lambda part: part if isinstance(part, str) else part["number"])
def test_every_signal_reads_its_published_value(source: str, row: dict[str, str]) -> None:
    """EBU Tech 3341 v4 and Tech 3342, Table 1: within tolerance at 48 kHz, and no drift since the last reading."""
    if row["reading"] == "not run":
        pytest.skip(row["signal"])
    reading = _readings(source, row["number"], 48_000)[row["reading"]]
    assert reading.measured is not None
    assert reading.deviation is not None
    published = [float(value) for value in row["expected"].split(" to ")]
    assert published[0] <= reading.expected <= published[-1]
    assert -float(row["under"]) <= reading.deviation <= float(row["over"])
    drift = reading.deviation if len(published) > 1 else reading.measured
    last = float(row["last_reading"])
    assert drift == pytest.approx(last - reading.expected if len(published) > 1 else last, abs=0.005)
    assert reading.ok


@pytest.mark.parametrize("rate", [44_100, 96_000])
@pytest.mark.parametrize("number", ["3", "6", "9", "12", "13", "15", "16", "17", "18", "19", "20", "21", "22", "23"])
def test_other_sample_rates_read_the_same(number: str, rate: int) -> None:
    """EBU Tech 3341, Table 1, made at other rates: the filters are derived anew, the values stay."""
    for reading in _readings(TECH_3341, number, rate).values():
        assert reading.ok, reading


def test_a_signal_outside_its_tolerance_is_not_ok() -> None:
    """The yardstick can fail: signal 1 made 0.2 dB too loud, and a silent one."""
    signal = SIGNAL[TECH_3341, "1"]
    loud = [series_of(x * 10 ** (0.2 / 20), 48_000) for x in signal.make(48_000)]
    assert not any(row.ok for row in read(signal, loud))
    silent = [series_of(x * 0, 48_000) for x in signal.make(48_000)]
    assert [(row.measured, row.ok) for row in read(signal, silent)] == [(None, False)] * 3


@pytest.mark.parametrize("number", ["1", "3", "4", "5"])
def test_the_signals_are_made_right(number: str) -> None:
    """libebur128 reads the same signals at the published loudness: the making is right, not only the metering."""
    (samples,) = SIGNAL[TECH_3341, number].make(48_000)
    assert libebur128(samples, 48_000).integrated == pytest.approx(-23.0, abs=0.1)


@pytest.mark.parametrize("number", ["15", "16", "17", "18", "19", "20", "21", "22", "23"])
def test_the_peak_signals_are_made_right(number: str) -> None:
    """libebur128's own interpolator finds the published true peak in the signals made here."""
    signal = SIGNAL[TECH_3341, number]
    (samples,) = signal.make(48_000)
    peak = libebur128(samples, 48_000).true_peak
    assert -signal.under <= peak - signal.expected[0] <= signal.over


def test_the_burst_signals_need_oversampling() -> None:
    """Signals 16 and 21: the samples alone lie far below the true peak, so a sample meter cannot pass."""
    (samples,) = SIGNAL[TECH_3341, "16"].make(48_000)
    assert 20 * np.log10(np.abs(samples).max()) == pytest.approx(-9.03, abs=0.01)


def test_calibration() -> None:
    """ITU-R BS.1770-5, Annex 1: 997 Hz at 0 dBFS in one front channel reads -3.01 LKFS."""
    sound = series_of(tone(20, 0.0, channels=1), 48_000)
    assert integrated(sound, MONO, whole(sound)).value == pytest.approx(-3.01, abs=0.01)


@pytest.mark.parametrize("rate", [32_000, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000])
def test_loudness_does_not_depend_on_the_sample_rate(rate: int) -> None:
    """1 kHz stereo at -23 dBFS reads -23.0 LUFS at every rate (EBU Tech 3341, Table 1, signal 1)."""
    sound = series_of(tone(3, -23.0, rate, hertz=1000.0), rate)
    assert integrated(sound, STEREO, whole(sound)).value == pytest.approx(-23.0, abs=0.1)
