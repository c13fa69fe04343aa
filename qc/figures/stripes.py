"""Regular stripes that fill so much of the screen, for so long, that a person should look.

Source of the rule: ITU-R BT.1702-3, Guideline 2 and its attachment: more than five light-dark pairs, over 40 % of
the screen at rest, 25 % if they oscillate, flash or reverse; a smooth drift in one direction is exempt.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from qc.meters.picture.stripes_series import COLUMNS, LOOKS
from qc.timing.spans import Span

#: Least contrast, and most movement in periods, of stripes that neither flash, nor swing, nor reverse within a
#: quarter of a second (no source).
_STEADY_CONTRAST, _STEADY_WANDER, _STEADY_JUMP = 0.5, 0.2, 0.35
#: From this movement on, in periods within a quarter of a second, stripes drift (no source).
_DRIFTS = 0.1
#: Finds this near, in seconds, belong together; a single look is no pattern (it has to stay for half a second).
_NEAR = Fraction(5, 4)
#: Stripes of the next look are others from this turn in degrees, or this part of their pairs, on (no source).
_TURNED, _RECOUNTED = 15.0, 0.25


@dataclass(frozen=True)
class StripeRule:
    """Shares of the screen in percent over which stripes are told of."""

    still_percent: float = 40.0
    changing_percent: float = 25.0


@dataclass(frozen=True)
class StripeEvent:
    """area in percent, of the worst look; direction in degrees from the horizontal; pairs side by side; ``changing``
    if they oscillate, flash or reverse; ``worst`` is the frame of that look."""

    span: Span
    area: float
    direction: float
    pairs: float
    changing: bool
    worst: int


def stripe_events(series: Mapping[str, np.ndarray], rate: Fraction, frames: int, rule: StripeRule) -> list[StripeEvent]:
    """Stretches of at least two looks, less than so far apart, that the rule is about."""
    found = series["stripes.found"].astype(np.float64)
    frame, area, direction, pairs, contrast, drift, wander, jump = (found[:, at] for at in range(len(COLUMNS)))
    near = float(rate * _NEAR)
    drifts = np.abs(drift) >= _DRIFTS
    changing = (contrast < _STEADY_CONTRAST) | (wander > _STEADY_WANDER) | (jump > _STEADY_JUMP)
    # A look that lost its stripes to a cut says nothing of how they moved: it goes by the look before it
    before = np.arange(len(found)) - 1
    known = np.r_[False, np.diff(frame) <= near]
    for look in np.flatnonzero(_lost(frame, direction, pairs, contrast, near)):
        changing[look] = known[look] and changing[before[look]]
        drifts[look] = known[look] and drifts[before[look]]
    turns = np.zeros(len(found), bool)  # the other way than at the look before
    turns[1:] = drifts[1:] & drifts[:-1] & (np.sign(drift[1:]) != np.sign(drift[:-1])) & known[1:]
    changing |= turns
    changing &= _near_another(frame, changing, near)
    wrong = np.flatnonzero(
        (changing & (area > rule.changing_percent)) | (~changing & ~drifts & (area > rule.still_percent))
    )
    events = []
    for group in np.split(wrong, np.flatnonzero(np.diff(frame[wrong]) > near) + 1):
        if len(group) < 2:
            continue
        worst = int(group[np.argmax(area[group])])
        end = min(frames, int(frame[group[-1]]) + round(rate / LOOKS))
        events.append(
            StripeEvent(
                Span(int(frame[group[0]]), max(end, int(frame[group[-1]]) + 1)),
                float(area[worst]),
                float(direction[worst]),
                float(pairs[worst]),
                bool(changing[group].any()),
                int(frame[worst]),
            )
        )
    return events


def _lost(frame: np.ndarray, direction: np.ndarray, pairs: np.ndarray, contrast: np.ndarray, near: float) -> np.ndarray:
    """(looks,) bool: the stripes went while they were followed, and the next look has none of the kind."""
    gone = contrast < _STEADY_CONTRAST
    again = np.zeros(len(frame), bool)
    turned = np.abs((np.diff(direction) + 90.0) % 180.0 - 90.0) >= _TURNED
    recounted = np.abs(np.diff(pairs)) >= _RECOUNTED * np.maximum(pairs[1:], pairs[:-1])
    again[:-1] = (np.diff(frame) <= near) & ~turned & ~recounted
    return gone & ~again


def _near_another(frame: np.ndarray, told: np.ndarray, near: float) -> np.ndarray:
    """(looks,) bool: those told of that have another of them near: one look alone is no pattern."""
    looks = np.flatnonzero(told)
    close = np.diff(frame[looks]) <= near
    kept = np.zeros(len(frame), bool)
    kept[looks] = np.r_[False, close] | np.r_[close, False] if len(looks) else False
    return kept
