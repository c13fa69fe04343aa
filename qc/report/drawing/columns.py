"""A curve made small enough to draw: extremes of each column, so that no peak gets lost, and its outline."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qc.report.drawing.elements import plain

#: Columns of a drawing as wide as a page: about one a pixel.
MOST_COLUMNS = 1200


@dataclass(frozen=True)
class Columns:
    """Lowest and highest value of each column, (columns,); -inf where there is no signal, nan where undefined."""

    low: np.ndarray
    high: np.ndarray

    @property
    def count(self) -> int:
        return len(self.high)

    @property
    def top(self) -> float | None:
        """The highest value that is a number."""
        real = self.high[np.isfinite(self.high)]
        return float(real.max()) if len(real) else None

    @property
    def bottom(self) -> float | None:
        """The lowest value that is a number."""
        real = self.low[np.isfinite(self.low)]
        return float(real.min()) if len(real) else None


def columns_of(values: np.ndarray, most: int = MOST_COLUMNS) -> Columns:
    """The extremes of ``most`` columns of about equal width, of each value if there are fewer."""
    count = min(most, len(values))
    if not count:
        return Columns(np.empty(0), np.empty(0))
    starts = np.arange(count) * len(values) // count
    real = values.astype(np.float64)
    return Columns(np.fmin.reduceat(real, starts), np.fmax.reduceat(real, starts))


@dataclass(frozen=True)
class Scale:
    """Values from ``bottom`` to ``top`` over ``height`` pixels; what is beyond lies on the edge."""

    bottom: float
    top: float
    height: float

    def y(self, value: float) -> float:
        inside = min(max(value, self.bottom), self.top)
        return self.height * (self.top - inside) / (self.top - self.bottom)

    def of(self, values: np.ndarray) -> np.ndarray:
        """Pixels from the upper edge, one decimal; nan stays."""
        inside = np.clip(values, self.bottom, self.top)
        return np.round(self.height * (self.top - inside) / (self.top - self.bottom), 1)


def outline(upper: np.ndarray, lower: np.ndarray) -> str:
    """Path round the area between two edges in pixels, one unit of x a column; a gap where ``upper`` is nan."""
    known = np.isfinite(upper)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], known, [False]]).astype(np.int8)))
    paths = []
    for first, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        there = _along(upper[first:end].tolist(), first, 1)
        back = _along(lower[first:end].tolist()[::-1], end, -1)
        paths.append(f"M{first},{there[1:]}{back}Z")
    return "".join(paths)


def _along(heights: list[float], start: int, way: int) -> str:
    """``V`` to each height and ``H`` over its columns; equal neighbours are one step."""
    said, last = [], None
    for place, height in enumerate(heights):
        if height != last:
            if last is not None:
                said.append(f"H{start + way * place}")
            said.append(f"V{plain(height)}")
            last = height
    said.append(f"H{start + way * len(heights)}")
    return "".join(said)


def bars_over(high: np.ndarray, limit: float, scale: Scale) -> str:
    """Path of the columns that go over a limit, from the limit up."""
    over = np.flatnonzero(np.isfinite(high) & (high > limit)).tolist()
    base = plain(scale.y(limit))
    return "".join(f"M{at},{base}V{plain(scale.y(float(high[at])))}H{at + 1}V{base}Z" for at in over)


def strip_over(high: np.ndarray, limit: float) -> str:
    """Path of a strip along the upper edge over the same columns: half a decibel is hardly a pixel."""
    over = np.isfinite(high) & (high > limit)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], over, [False]]).astype(np.int8))).tolist()
    return "".join(f"M{first},0V4H{end}V0Z" for first, end in zip(edges[::2], edges[1::2], strict=True))
