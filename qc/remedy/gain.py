"""Gain to target, the window that is allowed, and what stands in its way.

A constant gain moves integrated, short-term and peak figures alike by its decibels; the gates of
BS.1770 move with the programme except the absolute one at -70 LKFS, which programme sound is far from.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from qc.remedy.fix import Fix


@dataclass(frozen=True)
class Ceiling:
    """Highest true peak accepted, dBTP, and the highest one measured (None: no signal, or not judged).

    places  how many places lie over a level in dBTP, for "hold 0.7 dB of peaks first (3 places)"
    """

    accepted: float | None
    measured: float | None
    places: Callable[[float], int] | None = None


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
    gain = _gain(measured, low, high, target)
    down = None if low is None else low - measured
    up = None if high is None else high - measured
    after = {"integrated": round(measured + gain, 2)}
    verb = "Raise" if gain > 0 else "Lower"
    sentence = f"{verb} the {where} {abs(gain):.1f} dB{_window(down, up)}"
    if ceiling.measured is not None:
        peak = ceiling.measured + gain
        after["true_peak_dbtp"] = round(peak, 2)
        sentence += _peak_words(peak, ceiling.accepted)
        over = _over(peak, ceiling.accepted)
        if over > 0 and ceiling.accepted is not None:
            after["peaks_over_db"] = over
            if ceiling.places is not None:
                count = ceiling.places(ceiling.accepted - gain)
                after["peaks_to_hold"] = float(count)
                sentence += f" ({count} place{'' if count == 1 else 's'})"
    return Fix("change gain", gain, "dB", where, sentence + ".", after)


def _gain(measured: float, low: float | None, high: float | None, target: float | None) -> float:
    """To the target, or just over the nearest bound, in steps of 0.1 dB."""
    if target is not None:
        return round(target - measured, 1)
    if low is not None and measured < low:
        return math.ceil(round((low - measured) * 10, 6)) / 10
    if high is not None and measured > high:
        return math.floor(round((high - measured) * 10, 6)) / 10
    return 0.0


def _window(down: float | None, up: float | None) -> str:
    if down is not None and up is not None:
        return f" (window {down:+.1f} to {up:+.1f} dB)"
    if up is not None:
        return f" (at most {up:+.1f} dB)"
    return f" (at least {down:+.1f} dB)" if down is not None else ""


def _over(peak: float, accepted: float | None) -> float:
    """Decibels over the ceiling on the resolution of a meter."""
    return 0.0 if accepted is None else max(0.0, round(round(peak, 1) - accepted, 1))


def _peak_words(peak: float, accepted: float | None) -> str:
    said = f"; true peak becomes {peak:+.1f} dBTP".replace("+0.0", "0.0").replace("-0.0 ", "0.0 ")
    if accepted is None:
        return said
    said += f", limit {accepted:.1f}"
    over = _over(peak, accepted)
    return f"{said}: hold {over:.1f} dB of peaks first" if over > 0 else f"{said}: no peak stands in the way"


def lower_peaks(where: str, measured: float, accepted: float, peaks: int, room_db: float | None) -> Fix:
    """Peaks over the ceiling: hold them, or lower the whole mix if its loudness leaves the room.

    room_db  decibels that the mix may be lowered before its loudness is too low; None if it is not judged
    """
    over = max(0.1, round(round(measured, 1) - accepted, 1))
    count = "this peak" if peaks == 1 else f"these {peaks} peaks"
    sentence = f"Hold {count} of the {where} by up to {over:.1f} dB"
    if room_db is not None and room_db + 1e-9 >= over:
        sentence += f", or lower the whole mix {over:.1f} dB: its loudness allows {room_db:.1f} dB"
    elif room_db is not None:
        sentence += f"; lowering the whole mix is no way out, its loudness allows {max(0.0, room_db):.1f} dB"
    return Fix("lower peaks", -over, "dB", where, sentence + ".", {"true_peak_dbtp": round(measured - over, 2)})
