"""Rows of spans, sums of windows, runs."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from qc.figures.rows import clipped, frames_of, rows_of, runs, window_sums
from qc.timing.spans import Span

RATES = [Fraction(24000, 1001), Fraction(25), Fraction(30000, 1001), Fraction(60000, 1001), Fraction(100)]


@given(
    first=st.integers(0, 10**6), length=st.integers(0, 10**5), more=st.integers(0, 10**5), rate=st.sampled_from(RATES)
)
def test_spans_that_meet_share_no_row_and_lose_none(first: int, length: int, more: int, rate: Fraction) -> None:
    """Acts and breaks divide the rows as they divide the frames; an edge moves by 5 ms at most."""
    act, gap = Span(first, first + length), Span(first + length, first + length + more)
    assert rows_of(act, rate).end == rows_of(gap, rate).first
    assert abs(rows_of(act, rate).first - first * 100 / rate) <= Fraction(1, 2)


@given(first=st.integers(0, 10**6), length=st.integers(1, 1000), rate=st.sampled_from(RATES))
def test_frames_cover_their_rows(first: int, length: int, rate: Fraction) -> None:
    """The frames told for some rows begin at or before them and end at or after them."""
    frames = frames_of(Span(first, first + length), rate)
    assert frames.first * 100 / rate <= first
    assert frames.end * 100 / rate >= first + length
    assert (frames.first + 1) * 100 / rate > first


def test_at_25_frames_a_frame_is_four_rows() -> None:
    """A worked example of either direction."""
    assert rows_of(Span(25, 50), Fraction(25)) == Span(100, 200)
    assert frames_of(Span(101, 105), Fraction(25)) == Span(25, 27)


@given(values=st.lists(st.floats(0, 1e6), max_size=60), length=st.integers(1, 50))
def test_window_sums(values: list[float], length: int) -> None:
    """Each window's plain sum, for any length, none if there are too few values."""
    array = np.array(values, dtype=np.float64)
    expected = [array[at : at + length].sum() for at in range(len(values) - length + 1)]
    np.testing.assert_allclose(window_sums(array, length), expected, rtol=1e-12)


@given(mask=st.lists(st.booleans(), max_size=40))
def test_runs(mask: list[bool]) -> None:
    """Runs are maximal, in order, and hold exactly the True places."""
    first, end = runs(np.array(mask, bool))
    assert [place for a, b in zip(first, end, strict=True) for place in range(a, b)] == list(np.flatnonzero(mask))
    assert all(b < a for b, a in zip(end[:-1], first[1:], strict=True))


def test_clipped_drops_what_is_not_there() -> None:
    """Empty and outlying spans vanish, reaching ones are cut."""
    assert clipped([Span(0, 0), Span(5, 20), Span(12, 15)], 10) == (Span(5, 10),)
