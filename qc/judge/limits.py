"""The one rule by which a number meets a limit.

Loudness and peak are judged on the resolution of a meter, 0.1, rounded half away from zero, so that a
reading of -23.54 meets "-23.0 +/- 0.5" as it does on every meter that shows -23.5. The figure is shown
with two decimals and called "at the limit" when it lies within 0.05 of it before rounding.

Source of the resolution: common practice of loudness meters, no standard. Every report states the rule.
"""

from __future__ import annotations

from dataclasses import dataclass

from qc.figures.resolution import AT_LIMIT, on_meter, settled
from qc.outlets.schema_kinds import Count, NumberLimit

__all__ = [
    "AT_LIMIT",
    "ROUNDING",
    "Bounds",
    "Weighed",
    "count_bounds",
    "number",
    "number_bounds",
    "on_meter",
    "range_words",
    "settled",
    "signed",
    "weigh",
]

ROUNDING = (
    "Loudness and peaks are judged rounded to 0.1 (half away from zero), shown with two decimals, and called "
    '"at the limit" within 0.05 of it.'
)


@dataclass(frozen=True)
class Bounds:
    """Accepted values from low to high, both included; None is open.

    words      the limit as a reader wants it
    tolerance  in words, "" if none
    """

    low: float | None
    high: float | None
    words: str
    tolerance: str = ""

    def margin(self, value: float) -> float:
        """Distance to the nearest bound, negative outside."""
        inside = [value - self.low] if self.low is not None else []
        inside += [self.high - value] if self.high is not None else []
        return min(inside)

    def nearest(self, value: float) -> float:
        """The value itself if accepted, else the bound it violates."""
        if self.low is not None and value < self.low:
            return self.low
        if self.high is not None and value > self.high:
            return self.high
        return value


@dataclass(frozen=True)
class Weighed:
    """How a number met its bounds."""

    inside: bool
    margin: float
    at_limit: bool


def weigh(value: float, bounds: Bounds, *, meter: bool = False) -> Weighed:
    """Judge a number; with ``meter`` on a meter's resolution, else as it is (four decimals)."""
    exact = settled(value)
    shown = on_meter(value) if meter else exact
    margin = settled(bounds.margin(shown))
    close = meter and abs(settled(bounds.margin(exact))) <= AT_LIMIT
    return Weighed(inside=margin >= 0, margin=margin, at_limit=close)


def number(value: float, decimals: int = 1) -> str:
    """Fixed-format text of a figure, never "-0.0"."""
    text = f"{settled(value):.{decimals}f}"
    return text.lstrip("-") if not text.strip("-0.") else text


def signed(value: float, decimals: int = 1) -> str:
    """As number(), with its sign: "+0.9", "-1.3", "0.0"."""
    text = number(value, decimals)
    return text if text.startswith("-") or not text.strip("0.") else f"+{text}"


def number_bounds(limit: NumberLimit) -> Bounds:
    """Accepted values of a number with unit, the tolerance of measurement of a maximum or minimum included."""
    tolerance, unit = limit.tolerance, limit.unit
    step = "LU" if unit in ("LUFS", "LKFS", "LU") else "dB" if unit in ("dBTP", "dBFS") else unit
    decimals = 0 if unit == "frames" else 1
    if isinstance(tolerance, tuple):
        below, above = float(tolerance[0]), float(tolerance[1])
        spread = f"{signed(below, decimals)} / {signed(above, decimals)}"
    else:
        below, above = -float(tolerance or 0), float(tolerance or 0)
        spread = f"+/- {number(above, decimals)}"
    if limit.target is not None:
        words = f"{number(limit.target, decimals)} {unit} {spread}"
        return Bounds(limit.lowest, limit.highest, words, f"{spread} {step}")
    said = f"measurement {spread} {step}" if tolerance is not None else ""
    low = None if limit.min is None else settled(limit.min + below)
    high = None if limit.max is None else settled(limit.max + above)
    return Bounds(low, high, range_words(limit.min, limit.max, unit, decimals), said)


def range_words(low: float | None, high: float | None, unit: str, decimals: int) -> str:
    """The limit in words: "at most -2.0 dBTP", "at least ...", "... to ..."."""
    if low is None and high is not None:
        return f"at most {_amount(high, unit, decimals)}"
    if high is None and low is not None:
        return f"at least {_amount(low, unit, decimals)}"
    assert low is not None and high is not None
    return f"{number(low, decimals)} to {_amount(high, unit, decimals)}"


def _amount(value: float, unit: str, decimals: int) -> str:
    text = number(value, decimals)
    return f"{text} {'frame' if (text, unit) == ('1', 'frames') else unit}"


def count_bounds(count: Count) -> Bounds:
    """Accepted whole numbers."""
    if count.exact is not None:
        return Bounds(count.exact, count.exact, str(count.exact))
    low, high = count.min, count.max
    if low is None:
        return Bounds(None, high, f"at most {high}")
    if high is None:
        return Bounds(low, None, f"at least {low}")
    return Bounds(low, high, f"{low} to {high}")
