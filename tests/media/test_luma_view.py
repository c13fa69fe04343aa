"""The luma plane of a decoded frame, in every kind of pixel format."""

from __future__ import annotations

import av
import numpy as np
import pytest

from qc.media.luma_view import luma_view
from qc.media.picture_view import picture_view

CODES = np.add.outer(np.arange(48), 3 * np.arange(70)).astype(np.uint8) % 220 + 16


def picture(form: str) -> av.VideoFrame:
    """A 70x48 picture without colour, with those 8-bit luma codes, converted by libav's scaler."""
    neutral = np.full_like(CODES, 128)
    frame = av.VideoFrame.from_ndarray(np.stack([CODES, neutral, neutral]), format="yuv444p")
    frame.colorspace, frame.color_range = 1, 1
    return frame.reformat(format=form, src_colorspace=1, src_color_range=1, dst_color_range=1, threads=1)


@pytest.mark.parametrize("form", ["yuv420p", "yuv422p", "yuv444p", "yuva444p", "nv12", "nv16"])
def test_eight_bit_luma_is_a_view_of_the_decoders_memory(form: str) -> None:
    """No copy, and exactly the codes of the picture (against the array it was made of)."""
    frame = picture(form)
    view = luma_view(frame)

    assert np.array_equal(view.codes, CODES)
    assert view.codes.dtype == np.uint8 and not view.codes.flags.owndata
    assert view.bits == 8 and not view.full_range


@pytest.mark.parametrize(
    ("form", "bits"),
    [("yuv422p10le", 10), ("yuv422p10be", 10), ("p010le", 10), ("yuv444p12le", 12), ("p012le", 12)],
)
def test_deep_luma_comes_as_codes_of_its_own_depth(form: str, bits: int) -> None:
    """Big-endian and high-justified formats read the same codes (8-bit codes times a power of two)."""
    view = luma_view(picture(form))

    assert view.bits == bits and view.codes.dtype == np.uint16
    assert np.array_equal(view.codes, CODES.astype(np.uint16) << (bits - 8))


@pytest.mark.parametrize("form", ["yuyv422", "uyvy422", "rgb24", "gbrp", "bgra", "pal8", "gbrp10le", "rgb48le"])
def test_formats_without_a_luma_plane_are_brought_to_one(form: str) -> None:
    """Packed, RGB and palette pictures come out near the codes they were made of (8-bit rounding of R'G'B')."""
    if form == "pal8":
        frame = av.VideoFrame.from_ndarray(np.full((48, 70, 3), 128, np.uint8), format="rgb24").reformat(format="rgb8")
        expected = np.full((48, 70), 126)  # half of full scale: 16 + 219 * 128 / 255, ITU-R BT.709-6, 4.6
        tolerance = 20  # rgb8 has 8 levels of red and green
    else:
        frame, expected, tolerance = picture(form), CODES.astype(int), 2
    view = luma_view(frame)

    codes = view.codes.astype(int) >> (view.bits - 8)
    assert not view.full_range
    assert np.abs(codes - expected).max() <= tolerance


def test_gray_is_luma_already() -> None:
    """Gray pictures are taken as they are (against the array they were made of)."""
    deep = CODES.astype(np.uint16) * 4

    assert np.array_equal(luma_view(av.VideoFrame.from_ndarray(CODES, format="gray")).codes, CODES)
    assert np.array_equal(luma_view(av.VideoFrame.from_ndarray(deep, format="gray10le")).codes, deep)


def test_full_range_is_read_from_the_frame() -> None:
    """A full-range flag, or one of libav's full-range formats, is told."""
    flagged = picture("yuv420p")
    flagged.color_range = 2

    assert luma_view(flagged).full_range
    assert luma_view(av.VideoFrame(64, 48, "yuvj420p")).full_range


@pytest.mark.parametrize("form", ["monow", "monob"])
def test_black_and_white_is_narrow_range(form: str) -> None:
    """One bit for each pixel: black is 16, white 235 (ITU-R BT.709-6, item 4.6), as from any other RGB picture."""
    halves = np.zeros((16, 64, 3), np.uint8)
    halves[:, 32:] = 255
    view = luma_view(av.VideoFrame.from_ndarray(halves, format="rgb24").reformat(format=form))
    assert (view.codes[4, 8], view.codes[4, 56], view.full_range) == (16, 235, False)


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("matrix", [1, 2, 5, 9], ids=["BT.709", "untagged", "BT.601", "BT.2020"])
@pytest.mark.parametrize("form", ["uyvy422", "yuyv422", "vuyx", "y210le", "xv36le"])
def test_packed_pictures_keep_their_codes(form: str, matrix: int, full: bool) -> None:
    """Uncompressed Y'CbCr as stations get it, of any matrix and range: 100 % red of ITU-R BT.709-6 comes as the codes
    that are in the file, with what a limited range does not have (250)."""
    codes = [np.full((16, 64), code, np.uint8) for code in (63, 102, 250)]
    frame = av.VideoFrame.from_ndarray(np.stack(codes), format="yuv444p")
    frame.colorspace, frame.color_range = 1, 1
    frame = frame.reformat(format=form, threads=1)
    frame.colorspace, frame.color_range = matrix, 2 if full else 1
    view = picture_view(frame)
    assert view.cb is not None and view.cr is not None and view.full_range is full
    planes = (view.luma, view.cb, view.cr)
    assert [int(plane[8, 8]) >> (view.bits - 8) for plane in planes] == [63, 102, 250]
