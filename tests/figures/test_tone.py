"""Line-up tone and bursts: level in both conventions, frequency, where a burst begins. A sine's level and frequency are
known by definition; a full-scale sine has an RMS of -3.01 dBFS."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from qc.figures.tone import COARSE_MS, FINE_MS, Burst, Tone, bursts, tones
from qc.timing.spans import Span
from tests.kit.heads import sound_series

EVERYTHING = Span(0, 10**9)


def sine(seconds: float, hertz: float = 1000.0, peak_dbfs: float = -20.0, rate: int = 48000) -> np.ndarray:
    return 10 ** (peak_dbfs / 20) * np.sin(2 * np.pi * hertz * np.arange(round(seconds * rate)) / rate + 0.2)


def heard(samples: np.ndarray, rate: int = 48000, span: Span = EVERYTHING) -> list[Tone]:
    columns = samples if samples.ndim == 2 else samples[:, None]
    return tones(sound_series(columns, rate), range(columns.shape[1]), span)


def burst_of(samples: np.ndarray) -> list[Burst]:
    columns = samples if samples.ndim == 2 else samples[:, None]
    return bursts(sound_series(columns), range(columns.shape[1]), EVERYTHING)


@pytest.mark.parametrize("rate", [44100, 48000, 96000])
@pytest.mark.parametrize(("peak", "hertz"), [(-20.0, 1000.0), (-18.0, 990.0), (-9.0, 400.0), (0.0, 1010.0)])
def test_level_and_frequency_of_a_sine(rate: int, peak: float, hertz: float) -> None:
    """Within 0.05 dB and half a hertz; RMS is 3.01 dB under the sine peak convention."""
    (tone,) = heard(sine(2, hertz, peak, rate), rate)
    assert tone.peak_dbfs == pytest.approx(peak, abs=0.05)
    assert tone.rms_dbfs == pytest.approx(peak - 3.0103, abs=0.05)
    assert tone.hertz == pytest.approx(hertz, abs=0.5)
    assert tone.rows.frames >= 198


def test_each_channel_has_its_own_tone() -> None:
    """Levels and frequencies per channel; a silent channel has none."""
    found = heard(np.stack([sine(2), sine(2, 440.0, -18.0), np.zeros(96000)], axis=1))
    assert [(tone.channel, round(tone.peak_dbfs), round(tone.hertz)) for tone in found] == [
        (0, -20, 1000),
        (1, -18, 440),
    ]


def test_noise_under_the_tone_moves_nothing() -> None:
    """Hiss 40 dB below: level within 0.1 dB, frequency within 0.5 %."""
    rng = np.random.default_rng(1)
    (tone,) = heard(sine(4) + 10 ** (-63 / 20) * rng.standard_normal(4 * 48000))
    assert tone.peak_dbfs == pytest.approx(-20, abs=0.1)
    assert tone.hertz == pytest.approx(1000, rel=0.005)


def test_an_identified_left_channel_is_one_tone() -> None:
    """Interrupted for 250 ms every 3 s, as EBU stereo line-up is (from memory): one tone, level of what sounds."""
    samples = sine(9)
    for start in (0, 3, 6):
        samples[start * 48000 : start * 48000 + 12000] = 0
    (tone,) = heard(samples)
    assert tone.interruptions == 2
    assert tone.peak_dbfs == pytest.approx(-20, abs=0.05) and tone.hertz == pytest.approx(1000, abs=1)


def test_two_levels_are_two_tones() -> None:
    """A step of 2 dB without a pause."""
    found = heard(np.concatenate([sine(2), sine(2, peak_dbfs=-18.0)]))
    assert [round(tone.peak_dbfs, 1) for tone in found] == [-20.0, -18.0]


@pytest.mark.parametrize("kind", ["noise", "square", "two sines", "sweep", "music", "quiet", "hum"])
def test_what_is_no_tone(kind: str) -> None:
    """Sound that is no steady sine, or too quiet to line up with."""
    t = np.arange(4 * 48000) / 48000
    rng = np.random.default_rng(4)
    made = {
        "noise": 0.1 * rng.standard_normal(len(t)),
        "square": 0.1 * np.sign(np.sin(2 * np.pi * 1000 * t)),
        "two sines": 0.05 * np.sin(2 * np.pi * 1000 * t) + 0.05 * np.sin(2 * np.pi * 1430 * t),
        "sweep": 0.1 * np.sin(2 * np.pi * (300 + 200 * t) * t),
        "music": 0.1 * np.exp(-8 * (t % 0.5)) * np.sin(2 * np.pi * 440 * t),
        "quiet": sine(4, peak_dbfs=-60.0),
        "hum": 0.1 * (np.sin(2 * np.pi * 50 * t) + 0.5 * np.sin(2 * np.pi * 150 * t)),
    }
    assert heard(made[kind]) == []


def test_only_the_span_is_searched() -> None:
    """A humming note in the programme is not the head's tone."""
    samples = np.concatenate([np.zeros(48000), sine(3)])
    assert heard(samples, span=Span(0, 100)) == []
    assert len(heard(samples, span=Span(50, 300))) == 1


def test_without_crossings_there_is_no_tone() -> None:
    """A record that holds none says nothing rather than something wrong."""
    assert tones(replace(sound_series(sine(2)[:, None]), extra={}), [0], EVERYTHING) == []


@pytest.mark.parametrize("start", [0.5, 0.501, 0.5034, 0.507, 0.5099])
@pytest.mark.parametrize("seconds", [1001 / 30000, 0.04, 0.0417])
def test_where_a_burst_begins(start: float, seconds: float) -> None:
    """A frame of tone at any place between the rows: onset and length to a millisecond."""
    samples = np.zeros(96000)
    first, count = round(start * 48000), round(seconds * 48000)
    samples[first : first + count] = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(count) / 48000)
    (burst,) = burst_of(samples)
    assert burst.resolution_ms == FINE_MS
    assert abs(burst.onset - first / 48000) < 0.001
    assert abs(burst.seconds - count / 48000) < 0.0015


def test_a_click_is_known_to_a_row() -> None:
    """A click fills no row: it is somewhere in its 10 ms, and its resolution says so."""
    samples = np.zeros(96000)
    samples[24100:24130] = 0.5
    (burst,) = burst_of(samples)
    assert burst.resolution_ms == COARSE_MS and burst.rows == Span(50, 51)
    assert abs(burst.onset - 24100 / 48000) <= 0.01


def test_what_is_no_burst() -> None:
    """Long sound, sound without a pause before it, noise far down."""
    long, close = np.zeros(96000), np.zeros(96000)
    long[24000:48000] = sine(0.5)
    close[24000:25600] = close[27000:28600] = sine(1600 / 48000)
    assert burst_of(long) == []
    assert burst_of(close) == []
    assert burst_of(1e-4 * np.random.default_rng(3).standard_normal(96000)) == []


def test_a_burst_may_end_where_the_span_ends() -> None:
    """The programme begins right after it; but sound that runs on is no burst."""
    samples = np.zeros(96000)
    samples[24000:25600] = sine(1600 / 48000)
    samples[27360:] = sine((96000 - 27360) / 48000)
    series = sound_series(samples[:, None])
    assert len(bursts(series, [0], Span(0, 57))) == 1
    assert bursts(series, [0], Span(0, 53)) == []


def test_absent_channels_and_empty_spans() -> None:
    """Nothing to hear is nothing found."""
    series = sound_series(sine(1)[:, None])
    assert tones(series, [5], EVERYTHING) == [] and bursts(series, [5], EVERYTHING) == []
    assert tones(series, [0], Span(40, 40)) == [] and bursts(series, [0], Span(10**6, 10**7)) == []
