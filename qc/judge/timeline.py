"""What the drawing of a programme to scale shows: its parts, black and silence, curves and their limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qc.timing.spans import Span


@dataclass(frozen=True)
class Part:
    """A stretch of the programme. kind: "head", "act", "break" or "tail"; name as a reader says it ("act 2")."""

    kind: str
    name: str
    span: Span
    timecode: str


@dataclass(frozen=True)
class Curve:
    """A figure over the whole file, one value per 100 ms; -inf where there is no signal, nan where it is undefined.

    values  (steps,) float32
    unit    "LUFS", "LKFS" or "dBTP"
    low, target, high  limits to draw, None where there is none
    """

    name: str
    values: np.ndarray
    unit: str
    low: float | None = None
    target: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Timeline:
    """One file as one outlet sees it.

    frames      length of the file
    rate        frames per second, for the axis
    marks       labelled frames for the axis: (frame, timecode), first and last frame among them
    parts       in order, without gaps where the structure is known; empty if it is not
    black       runs of black by the outlet's rule, in frames
    silence     runs in which all programme channels are silent by the outlet's rule, in frames
    short_term  loudness of the 3 s that end here, of the first judged group; None without sound
    momentary   the same of 400 ms, for short stretches
    true_peak   highest true peak of all channels of that group in each step; None without sound
    group       name of the group that the curves are of
    """

    frames: int
    rate: float
    marks: tuple[tuple[int, str], ...]
    parts: tuple[Part, ...]
    black: tuple[Span, ...]
    silence: tuple[Span, ...]
    short_term: Curve | None
    momentary: Curve | None
    true_peak: Curve | None
    group: str
