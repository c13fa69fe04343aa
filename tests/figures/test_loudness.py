"""Loudness of spans: against direct computation, other implementations, and its own edges."""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.figures.groups import ChannelGroup
from qc.figures.loudness import (
    integrated,
    loudness_range,
    max_momentary,
    max_short_term,
    momentary_curve,
    short_term_curve,
)
from qc.figures.peaks import true_peak
from qc.figures.reading import Reading
from qc.measurement.record import SoundSeries
from qc.timing.spans import Span
from tests.kit.sound import MONO, STEREO, libebur128, programme, programmes, series_of, tone, whole

RATE = 48_000
FIGURES = [integrated, max_momentary, max_short_term, loudness_range]


def _direct(samples: np.ndarray, rate: int) -> float:
    """ITU-R BS.1770-5, Annex 1, computed from the samples, block by block, without any series."""
    from scipy.signal import sosfilt

    from qc.meters.sound.k_weighting import k_weighting

    weighted = sosfilt(k_weighting(rate), samples, axis=0)
    block, hop = int(0.4 * rate), rate // 10
    starts = range(0, len(samples) - block + 1, hop)
    powers = np.array([sum(np.mean(weighted[at : at + block] ** 2, axis=0)) for at in starts])
    loudness = -0.691 + 10 * np.log10(np.maximum(powers, 1e-30))
    kept = powers[loudness > -70]
    gate = -0.691 + 10 * np.log10(kept.mean()) - 10
    return float(-0.691 + 10 * np.log10(powers[(loudness > -70) & (loudness > gate)].mean()))


@given(samples=programmes())
@settings(max_examples=6, deadline=None)
def test_integrated_equals_a_direct_computation(samples: np.ndarray) -> None:
    """From the series as from the samples (ITU-R BS.1770-5, Annex 1)."""
    sound = series_of(samples, RATE)
    assert integrated(sound, STEREO, whole(sound)).value == pytest.approx(_direct(samples, RATE), abs=1e-4)


@given(samples=programmes())
@settings(max_examples=6, deadline=None)
def test_integrated_equals_pyloudnorm(samples: np.ndarray) -> None:
    """pyloudnorm's whole-file meter with its exact filter, on whole hops: within 0.02 LU."""
    import pyloudnorm

    sound = series_of(samples, RATE)
    theirs = pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(samples)
    assert integrated(sound, STEREO, whole(sound)).value == pytest.approx(theirs, abs=0.02)


@given(samples=programmes())
@settings(max_examples=5, deadline=None)
def test_loudness_and_peak_agree_with_libebur128(samples: np.ndarray) -> None:
    """libebur128: integrated within 0.1 LU; true peak of low-passed noise within 0.4 dB.

    Noise up to the half rate is the hardest case for two different interpolators (each up to 0.2 dB
    off in band); on real sound they agree to 0.2 dB, see tests/proof.
    """
    sound = series_of(samples, RATE)
    theirs = libebur128(samples, RATE)
    assert integrated(sound, STEREO, whole(sound)).value == pytest.approx(theirs.integrated, abs=0.1)
    assert true_peak(sound, STEREO, whole(sound)).value == pytest.approx(theirs.true_peak, abs=0.4)


@pytest.mark.parametrize("seed", [1, 2])
def test_loudness_range_agrees_with_libebur128(seed: int) -> None:
    """Within 0.2 LU over 90 s of slowly moving level; in a few seconds its 1 s hop leaves too few values to compare."""
    levels = np.cumsum(np.random.default_rng(seed).normal(0, 1.2, 90)) - 30
    samples = programme(seed, list(levels), 32_000)
    sound = series_of(samples, 32_000)
    theirs = libebur128(samples, 32_000)
    assert theirs.loudness_range > 3
    assert loudness_range(sound, STEREO, whole(sound)).value == pytest.approx(theirs.loudness_range, abs=0.2)


@given(seed=st.integers(0, 1000), first=st.integers(100, 600), length=st.integers(300, 900))
@settings(max_examples=4, deadline=None)
def test_a_span_reads_as_a_file_cut_to_it(seed: int, first: int, length: int) -> None:
    """Measuring a span of the series or the samples of that span alone: within 0.05 LU.

    They differ by the filter's memory at the cut alone.
    """
    samples = programme(seed, [-20, -24, -22, -30, -18, -21, -26, -23, -20, -19, -28, -22, -20, -25, -21], RATE)
    span = Span(first, first + length)
    cut = series_of(samples[span.first * 480 : span.end * 480], RATE)
    sound = series_of(samples, RATE)
    for figure in FIGURES:
        assert figure(sound, STEREO, [span]).value == pytest.approx(figure(cut, STEREO, whole(cut)).value, abs=0.05)


def test_joined_spans_read_as_the_joined_programme() -> None:
    """Acts without their breaks: as a file from which the breaks were cut; a tone in the break does not count."""
    acts = [programme(seed, [-20, -23, -26, -20, -22], RATE) for seed in (1, 2)]
    sound = series_of(np.concatenate([acts[0], tone(5, -6.0), acts[1]]), RATE)
    cut = series_of(np.concatenate(acts), RATE)
    spans = [Span(0, 500), Span(1000, 1500)]
    for figure in (integrated, loudness_range):
        assert figure(sound, STEREO, spans).value == pytest.approx(figure(cut, STEREO, whole(cut)).value, abs=0.05)
    assert integrated(sound, STEREO, whole(sound)).value > integrated(sound, STEREO, spans).value + 3


def test_highest_values_do_not_reach_across_a_join() -> None:
    """Two loud ends that meet only because the break was cut make no loud 400 ms or 3 s."""
    x = tone(12, -60.0)
    x[4 * RATE - 9600 : 4 * RATE] = tone(0.2, -10.0)
    x[8 * RATE : 8 * RATE + 9600] = tone(0.2, -10.0)
    sound = series_of(x, RATE)
    spans = [Span(0, 400), Span(800, 1200)]
    apart = max(max_momentary(sound, STEREO, [span]).value for span in spans)
    assert max_momentary(sound, STEREO, spans).value == apart
    assert apart == pytest.approx(-13.0, abs=0.1)


def test_highest_values_say_where() -> None:
    """The row is where the loudest window begins, in rows of the whole file."""
    x = tone(10, -40.0)
    x[6 * RATE : 6 * RATE + 19_200] = tone(0.4, -20.0)
    reading = max_momentary(series_of(x, RATE), STEREO, [Span(200, 1000)])
    assert reading.row is not None
    assert abs(reading.row - 600) <= 1


@pytest.mark.parametrize(("seconds", "missing"), [(0.0, FIGURES), (0.3, FIGURES), (2.9, FIGURES[2:])])
def test_too_short_is_no_reading(seconds: float, missing: list[Callable[..., Reading]]) -> None:
    """Under 400 ms (3 s for short-term and range) nothing was measured, and the reason says so."""
    sound = series_of(tone(seconds, -20.0), RATE)
    for figure in missing:
        reading = figure(sound, STEREO, whole(sound))
        assert reading.value is None
        assert "short" in reading.reason or "no sound" in reading.reason


@pytest.mark.parametrize("figure", FIGURES)
def test_silence_is_no_reading(figure: Callable[..., Reading]) -> None:
    """Digital silence gives None and a reason, never -inf."""
    sound = series_of(np.zeros((10 * RATE, 2)), RATE)
    reading = figure(sound, STEREO, whole(sound))
    assert reading.value is None
    assert "silen" in reading.reason


@pytest.mark.parametrize(("level", "heard"), [(-70.1, False), (-69.8, True)])
def test_the_absolute_gate(level: float, heard: bool) -> None:
    """ITU-R BS.1770-5, Annex 1: a block counts above -70 LKFS; a signal just on each side."""
    sound = series_of(tone(5, level, hertz=1000.0), RATE)
    assert (integrated(sound, STEREO, whole(sound)).value is not None) is heard


def test_a_group_beyond_the_file_is_no_reading() -> None:
    """A profile may ask for channels that the file does not have."""
    sound = series_of(tone(1, -20.0, channels=1), RATE)
    for figure in FIGURES:
        assert "no channel 2" in figure(sound, STEREO, whole(sound)).reason


def test_spans_beyond_the_file_are_cut_to_it() -> None:
    """A span that reaches over the end reads what is there; one wholly outside reads nothing."""
    sound = series_of(tone(5, -20.0), RATE)
    assert integrated(sound, STEREO, [Span(0, 99_999)]) == integrated(sound, STEREO, whole(sound))
    assert integrated(sound, STEREO, [Span(600, 900)]).reason == "the span holds no sound"


def test_a_mono_channel_reads_three_decibels_under_the_pair() -> None:
    """ITU-R BS.1770-5: one channel is one channel; the same in two reads 3.01 LU more."""
    sound = series_of(tone(5, -20.0), RATE)
    pair, one = integrated(sound, STEREO, whole(sound)).value, integrated(sound, MONO, whole(sound)).value
    assert pair - one == pytest.approx(3.01, abs=0.001)


def test_a_quiet_part_after_an_absurdly_loud_one_keeps_its_value() -> None:
    """Window sums carry no rounding from elsewhere: +100 dBFS of float sound, then an ordinary programme."""
    quiet = tone(5, -60.0)
    sound = series_of(np.concatenate([tone(5, 100.0), np.zeros((RATE, 2)), quiet]), RATE)
    span, alone = Span(610, 1100), series_of(quiet, RATE)
    assert integrated(sound, STEREO, [span]).value == pytest.approx(
        integrated(alone, STEREO, whole(alone)).value, abs=0.01
    )


def test_curves_hold_one_value_per_row() -> None:
    """As many windows as fit; -inf where silent is for drawing, never a figure."""
    sound = series_of(np.concatenate([tone(5, -23.0, hertz=1000.0), np.zeros((5 * RATE, 2))]), RATE)
    curve = short_term_curve(sound, STEREO, Span(0, 1000))
    assert len(curve) == 701
    assert curve[0] == pytest.approx(-23.0, abs=0.1)
    assert curve[-1] == -np.inf
    assert len(momentary_curve(sound, STEREO, Span(0, 1000))) == 961
    assert len(short_term_curve(sound, STEREO, Span(0, 100))) == 0


def test_a_half_hour_programme_and_its_acts_take_milliseconds() -> None:
    """All figures of 21:30 and four acts in well under 100 ms of CPU (bound here: 400 ms on a busy machine)."""
    rng = np.random.default_rng(0)
    rows = 129_000
    power = rng.random((rows, 2)).astype(np.float32) * 0.01
    sound = SoundSeries(
        energy=power,
        plain=power,
        sample_peak=power,
        true_peak=power,
        full_scale_runs=np.zeros((rows, 2), np.uint16),
        extent=np.array([[0, rows]] * 2),
        samples=np.zeros(2),
        invalid_samples=np.zeros(2),
        used_bits=np.zeros(2),
    )
    acts = [Span(at, at + 32_000) for at in range(0, rows - 1000, 32_250)]
    started = time.process_time()
    for spans in [acts, *[[act] for act in acts]]:
        for figure in [*FIGURES, true_peak]:
            assert figure(sound, STEREO, spans).value is not None
    assert time.process_time() - started < 0.4


def test_weights_count_as_powers() -> None:
    """A weight of 1.41 adds 1.49 LU (ITU-R BS.1770-5, Annex 1)."""
    sound = series_of(tone(2, -20.0, channels=1), RATE)
    plain = integrated(sound, MONO, whole(sound)).value
    surround = integrated(sound, ChannelGroup("Ls", (0,), (1.41,)), whole(sound)).value
    assert surround - plain == pytest.approx(1.492, abs=0.001)
