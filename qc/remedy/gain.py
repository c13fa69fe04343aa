"""Gain to target, the window that is allowed, and the peaks that stand in its way.

A sentence is made from the record alone, so that whoever has the record can make it again.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from qc.figures.resolution import on_meter
from qc.programme.place import Place
from qc.remedy.fix import Fix, Window
from qc.remedy.gain_window import accepted_gains

#: (gain in dB) -> places over the ceiling after it, worst first, and how many there are beside those.
PeaksAfter = Callable[[float], tuple[tuple[Place, ...], int]]


@dataclass(frozen=True)
class Ceiling:
    """Highest true peak accepted, dBTP, and the highest one measured (None: no signal, or not judged)."""

    accepted: float | None
    measured: float | None
    after: PeaksAfter | None = None


def change_gain(
    where: str,
    measured: float,
    low: float | None,
    high: float | None,
    target: float | None,
    ceiling: Ceiling,
) -> Fix:
    """Gain from the measured loudness to the target, else to the nearest accepted value.

    The gain is given on the 0.1 dB of a meter, rounded so that the result is accepted.
    """
    gain = gain_to(measured, low, high, target)
    after, limits = {"integrated": round(measured + gain, 4)}, {}
    peaks: tuple[Place, ...] = ()
    more = 0
    if ceiling.measured is not None:
        after["true_peak_dbtp"] = round(ceiling.measured + gain, 4)
    if ceiling.measured is not None and ceiling.accepted is not None:
        limits["true_peak_dbtp"] = ceiling.accepted
        over = decibels_over(ceiling.measured + gain, ceiling.accepted)
        if over > 0:
            after["peaks_over_db"] = over
            if ceiling.after is not None:
                peaks, more = ceiling.after(gain)
                after["peaks_to_hold"] = float(len(peaks) + more)
    window = accepted_gains(measured, low, high)
    fix = Fix("change gain", gain, "dB", where, "", after, window=window, peaks=peaks, more_peaks=more, limits=limits)
    return replace(fix, sentence=gain_sentence(fix))


def gain_to(measured: float, low: float | None, high: float | None, target: float | None) -> float:
    """To the target, or just over the nearest bound, in steps of 0.1 dB; 0 inside the bounds without a target."""
    if target is not None:
        return round(target - measured, 1) + 0.0
    if low is not None and measured < low:
        return math.ceil(round((low - measured) * 10, 6)) / 10
    if high is not None and measured > high:
        return math.floor(round((high - measured) * 10, 6)) / 10
    return 0.0


def decibels_over(peak: float, accepted: float) -> float:
    """Decibels over the ceiling on the resolution of a meter, 0 under it."""
    return max(0.0, round(on_meter(peak) - accepted, 1))


def gain_sentence(fix: Fix) -> str:
    """The instruction of a "change gain", from its record."""
    assert fix.amount is not None
    verb = "Raise" if fix.amount > 0 else "Lower"
    sentence = f"{verb} the {fix.where} {abs(fix.amount):.1f} dB{window_words(fix.window)}"
    peak, limit = fix.after.get("true_peak_dbtp"), fix.limits.get("true_peak_dbtp")
    if peak is not None:
        sentence += f"; true peak becomes {decibels(peak)} dBTP"
    if limit is not None:
        sentence += f", limit {limit:.1f}"
        over = fix.after.get("peaks_over_db", 0.0)
        sentence += f": hold {over:.1f} dB of peaks first" if over > 0 else ": no peak stands in the way"
        count = fix.after.get("peaks_to_hold")
        if count is not None:
            sentence += f" ({int(count)} place{'' if count == 1 else 's'})"
    return sentence + "."


def window_words(window: Window | None) -> str:
    """ " (window +0.4 to +1.4 dB)", with "at most" or "at least" where it is open; "" if there is none."""
    if window is None:
        return ""
    low, high = window.low, window.high
    if low is not None and high is not None:
        return f" (window {decibels(low)} to {decibels(high)} dB)"
    if high is not None:
        return f" (at most {decibels(high)} dB)"
    return f" (at least {decibels(low)} dB)" if low is not None else ""


def decibels(value: float) -> str:
    """On the resolution of a meter, with a sign: "+0.4", "-1.3", "0.0"."""
    shown = on_meter(value)
    return f"{shown:+.1f}" if shown else "0.0"


def lower_peaks(where: str, measured: float, accepted: float, peaks: int, lowest_gain: float | None) -> Fix:
    """Peaks over the ceiling: hold them, or lower the whole mix if its loudness leaves the room.

    lowest_gain  dB to which the mix may be lowered before its loudness is too low (0 or more if it may not
                 be lowered at all); None if its loudness is not judged
    """
    over = max(0.1, decibels_over(measured, accepted))
    limits = {"true_peak_dbtp": accepted}
    window = None
    if lowest_gain is not None:
        limits["gain_db"] = min(0.0, lowest_gain) + 0.0
        window = Window(lowest_gain, -over) if lowest_gain <= -over else None
    after = {"true_peak_dbtp": round(measured - over, 4), "peaks_to_hold": float(peaks)}
    fix = Fix("lower peaks", -over, "dB", where, "", after, window=window, limits=limits)
    return replace(fix, sentence=peaks_sentence(fix))


def peaks_sentence(fix: Fix) -> str:
    """The instruction of a "lower peaks", from its record."""
    assert fix.amount is not None
    over, count = abs(fix.amount), int(fix.after["peaks_to_hold"])
    said = "this peak" if count == 1 else f"these {count} peaks"
    sentence = f"Hold {said} of the {fix.where} by up to {over:.1f} dB"
    if "gain_db" in fix.limits:
        allowed = f"its loudness allows {abs(fix.limits['gain_db']):.1f} dB"
        if fix.window is not None:
            sentence += f", or lower the whole mix {over:.1f} dB: {allowed}"
        else:
            sentence += f"; lowering the whole mix is no way out, {allowed}"
    return sentence + "."
