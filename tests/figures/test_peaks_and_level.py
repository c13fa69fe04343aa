"""Peaks and plain level of spans."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from qc.figures.groups import ChannelGroup
from qc.figures.level import highest_sample_dbfs, level_dbfs
from qc.figures.peaks import Peak, peaks_above, sample_peak, true_peak
from qc.figures.reading import Reading
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span
from tests.kit.sound import STEREO, series_of, tone, whole

RATE = 48_000


@pytest.fixture(scope="module")
def sound() -> SoundSeries:
    """Ten seconds at -30 dBFS; 20 ms bursts: left 2 s (-2), right 5 s (-1) and 5.06 s (-1.5), left 8 s (-0.5)."""
    x = tone(10, -30.0)
    for channel, seconds, dbfs in ((0, 2.0, -2.0), (1, 5.0, -1.0), (1, 5.06, -1.5), (0, 8.0, -0.5)):
        at = round(seconds * RATE)
        x[at : at + 960, channel] = tone(0.02, dbfs, hertz=1000.0)[:, 0]
    return series_of(x, RATE)


def test_true_peak_says_when_and_where(sound: SoundSeries) -> None:
    """Value, row and channel of the highest; in a span, of the span alone."""
    reading = true_peak(sound, STEREO, whole(sound))
    assert reading.value == pytest.approx(-0.5, abs=0.15)
    assert (reading.row, reading.channel) in [(800, 0), (801, 0)]
    inside = true_peak(sound, STEREO, [Span(0, 300), Span(400, 600)])
    assert inside.value == pytest.approx(-1.0, abs=0.15)
    assert inside.channel == 1
    assert sample_peak(sound, STEREO, whole(sound)).value == pytest.approx(-0.5, abs=0.01)


def test_peaks_above_a_ceiling_are_told_as_events(sound: SoundSeries) -> None:
    """Two bursts 60 ms apart are one event; only what is over the ceiling; the highest few in order of time."""
    events = peaks_above(sound, STEREO, whole(sound), -3.0)
    assert [(event.channel, event.span.first) for event in events] == [(0, 200), (1, 500), (0, 800)]
    assert events[1].span == Span(500, 508)
    assert [event.channel for event in peaks_above(sound, STEREO, whole(sound), -1.3)] == [1, 0]
    assert [event.span.first for event in peaks_above(sound, STEREO, whole(sound), -3.0, most=2)] == [500, 800]
    assert peaks_above(sound, STEREO, whole(sound), 0.0) == []
    assert all(isinstance(event, Peak) and event.span.contains(event.row) for event in events)


def test_the_highest_event_is_the_true_peak(sound: SoundSeries) -> None:
    """One number, two ways."""
    best = max(peaks_above(sound, STEREO, whole(sound), -3.0), key=lambda event: event.dbtp)
    reading = true_peak(sound, STEREO, whole(sound))
    assert (best.dbtp, best.row, best.channel) == (reading.value, reading.row, reading.channel)


@pytest.mark.parametrize(("amplitude", "over"), [(0.5, False), (0.5001, True)])
def test_a_peak_at_the_ceiling_is_not_over_it(amplitude: float, over: bool) -> None:
    """A sample on each side of -6.0206 dBFS (at 192 kHz, where the samples are the true peak)."""
    x = np.zeros((1920, 1))
    x[700] = amplitude
    found = peaks_above(series_of(x, 192_000), ChannelGroup("one", (0,), (1.0,)), [Span(0, 1)], 20 * np.log10(0.5))
    assert bool(found) is over


def test_level_of_a_sine() -> None:
    """RMS with 1.0 as reference: a full-scale sine reads -3.01 dBFS (computed); two channels, their mean power."""
    sound = series_of(tone(1, 0.0, hertz=1000.0), RATE)
    assert level_dbfs(sound, [0, 1], whole(sound)).value == pytest.approx(-3.0103, abs=1e-3)
    x = tone(1, 0.0, hertz=1000.0)
    x[:, 1] = 0.0
    assert level_dbfs(series_of(x, RATE), [0, 1], whole(sound)).value == pytest.approx(-6.0206, abs=1e-3)
    assert highest_sample_dbfs(sound, [1], whole(sound)).value == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("figure", [level_dbfs, highest_sample_dbfs])
def test_no_level_has_a_reason(figure: Callable[..., Reading]) -> None:
    """Silence, no span, no channel: None and why, never -inf."""
    sound = series_of(np.zeros((RATE, 1)), RATE)
    assert figure(sound, [0], whole(sound)).reason == "digital silence"
    assert figure(sound, [0], [Span(200, 300)]).reason == "the span holds no sound"
    assert figure(sound, [2], whole(sound)).reason == "the file has no channel 3"
    assert figure(sound, [0], whole(sound)).value is None


def test_silence_has_no_peak() -> None:
    """A silent programme is not a peak of minus infinity that passes every ceiling."""
    sound = series_of(np.zeros((RATE, 2)), RATE)
    assert true_peak(sound, STEREO, whole(sound)).value is None
    assert true_peak(sound, STEREO, whole(sound)).reason == "digital silence"
