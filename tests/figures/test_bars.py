"""Colour bars by their published levels, against FFmpeg's own bars, which know nothing of this project."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from qc.figures.bar_patterns import codes
from qc.figures.bars import Bars, recognise
from qc.meters.picture.cards import card
from qc.meters.picture.planes import Planes
from tests.kit.heads import lavfi

#: Source of FFmpeg -> pattern, matrix: libavfilter/vsrc_testsrc.c holds the levels of SMPTE RP 219-2002, of SMPTE EG 1
#: and of EBU bars as constants.
SOURCES = {
    "smptehdbars": ("SMPTE RP 219", "BT.709"),
    "smptebars": ("SMPTE EG 1", "BT.601"),
    "pal75bars": ("EBU 100/0/75/0", "BT.601"),
    "pal100bars": ("EBU 100/0/100/0", "BT.601"),
}

#: 10-bit Y', Cb, Cr of SMPTE RP 219, from memory.
RP_219 = {
    (0.4, 0.4, 0.4): (414, 512, 512),
    (0.75, 0.75, 0.75): (721, 512, 512),
    (0.75, 0.75, 0): (674, 176, 543),
    (0, 0.75, 0.75): (581, 589, 176),
    (0, 0.75, 0): (534, 253, 207),
    (0.75, 0, 0.75): (251, 771, 817),
    (0.75, 0, 0): (204, 435, 848),
    (0, 0, 0.75): (111, 848, 481),
    (0, 1, 1): (754, 615, 64),
    (0, 0, 1): (127, 960, 471),
    (1, 1, 0): (877, 64, 553),
    (1, 0, 0): (250, 409, 960),
    (0.15, 0.15, 0.15): (195, 512, 512),
    (1, 1, 1): (940, 512, 512),
    (0, 0, 0): (64, 512, 512),
}

#: 8-bit Y', Cb, Cr of 100 % and 75 % bars by BT.601, from memory of ITU-R BT.801 and of FFmpeg's table.
EBU = {
    (1, 1, 0): (210, 16, 146),
    (0, 1, 1): (170, 166, 16),
    (0, 1, 0): (145, 54, 34),
    (1, 0, 1): (106, 202, 222),
    (1, 0, 0): (81, 90, 240),
    (0, 0, 1): (41, 240, 110),
    (0.75, 0.75, 0): (162, 44, 142),
    (0, 0.75, 0.75): (131, 156, 44),
    (0, 0.75, 0): (112, 72, 58),
    (0.75, 0, 0.75): (84, 184, 198),
    (0.75, 0, 0): (65, 100, 212),
    (0, 0, 0.75): (35, 212, 114),
}


def seen(picture: tuple[np.ndarray, np.ndarray, np.ndarray], bits: int = 8, full_range: bool = False) -> Bars | None:
    return recognise(card(Planes(0, *picture, bits, full_range)))


def changed(gain: float, offset: float = 0.0, colour: float = 1.0, source: str = "smptehdbars") -> Bars | None:
    """Bars whose levels something moved."""
    luma, cb, cr = (plane.astype(np.float64) for plane in lavfi(source))
    moved = (16 + (luma - 16) * gain + offset, 128 + (cb - 128) * colour, 128 + (cr - 128) * colour)
    planes = tuple(np.clip(np.rint(plane), 0, 255).astype(np.uint8) for plane in moved)
    return seen(planes)  # type: ignore[arg-type]


def test_codes_of_rp_219_are_those_of_its_table() -> None:
    """Every colour of SMPTE RP 219 in 10 bits, within a code: computed from percentages by BT.709-6."""
    for colour, published in RP_219.items():
        assert np.abs(4 * np.array(codes(colour, "BT.709")) - published).max() <= 1


def test_codes_of_ebu_bars_are_those_of_the_table() -> None:
    """100 % and 75 % colours in 8 bits by BT.601-7, within a code."""
    for colour, published in EBU.items():
        assert np.abs(np.array(codes(colour, "BT.601")) - published).max() <= 1


@pytest.mark.parametrize("pixels", ["yuv422p", "yuv422p10le", "yuv420p"])
@pytest.mark.parametrize("raster", [(1920, 1080), (1280, 720), (720, 576), (720, 480), (320, 180)])
@pytest.mark.parametrize("source", list(SOURCES))
def test_bars_of_ffmpeg_are_recognised(source: str, raster: tuple[int, int], pixels: str) -> None:
    """Pattern and matrix in 8 and 10 bit, in HD, SD and small rasters. Source: FFmpeg's test sources."""
    width, height = raster
    luma, cb, cr = lavfi(source, raster, pixels)
    if pixels == "yuv420p":
        cb, cr = (plane.reshape(height // 2, width // 2) for plane in (cb, cr))
    found = seen((luma, cb, cr), 10 if "10" in pixels else 8)
    assert found is not None and found.exact
    assert (found.name, found.matrix) == SOURCES[source]


def test_full_range_bars_are_bars() -> None:
    """The same picture coded from 0 to 255, and flagged so (ITU-T H.273, 8.3)."""
    luma, cb, cr = (plane.astype(np.float64) for plane in lavfi("smptehdbars"))
    full = ((luma - 16) * 255 / 219, 128 + (cb - 128) * 255 / 224, 128 + (cr - 128) * 255 / 224)
    planes = tuple(np.clip(np.rint(plane), 0, 255).astype(np.uint8) for plane in full)
    found = seen(planes, full_range=True)  # type: ignore[arg-type]
    assert found is not None and found.exact and found.name == "SMPTE RP 219"
    wrong = seen(planes)  # type: ignore[arg-type]
    assert wrong is not None and not wrong.exact  # the same without the flag: the shape, at wrong levels


def test_bars_of_4_to_3_in_a_wide_picture() -> None:
    """EBU bars between black sides; with something beside them they are a picture in a picture."""
    inner = lavfi("pal100bars", (240, 180))
    luma = np.full((180, 320), 16, np.uint8)
    cb, cr = np.full((180, 160), 128, np.uint8), np.full((180, 160), 128, np.uint8)
    luma[:, 40:280], cb[:, 20:140], cr[:, 20:140] = inner
    found = seen((luma, cb, cr))
    assert found is not None and found.exact and found.narrow and found.name == "EBU 100/0/100/0"
    luma[:, :40] = 90
    assert seen((luma, cb, cr)) is None


@pytest.mark.parametrize(
    ("gain", "offset", "colour"), [(0.92, 0, 1.0), (1.0, 12, 1.0), (1.0, 0, 0.8), (1.1, -8, 1.1)], ids=str
)
def test_wrong_levels_are_told(gain: float, offset: float, colour: float) -> None:
    """Shape without levels: named, never exact, with the deviation that was put in."""
    found = changed(gain, offset, colour)
    assert found is not None and not found.exact and found.name == "SMPTE RP 219"
    assert found.off == pytest.approx(
        max(abs(219 * (gain - 1) + offset), abs(offset), 112 * abs(colour - 1), 0), abs=2.5
    )


def test_tolerance_of_coding() -> None:
    """Three codes off are bars as published, eight are not."""
    near, far = changed(1.0, 3), changed(1.0, 8)
    assert near is not None and near.exact
    assert far is not None and not far.exact


def test_noise_is_no_deviation() -> None:
    """Noise of an old tape, 6 codes RMS, averages out."""
    rng = np.random.default_rng(2)
    planes = tuple(
        np.clip(plane + rng.normal(0, 6, plane.shape), 0, 255).astype(np.uint8) for plane in lavfi("smptehdbars")
    )
    found = seen(planes)  # type: ignore[arg-type]
    assert found is not None and found.exact


@pytest.mark.parametrize("source", ["testsrc", "testsrc2", "rgbtestsrc", "yuvtestsrc", "colorspectrum", "mandelbrot"])
def test_what_is_no_bars(source: str) -> None:
    """FFmpeg's other colourful test pictures."""
    assert seen(lavfi(source)) is None


def test_bars_as_a_prop_are_no_bars() -> None:
    """A monitor that shows bars in a scene, and bars that do not fill the picture."""
    luma, cb, cr = (plane.copy() for plane in lavfi("testsrc2"))
    for plane, bars in zip((luma, cb, cr), lavfi("smptehdbars"), strict=True):
        small = cv2.resize(bars, (plane.shape[1] * 3 // 4, plane.shape[0] * 3 // 4), interpolation=cv2.INTER_AREA)
        plane[10 : 10 + small.shape[0], 10 : 10 + small.shape[1]] = small
    assert seen((luma, cb, cr)) is None


def test_mirrored_or_cut_bars_are_no_bars() -> None:
    """Right levels in the wrong places."""
    mirrored = tuple(np.ascontiguousarray(plane[:, ::-1]) for plane in lavfi("smptehdbars"))
    halved = tuple(np.ascontiguousarray(plane[: plane.shape[0] // 2]) for plane in lavfi("smptehdbars"))
    assert seen(mirrored) is None  # type: ignore[arg-type]
    assert seen(halved) is None or not seen(halved).exact  # type: ignore[arg-type,union-attr]


def test_grey_bars_without_colour_are_no_bars() -> None:
    """Luma alone does not make colour bars."""
    luma = lavfi("smptehdbars")[0]
    assert recognise(card(Planes(0, luma, None, None, 8))) is None
