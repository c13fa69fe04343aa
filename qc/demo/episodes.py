"""The mini-season: episodes of an invented series, what is wrong with each on purpose, and exactly where.

One entry a file. A new fault is one more ``Version`` here: ``qc demo`` renders it, checks it and keeps its truth.
"""

from __future__ import annotations

from qc.demo.outlet_forms import on_whole_seconds
from qc.demo.picture import Dip
from qc.demo.version import Content, Expected, Noted, Version

SERIES = "Brindlewick Lane"

TITLES = {
    201: "The Leaning Gate",
    202: "A Bicycle for Two Sisters",
    203: "Rain Barrel Row",
    204: "The Clockmaker's Stairs",
    205: "Window Boxes",
    206: "Sparks",
    207: "Corduroy and Slate",
    208: "The Quiet Loom",
    209: "Low Tide, High Shelf",
    210: "Kite Weather",
    211: "The Borrowed Ladder",
    212: "Night Garden",
    213: "Everybody's Bench",
}

OUTLETS = (
    "corvane-5-mini",
    "meadowline-public-mini",
    "velmark-kanal-mini",
    "tidewold-one-mini",
    "kerrawind-mini",
    "hoshinami-net-mini",
)

#: A fade of twenty frames with sound running: eight down, four black, eight up.
_FADE = (*(step / 9 for step in range(8, 0, -1)), 0, 0, 0, 0, *(step / 9 for step in range(1, 9)))

#: Content of 205: in act 1, act 2 and act 3.
_FADE_AT, _BLACK_AT, _LEFTOVER_AT = 500, 1400, 2500

#: 204 counts non-drop-frame: the same labels hold four frames more than drop-frame ones.
_NON_DROP_ACTS = on_whole_seconds((0, 32), (33, 65), (66, 99), (100, 132), drop=False)

VERSIONS = (
    *(Version(201, outlet) for outlet in OUTLETS),
    Version(202, "corvane-5-mini", innocent=(Noted("a quiet mix of -24.9 LKFS, inside +/-2 LU"),), lufs=-24.9),
    Version(
        202,
        "velmark-kanal-mini",
        expected=(Expected("loudness.programme", "programme", value=-24.9, within=0.1),),
        lufs=-24.9,
    ),
    Version(
        203,
        "corvane-5-mini",
        expected=(Expected("structure.act_length", "act 3", at="act 3", value=41 * 30),),
        acts=on_whole_seconds((0, 32), (33, 65), (66, 107), (108, 132)),
    ),
    Version(
        204,
        "corvane-5-mini",
        expected=(
            Expected("timecode.counting", "timecode", at="file", value="non-drop-frame"),
            Expected("timecode.start", "SOM", at="SOM", value="01:00:00:00"),
            Expected("duration.trt", "programme", value=sum(_NON_DROP_ACTS)),
        ),
        acts=_NON_DROP_ACTS,
        start="01:00:00:00",
    ),
    Version(
        205,
        "corvane-5-mini",
        expected=(Expected("black.inside_acts", "acts", at=Content(_BLACK_AT), value=1),),
        later=(Noted("two frames of a shot that was left over", Content(_LEFTOVER_AT, 2)),),
        innocent=(Noted("a fade of twenty frames through black", Content(_FADE_AT, len(_FADE))),),
        dips=(Dip(_FADE_AT, _FADE), Dip(_BLACK_AT, (0.0,))),
        odd=(_LEFTOVER_AT, _LEFTOVER_AT + 1),
    ),
)
