"""Frozen pictures against FFmpeg's freezedetect (-60 dB, one second), on film and cards, as they are and after MPEG-2.

freezedetect compares the mean difference of the whole picture from the frame at which it last began anew. Where the two
differ, the part says why ours is right: a freeze is told by its busiest cell and by pixels that are exactly equal.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pytest

from qc.timing.spans import Span
from tests.kit.film_faults import SIZE, film_pictures
from tests.kit.frame_figures import Frames, frames_of_file
from tests.kit.render import render, run

pytestmark = pytest.mark.realmedia

WIDTH, HEIGHT = SIZE
STILL, MOVING = 50, 30


@dataclass(frozen=True)
class Part:
    """ours: "freeze", "still" or "" for neither; theirs: what freezedetect says; why, where the two differ."""

    name: str
    ours: str
    theirs: bool
    why: str = ""


PARTS = (
    Part("the film stops within its shot", "freeze", True),
    Part("a title card", "still", True),
    Part("a photograph with a camera's noise", "", False),
    Part("a photograph with faint noise", "", True, "its noise is alive: every frame is a new one"),
    Part("a card with a running clock", "", True, "digits move, too small for the mean of the picture: no freeze"),
    Part("black", "", True, "black is no frozen picture; it has checks of its own"),
)


def parts() -> Iterator[tuple[Part | None, list[np.ndarray]]]:
    """Film moves between the parts; before and after the freeze in one shot, beside the others there are cuts."""
    rng = np.random.default_rng(1)
    film = list(film_pictures(1816, 2 * MOVING))
    others = [list(film_pictures(first, MOVING)) for first in (8600, 8780, 10240, 3420, 7460)]
    photo = next(film_pictures(9300, 1))
    card = _card("")
    makes = {
        PARTS[0].name: [film[MOVING - 1]] * STILL,
        PARTS[1].name: [_card("BRINDLEWICK LANE")] * STILL,
        PARTS[2].name: [_noisy(photo, 1.5, rng) for _ in range(STILL)],
        PARTS[3].name: [_noisy(photo, 0.25, rng) for _ in range(STILL)],
        PARTS[4].name: [_card(f"00:{frame // 25:02}:{frame % 25:02}", 0.5) for frame in range(STILL)],
        PARTS[5].name: [np.concatenate([np.full_like(card[:HEIGHT], 16), np.full_like(card[HEIGHT:], 128)])] * STILL,
    }
    yield None, film[:MOVING]
    for part, after in zip(PARTS, [film[MOVING:], *others], strict=True):
        yield part, makes[part.name]
        yield None, after


def _card(text: str, size: float = 1.4) -> np.ndarray:
    picture = np.full((HEIGHT * 3 // 2, WIDTH), 128, np.uint8)
    picture[:HEIGHT] = np.linspace(50, 90, WIDTH).astype(np.uint8)
    cv2.putText(picture[:HEIGHT], text, (60, 200), cv2.FONT_HERSHEY_SIMPLEX, size, 200, 2, cv2.LINE_AA)
    return picture


def _noisy(picture: np.ndarray, sigma: float, rng: np.random.Generator) -> np.ndarray:
    return np.clip(np.rint(picture + rng.normal(0, sigma, picture.shape)), 0, 255).astype(np.uint8)


def spans() -> dict[str, Span]:
    """Each part of STILL frames, with MOVING ones before and after it."""
    firsts = range(MOVING, MOVING + len(PARTS) * (STILL + MOVING), STILL + MOVING)
    return {part.name: Span(first, first + STILL) for part, first in zip(PARTS, firsts, strict=True)}


@pytest.fixture(scope="module", params=["not coded", "mpeg2"])
def seen(request, film: Path, media_dir: Path) -> tuple[str, dict[str, Span], Frames, Path]:
    """Form, parts, our figures, and the file."""
    codec, suffix = (["-c:v", "ffv1"], ".mkv") if request.param == "not coded" else (
        ["-c:v", "mpeg2video", "-b:v", "15M", "-maxrate", "15M", "-bufsize", "6M", "-g", "12", "-bf", "2"], ".mxf"
    )  # fmt: skip
    path = media_dir / f"freezes{suffix}"
    raw = ["-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", f"{WIDTH}x{HEIGHT}", "-r", "25", "-i", "pipe:"]
    fed = (picture.tobytes() for _, pictures in parts() for picture in pictures)
    render(path, [*raw, *codec, "-threads", "1"], feed=fed)
    return request.param, spans(), frames_of_file(path), path


def freezedetect(path: Path, noise: str) -> list[Span]:
    """FFmpeg 9; it names the frame that stops as the first, and the one that moves again as the end."""
    said = run(["-i", str(path), "-vf", f"freezedetect=n={noise}:d=1", "-an", "-f", "null", "-"])
    starts, ends = (
        [round(float(at) * 25) for at in re.findall(rf"freeze_{edge}: ([\d.]+)", said)] for edge in ("start", "end")
    )
    return [Span(*both) for both in zip(starts, ends, strict=True)]


def test_ours_are_what_was_made(seen):
    """To the frame: from the frame that stops to its last repeat, and nothing else of a second."""
    _, at, frames, _ = seen
    found = {(run.span.first, run.span.end): "still" if run.still else "freeze" for run in frames.stills(25)}
    wanted = {}
    for part in PARTS:
        if part.ours:
            span = at[part.name]
            first = span.first - (part.ours == "freeze")  # the frame before is the same picture, from the film itself
            wanted[first, span.end] = part.ours
    assert found == wanted


def test_theirs_agree_but_for_the_parts_that_say_why(seen):
    """As they are, at -60 dB. After MPEG-2 its keyframes end a freeze for freezedetect, for us they do not: at -50 dB,
    over these pulses, it agrees with us again, to a group of pictures (12)."""
    form, at, _, path = seen
    theirs, slack = (freezedetect(path, "-60dB"), 1) if form == "not coded" else (freezedetect(path, "-50dB"), 12)
    for part in PARTS:
        span = at[part.name]
        hit = [one for one in theirs if one.overlap(span) > STILL // 2]
        if form == "not coded":
            assert bool(hit) is part.theirs, part.name
        if part.ours:
            assert abs(hit[0].first - span.first) <= slack and abs(hit[0].end - span.end) <= slack, part.name
        assert part.theirs is bool(part.ours) or part.why
    assert not [one for one in theirs if not any(one.overlap(span) for span in at.values())]
