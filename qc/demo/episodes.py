"""The mini-season: five episodes of an invented series, what is wrong with each on purpose, and exactly where."""

from __future__ import annotations

from dataclasses import dataclass, field

from qc.demo.outlet_forms import on_whole_seconds
from qc.demo.picture import Dip

SERIES = "Brindlewick Lane"
ONE_MIX = -23.3  # LUFS: the one mix that serves all six outlets


@dataclass(frozen=True)
class Expected:
    """One finding that has to come out.

    requirement  id in the profile
    subject      what it applies to, "" for any
    frames       place in frames of the file (first, end), None if it has none
    value        measured number, None not to compare; ``within`` is how far off it may be
    outcome      "fail", "advisory" or "not measured"
    """

    requirement: str
    subject: str = ""
    frames: tuple[int, int] | None = None
    value: float | None = None
    within: float = 0.0
    outcome: str = "fail"


@dataclass(frozen=True)
class Later:
    """A planted fault that this version does not look for yet: its truth is kept for the day it does."""

    what: str
    frames: tuple[int, int]


@dataclass(frozen=True)
class Version:
    """One file: an episode for an outlet, and every finding that is not a pass.

    acts, start  replace the form's own
    dips         frames darkened, counted in the episode's content
    odd          content frames of a shot that was left over
    """

    episode: int
    outlet: str
    expected: tuple[Expected, ...] = ()
    later: tuple[Later, ...] = ()
    lufs: float = ONE_MIX
    acts: tuple[int, ...] = ()
    start: str = ""
    dips: tuple[Dip, ...] = ()
    odd: tuple[int, ...] = ()
    innocent: tuple[str, ...] = field(default=())  # things that look like faults and are none, in words


TITLES = {
    201: "The Leaning Gate",
    202: "A Bicycle for Two Sisters",
    203: "Rain Barrel Row",
    204: "The Clockmaker's Stairs",
    205: "Window Boxes",
}

#: A fade of twenty frames with sound running: eight down, four black, eight up.
_FADE = (*(step / 9 for step in range(8, 0, -1)), 0, 0, 0, 0, *(step / 9 for step in range(1, 9)))

#: Content frame 500 lies in act 1 (frame 500 of the file), 1400 in act 2 after one break of 30 frames, 2500 in
#: act 3 after two: acts are 960, 958, 990, 958 frames.
_FADE_AT, _BLACK_AT, _LEFTOVER_AT = 500, 1400, 2500

VERSIONS = (
    *(
        Version(201, outlet)
        for outlet in (
            "corvane-5-mini",
            "meadowline-public-mini",
            "velmark-kanal-mini",
            "tidewold-one-mini",
            "kerrawind-mini",
            "hoshinami-net-mini",
        )
    ),
    Version(202, "corvane-5-mini", lufs=-24.9, innocent=("a quiet mix, inside +/-2 LU",)),
    Version(
        202,
        "velmark-kanal-mini",
        (Expected("loudness.programme", value=-24.9, within=0.1),),
        lufs=-24.9,
    ),
    Version(
        203,
        "corvane-5-mini",
        (Expected("structure.act_length", "act 3"),),
        acts=on_whole_seconds((0, 32), (33, 65), (66, 107), (108, 132)),
    ),
    Version(
        204,
        "corvane-5-mini",
        (
            Expected("timecode.counting"),
            Expected("timecode.start", "SOM"),
            Expected("duration.trt"),
        ),
        acts=on_whole_seconds((0, 32), (33, 65), (66, 99), (100, 132), drop=False),
        start="01:00:00:00",
    ),
    Version(
        205,
        "corvane-5-mini",
        (Expected("black.inside_acts", frames=(_BLACK_AT + 30, _BLACK_AT + 31)),),
        (Later("two frames of a shot that was left over", (_LEFTOVER_AT + 60, _LEFTOVER_AT + 62)),),
        dips=(Dip(_FADE_AT, _FADE), Dip(_BLACK_AT, (0.0,))),
        odd=(_LEFTOVER_AT, _LEFTOVER_AT + 1),
        innocent=("a fade of twenty frames through black at frame 500",),
    ),
)
