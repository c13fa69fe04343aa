"""Small planes are exact averages of the picture, whatever its sampling and scan."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.picture.planes import Planes


def boxes(plane: np.ndarray, step: int) -> np.ndarray:
    height, width = plane.shape[0] // step * step, plane.shape[1] // step * step
    cut = plane[:height, :width].astype(float)
    return cut.reshape(height // step, step, width // step, step).mean(axis=(1, 3))


@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
@pytest.mark.parametrize("size", [(64, 96), (67, 101)])
def test_each_step_is_the_box_average(kind, size):
    """Half, quarter and eighth are averages of 2, 4 and 8 squared, rounded at each step. Source: the definition."""
    luma = np.random.default_rng(5).integers(16, 235, size).astype(kind)
    planes = Planes(0, luma, None, None, 8)

    assert np.abs(planes.half - boxes(luma, 2)).max() <= 0.5
    assert np.abs(planes.quarter - boxes(luma[: size[0] // 4 * 4], 4)[: planes.quarter.shape[0]]).max() <= 1.0
    assert planes.eighth.shape == (size[0] // 8, size[1] // 8)


@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2), (1, 4)])
def test_chroma_of_any_sampling_lands_on_luma_s_grid(down, across):
    """4:4:4, 4:2:2, 4:2:0, 4:1:1: the averages cover the same pixels as luma's."""
    full = np.random.default_rng(7).integers(16, 240, (64, 96)).astype(np.uint8)
    chroma = np.ascontiguousarray(full[::down, ::across])
    planes = Planes(0, full, chroma, chroma, 8)
    cb, _ = planes.chroma_half
    quarter, _ = planes.chroma_quarter

    assert cb.shape == planes.half.shape and quarter.shape == planes.quarter.shape
    grown = np.repeat(np.repeat(chroma, down, 0), across, 1)
    assert np.abs(cb - boxes(grown, 2)).max() <= 1.0


@pytest.mark.parametrize("bits", [10, 12, 16])
def test_pairs_of_rows_are_averaged_at_every_depth(bits):
    """4:2:2 chroma to half its rows, the highest codes included: the mean, rounded."""
    top = (1 << bits) - 1
    chroma = np.random.default_rng(bits).integers(0, top + 1, (64, 48)).astype(np.uint16)
    chroma[:4] = top
    cb, _ = Planes(0, np.zeros((64, 96), np.uint16), chroma, chroma, bits).chroma_half

    wanted = (chroma[0::2].astype(np.float64) + chroma[1::2]) / 2
    assert np.abs(cb - wanted).max() <= 0.5


def test_fields_keep_apart():
    """Upper and lower field of an interlaced frame never mix."""
    luma = np.zeros((64, 96), np.uint8)
    luma[0::2], luma[1::2] = 50, 200
    planes = Planes(0, luma, luma[:, ::2].copy(), luma[:, ::2].copy(), 8, interlaced=True)

    upper, lower = planes.fields
    assert set(upper.flat) == {50} and set(lower.flat) == {200}
    assert upper.shape == lower.shape == (16, 48) and set(planes.quarter.flat) == {125}


def test_a_single_pixel_has_planes_too():
    """The smallest picture there is goes through."""
    planes = Planes(0, np.full((1, 1), 99, np.uint8), None, None, 8)

    assert planes.eighth.tolist() == [[99]] and planes.chroma_half is None
