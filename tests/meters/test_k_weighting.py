"""K-weighting coefficients against the Recommendation's tables and values computed from its parameters."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.sound.k_weighting import derived, k_weighting
from tests.kit.sound import table


@pytest.mark.parametrize("row", table("bs-1770-5-k-weighting.csv"), ids=lambda row: row["rate"])
def test_coefficients_are_those_of_the_table(row: dict[str, str]) -> None:
    """ITU-R BS.1770-5, Annex 1, Tables 1 and 2 at 48 kHz; derived values elsewhere."""
    shelf, high_pass = k_weighting(int(row["rate"]))
    assert shelf == pytest.approx(
        [float(row[key]) for key in ("b0", "b1", "b2")] + [1.0] + [float(row[key]) for key in ("a1", "a2")], abs=1e-9
    )
    assert high_pass == pytest.approx(
        [1.0, -2.0, 1.0, 1.0, float(row["high_pass_a1"]), float(row["high_pass_a2"])], abs=1e-9
    )


@pytest.mark.parametrize("row", table("bs-1770-5-k-weighting.csv"), ids=lambda row: row["rate"])
def test_gain_at_the_calibration_frequency(row: dict[str, str]) -> None:
    """The chain's gain at 997 Hz, which the -0.691 of the formula makes up for at 48 kHz."""
    rate = int(row["rate"])
    z = np.exp(-2j * np.pi * 997 / rate * np.arange(3))
    gain = np.prod([abs(section[:3] @ z / (section[3:] @ z)) for section in k_weighting(rate)])
    assert 20 * np.log10(gain) == pytest.approx(float(row["gain_997"]), abs=6e-4)


def test_the_parameters_give_the_printed_table_back() -> None:
    """What is derived for other rates is anchored in the one rate that is printed."""
    assert derived(48_000) == pytest.approx(k_weighting(48_000), abs=1e-11)
