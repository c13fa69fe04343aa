"""The picture meter: what it counts, and when it may count less."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.meters.picture.luma import LumaMeter, LumaRows, bin_edges


def measured(planes: list[np.ndarray], bits: int = 8, full_range: bool = False) -> LumaRows:
    meter = LumaMeter(bits, full_range)
    for plane in planes:
        meter.feed(plane, bits)
    return meter.finish()


def folded(codes: np.ndarray, depth: int) -> np.ndarray:
    """Histogram by NumPy's own counting, in the meter's bins."""
    return np.add.reduceat(np.bincount(codes.ravel(), minlength=1 << depth), bin_edges(depth)[:-1])


@pytest.mark.parametrize(("bits", "kind"), [(8, np.uint8), (10, np.uint16)])
def test_a_dark_picture_is_counted_pixel_by_pixel(bits: int, kind: type) -> None:
    """All rows of a picture that a black rule could fit are counted (against numpy.bincount)."""
    plane = np.random.default_rng(1).integers(16 << (bits - 8), 40 << (bits - 8), (90, 160)).astype(kind)
    rows = measured([plane], bits)

    assert rows.counted[0] == plane.size
    assert np.array_equal(rows.luma[0], folded(plane, bits))
    assert (rows.darkest[0], rows.brightest[0]) == (plane.min(), plane.max())


@pytest.mark.parametrize(("bits", "kind"), [(8, np.uint8), (10, np.uint16)])
@pytest.mark.parametrize(("lines", "step"), [(90, 4), (699, 4), (700, 32), (1080, 32)])
def test_a_bright_picture_is_counted_on_some_of_its_rows(bits: int, kind: type, lines: int, step: int) -> None:
    """A picture that no rule can call black costs a part, and says so (against numpy.bincount)."""
    plane = np.random.default_rng(2).integers(0, 1 << bits, (lines, 160)).astype(kind)
    rows = measured([plane], bits)

    assert rows.counted[0] == plane[::step].size
    assert np.array_equal(rows.luma[0], folded(plane[::step], bits))


@pytest.mark.parametrize(("lines", "bright"), [(1080, 0.015), (2160, 0.015), (720, 0.015), (699, 0.125), (480, 0.125)])
def test_bright_rows_do_not_hide_a_black_picture(lines: int, bright: float) -> None:
    """The worst there is: what is bright lies on the very rows that are looked at first. From 98.5 % on (87.5 % of less
    than 700 lines) black pictures are counted on all rows all the same. Source: arithmetic."""
    plane = np.full((lines, 1000), 16, np.uint8)
    sampled = plane[:: 32 if lines >= 700 else 4]
    sampled[:, : int(bright * plane.size / len(sampled))] = 235
    rows = measured([plane])

    assert rows.counted[0] == plane.size
    assert rows.luma[0, 16] / plane.size == pytest.approx(1 - bright, abs=0.001)


def test_padding_of_the_decoders_rows_is_not_counted() -> None:
    """A plane is a view with a longer row stride; what lies beyond its width never counts."""
    memory = np.full((64, 256), 235, np.uint8)
    memory[:, :160] = 16
    rows = measured([memory[:, :160]])

    assert rows.counted[0] == 64 * 160
    assert rows.brightest[0] == 16


@pytest.mark.parametrize(("bits", "factor"), [(12, 4), (16, 64)])
def test_deeper_pictures_are_brought_to_10_bits_by_dropping_low_bits(bits: int, factor: int) -> None:
    """12 and 16 bits are counted as code // 4 and code // 64 of 10 bits (against integer division)."""
    plane = np.random.default_rng(3).integers(0, 60 << (bits - 8), (32, 64)).astype(np.uint16)
    rows = measured([plane], bits)

    assert rows.depth == 10
    assert np.array_equal(rows.luma[0], folded(plane // factor, 10))


def test_a_picture_of_another_depth_later_keeps_the_first_depth() -> None:
    """Depth may change in mid-stream: 8-bit codes then count as 4 times the code of 10 bits."""
    meter = LumaMeter(10)
    meter.feed(np.full((16, 16), 64, np.uint16), 10)
    meter.feed(np.full((16, 16), 16, np.uint8), 8)
    rows = meter.finish()

    assert np.array_equal(rows.luma[0], rows.luma[1])


def test_a_skipped_picture_has_a_row_without_pixels() -> None:
    """A damaged picture keeps its place in the series; nothing is claimed of its content."""
    meter = LumaMeter(8)
    meter.feed(np.full((16, 16), 16, np.uint8))
    meter.skip()
    rows = meter.finish()

    assert rows.counted.tolist() == [256, 0]
    assert rows.luma[1].sum() == 0


def test_many_pictures_keep_their_order_across_the_meters_chunks() -> None:
    """Row k is picture k, beyond any inner chunk size."""
    rows = measured([np.full((8, 8), 16 + number % 100, np.uint8) for number in range(1200)])

    assert rows.darkest.tolist() == [16 + number % 100 for number in range(1200)]


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    dark=st.floats(0.5, 1.0),
    limit=st.integers(20, 59),
    share=st.sampled_from([0.94, 0.98, 1.0]),
    striped=st.booleans(),
    lines=st.sampled_from([64, 720]),
)
def test_counting_fewer_rows_never_changes_what_a_rule_says(
    seed: int, dark: float, limit: int, share: float, striped: bool, lines: int
) -> None:
    """Wherever the bright pixels lie by chance, the sampled count decides as the whole picture does for every rule from
    94 % of the pixels on (against NumPy)."""
    random = np.random.default_rng(seed)
    plane = random.integers(60, 236, (lines, 48)).astype(np.uint8)
    black = random.random((lines, 1 if striped else 48)) < dark
    plane = np.where(black, random.integers(16, limit + 1, plane.shape), plane).astype(np.uint8)
    rows = measured([plane])

    counted = rows.luma[0, : limit + 1].sum() / rows.counted[0]
    whole = np.count_nonzero(plane <= limit) / plane.size
    assert (counted >= share) == (whole >= share)
