"""Conversions of the open film by FFmpeg's filters (telecine, fps, framerate): which cadence they leave, and where.

Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0. 24 frames a second, no cadence of its own.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tests.kit.frame_figures import Frames, frames_by_ffmpeg, frames_of_file
from tests.kit.render import NTSC, render

pytestmark = pytest.mark.realmedia

SIZE = (640, 360)
AT, SECONDS = 62, 8  # something moves all through
HIGH = Fraction(60000, 1001)
#: Filters, the rate that they lead to, and the cadence: kind, period.
CONVERSIONS = {
    "2:3 in fields": ("telecine=pattern=23", NTSC, "2:3", 5),
    "2:3 in fields, lower first": ("telecine=first_field=b:pattern=32", NTSC, "2:3", 5),
    "2:3 in frames": ("fps=60", Fraction(60), "2:3", 5),
    "2:3 in frames of 59.94": ("settb=1/24000,setpts=N*1001,fps=60000/1001", HIGH, "2:3", 5),
    "25 to 59.94": ("settb=1/25,setpts=N,fps=60000/1001", HIGH, "regular repeats", 12),
    "24 to 50": ("fps=50", Fraction(50), "regular repeats", 25),
    "25 to 29.97 in fields": (
        "settb=1/25,setpts=N,fps=60000/1001,tinterlace=interleave_top",
        NTSC,
        "regular repeats",
        6,
    ),
    "2:3 in frames, rounded": ("setpts=N*1001/24000/TB,fps=60000/1001", HIGH, "2:3", 5),
    "every frame twice": ("fps=12,fps=24", Fraction(24), "2:2", 2),
    "25 to 30": ("setpts=N/25/TB,fps=30", Fraction(30), "regular repeats", 6),
    "24 to 25": ("fps=25", Fraction(25), "regular repeats", 25),
}


@pytest.fixture(scope="module")
def seen(film: Path) -> Callable[[str, Fraction, float], Frames]:
    made: dict[tuple[str, float], Frames] = {}

    def frames(filters: str, rate: Fraction, seconds: float = SECONDS) -> Frames:
        key = filters, seconds
        if key not in made:
            source = ["-ss", str(AT), "-t", str(seconds), "-i", str(film)]
            scaled = f"scale={SIZE[0]}:{SIZE[1]}:flags=area"
            made[key] = frames_by_ffmpeg(
                [*source, "-vf", f"{scaled},{filters}", "-fps_mode", "passthrough"], SIZE, rate
            )
        return made[key]

    return frames


@pytest.mark.parametrize("name", CONVERSIONS)
def test_a_conversion_is_recognised_and_no_fault(name, seen):
    """One kind, one period, over nine tenths of the cut; no frame of it is a repeat, a missing or a stray one."""
    filters, rate, kind, period = CONVERSIONS[name]
    frames = seen(filters, rate)
    assert {one.kind for one in frames.cadences} == {kind}
    assert {round(one.period) for one in frames.cadences} == {period}
    assert {one.fields for one in frames.cadences} == {"fields" in name}
    covered = sum(one.span.frames for one in frames.cadences)
    assert covered >= 0.9 * frames.series.frames
    assert not {"repeat", "drop", "stray", "broken", "hit"} & set(frames.alarms())


@pytest.mark.parametrize("name", ["2:3 in frames", "25 to 30", "every frame twice", "24 to 25"])
def test_the_repeats_of_a_cadence_are_the_frames_that_are_equal(name, seen):
    """What FFmpeg put in again is equal to the code; all of it within the stretch is told, and nothing else."""
    filters, rate, _, _ = CONVERSIONS[name]
    frames = seen(filters, rate)
    (one,) = frames.cadences
    equal = np.flatnonzero((frames.series["motion.equal"] == 1) & (frames.series["motion.mean"] == 0))
    inside = {int(frame) for frame in equal if one.span.first <= frame < one.span.end}
    told = set(one.repeated)
    assert told <= inside and len(told) >= 0.95 * len(inside)


def test_film_in_fields_is_recognised_after_mpeg_2(film, media_dir):
    """Combed frames at a rate that leaves as much noise in a field that repeats as a third of the motion."""
    path = media_dir / "film-in-fields.mxf"
    source = ["-ss", str(AT), "-t", str(SECONDS), "-i", str(film), "-an"]
    filters = "scale=960:540,setpts=N/(24000/1001)/TB,fps=24000/1001,telecine=pattern=23,setfield=tff"
    codec = ["-c:v", "mpeg2video", "-b:v", "15M", "-maxrate", "15M", "-bufsize", "6M", "-g", "12", "-bf", "2"]
    fields = ["-flags:v", "+ildct+ilme", "-threads", "1"]
    render(path, [*source, "-vf", filters, "-r", "30000/1001", *codec, *fields])
    frames = frames_of_file(path)
    assert {(one.kind, one.fields) for one in frames.cadences} == {("2:3", True)}
    assert sum(one.span.frames for one in frames.cadences) >= 0.8 * frames.series.frames
    assert not frames.alarms()


def test_a_cut_after_the_conversion_breaks_the_cadence(seen):
    """Two frames taken out of the telecined film: the repeats go on two frames early, within a period of the place."""
    frames = seen("telecine=pattern=23,select='not(between(n,100,101))'", NTSC)
    (broken,) = frames.broken
    assert abs(broken - 100) <= 5


def test_a_cut_after_frames_were_spread_breaks_the_cadence(seen):
    """Three of 59.94 frames taken out: the beat of 25 in 59.94 goes on elsewhere, from there on."""
    frames = seen("settb=1/25,setpts=N,fps=60000/1001,select='not(between(n,200,202))'", HIGH)
    (broken,) = frames.broken
    assert abs(broken - 200) <= 12


def test_fields_that_slip_by_turns_are_in_step(seen):
    """25 frames woven to 29.97: each field slips every 199 frames, the other in the midst between. Half a minute."""
    frames = seen("settb=1/25,setpts=N,fps=60000/1001,tinterlace=interleave_top", NTSC, 30.0)
    assert {(one.kind, one.period, one.fields) for one in frames.cadences} == {("regular repeats", 6, True)}
    assert not frames.broken


BLENDS = {
    "25 to 29.97": ("setpts=N/25/TB,framerate=30000/1001:interp_start=0:interp_end=255:scene=100", NTSC, 6),
    "30 to 25": ("setpts=N/30/TB,framerate=25:interp_start=0:interp_end=255:scene=100", Fraction(25), 5),
    "24 to 25": ("framerate=25:interp_start=0:interp_end=255:scene=100", Fraction(25), 24),  # 24 and 25 by turns
}


@pytest.mark.parametrize("name", BLENDS)
def test_a_blended_conversion_is_recognised(name, seen):
    """FFmpeg's framerate filter mixes the two frames around each new moment. Told over most of the cut."""
    filters, rate, period = BLENDS[name]
    frames = seen(filters, rate, 45.0 if name == "24 to 25" else 24.0)
    assert {int(one.period) for one in frames.blends} == {period}
    assert sum(one.span.frames for one in frames.blends) >= 0.7 * frames.series.frames
    assert not {"repeat", "drop", "stray", "broken", "hit"} & set(frames.alarms())


def test_the_film_as_it_is_has_no_cadence(seen):
    frames = seen("null", Fraction(24), 24.0)
    assert not frames.cadences and not frames.alarms()
