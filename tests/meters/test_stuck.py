"""The watch for stuck pixels on planes made by number: any raster and depth, bounded memory, what cannot be looked at.

Truth by construction: the pixel is put there.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import cv2
import numpy as np
import pytest

from qc.figures.stuck_pixels import looks, measured, raster, stuck_pixels
from qc.meters.picture.planes import Planes
from qc.meters.picture.stuck import MOST_AT_ONCE, StuckPixelMeter, candidates
from qc.meters.picture.stuck_watch import MOST_WATCHED, Look, room_for
from tests.kit.geometry import kind

EVERY_FRAME = Fraction(1)


def scenes(count: int, shape: tuple[int, int], seed: int = 1, light: float = 1.0) -> Iterator[np.ndarray]:
    """A new soft picture in every frame, float codes from 40 to 200."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        rough = rng.uniform(40, 200, (5, 8)).astype(np.float32)
        soft = cv2.resize(rough, shape[::-1], interpolation=cv2.INTER_CUBIC)
        yield 16 + light * (soft.clip(30, 210) - 16)


def fed(pictures: Iterator[np.ndarray], bits: int = 8, full_range: bool = False) -> StuckPixelMeter:
    meter = StuckPixelMeter(kind(EVERY_FRAME))
    for number, picture in enumerate(pictures):
        codes = (picture * 2 ** (bits - 8)).astype(np.uint8 if bits == 8 else np.uint16)
        meter.feed(Planes(number, codes, None, None, bits, full_range))
    return meter


def with_pixel(pictures: Iterator[np.ndarray], column: int, row: int, value: float) -> Iterator[np.ndarray]:
    for picture in pictures:
        picture[row, column] = value
        yield picture


@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("shape", [(180, 320), (181, 319), (96, 51), (405, 720)])
def test_any_depth_and_raster(shape: tuple[int, int], bits: int) -> None:
    """One white pixel, found at its place; the mean value is in codes of 8 bits whatever the depth."""
    column, row = shape[1] // 3, shape[0] // 2
    series = fed(with_pixel(scenes(40, shape), column, row, 235.0), bits).finish()
    (one,) = stuck_pixels(series)
    assert (one.column, one.row, one.kind, one.size) == (column, row, "bright", 1)
    assert one.level == pytest.approx(235, abs=1) and raster(series) == shape[::-1]


@pytest.mark.parametrize("place", [(0, 0), (319, 179), (0, 90), (160, 0), (318, 1)])
def test_borders_and_corners_are_watched_too(place: tuple[int, int]) -> None:
    """The outermost rows and columns count like any other."""
    (one,) = stuck_pixels(fed(with_pixel(scenes(40, (180, 320)), *place, 235.0)).finish())
    assert (one.column, one.row) == place


def test_dark_scenes_show_a_hot_pixel() -> None:
    """A twentieth of the light: dark, and no reason to look away."""
    series = fed(with_pixel(scenes(60, (180, 320), light=0.1), 100, 60, 90.0)).finish()
    assert [(one.column, one.row) for one in stuck_pixels(series)] == [(100, 60)]


def test_one_look_in_two_seconds() -> None:
    """At 25 frames a second every 49th frame: never in step with what repeats each second."""
    meter = StuckPixelMeter(kind(Fraction(25)))
    for number, picture in enumerate(scenes(125, (96, 96))):
        meter.feed(Planes(number, picture.astype(np.uint8), None, None, 8))
    assert meter.finish()["stuck.looks"].tolist() == [24, 73, 122]


def test_black_white_and_tiny_pictures_are_not_looked_at() -> None:
    """Nothing to see is nothing measured."""
    for flat, shape in ((16, (180, 320)), (235, (180, 320)), (120, (20, 30))):
        series = fed(np.full(shape, float(flat), np.float32) for _ in range(10)).finish()
        assert not measured(series) and stuck_pixels(series) == []


def test_a_raster_that_changes_is_watched_in_its_first_form_only() -> None:
    """A column and row mean something in one raster."""

    def changing() -> Iterator[np.ndarray]:
        yield from with_pixel(scenes(30, (180, 320)), 100, 60, 235.0)
        yield from scenes(10, (90, 160))

    series = fed(changing()).finish()
    assert looks(series) == 30 and raster(series) == (320, 180) and len(stuck_pixels(series)) == 1


def test_damaged_frames_are_passed_over() -> None:
    """They keep the count of frames."""
    meter = StuckPixelMeter(kind(EVERY_FRAME))
    for number, picture in enumerate(with_pixel(scenes(40, (180, 320)), 100, 60, 235.0)):
        if number % 10 == 3:
            meter.skip()
        else:
            meter.feed(Planes(number, picture.astype(np.uint8), None, None, 8))
    series = meter.finish()
    assert looks(series) == 36 and 33 not in series["stuck.looks"]
    assert [(one.column, one.row) for one in stuck_pixels(series)] == [(100, 60)]


def test_memory_is_bounded_by_what_is_watched() -> None:
    """Two hundred pictures with hundreds of specks each, all at new places: at most so many are watched, and a pixel
    that was there from the first is not pushed out."""
    rng = np.random.default_rng(8)

    def specks() -> Iterator[np.ndarray]:
        for picture in with_pixel(scenes(200, (360, 640)), 300, 200, 235.0):
            rows, columns = rng.integers(0, 360, 300), rng.integers(0, 640, 300)
            picture[rows, columns] = 235
            picture[190:211, 290:311] = np.where(picture[190:211, 290:311] == 235, 120, picture[190:211, 290:311])
            picture[200, 300] = 235
            yield picture

    meter = fed(specks())
    assert len(meter._watched._places) <= MOST_WATCHED
    assert [(one.column, one.row) for one in stuck_pixels(meter.finish())] == [(300, 200)]


def test_candidates_stand_alone() -> None:
    """One pixel, nine in a square, and a pixel at a border are candidates; a line, a letter, a square of sixteen and
    two pixels close to each other are none."""
    luma = np.full((160, 320), 100, np.uint8)
    luma[20, 20] = luma[0, 100] = 200
    luma[60:63, 60:63] = 200
    luma[20, 160:200] = 200
    luma[100:104, 100:104] = 200
    luma[100, 200] = luma[104, 203] = 200
    luma[60:70, 200], luma[60, 200:206], luma[65, 200:205] = 200, 200, 200
    places = candidates(Look(luma, luma[::8, ::8].astype(np.float32), 0, 0, room_for(luma.shape))).tolist()
    assert len(places) == 3 and [20, 20] in places and [100, 0] in places
    assert any(60 <= column < 63 and 60 <= row < 63 for column, row in places)
    many = np.full((400, 400), 100, np.uint8)
    many[10::20, 10::20] = 200
    assert len(candidates(Look(many, many[::8, ::8].astype(np.float32), 0, 0, room_for(many.shape)))) <= MOST_AT_ONCE
