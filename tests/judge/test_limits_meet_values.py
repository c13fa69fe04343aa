"""The rule by which a number meets a limit, and limits in words."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.judge.limits import Bounds, count_bounds, number, number_bounds, on_meter, signed, weigh
from qc.outlets.schema_kinds import Count, LoudnessLimit, TruePeakLimit

EBU = number_bounds(LoudnessLimit(target=-23.0, tolerance=0.5, unit="LUFS"))
ATSC = number_bounds(LoudnessLimit(target=-24.0, tolerance=2.0, unit="LKFS"))
JAPAN = number_bounds(LoudnessLimit(target=-24.0, tolerance=[-4.0, 1.0], unit="LKFS"))
PEAK = number_bounds(TruePeakLimit(max=-2.0, unit="dBTP"))
PEAK_WITH_TOLERANCE = number_bounds(TruePeakLimit(max=-1.0, tolerance=0.3, unit="dBTP"))


@pytest.mark.parametrize(
    ("value", "bounds", "inside", "at_limit"),
    [
        (-23.54, EBU, True, True),  # a meter shows -23.5
        (-23.549, EBU, True, True),
        (-23.55, EBU, False, True),  # half away from zero: -23.6
        (-23.56, EBU, False, False),
        (-22.45, EBU, True, True),  # half away from zero: -22.5
        (-22.449, EBU, False, False),
        (-23.0, EBU, True, False),
        (-26.04, ATSC, True, True),
        (-26.06, ATSC, False, False),
        (-21.96, ATSC, True, True),
        (-21.94, ATSC, False, False),
        (-28.04, JAPAN, True, True),
        (-28.06, JAPAN, False, False),
        (-22.96, JAPAN, True, True),
        (-22.94, JAPAN, False, False),
        (-2.0, PEAK, True, True),
        (-1.95, PEAK, True, True),
        (-1.94, PEAK, False, False),
        (-2.06, PEAK, True, False),
        (-0.66, PEAK_WITH_TOLERANCE, True, True),  # -1.0 with 0.3 dB of measurement (EBU R 128 v5, item m)
        (-0.64, PEAK_WITH_TOLERANCE, False, False),
    ],
)
def test_loudness_and_peak_are_judged_on_the_resolution_of_a_meter(
    value: float, bounds: Bounds, inside: bool, at_limit: bool
) -> None:
    """Just on each side of every limit; 0.1 is the resolution that meters show (common practice, no source)."""
    result = weigh(value, bounds, meter=True)
    assert (result.inside, result.at_limit) == (inside, at_limit)
    assert (result.margin >= 0) == inside


@given(st.floats(-90, 20))
def test_rounding_moves_a_reading_by_half_a_step_at_most(value: float) -> None:
    """Half away from zero, so it is the same rule on both sides of zero."""
    assert abs(on_meter(value) - value) <= 0.05 + 1e-4
    assert on_meter(-value) == -on_meter(value)


def test_the_noise_of_a_sum_does_not_change_a_verdict() -> None:
    """-23.55 minus the last bits of a float is still -23.55."""
    assert on_meter(-23.549999999999997) == on_meter(-23.55) == -23.6


@pytest.mark.parametrize(
    ("bounds", "words", "tolerance"),
    [
        (ATSC, "-24.0 LKFS +/- 2.0", "+/- 2.0 LU"),
        (JAPAN, "-24.0 LKFS -4.0 / +1.0", "-4.0 / +1.0 LU"),
        (PEAK, "at most -2.0 dBTP", ""),
        (PEAK_WITH_TOLERANCE, "at most -1.0 dBTP", "measurement +/- 0.3 dB"),
    ],
)
def test_a_limit_reads_as_the_trade_writes_it(bounds: Bounds, words: str, tolerance: str) -> None:
    """Value, unit and tolerance in one line."""
    assert (bounds.words, bounds.tolerance) == (words, tolerance)


@pytest.mark.parametrize(
    ("count", "good", "bad"),
    [
        ({"exact": 8}, [8], [7, 9]),
        ({"min": 2}, [2, 16], [1, 0]),
        ({"min": 2, "max": 4}, [2, 4], [1, 5]),
        ({"max": 1}, [0, 1], [2]),
    ],
)
def test_counts_are_exact_or_between(count: dict[str, Any], good: list[int], bad: list[int]) -> None:
    """Both ends included."""
    bounds = count_bounds(Count(**count))
    assert all(weigh(value, bounds).inside for value in good)
    assert not any(weigh(value, bounds).inside for value in bad)


def test_numbers_have_a_fixed_form() -> None:
    """Never "-0.0"; a sign where a change is meant."""
    assert [number(-0.04), number(0.0), number(-23.54, 2)] == ["0.0", "0.0", "-23.54"]
    assert [signed(0.9), signed(-1.3), signed(-0.01)] == ["+0.9", "-1.3", "0.0"]
