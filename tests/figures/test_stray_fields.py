"""Single fields of another picture, planted in the open film: each is found, flashes in one field are none.

The truth is known by the making. Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Mapping
from pathlib import Path

import cv2
import numpy as np
import pytest

from qc.figures.stray_fields import stray_fields
from tests.kit.film_faults import SIZE, STRANGE, field_of, film_pictures, lit, with_field
from tests.kit.frame_figures import frames_of, frames_of_file, planes_420
from tests.kit.render import program
from tests.kit.woven_film import OWN_PACE, STANDS, Move, Shot, in_fields

pytestmark = pytest.mark.realmedia

WIDTH, HEIGHT = SIZE
INSIDE, AT_A_CUT = "field inside a shot", "field at a cut"
#: By frame the parity (0 upper field) and which strange picture. Cuts are at 60 and 120: one before, one after a cut.
PLANTED = {
    10: (0, 0),
    25: (1, 1),
    40: (1, 2),
    59: (1, 3),
    75: (0, 3),
    90: (1, 0),
    105: (0, 2),
    120: (0, 1),
    135: (1, 1),
}
EXPECTED = {frame: AT_A_CUT if frame in (59, 120) else INSIDE for frame in PLANTED}


def in_frames() -> list[np.ndarray]:
    """Film as it was shot, both fields of a moment."""
    return [picture for first in (566, 8780, 1816) for picture in film_pictures(first, 60)]


def woven() -> list[np.ndarray]:
    """Things that move with every field, a camera that does, and both."""
    shots = (
        Shot(566, 60, 1.0, STANDS),
        Shot(8780, 60, OWN_PACE, Move(60.0, 30.0)),
        Shot(1816, 60, 1.0, Move(80.0, 40.0)),
    )
    return [picture for shot in shots for picture in in_fields(list(shot.moments()))]


def planted(pictures: list[np.ndarray]) -> list[np.ndarray]:
    strange = [next(film_pictures(first, 1)) for first in STRANGE]
    return [
        with_field(picture, field_of(strange[PLANTED[at][1]], PLANTED[at][0]), PLANTED[at][0])
        if at in PLANTED
        else picture
        for at, picture in enumerate(pictures)
    ]


def found(pictures: list[np.ndarray]) -> Mapping[int, str]:
    seen = frames_of(planes_420(picture, SIZE, number, interlaced=True) for number, picture in enumerate(pictures))
    return {stray.span.first: stray.kind for stray in stray_fields(seen.series)}


@pytest.mark.parametrize("made", [in_frames, woven])
def test_planted_fields_are_found_and_nothing_else(film: Path, made: object) -> None:
    """In both fields, inside shots and on either side of a cut; where no field is planted nothing is found."""
    assert callable(made)
    pictures = made()
    assert found(planted(pictures)) == EXPECTED
    assert found(pictures) == {}


@pytest.mark.parametrize(
    ("suffix", "codec"),
    [
        (".mxf", ("-vf", "setfield=tff", "-c:v", "mpeg2video", "-b:v", "15M", "-flags:v", "+ildct+ilme")),
        (".mov", ("-c:v", "libx264", "-preset", "veryfast", "-crf", "18")),
    ],
    ids=["MPEG-2 in fields", "H.264 in frames"],
)
def test_planted_fields_are_found_after_coding(
    film: Path, media_dir: Path, suffix: str, codec: tuple[str, ...]
) -> None:
    path = media_dir / f"stray-fields-{codec[-1]}{suffix}"
    size = ("-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", f"{WIDTH}x{HEIGHT}", "-r", "25", "-i", "pipe:")
    command = [program(), "-hide_banner", "-loglevel", "error", "-y", *size, *codec, "-threads", "1", str(path)]
    subprocess.run(command, input=b"".join(picture.tobytes() for picture in planted(woven())), check=True)
    assert {stray.span.first: stray.kind for stray in stray_fields(frames_of_file(path).series)} == EXPECTED


def flashes() -> Iterator[np.ndarray]:
    """Of one field, from weak ones to such that burn out, in dark and in bright shots; one white."""
    for first in (1816, 8600, 8780, 3420):
        moments = list(Shot(first, 60, OWN_PACE, Move(80.0, 40.0)).moments())
        for number, at in enumerate(range(8, 110, 13)):
            moments[at] = lit(moments[at], 0.15 + 0.1 * number)
        moments[115][:HEIGHT] = 235
        yield from in_fields(moments)


def test_flashes_in_one_field_are_none(film: Path) -> None:
    assert found(list(flashes())) == {}


def test_lettering_and_damage_in_one_field_are_none(film: Path) -> None:
    """Not everywhere: a caption that one field has for a frame, and a quarter of the picture gone in one field."""
    pictures = woven()
    caption, torn = pictures[30].copy(), pictures[80].copy()
    cv2.putText(caption[:HEIGHT], "BRINDLEWICK LANE", (60, 300), cv2.FONT_HERSHEY_SIMPLEX, 1.6, 235, 6)
    torn[: HEIGHT // 2, : WIDTH // 2] = 16
    for at, other, parity in ((30, caption, 0), (80, torn, 1)):
        pictures[at] = with_field(pictures[at], field_of(other, parity), parity)
    assert found(pictures) == {}
