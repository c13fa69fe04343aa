"""The bank of sound meters: independent of cuts, robust against bad samples, exact at the edges."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.meters.sound.bank import SoundBank, SoundRows
from qc.meters.sound.full_scale_runs import FLOAT_FULL_SCALE
from qc.meters.sound.rates import UnsupportedAudio

ARRAYS = ("energy", "plain", "sample_peak", "true_peak", "full_scale_runs", "crossings", "invalid_samples")


def _measured(blocks: list[np.ndarray], rate: int, channels: int, full_scale: float = FLOAT_FULL_SCALE) -> SoundRows:
    bank = SoundBank(rate, channels, full_scale=full_scale)
    for block in blocks:
        bank.feed(block)
    return bank.finish()


@given(
    seed=st.integers(0, 2**32 - 1),
    length=st.integers(0, 50_000),
    cuts=st.lists(st.integers(0, 50_000), max_size=8),
    rate=st.sampled_from([32_000, 44_100, 48_000]),
)
@settings(max_examples=25, deadline=None)
def test_the_series_does_not_depend_on_the_cuts(seed: int, length: int, cuts: list[int], rate: int) -> None:
    """Any cut of the stream, empty blocks among them, gives the same series bit for bit."""
    rng = np.random.default_rng(seed)
    x = np.clip(rng.standard_normal((length, 2)) * 0.8, -1, 1)
    x[length // 3 : length // 2, 1] = 0.0
    if length:
        x[rng.integers(length), 0] = np.nan
    at = sorted({0, *(min(cut, length) for cut in cuts), length})
    pieces = [x[a:b] for a, b in itertools.pairwise(at)]
    one, many = _measured([x], rate, 2), _measured([x[:0], *pieces, x[:0]], rate, 2)
    for name in ARRAYS:
        np.testing.assert_array_equal(one[name], many[name], err_msg=name)
    assert one["samples"] == many["samples"] == length
    assert len(one["energy"]) == -(-length // (rate // 100))


def test_single_samples_give_the_same_series() -> None:
    """The extreme cut: one sample at a time."""
    x = np.random.default_rng(2).standard_normal((1500, 1)) * 0.1
    one, many = _measured([x], 48_000, 1), _measured([x[k : k + 1] for k in range(len(x))], 48_000, 1)
    for name in ARRAYS:
        np.testing.assert_array_equal(one[name], many[name], err_msg=name)


@pytest.mark.parametrize("rate", [32_000, 44_100, 48_000, 96_000, 192_000])
def test_rows_are_those_of_a_direct_computation(rate: int) -> None:
    """Energy, level and sample peak equal filtering the whole (scipy.signal.sosfilt) and taking means per 10 ms."""
    from scipy.signal import sosfilt

    from qc.meters.sound.k_weighting import k_weighting

    step = rate // 100
    x = np.random.default_rng(rate).standard_normal((130 * step, 2)) * 0.1
    rows = _measured([x], rate, 2)
    cut = x.reshape(130, step, 2)
    weighted = sosfilt(k_weighting(rate), x, axis=0).reshape(130, step, 2)
    np.testing.assert_allclose(rows["energy"], (weighted**2).mean(axis=1), rtol=1e-6)
    np.testing.assert_allclose(rows["plain"], (cut**2).mean(axis=1), rtol=1e-6)
    np.testing.assert_allclose(rows["sample_peak"], np.abs(cut).max(axis=1), rtol=1e-7)


@pytest.mark.parametrize("bad", [np.nan, np.inf, -np.inf, 1e30])
def test_invalid_samples_are_counted_and_left_out(bad: float) -> None:
    """NaN, Inf and absurd floats are counted per channel and read as nought, in every figure."""
    x = np.full((48_000, 2), 0.1)
    y = x.copy()
    x[[5, 20_000, 47_999], 1] = bad
    y[[5, 20_000, 47_999], 1] = 0.0
    rows, clean = _measured([x], 48_000, 2), _measured([y], 48_000, 2)
    assert rows["invalid_samples"].tolist() == [0, 3]
    for name in ARRAYS[:5]:
        np.testing.assert_array_equal(rows[name], clean[name])


def test_a_silent_channel_reads_silence_beside_a_loud_one() -> None:
    """Digital silence stays nought in every row; noise at -90 dBFS does not."""
    x = np.zeros((2 * 48_000, 3))
    x[:, 0] = np.random.default_rng(1).standard_normal(len(x)) * 0.1
    x[:, 2] = np.random.default_rng(2).standard_normal(len(x)) * 10 ** (-90 / 20)
    rows = _measured([x], 48_000, 3)
    for name in ARRAYS[:4]:
        assert rows[name][:, 1].max() == 0.0
        assert rows[name][:, 2].min() > 0.0


def test_sound_after_silence_reads_as_sound_from_the_start() -> None:
    """Skipping silent stretches changes nothing for what follows."""
    x = np.random.default_rng(4).standard_normal((48_000, 1)) * 0.2
    late = _measured([np.zeros((5 * 48_000, 1)), x], 48_000, 1)
    early = _measured([x], 48_000, 1)
    np.testing.assert_allclose(late["energy"][500:], early["energy"], rtol=1e-6)


def test_runs_at_full_scale_are_counted_where_they_start() -> None:
    """Three in a row make a run, two do not; a run over an edge of rows or stretches counts once, where it starts."""
    x = np.zeros((3 * 24_000, 1))
    x[100:102] = 1.0  # too short
    x[479:483] = -1.0  # starts in row 0
    x[600:700] = 1.0  # row 1, one run however long
    x[23_998:24_010] = 1.0  # row 49, over the edge of a stretch
    x[24_000 + 480 : 24_000 + 483] = 1.0  # row 51
    x[-3:] = 1.0  # the last three samples
    runs = _measured([x], 48_000, 1)["full_scale_runs"][:, 0]
    assert {int(row): int(runs[row]) for row in np.flatnonzero(runs)} == {0: 1, 1: 1, 49: 1, 51: 1, 149: 1}


def test_full_scale_of_integer_sound_is_its_largest_code() -> None:
    """32767 of 16 bits counts as full scale, one code less does not; float sound needs 1.0."""
    x = np.zeros((4800, 2))
    x[100:110, 0] = 32767 / 32768
    x[100:110, 1] = 32766 / 32768
    bank = SoundBank(48_000, 2)
    bank.feed(x)
    assert bank.finish()["full_scale_runs"].sum(axis=0).tolist() == [1, 0]
    assert _measured([x], 48_000, 2)["full_scale_runs"].sum() == 0


@pytest.mark.parametrize(
    ("rate", "said"), [(22_050, "22050 Hz"), (8_000, "8000"), (384_000, "384000"), (44_056, "10 ms")]
)
def test_rates_that_are_not_proven_are_refused(rate: int, said: str) -> None:
    """The message names the rate; nothing is measured wrongly instead."""
    with pytest.raises(UnsupportedAudio, match=said):
        SoundBank(rate, 2)


def test_many_channels_are_measured_in_order() -> None:
    """64 channels, each at its own level, come out in their columns."""
    x = np.random.default_rng(9).standard_normal((4800, 1)) * np.linspace(0.01, 0.2, 64)
    rows = _measured([x], 48_000, 64)
    assert (np.diff(rows["plain"].mean(axis=0)) > 0).all()
    np.testing.assert_allclose(rows["energy"][:, 40:41], _measured([x[:, 40:41]], 48_000, 1)["energy"], rtol=1e-6)
