"""Differences between pictures against plain NumPy over the whole of them. Each definition is that of MotionMeter."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.picture.motion import MotionMeter
from qc.meters.picture.planes import Planes


def pictures(count: int, size: tuple[int, int], bits: int, seed: int = 1) -> list[np.ndarray]:
    """Blocks of 8 x 8 that change from picture to picture, some in every picture by one code of 8 bits only."""
    rng = np.random.default_rng(seed)
    unit, across = 1 << bits - 8, (-(-size[0] // 8), -(-size[1] // 8))
    base = rng.integers(40, 200, across)
    found = []
    for _ in range(count):
        step = rng.choice([0, 0, 1, -1, 30, -20], across)
        blocks = np.repeat(np.repeat((base + step) * unit, 8, 0), 8, 1)[: size[0], : size[1]]
        found.append(blocks.astype(np.uint8 if bits == 8 else np.uint16))
    return found


def measured(frames: list[np.ndarray], bits: int) -> dict[str, np.ndarray]:
    meter = MotionMeter()
    for number, luma in enumerate(frames):
        meter.feed(Planes(number, luma, None, None, bits))
    return meter.finish()


def boxes(plane: np.ndarray, down: int, across: int) -> np.ndarray:
    height, width = plane.shape[0] // down, plane.shape[1] // across
    return plane[: height * down, : width * across].reshape(height, down, width, across).mean(axis=(1, 3))


def cells(apart: np.ndarray) -> np.ndarray:
    return np.sort(boxes(apart, apart.shape[0] // 9, apart.shape[1] // 16)[:9, :16].ravel())


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("size", [(288, 512), (720, 1280), (150, 3000)])
def test_differences_of_small_pictures(size, bits):
    """Mean, busiest, lively and quiet cell, and against two, three and twelve pictures before: of averages in codes of
    8 bits. The blocks of the pictures are whole in them, so there is nothing to round."""
    frames = pictures(14, size, bits)
    found = measured(frames, bits)
    step = 4 if size[0] > 300 else 1
    small = [boxes(frame / 2.0 ** (bits - 8), step, step) for frame in frames]
    last = 13

    for name, back in (("mean", 1), ("two", 2), ("three", 3), ("twelve", 12)):
        assert found[f"motion.{name}"][last] == pytest.approx(np.abs(small[last] - small[last - back]).mean(), rel=1e-3)
        assert np.isnan(found[f"motion.{name}"][:back]).all()
    wanted = cells(np.abs(small[last] - small[last - 1]))
    for name, place in (("busiest", 143), ("lively", 108), ("quiet", 28)):
        assert found[f"motion.{name}"][last] == pytest.approx(wanted[place], rel=1e-3, abs=1e-3)
    assert found["motion.luma"][last] == pytest.approx(small[last].mean(), abs=0.5)


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("size", [(288, 512), (720, 1280)])
def test_course_is_the_correlation_of_two_changes(size, bits):
    """Of the differences, pixel by pixel: 1 for a fade, -1 for what comes back, else what NumPy's product gives."""
    frames = pictures(6, size, bits)
    step = 4 if size[0] > 300 else 1
    small = [boxes(frame / 2.0 ** (bits - 8), step, step) for frame in frames]
    found = measured(frames, bits)["motion.course"]
    assert np.isnan(found[:2]).all()
    for at in range(2, 6):
        before, now = small[at - 1] - small[at - 2], small[at] - small[at - 1]
        assert found[at] == pytest.approx((before * now).sum() / np.sqrt((before**2).sum() * (now**2).sum()), abs=2e-3)

    dark, grey, bright = (np.full(size, code << bits - 8, frames[0].dtype) for code in (50, 60, 70))
    assert measured([dark, grey, bright], bits)["motion.course"][2] == pytest.approx(1, abs=1e-3)
    assert measured([dark, bright, dark], bits)["motion.course"][2] == pytest.approx(-1, abs=1e-3)
    assert np.isnan(measured([dark, dark, bright], bits)["motion.course"][2])


@pytest.mark.parametrize("bits", [8, 10, 12, 16])
def test_rows_are_compared_to_the_code(bits):
    """In each block of 8 x 8 the pixel differs by nothing, by the least code there is, by one code of 8 bits or by the
    least beyond: equal is their share. Fields: only the lower one differs. Source: made so."""
    unit = 1 << bits - 8
    flat = np.full((288, 512), 100 * unit, np.uint8 if bits == 8 else np.uint16)
    later = flat.copy()
    for place, step in enumerate((0, 1, unit, unit + 1)):
        later[1::2, place::4] += step
    found = measured([flat, later], bits)

    assert found["motion.equal"][1] == pytest.approx(5 / 8, abs=1e-3)
    mean = (0 + 1 + unit + unit + 1) / 4 / unit
    assert [found[f"motion.{name}"][1] for name in ("top", "top_busiest", "top_quiet")] == [0, 0, 0]
    for name in ("bottom", "bottom_busiest", "bottom_quiet"):
        assert found[f"motion.{name}"][1] == pytest.approx(mean, rel=1e-3)


@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("size", [(1080, 1920), (1081, 1919), (36, 7680), (20, 30), (5, 7)])
def test_the_greatest_difference_does_not_overflow(size, bits):
    """From black to the highest code everywhere, in rasters up to 8K wide and in ones smaller than the grid."""
    top = (1 << bits) - 1
    black = np.zeros(size, np.uint8 if bits == 8 else np.uint16)
    found = measured([black, np.full_like(black, top)], bits)

    for name in ("top", "bottom", "top_busiest", "bottom_quiet"):
        assert found[f"motion.{name}"][1] == pytest.approx(top / 2 ** (bits - 8), rel=1e-3)
    for name in ("mean", "busiest", "quiet"):
        assert found[f"motion.{name}"][1] == pytest.approx(255, rel=1e-3)
    assert found["motion.equal"][1] == 0


def test_the_same_picture_twice_has_not_moved():
    """Every difference is nothing, and all of it is equal."""
    (one,) = pictures(1, (288, 512), 8)
    found = measured([one, one.copy()], 8)

    for name in ("mean", "busiest", "lively", "quiet", "top", "bottom", "top_busiest", "bottom_busiest"):
        assert found[f"motion.{name}"][1] == 0
    assert found["motion.equal"][1] == 1
    assert found["motion.like1"][1] == pytest.approx(1, abs=0.01)


def test_structure_is_what_is_left_without_brightness():
    """The picture less its mean over boxes of 9, edges reflected: its root mean square and correlation, by NumPy."""
    one, other = pictures(2, (288, 512), 8)
    found = measured([one, other], 8)

    def structure(luma: np.ndarray) -> np.ndarray:
        tiny = np.rint(boxes(luma.astype(float), 2, 2))
        wide = np.pad(tiny, 4, "reflect")
        return tiny - np.lib.stride_tricks.sliding_window_view(wide, (9, 9)).mean(axis=(2, 3))

    before, now = structure(one), structure(other)
    assert found["motion.structure"][1] == pytest.approx(np.sqrt((now**2).mean()), rel=2e-3)
    alike = (before * now).sum() / (np.sqrt((before**2).sum() * (now**2).sum()) + 0.25 * now.size)
    assert found["motion.like1"][1] == pytest.approx(alike, abs=2e-3)


def test_nothing_is_compared_across_a_raster_or_a_damaged_picture():
    """Numbers begin anew, and every picture has its row."""
    meter = MotionMeter()
    sizes = [(96, 160), (96, 160), None, (96, 160), (96, 162), (96, 162)]
    for number, size in enumerate(sizes):
        if size is None:
            meter.skip()
        else:
            meter.feed(Planes(number, np.full(size, 100, np.uint8), None, None, 8))
    found = meter.finish()

    assert np.isnan(found["motion.mean"]).tolist() == [True, False, True, True, True, False]
    assert np.isnan(found["motion.luma"]).tolist() == [False, False, True, False, False, False]
    assert len(found["motion.grid"]) == 6 and not found["motion.grid"][2].any()
