"""A figure, or why there is none."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Reading:
    """A value in the unit its function names; None with a reason, never NaN or infinity.

    silent   there was something to measure and nothing to hear: a result, unlike a failure to measure
    row      first row of the sound series where a maximum lies, None for a mean
    channel  index in the flat channel list (from 0) where a peak lies, None otherwise
    """

    value: float | None
    reason: str = ""
    row: int | None = None
    channel: int | None = None
    silent: bool = False
