"""Picture levels against things outside this project: the colour-science library, published bars, a real film."""

from __future__ import annotations

import warnings
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from qc.meters.picture.level_filter import Filtered
from qc.meters.picture.level_ladder import CLEAR, LADDER, MATRICES, TESTED
from qc.meters.picture.planes import Planes
from tests.kit.film import film_path
from tests.kit.level_pictures import measured, picture, shares
from tests.kit.level_reference import components, share

#: How the headers name a matrix, and how colour-science does.
TAGS = {"BT.601": "SMPTE 170M", "BT.709": "BT.709", "BT.2020": "BT.2020"}
WEIGHTS = {"BT.601": "ITU-R BT.601", "BT.709": "ITU-R BT.709", "BT.2020": "ITU-R BT.2020"}
#: White, yellow, cyan, green, magenta, red, blue, black.
BARS = [(1, 1, 1), (1, 1, 0), (0, 1, 1), (0, 1, 0), (1, 0, 1), (1, 0, 0), (0, 0, 1), (0, 0, 0)]


@pytest.fixture(scope="module")
def colour() -> Any:
    """The reference library for colour, 0.4.4 or later."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour

    return colour


@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("name", list(TAGS))
def test_r_g_and_b_are_those_of_colour_science(colour: Any, name: str, bits: int) -> None:
    """Any code values, illegal ones too: R, G and B as colour-science derives them (YCbCr_to_RGB, narrow range),
    within a thousandth of an 8-bit code."""
    rng = np.random.default_rng(bits)
    codes = rng.integers(1 << (bits - 6), (1 << bits) - (1 << (bits - 6)), (40, 3))
    wanted = colour.YCbCr_to_RGB(codes, K=colour.WEIGHTS_YCBCR[WEIGHTS[name]], in_bits=bits, in_legal=True, in_int=True)
    patches = np.kron(codes.T.reshape(3, 5, 8), np.ones((16, 16))).astype(np.uint8 if bits == 8 else np.uint16)
    matrix = next(matrix for matrix in MATRICES if matrix.name == name)
    parts = [levels for _, levels in Filtered(Planes(0, *patches, bits), matrix).whole("RGB")]
    for place, component in enumerate("RGB"):
        whole = np.concatenate([part[component] for part in parts])
        middles = (whole[8::16, 8::16].ravel() - 16) / 219
        assert middles == pytest.approx(wanted[:, place], abs=0.001 / 219)


@pytest.mark.parametrize("height", [1.0, 0.75])
@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("name", list(TAGS))
def test_colour_bars_are_legal_in_their_own_matrix(colour: Any, name: str, bits: int, height: float) -> None:
    """Bars of 100 and 75 %, encoded by colour-science, come back within a code and are inside at every level."""
    weights = colour.WEIGHTS_YCBCR[WEIGHTS[name]]
    bars = np.array(BARS) * height
    codes = colour.RGB_to_YCbCr(bars, K=weights, in_legal=False, out_bits=bits, out_legal=True, out_int=True)
    planes = np.repeat(np.asarray(codes).T[:, None, :], 96, axis=1).repeat(40, axis=2)
    made = Planes(0, *planes.astype(np.uint8 if bits == 8 else np.uint16), bits)
    assert shares(made, TAGS[name]) == {}
    matrix = next(matrix for matrix in MATRICES if matrix.name == name)
    _, levels = next(iter(Filtered(made, matrix).whole("RGB")))
    for place, component in enumerate("RGB"):
        wanted = 16 + 219 * bars[:, place]
        assert levels[component][4, 20::40] == pytest.approx(wanted, abs=2.0 ** (8 - bits) * 1.6)


@pytest.mark.parametrize(
    ("name", "red", "other", "misread"),
    [
        ("BT.709", (63, 102, 240), "BT.601", ("G", -5)),  # G' is -10.3 % of white
        ("BT.601", (81, 90, 240), "BT.709", ("R", 105)),  # R' is 108.4 % of white
    ],
)
def test_published_code_values_of_red(
    colour: Any, name: str, red: tuple[int, int, int], other: str, misread: tuple[str, int]
) -> None:
    """100 % red at 8 bits: (81, 90, 240) in BT.601-7 bars, (63, 102, 240) by the equations of BT.709-6. Right in its
    own matrix; read in the other it is outside, as a wrong tag makes it."""
    weights = colour.WEIGHTS_YCBCR[WEIGHTS[name]]
    coded = colour.RGB_to_YCbCr([1, 0, 0], K=weights, in_legal=False, out_bits=8, out_legal=True, out_int=True)
    assert tuple(int(code) for code in coded) == red
    assert shares(picture(red), TAGS[name]) == {}
    assert shares(picture(red), TAGS[other]) == {misread: 1.0}


def film(at: float, frames: int) -> list[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Planes of frames of the open film from about ``at`` seconds on: 1280 x 720, 8 bits, 4:2:0, BT.709."""
    import av

    from qc.media.picture_view import picture_view

    found = []
    with av.open(str(film_path())) as container:
        stream = container.streams.video[0]
        assert stream.time_base is not None
        container.seek(int(Fraction(at) / stream.time_base), stream=stream)
        for frame in container.decode(stream):
            if frame.time is not None and frame.time >= at:
                view = picture_view(frame)
                assert view.cb is not None and view.cr is not None
                found.append((view.luma.copy(), view.cb.copy(), view.cr.copy()))
                if len(found) == frames:
                    break
    return found


@pytest.mark.realmedia
@pytest.mark.parametrize("at", [20.0, 192.8, 415.5, 530.0])
@pytest.mark.parametrize("interlaced", [False, True])
def test_counts_on_a_real_film_are_those_of_the_whole_raster(at: float, interlaced: bool) -> None:
    """Big Buck Bunny, (c) Blender Foundation, CC BY 3.0: what the screen lets through and the tiles count is what the
    plain reference finds over every pixel. The film has skies with red and blue over 105 % (192.8 s, 415.5 s)."""
    (planes,) = film(at, 1)
    reference = components(*planes, 8, interlaced=interlaced)
    found = shares(Planes(0, *planes, 8, interlaced=interlaced))
    for level in LADDER:
        wanted = share(reference, *level)
        if level in found:
            assert found[level] == pytest.approx(wanted, abs=1 / 65535)
        else:
            assert wanted < 0.001


@pytest.mark.realmedia
def test_nothing_is_missed_in_a_real_shot() -> None:
    """Twelve frames of the film around the start of a sky that is outside: every tested frame has the share of the
    reference, and no frame that is called clear has a tenth of a percent outside."""
    shot = film(192.3, 12)
    series = measured([Planes(place, *planes, 8) for place, planes in enumerate(shot)])
    rows = {int(frame): row for frame, row in zip(series["levels.at"], series["levels.share"], strict=True)}
    for frame, planes in enumerate(shot):
        reference = components(*planes, 8)
        wanted = np.array([share(reference, *level) for level in LADDER])
        if series["levels.state"][frame] == TESTED:
            assert rows[frame] / 65535 == pytest.approx(wanted, abs=0.001)
        elif series["levels.state"][frame] == CLEAR:
            assert wanted.max() < 0.001
    assert len(series["levels.state"]) == 12
