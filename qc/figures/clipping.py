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
    """``lasting`` percent of the picture for as long as asked, ``area`` in the worst of it, at ``level`` percent of
    the nominal range."""

    span: Span
    lasting: float
    area: float
    level: float
    worst: int


def lasting_clipped(
    series: Mapping[str, np.ndarray], seconds: Fraction, rate: Fraction, spans: Sequence[Span]
) -> float:
    """Largest share of the picture, in percent, that stands at one code for ``seconds`` on end."""
    rows = _rows_for(seconds, rate)
    share = series["clipping.share"] / 65535
    return max((_lasting(share[_looked_at(span)], rows) for span in spans), default=0.0)


def clipped_stretches(
    series: Mapping[str, np.ndarray], area_percent: float, seconds: Fraction, rate: Fraction, spans: Sequence[Span]
) -> list[ClippedStretch]:
    """Stretches of ``seconds`` or more with more than ``area_percent`` at one code, the largest first."""
    share, rows = series["clipping.share"] / 65535, _rows_for(seconds, rate)
    found = []
    for span in spans:
        first = _looked_at(span).start
        for run in runs_of(share[_looked_at(span)] > area_percent / 100, rows):
            own = share[first + run.first : first + run.end]
            worst = first + run.first + int(np.argmax(own))
            found.append(
                ClippedStretch(
                    Span(EVERY * (first + run.first), min(EVERY * (first + run.end - 1) + 1, span.end)),
                    _lasting(own, rows),
                    100 * float(share[worst]),
                    percent_of(float(series["clipping.step"][worst])),
                    EVERY * worst,
                )
            )
    return sorted(found, key=lambda stretch: (-stretch.lasting, stretch.span.first))


def _lasting(share: np.ndarray, rows: int) -> float:
    """Largest percentage that holds for so many rows on end."""
    if len(share) < rows:
        return 0.0
    return 100 * float(np.lib.stride_tricks.sliding_window_view(share, rows).min(axis=1).max())


def _looked_at(span: Span) -> slice:
    """Rows of the pictures of a span."""
    return slice(-(-span.first // EVERY), -(-span.end // EVERY))


def _rows_for(seconds: Fraction, rate: Fraction) -> int:
    return int(max(2, -(-(seconds * rate) // EVERY)))
