"""True peak against the Recommendation's table, a direct polyphase filter, and dense interpolation."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.sound.true_peak import ANNEX_2, interpolator
from tests.kit.sound import series_of, table

PUBLISHED = np.array([[float(value) for value in row.values()] for row in table("bs-1770-5-true-peak-filter.csv")]).T


def test_the_filter_is_the_published_one() -> None:
    """ITU-R BS.1770-5, Annex 2: all 48 taps; phases mirror each other; nobody "normalised" their sums."""
    np.testing.assert_array_equal(ANNEX_2, PUBLISHED)
    np.testing.assert_array_equal(PUBLISHED[3], PUBLISHED[0][::-1])
    np.testing.assert_array_equal(PUBLISHED[2], PUBLISHED[1][::-1])
    assert PUBLISHED.sum(axis=1) == pytest.approx([1.00159, 0.97302, 0.97302, 1.00159], abs=5e-6)


@pytest.mark.parametrize(("rate", "factor"), [(32_000, 4), (48_000, 4), (96_000, 4), (176_400, 1), (192_000, 1)])
def test_oversampling_reaches_192_khz(rate: int, factor: int) -> None:
    """Annex 2: at least 192 kHz from 48 kHz on; the table's four times at lower rates."""
    phases = interpolator(rate)
    assert (1 if phases is None else len(phases)) == factor


@pytest.mark.parametrize("rate", [32_000, 33_100, 44_100, 48_000, 96_000])
def test_equal_to_a_direct_filter(rate: int) -> None:
    """Every row equals the largest of its samples and of scipy.signal.upfirdn's output lying in it.

    33100 Hz has rows that no window length divides.
    """
    from scipy.signal import upfirdn

    step = rate // 100
    x = np.random.default_rng(3).standard_normal(rate + 123) * 0.3
    dense = np.abs(upfirdn(PUBLISHED.T.ravel(), x, up=4))
    # Output 4n + p lies between samples n - 6 and n - 5 (48 taps: delay of 23.5 quarter samples).
    between = np.clip((np.arange(len(dense)) // 4 - 6) // step, 0, -(-len(x) // step) - 1)
    expected = np.zeros(-(-len(x) // step))
    np.maximum.at(expected, between, dense)
    np.maximum.at(expected, np.arange(len(x)) // step, np.abs(x))
    assert series_of(x[:, None], rate).true_peak[:, 0] == pytest.approx(expected, rel=3e-6)


@pytest.mark.parametrize("share", [0.02, 0.1, 0.2, 0.3, 0.4, 0.45])
def test_reads_a_sine_within_the_filter_s_known_error(share: float) -> None:
    """A 0 dBTP sine reads -0.5 to +0.25 dB up to 0.45 of the rate: ripple of the published table, computed."""
    sine = np.sin(2 * np.pi * share * np.arange(48_000) + 0.3)[:, None]
    peak = series_of(sine, 48_000).true_peak[10:-10].max()
    assert -0.5 <= 20 * np.log10(peak) <= 0.25


def test_a_peak_belongs_to_the_row_it_lies_in() -> None:
    """Two equal samples astride a row's edge peak between them, in the earlier row."""
    x = np.zeros((4800, 1))
    x[959:961] = 0.5
    true = series_of(x, 48_000).true_peak[:, 0]
    assert true.argmax() == 1
    assert true[1] > 0.6
    assert true[4:].max() == 0.0


@pytest.mark.parametrize("place", [0, -1])
def test_peaks_at_the_ends_of_the_stream_count(place: int) -> None:
    """The waveform swings in before the first sample and out after the last, also where that ends a row."""
    x = np.zeros((960, 1))
    x[place] = 0.5
    peaks = series_of(x, 48_000).true_peak[:, 0]
    assert peaks[place] >= 0.5
    x = np.zeros((960, 1))
    x[[0, 1] if place == 0 else [-2, -1]] = 0.5
    assert series_of(x, 48_000).true_peak[place, 0] > 0.6


def test_true_peak_is_never_under_the_sample_peak() -> None:
    """Phases 1 and 2 lose 0.24 dB at low frequencies; the samples themselves hold the reading up."""
    x = np.full((48_000, 1), 0.7)
    sound = series_of(x, 48_000)
    assert (sound.true_peak >= sound.sample_peak).all()
