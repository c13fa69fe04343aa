"""What is over a limit reads over it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.judge.over_limit import over_limit, over_limit_words


@pytest.mark.parametrize(
    ("value", "limit", "shown"),
    [(25.04, 25.0, 25.1), (25.0, 25.0, 25.0), (24.96, 25.0, 25.0), (25.06, 25.0, 25.1), (37.26, 25.0, 37.3)],
)
def test_rounding_near_a_limit(value: float, limit: float, shown: float) -> None:
    assert over_limit(value, limit, 1) == shown


@pytest.mark.parametrize(("value", "words"), [(25.3, "25.3"), (25.01, "25.1"), (26.1, "26"), (99.6, "100"), (8.2, "8")])
def test_whole_numbers_where_they_will_do(value: float, words: str) -> None:
    assert over_limit_words(value, 25.0) == words


@given(value=st.floats(0, 100), limit=st.integers(0, 1000).map(lambda tenths: tenths / 10), decimals=st.integers(0, 3))
def test_the_side_of_the_limit_is_kept(value: float, limit: float, decimals: int) -> None:
    """Over stays over, and the figure is no further off than one step."""
    shown = over_limit(value, limit, decimals)
    assert abs(shown - value) <= 2 * 10**-decimals
    if value > limit:
        assert shown > limit
