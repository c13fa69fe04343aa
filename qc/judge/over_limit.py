"""Figures that lie over a limit, rounded so that they still read over it: 25.04 against 25 is 25.1, never 25."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal


def over_limit(value: float, limit: float, decimals: int) -> float:
    """The value rounded; upwards where it is over the limit and would not read so."""
    shown = round(value, decimals)
    if value <= limit or shown > limit:
        return shown
    step = Decimal(1).scaleb(-decimals)
    up = Decimal(str(value)).quantize(step, ROUND_CEILING)
    return float(up if up > Decimal(str(limit)) else up + step)


def over_limit_words(value: float, limit: float) -> str:
    """A whole number where it reads over the limit, else one decimal: "37", "25.1"."""
    return f"{value:.0f}" if value <= limit or round(value) > limit else f"{over_limit(value, limit, 1):.1f}"
