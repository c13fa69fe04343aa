"""Which gains bring a figure inside its limits, and what several limits leave.

A constant gain of g dB moves integrated, momentary and short-term loudness and every peak by g dB; the
gates of BS.1770 (ITU-R BS.1770-5, Annex 1) move with the programme except the absolute one at -70 LKFS,
which programme sound is far from. Gains are in steps of 0.1 dB, judged on the resolution of a meter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from qc.figures.resolution import on_meter
from qc.remedy.fix import Window

#: Gains in dB are whole tenths: what a mixer dials and a meter shows.
_STEPS = 10
_NOISE = 1e-6


def accepted_gains(measured: float, low: float | None, high: float | None) -> Window | None:
    """Gains after which the reading lies from low to high on a meter; None if no step of 0.1 dB does it."""
    shown = on_meter(measured)
    return _window(
        None if low is None else math.ceil((low - shown) * _STEPS - _NOISE) / _STEPS,
        None if high is None else math.floor((high - shown) * _STEPS + _NOISE) / _STEPS,
    )


def exact_gains(measured: float, low: float | None, high: float | None) -> Window | None:
    """As accepted_gains, but inside before any rounding: what a mix should aim at where it can."""
    return _window(
        None if low is None else math.ceil((low - measured) * _STEPS - _NOISE) / _STEPS,
        None if high is None else math.floor((high - measured) * _STEPS + _NOISE) / _STEPS,
    )


def _window(low: float | None, high: float | None) -> Window | None:
    if low is not None and high is not None and low > high:
        return None
    return Window(None if low is None else low + 0.0, None if high is None else high + 0.0)


def common(windows: Iterable[Window | None]) -> Window | None:
    """What all windows leave; open without any; None if one is None or they leave nothing."""
    low: float | None = None
    high: float | None = None
    for window in windows:
        if window is None:
            return None
        low = window.low if low is None or (window.low is not None and window.low > low) else low
        high = window.high if high is None or (window.high is not None and window.high < high) else high
    return _window(low, high)


def holds(window: Window | None, gain: float) -> bool:
    """Whether a gain lies in the window."""
    if window is None:
        return False
    above = window.low is None or gain >= window.low - _NOISE
    return above and (window.high is None or gain <= window.high + _NOISE)


def nearest(window: Window, wanted: float = 0.0) -> float:
    """The gain of the window that is nearest to the one wanted."""
    if window.low is not None and wanted < window.low:
        return window.low
    if window.high is not None and wanted > window.high:
        return window.high
    return wanted


def inset(window: Window, room: float) -> Window | None:
    """What lies ``room`` or more from both ends; None if nothing does."""
    return _window(
        None if window.low is None else round(window.low + room, 6),
        None if window.high is None else round(window.high - room, 6),
    )


def middle(window: Window) -> float:
    """The step in the middle of a window with two ends, of two the one nearer to 0."""
    assert window.low is not None and window.high is not None
    low, high = round(window.low * _STEPS), round(window.high * _STEPS)
    steps = (low + high) // 2, -(-(low + high) // 2)
    return min(steps, key=abs) / _STEPS
