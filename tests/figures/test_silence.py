"""Silent runs, of all channels and of one."""

from __future__ import annotations

import numpy as np
import pytest

from qc.figures.silence import one_sided_runs, silent_runs
from qc.timing.spans import Span
from tests.kit.sound import series_of, tone

RATE = 48_000


def _with_holes(*holes: tuple[int, float, float], seconds: float = 10.0) -> np.ndarray:
    x = tone(seconds, -20.0, hertz=1000.0)
    for channel, first, end in holes:
        x[round(first * RATE) : round(end * RATE), channel] = 0.0
    return x


def test_silence_is_where_every_channel_is_silent() -> None:
    """Edges on the row; one channel's silence alone is not silence."""
    sound = series_of(_with_holes((0, 2.0, 4.0), (1, 3.0, 5.0)), RATE)
    assert silent_runs(sound, [0, 1], -60.0) == [Span(300, 400)]
    assert silent_runs(sound, [0], -60.0) == [Span(200, 400)]
    assert silent_runs(sound, [0, 1], -60.0, at_least_rows=101) == []
    assert silent_runs(sound, [0, 1], -60.0, at_least_rows=100) == [Span(300, 400)]


@pytest.mark.parametrize(("rms", "silent"), [(-60.1, True), (-59.9, False)])
def test_the_level_on_either_side(rms: float, silent: bool) -> None:
    """RMS under the level is silence; a 1 kHz tone has whole periods in a row (peak 3.01 dB over its RMS)."""
    sound = series_of(tone(1, rms + 3.0103, hertz=1000.0), RATE)
    assert bool(silent_runs(sound, [0, 1], -60.0)) is silent


def test_dither_is_silence_and_a_whisper_is_not() -> None:
    """Noise at -96 dBFS RMS is silent at -60; a legitimate quiet atmosphere at -50 must not alarm."""
    rng = np.random.default_rng(1)
    noise = rng.standard_normal((RATE, 2))
    assert silent_runs(series_of(noise * 10 ** (-96 / 20), RATE), [0, 1], -60.0) == [Span(0, 100)]
    assert silent_runs(series_of(noise * 10 ** (-50 / 20), RATE), [0, 1], -60.0) == []


def test_a_low_tone_s_zero_crossings_are_no_silence() -> None:
    """40 Hz at -20 dBFS never falls under -60 in 10 ms."""
    assert silent_runs(series_of(tone(2, -20.0, hertz=40.0), RATE), [0, 1], -60.0) == []


def test_a_channel_that_is_not_there_is_silent() -> None:
    """Asking for a channel that the file lacks finds silence, not an error."""
    sound = series_of(tone(1, -20.0, channels=1), RATE)
    assert silent_runs(sound, [3], -60.0) == [Span(0, 100)]


def test_one_sided_silence() -> None:
    """One channel out while the other plays: named; both out: not; the other's short pauses do not split it."""
    sound = series_of(_with_holes((0, 1.0, 2.0), (1, 1.0, 2.0), (1, 3.0, 8.0), (0, 5.0, 5.3)), RATE)
    assert one_sided_runs(sound, [0, 1], -60.0) == [(1, Span(300, 800))]
    assert one_sided_runs(sound, [0, 1], -60.0, at_least_rows=501) == []


def test_a_long_pause_of_the_other_splits_a_one_sided_silence() -> None:
    """While both are silent nobody can tell; more than half a second of it ends the run."""
    sound = series_of(_with_holes((1, 2.0, 9.0), (0, 4.0, 6.0)), RATE)
    assert one_sided_runs(sound, [0, 1], -60.0) == [(1, Span(200, 400)), (1, Span(600, 900))]
