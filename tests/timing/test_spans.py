"""Half-open spans."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.timing.spans import Span

bounds = st.tuples(st.integers(0, 200), st.integers(0, 200)).map(lambda pair: Span(min(pair), max(pair)))


@given(one=bounds, other=bounds)
def test_overlap_counts_the_shared_frames(one: Span, other: Span) -> None:
    """Overlap equals the frames that both hold, counted one by one."""
    assert one.overlap(other) == len(set(range(one.first, one.end)) & set(range(other.first, other.end)))


def test_a_span_reads_as_frames_and_seconds() -> None:
    """Frames are exact, seconds are exact fractions, and an end before the start is refused."""
    span = Span(30, 60)
    assert (span.frames, span.last, span.contains(60), span.contains(30)) == (30, 59, False, True)
    assert span.seconds(Fraction(30000, 1001)) == (Fraction(1001, 1000), Fraction(2002, 1000))
    with pytest.raises(ValueError, match="cannot end"):
        Span(2, 1)
