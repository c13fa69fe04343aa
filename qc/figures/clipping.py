"""Clipped highlights in the series of the meter: stretches in which much of the picture stands at one code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from qc.figures.black import runs_of
from qc.meters.picture.level_ladder import percent_of
from qc.timing.spans import Span

#: One picture in so many is looked at (qc.meters.picture.clipping.EVERY).
EVERY = 12


@dataclass(frozen=True)
class ClippedStretch:
    """``area`` percent of the picture in the worst of it, at ``level`` percent of the nominal range."""

    span: Span
    area: float
    level: float
    worst: int


def lasting_clipped(
    series: Mapping[str, np.ndarray], seconds: Fraction, rate: Fraction, spans: Sequence[Span]
) -> float:
    """Largest share of the picture, in percent, that stands at one code for ``seconds`` on end."""
    rows = _rows_for(seconds, rate)
    parts = [series["clipping.share"][_looked_at(span)] for span in spans]
    windows = [np.lib.stride_tricks.sliding_window_view(part, rows).min(axis=1) for part in parts if len(part) >= rows]
    return 100 * max((float(window.max()) for window in windows), default=0.0) / 65535


def clipped_stretches(
    series: Mapping[str, np.ndarray], area_percent: float, seconds: Fraction, rate: Fraction, spans: Sequence[Span]
) -> list[ClippedStretch]:
    """Stretches of ``seconds`` or more with more than ``area_percent`` at one code, the largest area first."""
    share = series["clipping.share"] / 65535
    found = []
    for span in spans:
        first = _looked_at(span).start
        for run in runs_of(share[_looked_at(span)] > area_percent / 100, _rows_for(seconds, rate)):
            worst = first + run.first + int(np.argmax(share[first + run.first : first + run.end]))
            found.append(
                ClippedStretch(
                    Span(EVERY * (first + run.first), min(EVERY * (first + run.end - 1) + 1, span.end)),
                    100 * float(share[worst]),
                    percent_of(float(series["clipping.step"][worst])),
                    EVERY * worst,
                )
            )
    return sorted(found, key=lambda stretch: (-stretch.area, stretch.span.first))


def _looked_at(span: Span) -> slice:
    """Rows of the pictures of a span."""
    return slice(-(-span.first // EVERY), -(-span.end // EVERY))


def _rows_for(seconds: Fraction, rate: Fraction) -> int:
    return int(max(2, -(-(seconds * rate) // EVERY)))
