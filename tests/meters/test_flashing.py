"""The meters behind flashing: light, the walk over red, stripes, and pictures of every kind."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import Phase, example, given, settings
from hypothesis import strategies as st

from qc.meters.picture import display_light
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.display_light import HLG, PQ, SDR, hlg, luminance_table, pq
from qc.meters.picture.flash_counts import TickTimes
from qc.meters.picture.flash_red import ACROSS, DOWN, FLARE, Moment, RedFlashes, RedWalk, least_red, to_xyz
from qc.meters.picture.flashing import FlashingMeter
from qc.meters.picture.planes import Planes
from tests.kit.flashes import BLACK, RATES, WHITE, flat, lamp, measured, square_wave

PAL = RATES["25"]


@pytest.mark.parametrize(("code", "cd"), [(400, 20.1), (863, 160.4), (940, 200.0), (64, 0.0), (30, 0.0)])
def test_luminance_of_standard_dynamic_range(code, cd):
    """Source: ITU-R BT.1702-2 and -3, Annex 2, Table 1 (10 bit)."""
    assert luminance_table(SDR, 10, False)[code, 0] == pytest.approx(cd, abs=0.1)


@pytest.mark.parametrize(("millivolts", "cd"), [(234, 20.1), (631, 160.0), (700, 200.0)])
def test_luminance_of_the_ofcom_table(millivolts, cd):
    """Source: Ofcom, guidance notes to Section Two, Annex 1 (0 to 700 mV); read at the nearest 12-bit code."""
    code = round(256 + 3504 * millivolts / 700)
    assert luminance_table(SDR, 12, False)[code, 1] == pytest.approx(cd, abs=0.3)


def test_luminance_of_hlg_and_pq():
    """HLG 75 % is 203 cd/m2 and PQ 58 % is 203 cd/m2 (ITU-R BT.2408-5, Table 1); PQ 100 % is 10 000, HLG 1000."""
    assert hlg(np.array([0.75]))[0] == pytest.approx(203, abs=1)
    assert pq(np.array([0.58]))[0] == pytest.approx(203, abs=2)
    assert hlg(np.array([1.0]))[0] == pytest.approx(1000, abs=1)
    assert pq(np.array([1.0]))[0] == pytest.approx(10000)
    for model in (HLG, PQ):
        assert luminance_table(model, 10, False).shape == (1024, 1)


@pytest.mark.parametrize(("bits", "model"), [(8, SDR), (10, SDR), (10, PQ), (16, SDR)])
@pytest.mark.parametrize("reading", [None, 0])
@pytest.mark.parametrize("wide", [True, False])
def test_light_of_a_plane_is_that_of_its_codes(bits, model, reading, wide, monkeypatch):
    """Row by row of the table, in both ways of looking it up; codes beyond the depth are read as the last."""
    monkeypatch.setattr(display_light, "WIDE_LUT", wide and display_light.WIDE_LUT)
    table = luminance_table(model, bits, False)
    if reading is not None:
        table = np.ascontiguousarray(table[:, [reading]])
    most = 255 if bits == 8 else 65535
    codes = np.random.default_rng(5).integers(0, most, (20, 30), np.uint8 if bits == 8 else np.uint16, endpoint=True)
    found = np.empty((10, 30 * table.shape[1]), np.float32)
    display_light.Lookup(table).fill(codes[::2], found)

    assert (found.reshape(10, 30, -1) == table[np.minimum(codes[::2], (1 << bits) - 1)]).all()


@pytest.mark.parametrize(
    ("size", "bits"), [((480, 270), 8), ((480, 270), 10), ((320, 180), 8), ((360, 288), 8), ((77, 43), 8)]
)
def test_mean_luminance_is_that_of_the_samples(size, bits):
    """Light is averaged, not codes, whichever way the cells are laid: noise from black to white. By the formula of
    BT.1886, 200 cd/m2 at white, as BT.1702-3 has it; a picture smaller than the grid of cells is read at points."""
    luma = (
        np.random.default_rng(8)
        .integers(16 << bits - 8, 236 << bits - 8, size[::-1])
        .astype(f"uint{8 * -(-bits // 8)}")
    )
    meter = FlashingMeter(PictureKind(*size, PAL, None, None))
    meter.feed(Planes(0, luma, None, None, bits))
    wanted = (200 * ((luma / 2 ** (bits - 8) - 16) / 219) ** 2.4).mean()

    assert meter.finish()["flashing.luminance"][0, 0] == pytest.approx(wanted, rel=1e-5 if size[0] > 77 else 0.1)


@pytest.mark.parametrize("rate", RATES.values(), ids=RATES.keys())
def test_lengths_in_ticks_are_exact(rate):
    """A second holds the moments that are less than a second apart; leading edges as BT.1702-3, Guideline 1, has
    them: 9 frames at 25, 10 at 29.97."""
    times = TickTimes.of(rate)
    assert Fraction(times.second - 1) / (2 * rate) < 1 <= Fraction(times.second) / (2 * rate)
    frames = {25: 9, 50: 18}.get(rate) or {24: 8, 30: 10, 60: 20}[round(rate)]
    assert times.apart == 2 * frames


def linear(red: float, green: float, blue: float) -> np.ndarray:
    return 200 * np.array([[red], [green], [blue]], np.float32)


COLOURS = {
    "red": (1, 0, 0),
    "dark red": (0.05, 0.001, 0.001),
    "orange red": (0.9, 0.15, 0.02),
    "orange": (1, 0.4, 0.05),
    "grey": (0.2, 0.2, 0.2),
    "white": (1, 1, 1),
    "black": (0, 0, 0),
    "blue": (0.1, 0.1, 0.9),
    "magenta": (0.7, 0.05, 0.6),
    "green": (0.1, 0.8, 0.1),
}


def state(name: str) -> tuple[bool, np.ndarray]:
    """Red or not, and u'v', in plain words. Sources: R / (R + G + B) >= 0.8, ISO 9241-391 as quoted by WCAG 2.2;
    XYZ of BT.709 primaries: IEC 61966-2-1 (rounded as published); u'v': CIE 15."""
    light = 200 * np.array(COLOURS[name]) + FLARE
    x, y, z = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]) @ light
    return light[0] / light.sum() >= 0.8, np.array([4 * x, 9 * y]) / (x + 15 * y + 3 * z)


def longest_chain(states: list[tuple[bool, np.ndarray]], first: int = 0) -> int:
    """Most changes to red (1) and from red (-1) by turns of any choice of moments, the first of the way ``first``."""
    most = [{1: 0, -1: 0} for _ in states]
    for now in range(len(states)):
        for then in range(now):
            if np.hypot(*(states[now][1] - states[then][1])) > 0.2:
                for way, red in ((1, states[now][0]), (-1, states[then][0])):
                    if red and (most[then][-way] or first in (0, way)):
                        most[now][way] = max(most[now][way], most[then][-way] + 1)
    return max(value for each in most for value in each.values())


@settings(max_examples=150, phases=(Phase.explicit, Phase.generate))
@given(st.lists(st.sampled_from(sorted(COLOURS)), min_size=2, max_size=25))
@example(["grey", "orange red", "blue"])
@example(["dark red", "orange red", "dark red", "magenta", "dark red", "red", "red", "blue"])
def test_changes_of_red_are_as_many_as_any_choice_of_moments(names):
    """To and from saturated red by turns, more than 0.2 apart in u'v'. Reference: the longest chain of all that begins
    with a change out of what the first picture is, red or not. A chain that begins the other way may have one change
    more, the first: to red from a colour too near to count, then far away. That one is lost."""
    walk = RedWalk(1, to_xyz(((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))))
    ours = []
    for name in names:
        came, left = walk.step(linear(*COLOURS[name]) + np.float32(FLARE))
        ours += [1] * len(came) + [-1] * len(left)

    states = [state(name) for name in names]
    assert len(ours) == longest_chain(states, -1 if states[0][0] else 1)
    assert len(ours) >= longest_chain(states) - 1
    assert all(before != after for before, after in pairwise(ours))


def test_u_v_of_the_primaries():
    """Source: computed from BT.709-6 primaries: red 0.4507 0.5229, blue 0.1754 0.1579, white 0.1978 0.4683."""
    matrix = to_xyz(((0.64, 0.33), (0.30, 0.60), (0.15, 0.06)))
    for light, wanted in (((1, 0, 0), (0.4507, 0.5229)), ((0, 0, 1), (0.1754, 0.1579)), ((1, 1, 1), (0.1978, 0.4683))):
        x, y, z = matrix @ np.array(light)
        assert (4 * x / (x + 15 * y + 3 * z), 9 * y / (x + 15 * y + 3 * z)) == pytest.approx(wanted, abs=2e-4)


@pytest.mark.parametrize("weights", [(0.2126, 0.0722), (0.299, 0.114), (0.2627, 0.0593)])
@pytest.mark.parametrize("model", [SDR, HLG, PQ])
def test_nothing_red_is_passed_over(model, weights):
    """Whatever R', G', B' make a saturated red, the quick look at Cr lets it through: a dense sample of the cube."""
    kr, kb = weights
    r, g, b = np.random.default_rng(3).uniform(0, 1.09, (3, 200_000)).astype(np.float32) ** 1.5
    flashes = RedFlashes(model, weights, TickTimes.of(PAL))
    luma = kr * r + (1 - kr - kb) * g + kb * b
    codes = np.rint(
        [64 + 876 * luma, 512 + 896 * (b - luma) / (2 * (1 - kb)), 512 + 896 * (r - luma) / (2 * (1 - kr))]
    ).astype(np.uint16)
    light = flashes.linear(codes.astype(np.float32), 10, False)
    red = light[0] >= 0.8 * light.sum(axis=0)
    assert red.sum() > 1000

    for at in np.flatnonzero(red)[::7]:  # one sample of the picture is red, the others are grey
        luma, cb, cr = np.full((3, DOWN, ACROSS), 512, np.uint16)
        luma[9, 9], cb[9, 9], cr[9, 9] = codes[:, at]
        assert flashes.may_be_red(Moment(luma, cb, cr, 10, False), cr.ravel())
    grey = np.full((3, DOWN, ACROSS), 512, np.uint16)
    assert not flashes.may_be_red(Moment(*grey, 10, False), grey[2].ravel())
    assert least_red(model, weights)[0] > 0.01


def test_the_colour_of_a_code_is_that_of_the_matrix():
    """100 % red of BT.709 in 8 bits is (63, 102, 240), of BT.601 (81, 90, 240). Source: BT.709-6, BT.601-7."""
    for weights, codes in (((0.2126, 0.0722), (63, 102, 240)), ((0.299, 0.114), (81, 90, 240))):
        flashes = RedFlashes(SDR, weights, TickTimes.of(PAL))
        light = flashes.linear(np.array(codes, np.float32)[:, None], 8, False)
        assert light[:, 0] == pytest.approx((200, 0, 0), abs=3)


# -- pictures of every kind --------------------------------------------------------------------------------------------


def test_repeated_frames_change_nothing():
    """A picture that comes twice may be passed over: every frame doubled at twice the rate gives the same rows as the
    frames alone, at their moments."""
    noise = np.random.default_rng(6)
    pictures = [flat(int(code)) for code in noise.choice([64, 300, 500, 700, 940], 40)]
    once = measured(pictures, PAL)
    twice = measured([each for picture in pictures for each in (picture, picture.copy())], 2 * PAL)

    assert twice["flashing.bt1702.ticks"].tolist() == (2 * once["flashing.bt1702.ticks"]).tolist()
    assert twice["flashing.bt1702.share"].tolist() == once["flashing.bt1702.share"].tolist()


def test_a_damaged_frame_is_marked_and_time_goes_on():
    """Its row has no luminance, and the changes on both sides keep their distance."""
    meter = FlashingMeter(PictureKind(160, 90, PAL, None, None))
    for number, picture in enumerate(square_wave(8, 60)):
        if number % 8 == 2:
            meter.skip()
        else:
            meter.feed(Planes(number, picture, None, None, 10))
    series = meter.finish()

    assert (series["flashing.luminance"][2::8] == -1).all() and len(series["flashing.luminance"]) == 60
    assert series["flashing.bt1702.ticks"].tolist() == [8 * at for at in range(1, 15)]


def test_without_a_rate_there_is_the_luminance_alone():
    """No second to count in."""
    meter = FlashingMeter(PictureKind(160, 90, None, None, None))
    for number, picture in enumerate(square_wave(8, 20)):
        meter.feed(Planes(number, picture, None, None, 10))

    assert set(meter.finish()) == {"flashing.luminance", "flashing.model"}


@pytest.mark.parametrize(("matrix", "red"), [("ICtCp", False), ("YCgCo", False), ("BT.2020", True), (None, True)])
def test_red_needs_a_matrix_that_says_what_red_is(matrix, red):
    """Another coding of colour than Y'CbCr leaves red out; a missing tag is taken by the height."""
    assert ("flashing.red.share" in measured([flat(BLACK)] * 3, PAL, matrix=matrix)) == red


def test_no_picture_at_all():
    """Empty series, of the right shape."""
    series = FlashingMeter(PictureKind(0, 0, PAL, None, None)).finish()
    assert series["flashing.luminance"].shape == (0, 2) and series["flashing.red.share"].shape == (0, 15)


def test_a_raster_that_changes_keeps_its_place_on_the_screen():
    """The left third of the screen flashes on through three rasters, bit depths and samplings."""
    meter = FlashingMeter(PictureKind(1920, 1080, PAL, "BT.709", None))
    rasters = [(1920, 1080, 8), (720, 576, 10), (97, 53, 12)]
    for number in range(60):
        width, height, bits = rasters[number // 20]
        kind = np.uint8 if bits == 8 else np.uint16
        luma = np.full((height, width), 16 << (bits - 8), kind)
        if number % 5 >= 2:
            luma[:, : round(width / 3)] = 235 << (bits - 8)
        cb = np.full((height // 2, width // 2), 128 << (bits - 8), kind)
        meter.feed(Planes(number, luma, cb, cb, bits))
    share = meter.finish()["flashing.bt1702.share"]

    assert len(share) == 23 and share[1:, :2].max(axis=1).astype(int) == pytest.approx(3333, abs=140)
    assert share[10:, 9].astype(int) == pytest.approx(3333, abs=140)


@pytest.mark.parametrize("shape", [(1, 1), (2, 3), (1, 500), (500, 1), (45, 80), (44, 79), (90, 161), (361, 641)])
@pytest.mark.parametrize("interlaced", [False, True])
def test_any_raster_goes_through(shape, interlaced):
    """One pixel, one line, one column, odd sizes: a flash of all of it is 100 % of the screen."""
    for subsampled in (1, 2):
        meter = FlashingMeter(PictureKind(shape[1], shape[0], PAL, None, None))
        for number in range(30):
            luma = np.full(shape, 235 if number % 4 < 2 else 16, np.uint8)
            chroma = np.full((-(-shape[0] // subsampled), -(-shape[1] // subsampled)), 128, np.uint8)
            meter.feed(Planes(number, luma, chroma, chroma, 8, interlaced=interlaced))
        share = meter.finish()["flashing.bt1702.share"]
        assert len(share) == 14 and (share[:, :2].max(axis=1) == 10000).all()


def test_codes_beyond_their_depth_do_no_harm():
    """A 10-bit picture with 16-bit garbage in it is read as if it stopped at 1023."""
    wild = np.full((90, 160), 60000, np.uint16)
    series = measured([flat(BLACK), wild, flat(BLACK)], PAL, chroma=lambda *_: (wild, wild))
    assert np.isfinite(series["flashing.luminance"]).all() and series["flashing.luminance"].max() < 260


def test_views_with_padding_at_the_end_of_each_line():
    """Planes as decoders hand them over: rows further apart than they are long."""
    padded = [np.full((90, 192), code, np.uint16) for code in (BLACK, WHITE)]
    views = [padded[number // 3 % 2][:, :160] for number in range(30)]
    whole = [view.copy() for view in views]
    chroma = np.full((90, 96), 512, np.uint16)[:, :80]

    ours, theirs = (measured(each, PAL, chroma=lambda *_: (chroma, chroma)) for each in (views, whole))
    assert all((ours[name] == theirs[name]).all() for name in theirs)


def test_series_stay_small():
    """At most 64 bytes for a frame of ordinary moving pictures, and 250 for one that flashes in every way."""
    calm = measured(lamp([(n, 20, 60, 60) for n in (20, 200)], lambda k, n: n % 25 == k, 100), PAL)
    wild = measured(square_wave(2, 100), PAL)
    size = [sum(array.nbytes for array in series.values()) / 100 for series in (calm, wild)]
    assert size[0] < 64 and size[1] < 250
