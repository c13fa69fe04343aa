"""Picture levels of known pictures: limits, filter, area and matrices of EBU R 103 v3.0 and ITU-R BT.601/709/2020."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.figures.black import runs_of
from qc.figures.levels import share_outside
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.level_filter import Filtered
from qc.meters.picture.level_ladder import (
    BETWEEN,
    CARRIED,
    CLEAR,
    LADDER,
    MATRICES,
    NO_MATRIX,
    NOT_MEASURED,
    TESTED,
    limit_step,
    matrix_of,
)
from qc.meters.picture.levels import LevelsMeter
from qc.meters.picture.planes import Planes
from tests.kit.level_pictures import measured, picture, shares
from tests.kit.level_reference import CODES, components, share

GREY = (126, 128, 128)
#: EBU R 103 v3.0 (2020), table of limits: the last codes that are not outside. 12 bits from memory.
R103 = {8: (5, 246), 10: (20, 984), 12: (80, 3936)}
#: A picture of 400 x 250: a patch loses three columns and one row at each side to the filter.
SIZE = (400, 250)


def patch(percent: float) -> tuple[int, int, int, int]:
    """A rectangle whose inside, all that is outside a limit behind the filter, is so much of the picture."""
    inside = round(percent / 100 * SIZE[0] * SIZE[1])
    high = 20
    assert inside % high == 0
    return 60, 60, inside // high + 6, high + 2


def at(bits: int, codes: tuple[int, int, int]) -> tuple[int, int, int]:
    return tuple(code << (bits - 8) for code in codes)  # type: ignore[return-value]


@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("percent", [0.9, 1.1])
@pytest.mark.parametrize(("end", "beyond"), [(0, 0), (0, 1), (1, 0), (1, 1)])
def test_limits_of_r103_to_the_code(bits: int, percent: float, end: int, beyond: int) -> None:
    """EBU R 103 v3.0 (2020): 5 and 246 (8 bits), 20 and 984 (10), 80 and 3936 (12) are inside, the codes next to them
    are outside; the share of the picture is told to 0.01 %, so 0.9 % passes a limit of 1 % and 1.1 % fails."""
    code = R103[bits][end] + (beyond if end else -beyond)
    middle = 1 << (bits - 1)
    made = picture(at(bits, GREY), SIZE, bits, patch=((code, middle, middle), patch(percent)))
    found = shares(made)
    level = ("Y", 105 if end else -5)
    if not beyond:
        assert level not in found
        assert not {key for key in found if key[0] != "Y"}
        return
    assert found[level] == pytest.approx(percent / 100, abs=1e-4)
    for component in "RGB":  # grey: R, G and B are luma
        assert found[(component, level[1])] == pytest.approx(percent / 100, abs=1e-4)
    assert (found[level] > 0.01) == (percent > 1)


def test_limits_in_codes() -> None:
    """EBU R 103 v3.0 (2020) rounds outwards to a code of 8 bits: -5 and 105 % are 5.05 and 245.95."""
    assert [limit_step(percent) for percent in (-5, 105)] == [5, 246]
    assert {percent: limit_step(percent) for percent in CODES} == CODES


@pytest.mark.parametrize("across", [True, False])
@pytest.mark.parametrize("interlaced", [True, False])
def test_single_lines_of_overshoot_are_filtered_away(across: bool, interlaced: bool) -> None:
    """EBU R 103 v3.0 (2020), filter: lines of 255 one pixel wide cover 12 % of the picture and fail unfiltered; behind
    the filter nothing is outside."""
    luma = np.full((240, 320), 180, np.uint8)
    if across:
        luma[::8] = 255
    else:
        luma[:, ::8] = 255
    half = np.full((240, 160), 128, np.uint8)
    unfiltered = components(luma, half, half, 8, interlaced=interlaced, filtered=False)
    assert share(unfiltered, "Y", 105) > 0.12
    assert shares(Planes(0, luma, half, half, 8, interlaced=interlaced)) == {}


def test_illegal_red_with_legal_luma() -> None:
    """(235, 128, 240) at 8 bits: Y is white, R' is 1.787 of white by BT.709. Told as R, and how far it goes."""
    made = picture(GREY, SIZE, patch=((235, 128, 240), (60, 60, 76, 42)))
    series = measured([made])
    found = shares(made)
    assert found[("R", 105)] > 0.02
    assert not [level for level in found if level[0] == "Y"]
    reach = series["levels.reach"][0, LADDER.index(("R", 105))] / 100
    assert reach == pytest.approx(178.7, abs=0.5)


@pytest.mark.parametrize("interlaced", [False, True])
@pytest.mark.parametrize("size", [(320, 180), (1280, 720), (90, 50)])
@pytest.mark.parametrize("area", [(0.0, 0.0, 0.2, 0.3), (0.75, 0.55, 0.2, 0.3), (0.1, 0.1, 0.8, 0.75)])
def test_the_area_is_boxed(area: tuple[float, ...], size: tuple[int, int], interlaced: bool) -> None:
    """The outline encloses the patch and little else, small or large; a smaller patch elsewhere does not stretch it."""
    left, top, wide, high = (2 * round(part * size[place % 2] / 2) for place, part in enumerate(area))
    made = picture(GREY, size, patch=((81, 90, 240), (left, top, wide, high)), interlaced=interlaced)
    made.luma[-6:-3, size[0] // 2 : size[0] // 2 + 12] = 255
    box = measured([made])["levels.box"][0, LADDER.index(("R", 105))].astype(float) / 255
    wanted = np.array([left / size[0], top / size[1], (left + wide) / size[0], (top + high) / size[1]])
    assert np.abs(box - wanted).max() < 0.045


@pytest.mark.parametrize("sampling", ["4:4:4", "4:2:2", "4:2:0", "4:0:0"])
@pytest.mark.parametrize("bits", [8, 10, 12, 16])
@pytest.mark.parametrize("interlaced", [True, False])
@pytest.mark.parametrize("full_range", [True, False])
def test_counts_are_those_of_the_whole_raster(sampling: str, bits: int, interlaced: bool, full_range: bool) -> None:
    """Every share is that of the plain reference over every pixel, for noise, blocks and edges in odd rasters."""
    rng = np.random.default_rng([bits, interlaced, full_range, *sampling.encode()])
    top = (1 << bits) - 1
    for width, height in ((97, 41), (64, 48), (5, 3), (1, 1)):
        for made in range(4):
            planes = [_noise(rng, made, size, top) for size in _sizes(sampling, width, height)]
            view = Planes(0, planes[0], *(planes[1:] or [None, None]), bits, full_range, interlaced)
            reference = components(view.luma, view.cb, view.cr, bits, full_range, interlaced)
            found = shares(view)
            for component, percent in LADDER:
                wanted = share(reference, component, percent) if component in reference else 0.0
                # In a picture of a few thousand pixels a single one is more than the floor.
                assert found.get((component, percent), 0.0) == pytest.approx(
                    wanted, abs=1 / 65535 if wanted > 0.001 else 0.001
                )


@pytest.mark.parametrize("sampling", ["4:4:4", "4:2:2", "4:2:0", "4:0:0"])
@pytest.mark.parametrize("bits", [8, 10])
@pytest.mark.parametrize("interlaced", [True, False])
def test_single_tiles_are_filtered_as_the_whole_raster_is(sampling: str, bits: int, interlaced: bool) -> None:
    """Every pixel of every tile has the value of the plain reference, to the rounding of single precision: at edges and
    corners, in odd rasters and in one smaller than a tile, for each side its own tiles in one run or in several."""
    rng = np.random.default_rng([bits, interlaced, *sampling.encode()])
    for width, height in ((640, 344), (97, 41), (5, 3), (1, 1)):
        planes = [_noise(rng, 0, size, (1 << bits) - 1) for size in _sizes(sampling, width, height)]
        view = Planes(0, planes[0], *(planes[1:] or [None, None]), bits, interlaced=interlaced)
        reference = components(view.luma, view.cb, view.cr, bits, interlaced=interlaced)
        columns, rows = -(-width // 4), -(-height // 8)
        everywhere = np.arange(columns * rows)
        sides = [(component, high) for component in reference for high in (False, True)]
        wanted = {side: everywhere[everywhere % len(sides) >= place] for place, side in enumerate(sides)}
        matrix = MATRICES[[known.name for known in MATRICES].index("BT.709")]
        seen = dict.fromkeys(sides, 0)
        for parts, column, row, levels in Filtered(view, matrix).tiles(wanted, everywhere, rows):
            for side, part in parts.items():
                x = 4 * column[part, None] + np.arange(32) % 4
                y = 8 * row[part, None] + np.arange(32) // 4
                real = (x < width) & (y < height)
                assert np.abs(levels[part][real] - reference[side[0]][y[real], x[real]]).max(initial=0) < 1e-3
                seen[side] += len(x)
        assert seen == {side: len(places) for side, places in wanted.items()}


@pytest.mark.parametrize(("rows", "exact"), [(12, 0.011), (120, 0.3)])
@pytest.mark.parametrize("bits", [8, 10])
def test_reach_is_that_of_the_outermost_tenth(rows: int, exact: float, bits: int) -> None:
    """Nine tenths of the pixels beyond a level are nearer to it: NumPy's percentile of the plain reference, in percent
    of the nominal range. Of patches in single tiles, where every pixel counts, and of large ones, where every fourth
    row does."""
    rng = np.random.default_rng([bits, rows])
    luma = np.full((240, 320), 100, np.uint16)
    for left, codes in ((40, (236, 256)), (160, (0, 12))):
        luma[60 : 60 + rows, left : left + 80] = np.repeat(rng.integers(*codes, (rows, 10)), 8, 1)
    luma = (luma << bits - 8).astype(np.uint8 if bits == 8 else np.uint16)
    series = measured([Planes(0, luma, None, None, bits)])
    level = components(luma, None, None, bits)["Y"]
    for place, (_, percent) in enumerate(LADDER[:5]):
        high = percent > 50
        beyond = level[level > CODES[percent]] if high else level[level < CODES[percent]]
        assert len(beyond) > 200
        wanted = (np.percentile(beyond, 90 if high else 10) - 16) / 2.19
        assert series["levels.reach"][0, place] / 100 == pytest.approx(wanted, abs=exact)


def _sizes(sampling: str, width: int, height: int) -> list[tuple[int, int]]:
    across, down = {"4:4:4": (1, 1), "4:2:2": (2, 1), "4:2:0": (2, 2), "4:0:0": (0, 0)}[sampling]
    return [(height, width), *([(-(-height // down), -(-width // across))] * 2 if across else [])]


def _noise(rng: np.random.Generator, made: int, size: tuple[int, int], top: int) -> np.ndarray:
    kind = np.uint8 if top == 255 else np.uint16
    if made == 0:
        return rng.integers(0, top + 1, size).astype(kind)
    if made == 1:
        return np.clip(rng.normal(0.92 * top, 0.05 * top, size), 0, top).astype(kind)
    if made == 2:
        return np.kron(rng.integers(0, top + 1, (-(-size[0] // 5), -(-size[1] // 7))), np.ones((5, 7))).astype(kind)[
            : size[0], : size[1]
        ]
    return np.where(rng.random(size) < 0.03, top, top // 2).astype(kind)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    low=st.integers(0, 255),
    high=st.integers(0, 255),
    period=st.tuples(st.integers(1, 9), st.integers(1, 9)),
    phase=st.tuples(st.integers(0, 8), st.integers(0, 8)),
    interlaced=st.booleans(),
)
def test_the_screen_misses_nothing(
    seed: int, low: int, high: int, period: tuple[int, int], phase: tuple[int, int], interlaced: bool
) -> None:
    """Gratings of every period and phase against the tiles, of luma and colour, with noise on them: what hides best
    between averages. Every share is still that of the reference over the whole raster."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:52, 0:76]
    grating = ((x + phase[0]) // period[0] + (y + phase[1]) // period[1]) % 2
    luma = np.where(grating, high, low) + rng.integers(-3, 4, grating.shape)
    chroma = [np.where(grating[:, ::2], rng.integers(0, 256), rng.integers(0, 256)) for _ in "br"]
    codes = [np.clip(plane, 0, 255).astype(np.uint8) for plane in (luma, *chroma)]
    reference = components(*codes, 8, interlaced=interlaced)
    found = shares(Planes(0, *codes, 8, interlaced=interlaced))
    for component, percent in LADDER:
        wanted = share(reference, component, percent)
        assert found.get((component, percent), 0.0) == pytest.approx(wanted, abs=1 / 65535 if wanted > 0.001 else 0.001)


def test_a_phase_that_averages_cannot_see() -> None:
    """The worst for any screen on averages of 2 x 2: pairs that change side under the filter's peak, so that every
    average on the grid is the same while the filtered value is not."""
    column = np.where(np.arange(320) % 16 < 8, np.arange(320) % 2, 1 - np.arange(320) % 2)
    luma = np.broadcast_to(np.where(column, 255, 231), (180, 320)).astype(np.uint8)
    averages = luma.reshape(90, 2, 160, 2).mean(axis=(1, 3))
    assert np.ptp(averages) == 0
    reference = components(luma, None, None, 8)
    assert share(reference, "Y", 103) > 0.05
    assert shares(Planes(0, luma, None, None, 8))[("Y", 103)] == pytest.approx(
        share(reference, "Y", 103), abs=1 / 65535
    )


def test_the_filter_stays_within_fields() -> None:
    """EBU R 103 v3.0 (2020): of an interlaced picture each field is filtered by itself. One field at 255 and one at 16
    is half a picture outside; of a progressive one their mean is inside."""
    luma = np.full((180, 320), 16, np.uint8)
    luma[0::2] = 255
    half = np.full((180, 160), 128, np.uint8)
    assert shares(Planes(0, luma, half, half, 8, interlaced=True))[("Y", 105)] == pytest.approx(0.5, abs=1e-4)
    assert shares(Planes(0, luma, half, half, 8)) == {}


@pytest.mark.parametrize("matrix", ["BT.601", "BT.709", "BT.2020"])
def test_the_matrix_is_the_tagged_one(matrix: str) -> None:
    """One code has other R, G and B in each matrix: what the reference finds, by the tag of the headers."""
    tag = {"BT.601": "SMPTE 170M"}.get(matrix, matrix)
    rng = np.random.default_rng(7)
    planes = [
        np.kron(rng.integers(40, 216, (9, 16)), np.ones(size)).astype(np.uint8)
        for size in ((20, 20), (20, 10), (20, 10))
    ]
    reference = components(*planes, 8, matrix=matrix)
    found = shares(Planes(0, *planes, 8), tag)
    wanted = {level: share(reference, *level) for level in LADDER}
    assert max(wanted.values()) > 0.1
    assert found == pytest.approx({level: value for level, value in wanted.items() if value}, abs=0.001)


@pytest.mark.parametrize(
    ("tag", "transfer", "lines", "name", "assumed"),
    [
        ("BT.709", None, 480, "BT.709", False),
        ("SMPTE 170M", "PQ", 2160, "BT.601", False),
        ("BT.470 BG", None, 1080, "BT.601", False),
        ("BT.2020", None, 1080, "BT.2020", False),
        ("RGB", None, 480, "BT.709", False),
        (None, None, 576, "BT.601", True),
        (None, None, 480, "BT.601", True),
        (None, "BT.709", 720, "BT.709", True),
        (None, "BT.709", 2160, "BT.709", True),
        (None, "HLG", 2160, "BT.2020", True),
        (None, "BT.2020 10-bit", 1080, "BT.2020", True),
    ],
)
def test_untagged_pictures_take_the_trade_s_matrix(
    tag: str | None, transfer: str | None, lines: int, name: str, assumed: bool
) -> None:
    """BT.601 for standard definition, BT.2020 where the transfer function belongs to it, else BT.709; and it is said
    that it was assumed. Common practice, no source."""
    place, said = matrix_of(tag, transfer, lines)
    assert (MATRICES[place].name, said) == (name, assumed)


@pytest.mark.parametrize("tag", ["ICtCp", "YCgCo", "BT.2020 constant luminance"])
def test_other_codings_of_colour_leave_luma_alone(tag: str) -> None:
    """R, G and B cannot be derived: nothing is said of them rather than something wrong."""
    made = picture((250, 128, 240))
    assert {component for component, _ in shares(made, tag)} == {"Y"}
    assert measured([made], tag)["levels.matrix"][0] == NO_MATRIX


def test_full_range_is_measured_on_its_own_scale() -> None:
    """Codes 0 and 255 are black and white there (ITU-T H.273, 8.3, from memory), so luma cannot be outside;
    (255, 128, 255) has R' of 1.78."""
    assert shares(picture((0, 128, 128), full_range=True)) == {}
    assert shares(picture((255, 128, 128), full_range=True)) == {}
    assert set(shares(picture((255, 128, 255), full_range=True))) == {("R", 105)}


# -- which pictures are looked at ---------------------------------------------------------------------------------

SMALL = (32, 24)
CLEAN = picture(GREY, SMALL)
KINDS = {
    "clean": CLEAN,
    "red": picture(GREY, SMALL, patch=((81, 90, 240), (8, 8, 16, 12))),
    "white": picture((250, 128, 128), SMALL),
    "black": picture((1, 128, 128), SMALL),
}
#: Kinds of picture that are outside each level.
OUTSIDE = {("R", 105): {"red", "white"}, ("Y", 105): {"white"}, ("Y", -5): {"black"}}


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(sorted(KINDS)), st.integers(1, 40)), min_size=1, max_size=8))
def test_every_run_of_three_is_found_to_the_frame(runs: list[tuple[str, int]]) -> None:
    """Whatever goes before and after: a run of three pictures or more outside is found with its first and last
    picture, and nothing is said of as many pictures that are inside."""
    order = [kind for kind, length in runs for _ in range(length)]
    series = measured([KINDS[kind] for kind in order])
    assert len(series["levels.state"]) == len(order)
    for level, kinds in OUTSIDE.items():
        wanted = np.array([kind in kinds for kind in order])
        found = share_outside(series, *level) > 0.01
        for run in runs_of(wanted, at_least=3):
            assert found[run.first : run.end].all()
        for run in runs_of(~wanted, at_least=3):
            assert not found[run.first : run.end].any()


def test_long_runs_are_tested_now_and_then() -> None:
    """While nothing changes one test in twelve pictures is enough; the first and the last picture are tested."""
    pictures = [CLEAN] * 30 + [KINDS["red"]] * 100 + [CLEAN] * 30
    state = measured(pictures)["levels.state"]
    run = state[30:130]
    assert run[0] == run[-1] == TESTED
    tested = np.flatnonzero(run == TESTED)
    assert np.diff(tested).max() <= 12
    assert len(tested) <= 15
    assert {int(value) for value in run} == {TESTED, CARRIED, BETWEEN}
    assert {int(value) for value in state[:28]} == {CLEAR, BETWEEN}


def test_a_run_that_the_file_ends_in_is_closed_by_a_test() -> None:
    """The last picture stands for itself, wherever the file ends."""
    for length in range(3, 30):
        state = measured([KINDS["white"]] * length)["levels.state"]
        assert state[-1] == TESTED
        assert state[0] == TESTED


def test_damaged_pictures_and_new_rasters() -> None:
    """A damaged picture is a marked row; a raster, depth or scan that changes begins anew and nothing is mixed up."""
    meter = LevelsMeter(PictureKind(32, 24, Fraction(25), None, None))
    for _ in range(4):
        meter.feed(KINDS["white"])
    meter.skip()
    meter.feed(CLEAN)
    meter.feed(picture((1000, 512, 512), (34, 18), 10))
    meter.feed(picture((1000, 512, 512), (34, 18), 10, "4:2:0", interlaced=True))
    meter.feed(picture((200, 128, 128), (7, 5), sampling="4:0:0"))
    meter.skip()
    series = meter.finish()
    assert len(series["levels.state"]) == 10
    assert [int(series["levels.state"][place]) for place in (4, 9)] == [NOT_MEASURED] * 2
    assert series["levels.state"][5] == CLEAR and series["levels.state"][8] == CLEAR
    assert (share_outside(series, "Y", 105) > 0.9).tolist() == [True] * 4 + [False] * 2 + [True] * 2 + [False] * 2
    assert series["levels.matrix"].tolist() == [[matrix.name for matrix in MATRICES].index("BT.601"), 1]


def test_nothing_was_fed() -> None:
    """A file without a picture that could be decoded."""
    series = LevelsMeter(PictureKind(0, 0, None, None, None)).finish()
    assert {name: len(array) for name, array in series.items()} == {
        "levels.state": 0, "levels.at": 0, "levels.share": 0, "levels.reach": 0, "levels.box": 0, "levels.alone": 0,
        "levels.alone_box": 0, "levels.matrix": 2,
    }  # fmt: skip


def test_rare_samplings_go_through() -> None:
    """4:1:1 and 4:1:0: brought to the usual, and measured: red is found over its area, give or take its edge."""
    for across, down in product((4,), (1, 4)):
        luma = np.full((96, 160), 100, np.uint8)
        cb, cr = (np.full((96 // down, 160 // across), 128, np.uint8) for _ in range(2))
        cr[24 // down : 72 // down, 40 // across : 120 // across] = 240
        found = shares(Planes(0, luma, cb, cr, 8))
        assert found[("R", 105)] == pytest.approx(0.25, abs=0.05)


def test_filter_and_matrix_of_one_pixel() -> None:
    """The response to a single pixel is the published kernel: [1 2 3 4 3 2 1]/16 times [1 2 1]/4."""
    luma = np.zeros((9, 15), np.uint8)
    luma[4, 7] = 64
    (_, found), *_ = list(Filtered(Planes(0, luma, None, None, 8), None).whole("Y"))
    kernel = np.outer([1, 2, 1], [1, 2, 3, 4, 3, 2, 1])
    assert np.array_equal(found["Y"][3:6, 4:11], kernel)
    assert found["Y"].sum() == 64
