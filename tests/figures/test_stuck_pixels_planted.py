"""Stuck pixels planted in the film at random places and of random brightness, and what must not be taken for one.

The truth is known by construction: places, values and sizes come from seeds. There is no published method and no
FFmpeg filter to compare with.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from qc.figures.stuck_pixels import StuckPixel, stuck_pixels
from qc.media.letters import written
from qc.meters.picture.planes import Planes
from qc.meters.picture.stuck import StuckPixelMeter
from tests.kit.geometry import film_pictures, kind, series_of
from tests.kit.render import render

pytestmark = pytest.mark.realmedia

SIZE = (640, 360)
#: At this rate the meter looks at every frame it is given.
EVERY_FRAME = Fraction(1)


@dataclass(frozen=True)
class Planted:
    """Columns and rows of the upper left pixels, sides in pixels, and what stands there: a value, or an addition."""

    places: np.ndarray
    size: np.ndarray
    value: np.ndarray
    adds: np.ndarray

    def put(self, luma: np.ndarray) -> np.ndarray:
        out = luma.copy()
        for (column, row), size, value, adds in zip(self.places, self.size, self.value, self.adds, strict=True):
            spot = out[row : row + size, column : column + size]
            spot[:] = np.clip(spot.astype(int) + value, 16, 235) if adds else value
        return out

    def hit(self, one: StuckPixel) -> np.ndarray:
        """Which of them a place lies on."""
        column, row = one.column - self.places[:, 0], one.row - self.places[:, 1]
        return (column >= 0) & (column < self.size) & (row >= 0) & (row < self.size)


def planted(seed: int, count: int, sizes: tuple[int, ...] = (1, 1, 1, 2, 3), raster: tuple[int, int] = SIZE) -> Planted:
    """Hot (170 to 235), dead (16 to 40) or brighter by 50 to 160, anywhere on the raster, 24 pixels apart or more."""
    rng = np.random.default_rng(seed)
    places: list[np.ndarray] = []
    while len(places) < count:
        place = np.array([rng.integers(0, raster[0] - 3), rng.integers(0, raster[1] - 3)])
        if all(np.abs(place - other).max() >= 24 for other in places):
            places.append(place)
    which = rng.integers(0, 3, count)
    low, high = np.array([170, 16, 50]), np.array([236, 41, 161])
    return Planted(np.array(places), rng.choice(sizes, count), rng.integers(low[which], high[which]), which == 2)


def found_in(pictures: Iterable[np.ndarray]) -> list[StuckPixel]:
    meter = StuckPixelMeter(kind(EVERY_FRAME))
    for number, luma in enumerate(pictures):
        meter.feed(Planes(number, np.ascontiguousarray(luma), None, None, 8))
    return stuck_pixels(meter.finish())


@pytest.fixture(scope="module")
def looks(media_dir: Path) -> np.ndarray:
    """140 pictures from all over the film."""
    return film_pictures(media_dir, SIZE)[10:150]


def test_the_film_is_clean(looks: np.ndarray) -> None:
    """None in the film as it is, with grain of 4 and of 10 codes over it, and with every picture held four times."""
    rng = np.random.default_rng(2)
    assert found_in(looks) == []
    for grain in (4, 10):
        assert (
            found_in(np.clip(look + rng.normal(0, grain, look.shape), 0, 255).astype(np.uint8) for look in looks) == []
        )
    assert found_in(look for look in looks for _ in range(4)) == []


def test_nearly_all_that_is_planted_is_found_at_its_place(looks: np.ndarray) -> None:
    """At least 99 in 100 at their exact place, over five seeds with 40 each; and nothing else."""
    missed, strays = [], []
    for seed in range(5):
        truth = planted(seed, 40)
        found = found_in(truth.put(look) for look in looks)
        hits = np.array([truth.hit(one) for one in found])
        missed += [(seed, *truth.places[at], truth.value[at]) for at in np.flatnonzero(~hits.any(axis=0))]
        strays += [one for one, hit in zip(found, hits, strict=True) if not hit.any()]
    assert len(missed) <= 0.01 * 5 * 40, missed
    assert strays == []


def test_kind_size_and_place_are_told(looks: np.ndarray) -> None:
    """A hot pixel, a dead pixel, four hot ones together: what they are, and how many pixels."""
    truth = Planted(np.array([[100, 50], [300, 200], [500, 320]]), np.array([1, 1, 2]), np.array([235, 16, 235]),
                    np.zeros(3, bool))  # fmt: skip
    found = {(one.column, one.row): one for one in found_in(truth.put(look) for look in looks)}
    hot, dead = found[100, 50], found[300, 200]
    assert (hot.kind, hot.size) == ("bright", 1) and hot.level == pytest.approx(235, abs=1)
    assert (dead.kind, dead.size) == ("dark", 1) and dead.level == pytest.approx(16, abs=1)
    four = next(one for place, one in found.items() if place not in ((100, 50), (300, 200)))
    assert four.size == 4 and truth.hit(four)[2] and len(found) == 3
    assert hot.seen >= 0.9 * hot.could and hot.pictures == 8


def test_a_pixel_of_one_camera_of_two_is_found(looks: np.ndarray) -> None:
    """It is there in the shots of one camera only, a third of the programme."""
    truth = planted(9, 20, sizes=(1,))
    found = found_in(truth.put(look) if number // 6 % 3 == 0 else look for number, look in enumerate(looks))
    hits = np.array([truth.hit(one) for one in found])
    assert hits.any(axis=1).all() and hits.any(axis=0).sum() >= 18


@pytest.mark.parametrize(
    ("name", "codec"),
    [
        ("mpeg2.mxf", ["-c:v", "mpeg2video", "-profile:v", "0", "-level:v", "2", "-qscale:v", "4", "-g", "1"]),
        ("prores.mov", ["-c:v", "prores_ks", "-profile:v", "3", "-pix_fmt", "yuv422p10le"]),
        ("h264.mov", ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "18", "-pix_fmt", "yuv420p"]),
        ("hevc10.mov", ["-c:v", "libx265", "-preset", "ultrafast", "-crf", "16", "-pix_fmt", "yuv420p10le",
                        "-x265-params", "log-level=none"]),
    ],
)  # fmt: skip
def test_encoders_leave_it_where_it_is(media_dir: Path, looks: np.ndarray, name: str, codec: list[str]) -> None:
    """Planted hot and dead pixels, encoded at the quality of a delivery, a new picture in every frame: found to the
    pixel, and nothing beside them."""
    rng = np.random.default_rng(21)
    places = np.stack([40 + 80 * np.arange(7), rng.integers(20, 340, 7)], axis=1)
    truth = Planted(places, np.ones(7, int), np.array([235, 225, 215, 205, 16, 20, 235]), np.zeros(7, bool))
    gray = bytes([128]) * (SIZE[0] * SIZE[1])
    source = ["-f", "rawvideo", "-pix_fmt", "yuv422p", "-s", f"{SIZE[0]}x{SIZE[1]}", "-r", "25", "-i", "pipe:0"]
    path = render(
        media_dir / f"stuck-{name}",
        [*source, *codec, *([] if "-pix_fmt" in codec else ["-pix_fmt", "yuv422p"]), "-threads", "2"],
        feed=(truth.put(look).tobytes() + gray for look in looks[:60]),
    )
    found = stuck_pixels(series_of(path, [StuckPixelMeter], EVERY_FRAME))
    hits = np.array([truth.hit(one) for one in found])
    assert hits.any(axis=0).all() and hits.any(axis=1).all(), [(one.column, one.row) for one in found]


# -- what must not be taken for one ------------------------------------------------------------------


def _bug(looks: np.ndarray) -> Iterator[np.ndarray]:
    """A corner bug of letters, half see-through, over the whole film."""
    ink = written("BRLN", 2)
    for look in looks:
        out = look.copy()
        corner = out[20 : 20 + ink.shape[0], 560 : 560 + ink.shape[1]]
        corner[ink] = (corner[ink].astype(int) + 235) // 2
        yield out


def _clock(looks: np.ndarray) -> Iterator[np.ndarray]:
    """A burnt-in clock whose colons stay while the figures between them change."""
    for number, look in enumerate(looks):
        out = look.copy()
        ink = written(f"10:{number // 60:02}:{number % 60:02}:{number * 7 % 25:02}", 2)
        out[300 : 300 + ink.shape[0], 60 : 60 + ink.shape[1]] = np.where(ink, 210, 32)
        yield out


def _lamp(looks: np.ndarray) -> Iterator[np.ndarray]:
    """A locked-off camera with a pilot lamp in its set, to which the cut comes back every few seconds."""
    rng = np.random.default_rng(5)
    room = looks[100] // 2 + 20
    room[100:106, 200:206] = 30
    room[102, 202] = 230
    for number, look in enumerate(looks):
        if number % 4 < 2:
            yield look
            continue
        out = np.clip(room + rng.normal(0, 1.5, room.shape), 0, 255).astype(np.uint8)
        left = 300 + number % 60
        out[120:340, left : left + 110] = looks[number][120:340, 200:310]
        yield out


def _stars(looks: np.ndarray) -> Iterator[np.ndarray]:
    """A sky full of stars behind cards of ever new words."""
    rng = np.random.default_rng(6)
    sky = np.full((SIZE[1], SIZE[0]), 20, np.uint8)
    sky[rng.integers(0, SIZE[1], 200), rng.integers(0, SIZE[0], 200)] = rng.integers(90, 235, 200)
    for number, look in enumerate(looks):
        out = sky.copy()
        top, left = rng.integers(20, 200), rng.integers(20, 300)
        out[top : top + 120, left : left + 300] = look[60:180, 100:400] if number % 2 else 200
        yield out


def _bars(looks: np.ndarray) -> Iterator[np.ndarray]:
    """A letterbox with sharp edges and a pillarbox with round corners."""
    for number, look in enumerate(looks):
        out = look.copy()
        out[:46], out[-46:] = 16, 16
        if number % 2:
            out[:, :80], out[:, -80:] = 16, 16
            out[46:48, 80:82] = 16
        yield out


def _words(looks: np.ndarray) -> Iterator[np.ndarray]:
    """Subtitles: new words at the same place, with dots and strokes that recur."""
    said = ("THE GATE LEANS", "IT ALWAYS DID", "SINCE 1950", "MEND IT", "TODAY", "OR NEVER")
    for number, look in enumerate(looks):
        ink = written(said[number // 3 % len(said)], 2)
        out = look.copy()
        left = (SIZE[0] - ink.shape[1]) // 2
        out[320 : 320 + ink.shape[0], left : left + ink.shape[1]][ink] = 220
        yield out


@pytest.mark.parametrize("made", [_bug, _clock, _lamp, _stars, _bars, _words])
def test_what_stays_for_another_reason_is_none(looks: np.ndarray, made) -> None:
    """Logo, clock, lamp in the set, stars, edges of bars, words: each is there by construction, and no stuck pixel."""
    assert found_in(made(looks)) == []
