"""Blank lines counted on planes made by number: to the line, at any side, at any depth and raster.

Truth by construction: the planes are made here.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.figures.active_picture import ActivePicture, active_picture, is_two_k
from qc.meters.picture.active import ActivePictureMeter
from qc.meters.picture.geometry_series import EDGES_EVERY, NOTHING
from qc.meters.picture.planes import Planes
from qc.timing.spans import Span
from tests.kit.geometry import fed, kind

FRAMES = 80
WHOLE = [Span(0, FRAMES)]
SHAPE = (360, 640)
RNG = np.random.default_rng(11)
TEXTURE = RNG.integers(50, 200, SHAPE).astype(np.uint8)


def boxed(number: int, left: int, top: int, right: int, bottom: int, texture: np.ndarray = TEXTURE) -> np.ndarray:
    """A moving picture with so many blank lines at each side."""
    height, width = texture.shape
    frame = np.full(texture.shape, 16, np.uint8)
    inside = slice(top, height - bottom), slice(left, width - right)
    frame[inside] = np.roll(texture, 5 * number, axis=1)[inside]
    return frame


def read(pictures: Iterable[np.ndarray], spans: list[Span] = WHOLE, bits: int = 8) -> ActivePicture:
    return active_picture(fed(pictures, [ActivePictureMeter], bits), spans)


@given(lines=st.tuples(*[st.integers(0, 140)] * 4))
def test_every_side_is_counted_to_the_line(lines: tuple[int, int, int, int]) -> None:
    """0 to 140 lines at any side, alone or together."""
    series = fed((boxed(n, *lines) for n in range(EDGES_EVERY)), [ActivePictureMeter])
    assert series["active.blank"].tolist() == [list(lines)]


@pytest.mark.parametrize("lines", [1, 2, 3, 8, 9, 17, 64, 65, 140])
@pytest.mark.parametrize("side", range(4))
def test_an_edge_at_one_side_is_told_with_its_lines(side: int, lines: int) -> None:
    """Any width from one line on, at each side; it is there throughout."""
    wanted = [0, 0, 0, 0]
    wanted[side] = lines
    found = read(boxed(n, *wanted) for n in range(FRAMES))
    (edge,) = found.edges
    assert (edge.side, edge.lines, edge.share) == (("left", "top", "right", "bottom")[side], lines, 1.0)
    assert not found.boxes and found.least == tuple(wanted)


def test_depth_and_range_make_no_difference() -> None:
    """The same picture in 10 and 12 bits and in full range: the same lines."""
    lines = (3, 0, 5, 20)
    for bits in (10, 12):
        deep = ((boxed(n, *lines).astype(np.uint16) << (bits - 8)) for n in range(FRAMES))
        assert read(deep, bits=bits).least == lines
    meter = ActivePictureMeter(kind())
    for number in range(FRAMES):
        full = np.clip((boxed(number, *lines).astype(np.int16) - 16) * 255 // 219, 0, 255).astype(np.uint8)
        meter.feed(Planes(number, full, None, None, 8, full_range=True))
    assert active_picture(meter.finish(), WHOLE).least == lines


@pytest.mark.parametrize("shape", [(181, 319), (5, 7), (64, 4), (1080, 33)])
def test_odd_rasters_are_counted(shape: tuple[int, int]) -> None:
    """Any raster of four lines or more each way; one blank line at the left."""
    texture = RNG.integers(50, 200, shape).astype(np.uint8)
    found = read(boxed(n, 1, 0, 0, 0, texture) for n in range(FRAMES))
    assert found.raster == shape[::-1] and found.least == (1, 0, 0, 0)


def test_black_is_nothing_and_dark_scenes_do_not_widen_what_bright_ones_show() -> None:
    """Black frames count nothing. A night scene whose edges are lost shows no edge; the union over the programme is
    what the day scene shows."""
    night = np.where(np.add.outer(np.arange(360), np.arange(640)) > 600, 90, 18).astype(np.uint8)

    def frame(number: int) -> np.ndarray:
        return np.full(SHAPE, 16, np.uint8) if number < 16 else night if number < 48 else boxed(number, 2, 0, 0, 0)

    series = fed((frame(n) for n in range(FRAMES)), [ActivePictureMeter])
    assert series["active.blank"][:2].tolist() == [[NOTHING] * 4] * 2
    found = active_picture(series, WHOLE)
    assert found.least == (2, 0, 0, 0) and not found.boxes
    assert all(edge.side == "left" and edge.lines == 2 for edge in found.edges)
    dark = active_picture(series, [Span(16, 48)])
    assert not dark.edges and not dark.boxes


def test_a_vignette_is_no_edge() -> None:
    """Corners and edges that fade out wander with the light, and nothing bright stands beside them."""
    rows, columns = np.mgrid[-1:1:360j, -1:1:640j]
    fall = np.clip(1.25 - (rows**2 + columns**2), 0, 1) ** 2
    made = (16 + fall * (np.roll(TEXTURE, 9 * n, axis=1) - 16.0) * (0.6 + 0.4 * np.sin(n / 9)) for n in range(FRAMES))
    found = read(frame.astype(np.uint8) for frame in made)
    assert not found.edges and not found.boxes


def test_an_insert_is_told_with_its_stretch() -> None:
    """Four seconds of pillarboxed archive in a full picture: a pillarbox there, and nothing about the rest."""
    frames = 300
    made = (boxed(n, 80, 0, 80, 0) if 100 <= n < 200 else boxed(n, 0, 0, 0, 0) for n in range(frames))
    found = read(made, [Span(0, frames)])
    (box,) = found.boxes
    assert (box.kind, box.lines) == ("pillarbox", (80, 80)) and not found.edges
    assert 100 <= box.span.first < 100 + EDGES_EVERY and 200 - EDGES_EVERY < box.span.end <= 200 + EDGES_EVERY
    assert box.span.contains(box.best)


def test_a_letterbox_and_an_edge_stand_side_by_side() -> None:
    """A letterbox throughout whose picture has two blank columns of its own at the right."""
    found = read(boxed(n, 0, 46, 2, 46) for n in range(FRAMES))
    (box,), (edge,) = found.boxes, found.edges
    assert (box.kind, box.lines, edge.side, edge.lines) == ("letterbox", (46, 46), "right", 2)


def test_black_at_one_side_of_a_shot_is_part_of_the_picture() -> None:
    """A door post: 120 columns of black at the left for three seconds of twelve; a conform error would be there
    throughout, or face another bar."""
    frames = 300
    made = (boxed(n, 120, 0, 0, 0) if 100 <= n < 175 else boxed(n, 0, 0, 0, 0) for n in range(frames))
    found = read(made, [Span(0, frames)])
    assert not found.edges and not found.boxes


def test_a_title_on_black_is_no_letterbox() -> None:
    """Words in the middle of a black card: what stands beside the black is mostly black."""
    card = np.full(SHAPE, 16, np.uint8)
    card[170:190, 250:390:3] = 210
    found = read(card if n < 40 else boxed(n, 0, 0, 0, 0) for n in range(FRAMES))
    assert not found.edges and not found.boxes and found.least == (0, 0, 0, 0)


def test_words_in_a_bar_do_not_move_it() -> None:
    """A subtitle in the lower bar for a second: the bar before and after is told, and nothing else."""
    frames = 300

    def frame(number: int) -> np.ndarray:
        made = boxed(number, 0, 46, 0, 46)
        if 100 <= number < 125:
            made[330:345, 200:440:2] = 200
        return made

    found = read((frame(n) for n in range(frames)), [Span(0, frames)])
    assert {(box.kind, box.lines) for box in found.boxes} == {("letterbox", (46, 46))} and not found.edges
    assert sum(box.span.frames for box in found.boxes) > 0.8 * frames or found.boxes[0].share > 0.8


@pytest.mark.parametrize(
    ("lines", "is_it"),
    [((34, 34), True), ((33, 34), True), ((67, 0), False), ((32, 33), False), ((21, 21), False), ((60, 60), False)],
)
def test_two_k_scaled_to_the_width_is_known_by_its_lines(lines: tuple[int, int], is_it: bool) -> None:
    """1920 x 1080 / 2048 = 1012.5 active lines, so 67.5 blank of 1080 (arithmetic); 1.85:1 has 42, 2:1 has 120."""
    texture = RNG.integers(50, 200, (1080, 64)).astype(np.uint8)
    texture = np.tile(texture, (1, 30))
    found = read(boxed(n, 0, lines[0], 0, lines[1], texture) for n in range(40))
    assert any(is_two_k(found.raster, box) for box in found.boxes) == is_it


def test_a_raster_that_changes_is_said() -> None:
    """Counts of two rasters are never mixed."""
    wide = RNG.integers(50, 200, (200, 300)).astype(np.uint8)
    found = read(boxed(n, 0, 0, 0, 0) if n < 40 else boxed(n, 9, 0, 0, 0, wide) for n in range(FRAMES))
    assert found.changed and found.raster == SHAPE[::-1] and found.least == (0, 0, 0, 0)


def test_damaged_frames_are_passed_over() -> None:
    """A frame that is skipped leaves no row, and no gap in the count of frames."""
    meter = ActivePictureMeter(kind())
    for number in range(FRAMES):
        if number == 12:
            meter.skip()
        else:
            meter.feed(Planes(number, boxed(number, 0, 0, 0, 0), None, None, 8, afd=10))
    series = meter.finish()
    assert series["active.frame"].tolist() == [4, 20, 28, 36, 44, 52, 60, 68, 76]
    assert series["active.afd"].tolist() == [10] * 12 + [255] + [10] * 67
