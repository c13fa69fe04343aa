"""The filter by matrix products is the filter: held to scipy.signal.sosfilt."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.sound.blocked_filter import BlockedFilter
from qc.meters.sound.k_weighting import k_weighting

RATES = (32_000, 33_100, 44_100, 48_000, 88_200, 96_000, 176_400, 192_000)


def _ours(x: np.ndarray, rate: int) -> np.ndarray:
    length = rate // 2
    channels = np.arange(x.shape[1])
    blocked = BlockedFilter(k_weighting(rate), length, x.shape[1])
    parts = [blocked(np.ascontiguousarray(x[at : at + length].T), channels).copy() for at in range(0, len(x), length)]
    return np.concatenate(parts, axis=1).T


def _theirs(x: np.ndarray, rate: int) -> np.ndarray:
    from scipy.signal import sosfilt

    return np.asarray(sosfilt(k_weighting(rate), x, axis=0))


@pytest.mark.parametrize("rate", RATES)
def test_equal_to_scipy(rate: int) -> None:
    """Noise with an offset and a full-scale step, 3 s: within 1e-10 of the largest value (scipy.signal.sosfilt)."""
    x = np.random.default_rng(rate).standard_normal((3 * rate, 2)) * 0.2 + 0.3
    x[rate : rate + 1000] = 1.0
    theirs = _theirs(x, rate)
    assert np.abs(_ours(x, rate) - theirs).max() <= 1e-10 * np.abs(theirs).max()


def test_stays_true_over_minutes() -> None:
    """Errors do not build up: the last second of three minutes is as close as the first."""
    rate = 48_000
    x = np.random.default_rng(5).standard_normal((180 * rate, 1)) * 0.2
    difference = np.abs(_ours(x, rate) - _theirs(x, rate))
    assert difference[-rate:].max() <= 2 * difference[: 10 * rate].max()
    assert difference.max() <= 1e-11


def test_a_click_dies_away_to_rest() -> None:
    """After a click and silence the state comes to rest, so that silence costs nothing and stays silence."""
    rate, rest = 48_000, []
    blocked = BlockedFilter(k_weighting(rate), rate // 2, 1)
    x = np.zeros((1, rate // 2))
    x[0, -7] = 1.0
    for _ in range(4):
        blocked(x, np.array([0]))
        x[:] = 0.0
        rest.append(bool(blocked.at_rest()[0]))
    assert not rest[0]
    assert rest[-1]


def test_channels_left_out_keep_their_state() -> None:
    """Filtering some channels leaves the others where they were."""
    rate = 32_000
    x = np.random.default_rng(1).standard_normal((3, rate // 2))
    both, alone = (BlockedFilter(k_weighting(rate), rate // 2, 3) for _ in range(2))
    both(x, np.arange(3))
    alone(x, np.arange(3))
    alone(x[:1], np.array([0]))
    np.testing.assert_allclose(both(x, np.arange(3))[1:], alone(x[1:], np.array([1, 2])), rtol=0, atol=1e-12)
