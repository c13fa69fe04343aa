"""What a single picture shows, and whether it stands on the grid of blocks. Each definition is that of SpikeMeter."""

from __future__ import annotations

from itertools import product

import cv2
import numpy as np
import pytest

from qc.meters.picture.planes import Planes
from qc.meters.picture.spike import SpikeMeter

#: Only there where colour of the whole picture comes and goes.
COLOURS = ("_size", "_size_beside", "_like", "_like_cb", "_like_cr")

SIZES = [(288, 512), (720, 1280), (1080, 1920)]


def soft(size: tuple[int, int], seed: int, bits: int = 8) -> np.ndarray:
    """A picture without edges."""
    rough = np.random.default_rng(seed).uniform(60, 150, (6, 9)).astype(np.float32)
    codes = np.rint(cv2.resize(rough, size[::-1], interpolation=cv2.INTER_CUBIC) * 2.0 ** (bits - 8))
    return codes.astype(np.uint8 if bits == 8 else np.uint16)


def measured(frames: list[tuple[np.ndarray, ...]], bits: int = 8, interlaced: bool = False) -> dict[str, np.ndarray]:
    meter = SpikeMeter()
    for number, planes in enumerate(frames):
        meter.feed(Planes(number, *planes, bits, interlaced=interlaced))
    return meter.finish()


def still(size: tuple[int, int], bits: int, sampling: tuple[int, int]) -> list[tuple[np.ndarray, ...]]:
    down, across = sampling
    planes = soft(size, 1, bits), *(soft((size[0] // down, size[1] // across), seed, bits) for seed in (2, 3))
    return [tuple(plane.copy() for plane in planes) for _ in range(5)]


def put(plane: np.ndarray, top: int, left: int, side: tuple[int, int], codes: int) -> None:
    plane[top : top + side[0], left : left + side[1]] += np.array(codes, plane.dtype)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("bits", [8, 10, 16])
def test_a_spike_is_what_one_picture_has_alone(size, bits):
    """min(|b - a|, |b - c|) - |a - c|, where that is more than nothing. Of 64 x 64 pixels brighter by 40 codes the mean
    over the picture is 40 times their share, a cell within is 40, its place is theirs; pictures beside have none."""
    frames = still(size, bits, (2, 2))
    top, left = size[0] // 2 // 64 * 64, size[1] // 4 // 64 * 64
    put(frames[2][0], top, left, (64, 64), 40 << bits - 8)
    found = measured(frames, bits)

    assert np.isnan(found["spike.mean"]).tolist() == [True, False, False, False, True]
    assert found["spike.mean"][2] == pytest.approx(40 * 64 * 64 / size[0] / size[1], rel=0.02)
    assert found["spike.cell"][2] == pytest.approx(40, abs=1)
    assert max(found["spike.mean"][[1, 3]]) < 0.02 and max(found["spike.cb_cell"][1:4]) == 0
    across, down = found["spike.place"][2] / 255.0
    assert left <= across * size[1] + 1 and across * size[1] <= left + 65
    assert top <= down * size[0] + 1 and down * size[0] <= top + 65


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("sampling", [(1, 1), (1, 2), (2, 2)])
@pytest.mark.parametrize("interlaced", [True, False])
def test_blocks_are_told_from_what_lies_beside_the_grid(size, bits, sampling, interlaced):
    """A damaged row of macroblocks (16 x 16 pixels of the raster: ITU-T H.262, H.264) has its steps at their edges; the
    same moved by 6 pixels each way has them between. In luma, Cb and Cr, at every depth and sampling."""
    down, across = sampling
    for part, name in enumerate(("", "cb_", "cr_")):
        lines = {}
        for moved in (0, 6):
            frames = still(size, bits, sampling)
            rows, columns = (down, across) if part else (1, 1)
            top = (size[0] // 3 // 16 * 16 + moved) // rows
            for place, codes in enumerate((70, 40, 60, 20, 80, 50, 30, 70)):
                left = (size[1] * 3 // 5 // 16 * 16 + 16 * place + moved) // columns
                put(frames[2][part], top, left, (32 // rows, 16 // columns), codes << bits - 8)
            found = measured(frames, bits, interlaced)
            lines[moved] = float(found[f"spike.{name}line"][2])
            assert found[f"spike.{name}cell"][2] > 9.5
            others = {"", "cb_", "cr_"} - {name}
            assert all(np.isnan(found[f"spike.{other}line"][2]) for other in others)
        assert lines[0] > 4 and lines[6] < 1.5, (name, lines)


@pytest.mark.parametrize("size", SIZES)
def test_the_same_pictures_in_more_bits_are_the_same(size):
    """Codes of 10 and 16 bits that are those of 8 bits times 4 and 256: every number is the same, but for rounding."""
    frames = still(size, 8, (2, 2))
    for place, codes in enumerate((20, 10, 15, 25) * 2):
        for part, side in ((0, 16), (1, 8), (2, 8)):
            top, left = (length // 2 // (8 * side) * 8 * side for length in frames[2][part].shape)
            put(frames[2][part], top, left + side * place, (8 * side, side), codes)
    wanted = {name: array[2] for name, array in measured(frames).items()}
    assert wanted["spike.line"] > 2
    assert not any(np.isnan(value).any() for name, value in wanted.items() if not name.endswith(COLOURS))
    for bits in (10, 16):
        deep = [tuple(plane.astype(np.uint16) << bits - 8 for plane in planes) for planes in frames]
        for name, array in measured(deep, bits).items():
            assert array[2] == pytest.approx(wanted[name], rel=0.15, abs=0.1, nan_ok=True), (bits, name)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("bits", [8, 10])
def test_what_became_of_colour(size, bits):
    """Lost: nothing is left. Inverted: minus one. Swapped: Cb is the Cr of the frame before. How much comes and goes is
    the mean of the change, in plain NumPy (the pictures are soft: copies of them have it, too); where nothing does,
    nothing is said."""
    frames = still(size, bits, (2, 2))
    luma, blue, red = frames[1]
    none, unit = 128 << bits - 8, 2.0 ** (bits - 8)
    lost = [np.full_like(blue, none)] * 2
    inverted = [(2 * none - plane.astype(int)).astype(plane.dtype) for plane in (blue, red)]
    was = [float(np.sqrt((((plane / unit) - 128) ** 2).mean())) for plane in (blue, red)]
    for planes, wanted in (
        (lost, {"cb_size": 0, "cr_size": 0, "cb_size_beside": was[0], "cr_size_beside": was[1]}),
        (inverted, {"cb_size": was[0], "cr_size": was[1], "cb_like": -1, "cr_like": -1}),
        ([red, blue], {"cb_size": was[1], "cr_size": was[0], "cb_like_cr": 1, "cr_like_cb": 1}),
    ):
        found = measured([*frames[:2], (luma, *planes), *frames[3:]], bits)
        for name, now, before in zip(("cb", "cr"), planes, (blue, red), strict=True):
            change = np.abs(now / unit - before / unit).mean()
            assert found[f"spike.{name}_mean"][2] == pytest.approx(change, rel=0.03, abs=0.1)
        for name, value in wanted.items():
            assert found[f"spike.{name}"][2] == pytest.approx(value, rel=0.03, abs=0.05), name
            assert np.isnan(found[f"spike.{name}"][[0, 1, 3, 4]]).all()


def test_what_nobody_sees_is_not_looked_at_closely():
    """Blocks of 8 codes: a spike, but no word of its edges."""
    frames = still((720, 1280), 8, (2, 2))
    put(frames[2][0], 320, 320, (64, 64), 8)
    found = measured(frames)

    assert found["spike.cell"][2] == pytest.approx(8, abs=0.6) and np.isnan(found["spike.line"][2])


def test_a_flash_of_blocks_everywhere_is_looked_at_everywhere():
    """The picture is brighter by 30 codes, most of all at one soft spot, and the blocks stand far from it."""
    frames = still((720, 1280), 8, (2, 2))
    put(frames[2][0], 0, 0, (720, 1280), 30)
    y, x = np.mgrid[0:720, 0:1280]
    frames[2][0][:] += np.rint(60 * np.exp(-((x - 150) ** 2 + (y - 150) ** 2) / 2 / 50**2)).astype(np.uint8)
    for row, column in product(range(400, 720, 16), range(320, 1280, 32)):
        put(frames[2][0], row, column, (16, 16), 20)
    found = measured(frames)
    assert found["spike.mean"][2] > 20 and found["spike.line"][2] > 4


def test_other_rasters_and_damaged_pictures_begin_anew():
    """No spike is told from pictures of two kinds, nor across one that is missing; none is lost from the count."""
    meter = SpikeMeter()
    sizes = [(96, 160)] * 3 + [(98, 160)] * 3 + [None] + [(98, 160)] * 3
    for number, size in enumerate(sizes):
        if size is None:
            meter.skip()
        else:
            chroma = np.full((size[0] // 2, size[1] // 2), 128, np.uint8)
            meter.feed(Planes(number, np.full(size, 100, np.uint8), chroma, chroma, 8))
    known = ~np.isnan(meter.finish()["spike.mean"])

    assert np.flatnonzero(known).tolist() == [1, 4, 8]
