"""The mini-season: episodes of an invented series, what is wrong with each on purpose, and exactly where.

One entry a file. A new fault is one more ``Version`` here: ``qc demo`` renders it, checks it and keeps its truth.
"""

from __future__ import annotations

from qc.demo.outlet_forms import on_whole_seconds
from qc.demo.picture import SCENE_FRAMES
from qc.demo.staging import Dip, Light, Shot, Staging, flashes
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
_FADE_AT, _BLACK_AT, _LEFTOVER_AT = 500, 1430, 2500

#: The camera that shot 205 and 212 has a pixel that is always white.
_HOT_PIXEL = (236, 47)
_HOT_PIXEL_SEEN = Expected(
    "stuck_pixels.programme", "picture", outcome="advisory", anywhere=True, says="column 236, row 47;"
)


def _shot(kind: str, scene: int, scenes: int = 1) -> Shot:
    return Shot(kind, scene * SCENE_FRAMES, scenes * SCENE_FRAMES)


def _in(shot: Shot) -> Content:
    return Content(shot.first, shot.frames)


#: 206: eleven arcs in 2.4 s (72 frames), each of two frames; the eleventh goes out in frame 67 after the first.
_WORKSHOP, _PRESS = _shot("workshop", 8, 2), _shot("wall", 33)
_ARCS_AT, _ARCS, _ARC_FRAMES, _ARCS_UNTIL = 800, 11, 72, 868
_ONE_FLASH_AT, _THREE_FLASHES_AT = 1500, 3100

#: 207: cloth and slates in acts 1 to 3, the door in act 4.
_CORDUROY, _TROUSERS = _shot("corduroy", 4), _shot("corduroy trousers", 23)
_SWINGING, _DRIFTING = _shot("slates, camera swings", 12), _shot("slates, camera drifts", 20)
_RED_DOOR = _shot("red door", 28)

#: 210: one frame twice in act 1; in act 2 four scenes that came from 25 frames a second.
_TWICE_AT, _CONVERTED = 300, (12 * SCENE_FRAMES, 4 * SCENE_FRAMES)

#: 212: the lamp flickers in the second of the gardens.
_GARDENS = tuple(_shot("night garden", scene) for scene in (2, 11, 20, 29))
_FLICKER_AT = 1070

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
        expected=(
            Expected("black.inside_acts", "acts", at=Content(_BLACK_AT), value=1),
            Expected("frames.strays", "picture", at=Content(_LEFTOVER_AT, 2), value=2),
            _HOT_PIXEL_SEEN,
        ),
        innocent=(Noted("a fade of twenty frames through black", Content(_FADE_AT, len(_FADE))),),
        staging=Staging(
            dips=(Dip(_FADE_AT, _FADE), Dip(_BLACK_AT, (0.0,))),
            leftover=(_LEFTOVER_AT, _LEFTOVER_AT + 1),
            hot_pixel=_HOT_PIXEL,
        ),
    ),
    Version(
        206,
        "hoshinami-net-mini",
        # Eleven flashes in 2.4 s, over 51 % of the screen.
        expected=(
            Expected("flashing.flashes", "flashes", at=Content(_ARCS_AT, _ARCS_UNTIL - _ARCS_AT), value=10, within=1),
        ),
        innocent=(
            Noted("a photographer's flash", Content(_ONE_FLASH_AT, 2)),
            Noted("three flashes of the press in a second", Content(_THREE_FLASHES_AT, 22)),
        ),
        staging=Staging(
            shots=(_WORKSHOP, _PRESS),
            lights=(
                *flashes("arc", _ARCS_AT, _ARCS, _ARC_FRAMES),
                Light("photo", _ONE_FLASH_AT, (1.0, 0.4)),
                *(Light("photo", _THREE_FLASHES_AT + apart, (1.0, 0.4)) for apart in (0, 10, 20)),
            ),
        ),
    ),
    Version(
        207,
        "kerrawind-mini",
        # Stripes are looked for twice a second, and the roof only counts where it is seen to turn round.
        expected=(
            Expected("levels.range", "red, high", at=_in(_RED_DOOR), value=7.0, within=1.0, says="reaching 109 %"),
            Expected(
                "flashing.patterns", "stripes", at=_in(_CORDUROY), value=60, within=5, outcome="advisory", slack=13
            ),
            Expected(
                "flashing.patterns", "stripes", at=_in(_SWINGING), value=35, within=3, outcome="advisory", slack=35
            ),
        ),
        innocent=(
            Noted("the same slates, drifting in one direction", _in(_DRIFTING)),
            Noted("corduroy over 20 % of the screen", _in(_TROUSERS)),
        ),
        staging=Staging(shots=(_CORDUROY, _SWINGING, _DRIFTING, _TROUSERS, _RED_DOOR)),
    ),
    Version(
        210,
        "corvane-5-mini",
        # The lower field is the earlier one, flagged the other way round; one frame is there twice; a stretch was
        # converted from 25 frames a second by showing every fifth twice. It is told to one period of that.
        expected=(
            Expected("field_order.measured", "picture", value="bottom first"),
            Expected("frames.repeats", "picture", at=Content(_TWICE_AT), value=1, outcome="advisory"),
            Expected(
                "cadence.accepted",
                "picture",
                at=Content(*_CONVERTED),
                value="regular repeats",
                outcome="advisory",
                slack=6,
                says="period of 6 frames",
            ),
        ),
        staging=Staging(bottom_first=True, repeats=(_TWICE_AT,), converted=(_CONVERTED,)),
    ),
    Version(
        212,
        "kerrawind-mini",
        expected=(_HOT_PIXEL_SEEN,),
        innocent=(
            *(Noted("a garden at night: nearly black, nothing moves", _in(garden)) for garden in _GARDENS),
            Noted("the lamp flickers for two frames", Content(_FLICKER_AT, 2)),
        ),
        staging=Staging(shots=_GARDENS, dips=(Dip(_FLICKER_AT, (0.6, 0.6)),), dim=0.35, hot_pixel=_HOT_PIXEL),
    ),
)
