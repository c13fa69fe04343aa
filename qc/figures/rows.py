"""Rows of the sound series: which belong to a span of frames, and sums over windows of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

import numpy as np

from qc.measurement.record import STEPS_PER_SECOND
from qc.timing.spans import Span


def rows_of(span: Span, rate: Fraction) -> Span:
    """The 10 ms rows of a span of frames: each edge goes to the nearest row.

    Spans that meet share no row and leave none out; an edge moves by 5 ms at most.
    """
    return Span(round(span.first * STEPS_PER_SECOND / rate), round(span.end * STEPS_PER_SECOND / rate))


def whole_rows_of(span: Span, rate: Fraction) -> Span:
    """The rows that lie wholly inside a span of frames: what a break may be judged on, since a row on its
    edge also holds up to 10 ms of the act beside it."""
    first = -(-span.first * STEPS_PER_SECOND * rate.denominator // rate.numerator)
    return Span(first, max(first, span.end * STEPS_PER_SECOND * rate.denominator // rate.numerator))


def frames_of(rows: Span, rate: Fraction) -> Span:
    """The frames that a span of rows touches; at least one frame for at least one row."""
    first, end = Fraction(rows.first) * rate / STEPS_PER_SECOND, Fraction(rows.end) * rate / STEPS_PER_SECOND
    return Span(int(first), max(int(first), -int(-end // 1)))


def clipped(spans: Iterable[Span], rows: int) -> tuple[Span, ...]:
    """The parts of the spans that the series holds, without empty ones, in the given order."""
    inside = (Span(min(max(span.first, 0), rows), min(max(span.end, 0), rows)) for span in spans)
    return tuple(span for span in inside if span.frames)


def joined(series: np.ndarray, spans: Sequence[Span]) -> np.ndarray:
    """The rows of all spans, one after the other."""
    parts = [series[span.first : span.end] for span in spans]
    return parts[0] if len(parts) == 1 else np.concatenate(parts) if parts else series[:0]


def window_sums(values: np.ndarray, length: int) -> np.ndarray:
    """Sum of each run of ``length`` values, (n,) -> (n - length + 1,); empty if there are fewer.

    By doubling, not by differences of a running total: a quiet window after a loud one keeps its
    precision, and a window's sum does not depend on what lies outside it.
    """
    count = len(values) - length + 1
    if count <= 0:
        return values[:0]
    total, at = np.zeros(count), 0
    doubled, size = values, 1
    while True:
        if length & size:
            total += doubled[at : at + count]
            at += size
        if 2 * size > length:
            return total
        doubled = doubled[:-size] + doubled[size:]
        size *= 2


def runs(mask: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """First and end index of each run of True in a (n,) mask."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], mask, [False]]).astype(np.int8)))
    return edges[::2], edges[1::2]
