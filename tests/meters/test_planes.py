"""Small planes are exact averages of the picture, whatever its sampling and scan."""

from __future__ import annotations

import weakref
from itertools import product

import numpy as np
import pytest

from qc.meters.picture.averages import Scratch
from qc.meters.picture.bank import SMALLEST
from qc.meters.picture.planes import Planes

#: Rasters (rows, columns): even and odd, a multiple of four or not, taller than what is fetched at once, very small.
RASTERS = [(64, 96), (67, 101), (66, 98), (65, 96), (8, 2100), (4, 4), (5, 7), (1100, 1300)]


def boxes(plane: np.ndarray, down: int, across: int | None = None) -> np.ndarray:
    across = across or down
    height, width = plane.shape[0] // down, plane.shape[1] // across
    cut = plane[: height * down, : width * across].astype(float)
    return cut.reshape(height, down, width, across).mean(axis=(1, 3))


def noise(size: tuple[int, int], bits: int, seed: int = 5) -> np.ndarray:
    """Codes of all values, in memory with more to each row than the picture has."""
    memory = np.random.default_rng(seed).integers(0, 1 << bits, (size[0], size[1] + 16))
    return memory.astype(np.uint8 if bits == 8 else np.uint16)[:, : size[1]]


def grown(chroma: np.ndarray, down: int, across: int) -> np.ndarray:
    return np.repeat(np.repeat(chroma, down, 0), across, 1)


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("size", RASTERS)
@pytest.mark.parametrize("interlaced", [True, False])
def test_each_step_is_the_box_average(size, bits, interlaced):
    """Half, quarter and eighth are averages of 2, 4 and 8 squared, rounded at each step: by half a code, one, one and a
    half at most. Source: the definition. The scan makes no difference, and the decoder's memory is left alone."""
    luma = noise(size, bits)
    kept = luma.copy()
    planes = Planes(0, luma, None, None, bits, interlaced=interlaced)
    quarter, eighth = boxes(luma, 4), boxes(luma, 8)

    assert np.abs(planes.half - boxes(luma, 2)).max() <= 0.5
    assert planes.quarter.shape == quarter.shape and np.abs(planes.quarter - quarter).max() <= 1.0
    if eighth.size:
        assert planes.eighth.shape == eighth.shape and np.abs(planes.eighth - eighth).max() <= 1.5
    assert (luma == kept).all()


def test_memory_to_work_in_is_kept_for_a_few_rasters_only():
    """The same array for the same name, shape and type, and for no other; never more of them than was said."""
    scratch = Scratch(3)
    one = scratch.room((4, 6), np.uint8)
    assert scratch.room((4, 6), np.dtype(np.uint8)) is one
    others = scratch.room((4, 6), np.uint16), scratch.room((4, 6), np.uint8, "other")
    assert not any(np.shares_memory(one, other) for other in others)
    assert [(other.shape, other.dtype) for other in others] == [((4, 6), np.uint16), ((4, 6), np.uint8)]
    alive = [weakref.ref(scratch.room((4, size), np.uint8)) for size in range(7, 100)]
    assert sum(room() is not None for room in alive) <= 3


@pytest.mark.parametrize("interlaced", [True, False])
def test_copies_outlive_the_next_picture(interlaced):
    """Pictures of one file share memory to work in: no copy of the first changes when the second is reduced."""
    scratch = Scratch()
    for size in ((64, 96), (1080, 1300), (4, 4), (3, 9)):
        first, second = (
            Planes(number, luma, chroma, chroma, 8, interlaced=interlaced, scratch=scratch)
            for number, (luma, chroma) in enumerate((noise(size, 8, at), noise(size, 8, at + 1)) for at in (0, 2))
        )
        copies = [
            *(first.half, first.quarter, first.eighth, first.small, first.tiny, *first.fields),
            *(*first.chroma_half, *first.chroma_quarter, *first.chroma_eighth, *first.tiny_chroma),
        ]
        kept = [copy.copy() for copy in copies]
        second.fields, second.quarter, second.chroma_quarter  # noqa: B018

        assert all((copy == before).all() for copy, before in zip(copies, kept, strict=True))


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2), (1, 4)])
def test_chroma_of_any_sampling_lands_on_luma_s_grid(down, across, bits):
    """4:4:4, 4:2:2, 4:2:0, 4:1:1: the averages cover the same pixels as luma's. Noise as coarse as the pixels that are
    averaged, so that it does not matter which of them are read; a step beside them may be spread by 4:1:1."""
    for half, size in ((True, (64, 96)), (False, (64, 96)), (False, (132, 1300))):
        step = 2 if half else 4
        coarse = noise((size[0] // step, size[1] // step), bits, 7)
        chroma = np.ascontiguousarray(grown(coarse, step, step)[::down, ::across])
        planes = Planes(0, np.zeros(size, chroma.dtype), chroma, chroma[:, ::-1].copy(), bits)
        cb, cr = planes.chroma_half if half else planes.chroma_quarter

        assert cb.shape == cr.shape == coarse.shape
        if across == 4 and half:
            assert np.abs(cb.astype(float) - coarse).mean() < 0.3 * (1 << bits)
        else:
            assert np.abs(cb.astype(float) - coarse).max() <= 1.0
            assert np.abs(cr.astype(float) - coarse[:, ::-1]).max() <= 1.0


@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2)])
@pytest.mark.parametrize("interlaced", [True, False])
@pytest.mark.parametrize("size", [(128, 320), (1080, 2600)])
@pytest.mark.parametrize("bits", [8, 10])
def test_chroma_copies_are_averages_of_what_is_read(down, across, interlaced, size, bits):
    """Of fine noise: every sample in the copies of half size; in those of a quarter every sample of 4:4:4 and 4:2:0,
    and of 4:2:2 every second line, or pair of lines where there are fields. Source: the definition."""
    chroma = noise((size[0] // down, size[1] // across), bits, 9)
    planes = Planes(0, np.zeros(size, chroma.dtype), chroma, chroma, bits, interlaced=interlaced)
    half, quarter = planes.chroma_half[0], planes.chroma_quarter[0]

    assert np.abs(half - boxes(chroma, 2 // down, 2 // across)).max() <= 0.5
    read = chroma
    if (down, across) == (1, 2):
        read = chroma[np.arange(size[0]) % 4 < 2] if interlaced else chroma[::2]
    assert np.abs(quarter - boxes(read, 4 // down // (len(chroma) // len(read)), 4 // across)).max() <= 1.0
    assert np.abs(planes.chroma_eighth[0] - boxes(quarter, 2)).max() <= 0.5


@pytest.mark.parametrize("parity", [0, 1])
def test_chroma_of_both_fields_is_looked_at(parity):
    """A colour that only one field of 4:2:2 has shows in the copies, whichever it is: by half of itself."""
    chroma = np.full((64, 48), 128, np.uint8)
    chroma[parity::2] = 200
    planes = Planes(0, np.zeros((64, 96), np.uint8), chroma, chroma, 8, interlaced=True)

    for cb, cr in (planes.chroma_half, planes.chroma_quarter, planes.chroma_eighth, planes.tiny_chroma):
        assert set(cb.flat) == set(cr.flat) == {164}


@pytest.mark.parametrize("bits", [10, 12, 15, 16])
def test_pairs_of_rows_are_averaged_at_every_depth(bits):
    """4:2:2 chroma to half its rows, the highest codes included: the mean, rounded."""
    top = (1 << bits) - 1
    chroma = np.random.default_rng(bits).integers(0, top + 1, (64, 48)).astype(np.uint16)
    chroma[:4] = top
    cb, _ = Planes(0, np.zeros((64, 96), np.uint16), chroma, chroma, bits).chroma_half

    wanted = (chroma[0::2].astype(np.float64) + chroma[1::2]) / 2
    assert np.abs(cb - wanted).max() <= 0.5
    assert (cb - wanted).mean() > -0.05  # not cut off


@pytest.mark.parametrize(
    ("size", "step"),
    [
        ((64, 96), (2, 2)),
        ((67, 101), (2, 2)),
        ((486, 720), (2, 2)),
        ((720, 1280), (2, 2)),
        ((1080, 1280), (4, 4)),
        ((1082, 1922), (4, 4)),
        ((2160, 2560), (8, 8)),
    ],
)
@pytest.mark.parametrize("bits", [8, 10])
def test_fields_are_averages_of_their_own_rows(size, step, bits):
    """The upper field of rows 0, 2, ... alone, the lower of rows 1, 3, ...: 2 x 2 of them, and twice that as long as
    there are 270 rows of 640. Source: the definition."""
    luma = noise(size, bits, 11)
    planes = Planes(0, luma, None, None, bits, interlaced=True)

    for parity, field in enumerate(planes.fields):
        wanted = boxes(luma[parity::2], *step)
        assert field.shape == wanted.shape
        assert np.abs(field - wanted).max() <= 0.5 * np.log2(step[0])


def test_fields_keep_apart():
    """Upper and lower field of an interlaced frame never mix."""
    luma = np.zeros((64, 96), np.uint8)
    luma[0::2], luma[1::2] = 50, 200
    planes = Planes(0, luma, luma[:, ::2].copy(), luma[:, ::2].copy(), 8, interlaced=True)

    upper, lower = planes.fields
    assert set(upper.flat) == {50} and set(lower.flat) == {200}
    assert upper.shape == lower.shape == (16, 48) and set(planes.quarter.flat) == {125}


@pytest.mark.parametrize("bits", [8, 10, 12, 16])
@pytest.mark.parametrize(
    ("size", "small", "tiny"),
    [((1080, 640), 4, 8), ((720, 320), 4, 8), ((480, 320), 2, 4), ((300, 320), 1, 2), ((2160, 512), 8, 16)],
)
def test_small_planes_are_in_codes_of_8_bits(size, small, tiny, bits):
    """150 to 300 rows whatever the raster, and half of that, as codes of 8 bits: averages of the picture divided by 2
    for each bit more, of luma and of chroma. Source: the definition; each halving rounds once."""
    luma, chroma = noise(size, bits), noise((size[0] // 2, size[1] // 2), bits, 6)
    planes = Planes(0, luma, chroma, chroma, bits)
    unit = 2 ** (bits - 8)

    for plane, step in ((planes.small, small), (planes.tiny, tiny)):
        wanted = boxes(luma, step) / unit
        assert plane.dtype == np.uint8 and plane.shape == wanted.shape
        assert np.abs(plane - np.minimum(wanted, 255)).max() <= 0.5 * np.log2(step) / unit + 0.5
    assert planes.small_steps == np.log2(small)
    wanted = boxes(chroma, tiny // 2) / unit
    for plane in planes.tiny_chroma:
        assert plane.dtype == np.uint8 and plane.shape == planes.tiny.shape
        assert np.abs(plane - np.minimum(wanted, 255)).max() <= 0.5 * np.log2(tiny) / unit + 0.5


def test_the_small_plane_is_never_the_decoder_s_memory():
    """It is kept for seconds; the decoder writes the next pictures into its own."""
    for size in ((8, 8), (300, 400), (301, 400)):
        luma = noise(size, 8)
        assert not np.shares_memory(Planes(0, luma, None, None, 8).small, luma)


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2), (1, 4), (4, 4)])
@pytest.mark.parametrize("size", [(64, 96), (67, 101), (66, 98)])
def test_a_window_is_part_of_the_copy_of_half_size(size, down, across, bits):
    """Whatever it is made from, it is what the whole copy has there: luma's and both of chroma's."""
    luma = noise(size, bits)
    cb, cr = (noise((-(-size[0] // down), -(-size[1] // across)), bits, seed) for seed in (1, 2))
    whole = Planes(0, luma, cb, cr, bits)
    for lines, columns in ((slice(3, 20), slice(8, 31)), (slice(0, 8), slice(0, 8)), (slice(24, 32), slice(40, 48))):
        window = Planes(0, luma, cb, cr, bits)
        for part, plane in enumerate((whole.half, *whole.chroma_half)):
            assert np.array_equal(window.half_window(part, lines, columns), plane[lines, columns])
    everything = slice(0, size[0] // 2), slice(0, size[1] // 2)
    for part, plane in enumerate((whole.half, *whole.chroma_half)):
        assert np.array_equal(whole.half_window(part, *everything), plane)


@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2), (1, 4), (4, 4)])
@pytest.mark.parametrize("interlaced", [True, False])
def test_the_smallest_pictures_have_chroma_in_the_size_of_luma(down, across, interlaced):
    """From the smallest that is measured on: every copy of chroma is as large as luma's, and none is empty."""
    for rows, columns in product(range(SMALLEST, 14), repeat=2):
        luma, chroma = noise((rows, columns), 8), noise((-(-rows // down), -(-columns // across)), 8)
        planes = Planes(0, luma, chroma, chroma, 8, interlaced=interlaced)
        for own, both in (
            (planes.half, planes.chroma_half),
            (planes.quarter, planes.chroma_quarter),
            (planes.eighth, planes.chroma_eighth),
            (planes.tiny, planes.tiny_chroma),
        ):
            assert own.size and {plane.shape for plane in both} == {own.shape}, (rows, columns)


def test_a_single_pixel_has_planes_too():
    """The smallest picture there is goes through."""
    planes = Planes(0, np.full((1, 1), 99, np.uint8), None, None, 8)

    assert planes.eighth.tolist() == [[99]] and planes.chroma_half is None
