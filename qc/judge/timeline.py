"""What the drawing of a programme to scale shows: its parts, black and silence, curves and their limits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from qc.timing.spans import Span
from qc.timing.timecode import Clock

#: Values of a curve per second.
STEPS_PER_SECOND = 10


@dataclass(frozen=True)
class Part:
    """A stretch of the programme. kind: "head", "act", "break" or "tail"; name as a reader says it ("act 2").

    length  its duration as a label of the file's counting, frame-exact; "" if nobody said
    """

    kind: str
    name: str
    span: Span
    timecode: str
    length: str = ""


@dataclass(frozen=True)
class Curve:
    """A figure over the whole file, one value per 100 ms unless said otherwise; -inf where there is no signal, nan
    where it is undefined.

    values  (steps,) float32; step k covers [k, k + 1) tenths of a second and holds the highest value in it
    unit    "LUFS", "LKFS", "dBTP", "dBFS", "cd/m2" or "%"
    low, target, high  limits to draw, None where there is none: of a loudness curve those of the programme's
            integrated loudness, a band to look at it by; of true peak the ceiling; of a level the floor of silence
    most    highest accepted value of this very figure where the outlet limits it: maximum short-term or momentary
            loudness, the ceiling of true peak with its tolerance of measurement
    """

    name: str
    values: np.ndarray = field(hash=False)
    unit: str
    low: float | None = None
    target: float | None = None
    high: float | None = None
    most: float | None = None

    def __eq__(self, other: object) -> bool:
        """As for any record; two arrays are not compared by themselves."""
        if not isinstance(other, Curve):
            return NotImplemented
        ours, theirs = vars(self) | {"values": None}, vars(other) | {"values": None}
        return ours == theirs and np.array_equal(self.values, other.values, equal_nan=True)


@dataclass(frozen=True)
class GroupCurves:
    """The curves of one judged group. ``channels`` count from 1."""

    name: str
    channels: tuple[int, ...]
    short_term: Curve | None
    momentary: Curve | None
    true_peak: Curve | None


@dataclass(frozen=True)
class Timeline:
    """One file as one outlet sees it.

    frames      length of the file
    rate        frames per second, for the axis
    marks       labelled frames for the axis: (frame, timecode), first and last frame among them
    parts       in order, without gaps where the structure is known; empty if it is not
    black       runs of black by the outlet's rule, in frames
    silence     runs in which all programme channels are silent by the outlet's rule, in frames; pauses left out
    short_term  loudness of the 3 s that end here, of the first judged group; None without sound
    momentary   the same of 400 ms, for short stretches
    true_peak   highest true peak of all channels of that group in each step; None without sound
    group       name of the group that the curves are of
    clock       labels of the file; None: places can only be named by elapsed time
    groups      the curves of every judged group, the first one's again among them
    levels      RMS of 10 ms of single channels (counted from 1), dBFS, with the floor of silence as ``low``
    light       mean luminance of the picture, one value a frame, as the outlet reads flashes; nan where there is none
    flash_areas  by requirement on flashes: percent of the screen that changes together, up and down, one value a frame
                each, with the outlet's limit as ``most``
    no_parts    why the structure is not known; "" if it is
    no_curves   why there are no curves; "" if there are
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
    clock: Clock | None = None
    groups: tuple[GroupCurves, ...] = ()
    levels: Mapping[int, Curve] = field(default_factory=dict)
    light: Curve | None = None
    flash_areas: Mapping[str, tuple[Curve, Curve]] = field(default_factory=dict)
    no_parts: str = ""
    no_curves: str = ""
