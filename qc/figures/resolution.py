"""The resolution of a meter, and what that makes of a figure: one decimal, half away from zero.

Source of the resolution: common practice of loudness meters, no standard. Every report states the rule.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

#: Steps in which a loudness or peak meter shows its reading, dB or LU.
METER = Decimal("0.1")

#: This close to a limit, before rounding, a reading is called "at the limit".
AT_LIMIT = 0.05

#: Digits kept of any figure: beyond them lies the noise of floating-point sums.
DIGITS = 4


def settled(value: float) -> float:
    """The figure without the noise of its summation; never minus zero."""
    return round(float(value), DIGITS) + 0.0


def on_meter(value: float) -> float:
    """The figure as a meter shows it: one decimal, half away from zero."""
    return float(Decimal(repr(settled(value))).quantize(METER, rounding=ROUND_HALF_UP)) + 0.0


def reads_over(limit: float) -> float:
    """The level above which a peak reads over a limit of nought or less, dB: what rounds down to it is inside."""
    return limit + AT_LIMIT - 10.0**-DIGITS
