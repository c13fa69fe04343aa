"""Zero crossings against a count sample by sample, and against the frequency of a sine: it crosses twice a cycle."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.sound.bank import SoundBank


def crossings(x: np.ndarray, rate: int) -> np.ndarray:
    bank = SoundBank(rate, x.shape[1])
    bank.feed(x)
    return bank.finish()["crossings"]


def test_each_row_holds_the_changes_of_sign_of_its_own_samples() -> None:
    """A plain loop over noise: a change belongs to the row of the later sample; nought, and what is before the
    first sample, counts as positive."""
    x = np.random.default_rng(5).standard_normal((2405, 1))
    x[100:200] = 0.0
    wanted = [0] * 6
    for place in range(len(x)):
        wanted[place // 480] += bool(x[place, 0] < 0) != bool(place and x[place - 1, 0] < 0)
    assert crossings(x, 48000)[:5, 0].tolist() == [min(255, count) for count in wanted[:5]]


@pytest.mark.parametrize("rate", [32000, 44100, 48000, 96000])
@pytest.mark.parametrize("hertz", [440.0, 997.0, 1000.0, 1010.0])
def test_a_sine_crosses_twice_a_cycle(rate: int, hertz: float) -> None:
    """Over two seconds the count gives the frequency to half a cycle."""
    x = 0.1 * np.sin(2 * np.pi * hertz * np.arange(2 * rate) / rate + 0.3)[:, None]
    assert crossings(x, rate).sum() / 4 == pytest.approx(hertz, abs=0.5)


def test_silence_crosses_nothing() -> None:
    """Digital silence in a channel of its own and after sound, apart from the step into it."""
    x = np.zeros((48000, 2))
    x[:4800, 0] = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(4800) / 48000 + 0.1)
    found = crossings(x, 48000)
    assert (
        found[11:].sum() == 0 and found[10].max() <= 1 and found[:, 1].sum() == 0 and found[:10, 0].sum() in (199, 200)
    )
