"""Runs of pictures outside their levels, read from made series; scaling of the range; clipped highlights."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from qc.figures.clipping import EVERY, clipped_stretches, lasting_clipped
from qc.figures.levels import LevelBounds, lasting_area, level_events, share_outside, unmeasured
from qc.figures.scaling import range_use
from qc.measurement.record import LumaBins, Measurement, PictureSeries
from qc.meters.picture import clipping as clipping_meter
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.level_ladder import BETWEEN, CARRIED, CLEAR, LADDER, NOT_MEASURED, PAIRS, TESTED, percent_of
from qc.meters.picture.luma import LumaMeter
from qc.meters.picture.planes import Planes
from qc.timing.spans import Span
from tests.kit.level_pictures import Codes, measured, picture
from tests.kit.made import Part, levels_inside, measurement, put_levels

#: EBU R 103 v3.0 (2020); and its first version (2000, from memory).
R103 = LevelBounds((-5, 105), (-5, 105))
OLDER = LevelBounds((-1, 103), (-5, 105))
WHOLE = [Span(0, 300)]


def made() -> Measurement:
    return measurement([Part(300)])


def extra(record: Measurement) -> dict[str, np.ndarray]:
    assert record.picture is not None
    return dict(record.picture.extra)


def test_an_event_says_component_side_place_and_how_far() -> None:
    """Red over 105 % on 2.3 % of the picture for twenty frames, in a known place."""
    record = made()
    put_levels(record, Span(100, 120), "R", 105, 2.3, reach=109.2)
    (event,) = level_events(extra(record), R103, 1.0, 5, WHOLE)
    assert (event.component, event.high, event.limit) == ("R", True, 105)
    assert (event.span, event.frames) == (Span(100, 120), 20)
    assert event.area == pytest.approx(2.3, abs=0.01) and event.reach == pytest.approx(109.2)
    assert event.box == pytest.approx((0.4, 0.4, 0.6, 0.6))


@pytest.mark.parametrize(("area", "frames", "found"), [(0.9, 50, 0), (1.1, 4, 0), (1.1, 5, 1), (1.0, 50, 0)])
def test_area_and_length_both_count(area: float, frames: int, found: int) -> None:
    """EBU R 103 v3.0 (2020): up to 1 % of the picture is tolerated. Five frames on end are common practice."""
    record = made()
    put_levels(record, Span(100, 100 + frames), "B", 105, area)
    assert len(level_events(extra(record), R103, 1.0, 5, WHOLE)) == found


def test_each_edition_reads_its_own_level() -> None:
    """Luma at 104 % is inside R 103 v3.0 (2020) and outside the first version (103 %, from memory)."""
    record = made()
    put_levels(record, Span(50, 80), "Y", 103, 4.0)
    assert level_events(extra(record), R103, 1.0, 5, WHOLE) == []
    (event,) = level_events(extra(record), OLDER, 1.0, 5, WHOLE)
    assert (event.component, event.limit) == ("Y", 103)


def test_runs_near_one_another_are_one_event() -> None:
    """Up to twelve frames apart; further apart they are two, the larger area first."""
    record = made()
    for first, area in ((50, 2.0), (72, 3.0), (120, 5.0)):
        put_levels(record, Span(first, first + 10), "Y", 105, area)
    later, earlier = level_events(extra(record), R103, 1.0, 5, WHOLE)
    assert (later.span, later.frames) == (Span(120, 130), 10)
    assert (earlier.span, earlier.frames) == (Span(50, 82), 20)
    assert earlier.worst == 72 and earlier.area == pytest.approx(3.0, abs=0.01)


#: Ten bits. Luma of 1010 is 108 %; (400, 512, 980) is red of 120 % by BT.709-6, items 3.2 and 4.6, and legal luma.
GREY, WHITE, WARM, RED = (500, 512, 512), (1010, 512, 512), (900, 512, 620), (400, 512, 980)


def shown(*patches: tuple[Codes, tuple[int, int, int, int]], size: tuple[int, int] = (640, 360)) -> list[Planes]:
    """Ten pictures of grey with patches (left, top, width, height)."""
    made = picture(GREY, size, 10)
    assert made.cb is not None and made.cr is not None
    for (y, cb, cr), (left, top, wide, high) in patches:
        made.luma[top : top + high, left : left + wide] = y
        for plane, code in ((made.cb, cb), (made.cr, cr)):
            plane[top : top + high, left // 2 : (left + wide) // 2] = code
    return [made] * 10


def told(pictures: list[Planes], bounds: LevelBounds = R103) -> dict[str, tuple[float, ...] | None]:
    """Components over their limit, each once, with the area that is outlined."""
    events = level_events(measured(pictures), bounds, 1.0, 5, [Span(0, len(pictures))])
    assert len({event.component for event in events}) == len(events)
    return {event.component: event.box for event in events if event.high}


@pytest.mark.parametrize("size", [(640, 360), (1280, 720)])
def test_a_highlight_is_told_once_as_luma(size: tuple[int, int]) -> None:
    """Where luma is outside, R, G and B are too: EBU R 103 v3.0 (2020) derives them from it. A rim of warm light round
    each highlight is outside in red alone, and belongs to it."""
    windows = [(100, 60, 200, 120), (400, 200, 100, 80)]
    rims = [(left - 8, top - 8, wide + 16, high + 16) for left, top, wide, high in windows]
    pictures = shown(*((WARM, rim) for rim in rims), *((WHITE, window) for window in windows), size=size)
    row = measured(pictures)["levels.share"][0]
    assert row[LADDER.index(("R", 105))] > 1.05 * row[LADDER.index(("Y", 105))]
    assert set(told(pictures)) == {"Y"}


@pytest.mark.parametrize("size", [(640, 360), (1280, 720)])
@pytest.mark.parametrize("red", [(20, 200, 120, 100), (420, 60, 200, 240)])
def test_a_colour_outside_elsewhere_is_told_beside_luma(size: tuple[int, int], red: tuple[int, int, int, int]) -> None:
    """A white window and a red door in the same pictures: both have to be mended, and the door is outlined. Smaller
    and larger than the window, whose red is outside too."""
    pictures = shown((WHITE, (100, 20, 240, 160)), (RED, red), size=size)
    found = told(pictures)
    assert set(found) == {"Y", "R"}
    left, top, wide, high = red
    door = (left / size[0], top / size[1], (left + wide) / size[0], (top + high) / size[1])
    assert found["R"] == pytest.approx(door, abs=0.03)


def test_specks_of_light_are_told_once_as_luma() -> None:
    """Leaves in the sun: each a speck under 0.1 % of the picture, and of every second one only the rim is white."""
    leaves = [(x, y) for y in range(40, 680, 80) for x in range(40, 1240, 80)]
    warm = [(WARM, (x, y, 28, 28)) for x, y in leaves]
    white = [(WHITE, (x, y, 10 if place % 2 else 28, 28)) for place, (x, y) in enumerate(leaves)]
    assert set(told(shown(*warm, *white, size=(1280, 720)))) == {"Y"}


def test_a_colour_elsewhere_within_the_area_that_is_accepted_is_not_told() -> None:
    """EBU R 103 v3.0 (2020) accepts 1 % of the picture: a red of 0.5 % is not told for the window's sake."""
    window = (WHITE, (100, 20, 240, 160))
    assert set(told(shown(window, (RED, (500, 300, 36, 32))))) == {"Y"}
    assert set(told(shown(window, (RED, (500, 300, 72, 48))))) == {"Y", "R"}


def test_luma_that_is_accepted_takes_no_colour_with_it() -> None:
    """Luma of 104 % with red of 108: R 103 v3.0 (2020) tells the red, its first version (103 %) the luma."""
    pictures = shown(((976, 512, 536), (100, 60, 200, 120)))
    assert set(told(pictures)) == {"R"}
    assert set(told(pictures, OLDER)) == {"Y"}


def test_half_an_area_is_the_bound_to_luma() -> None:
    """One area: luma over a good half of it is told alone, under half of it the colour is told too."""
    for wide, found in ((116, {"Y"}), (84, {"Y", "R"})):
        assert set(told(shown((WARM, (100, 60, 200, 120)), (WHITE, (100, 60, wide, 120))))) == found


def test_what_lies_outside_the_spans_does_not_count() -> None:
    """Bars in the head are outside luma on purpose; a run that crosses into an act counts from there."""
    record = made()
    put_levels(record, Span(0, 110), "Y", -5, 20.0)
    (event,) = level_events(extra(record), R103, 1.0, 5, [Span(100, 200), Span(210, 300)])
    assert event.span == Span(100, 110)
    assert lasting_area(extra(record), R103, 11, [Span(100, 200)]) == 0.0
    assert lasting_area(extra(record), R103, 10, [Span(100, 200)]) == pytest.approx(20.0, abs=0.01)


def test_pictures_that_were_not_tested_take_the_careful_value() -> None:
    """Between two looks the smaller share; a carried picture that of the test before it; a damaged one nothing."""
    data = levels_inside(12)
    states = [CLEAR, BETWEEN, BETWEEN, TESTED, BETWEEN, BETWEEN, CARRIED, BETWEEN, TESTED, NOT_MEASURED, TESTED, CLEAR]
    data["levels.state"][:] = states
    share = np.zeros((3, len(LADDER)), np.uint16)
    share[:, LADDER.index(("Y", 105))] = 6554, 3277, 655
    data |= {"levels.at": np.array([3, 8, 10], np.int32), "levels.share": share}
    found = share_outside(data, "Y", 105)
    assert found == pytest.approx([0, 0, 0, 0.1, 0.1, 0.1, 0.1, 0.05, 0.05, 0, 0.01, 0], abs=1e-4)
    assert unmeasured(data, [Span(0, 9)]) == 0 and unmeasured(data, [Span(0, 12)]) == 1


def test_no_event_rests_on_carried_pictures_alone() -> None:
    """Where an act begins in a run that was tested before it, nothing of the act itself was tested."""
    data = levels_inside(60)
    data["levels.state"][10:50] = CARRIED
    data["levels.state"][10] = data["levels.state"][30] = TESTED
    share = np.zeros((2, len(LADDER)), np.uint16)
    share[:, LADDER.index(("R", 105))] = 6554
    data |= {"levels.at": np.array([10, 30], np.int32), "levels.share": share}
    data |= {"levels.reach": np.zeros(share.shape, np.int16), "levels.box": np.zeros((*share.shape, 4), np.uint8)}
    data |= {"levels.alone": np.full((2, len(PAIRS)), 6554, np.uint16)}
    data |= {"levels.alone_box": np.zeros((2, len(PAIRS), 4), np.uint8)}
    assert level_events(data, R103, 1.0, 5, [Span(12, 25)]) == []
    assert len(level_events(data, R103, 1.0, 5, [Span(12, 35)])) == 1


def test_a_level_that_is_not_counted_is_an_error() -> None:
    """Never a silent zero."""
    with pytest.raises(ValueError, match="not counted"):
        share_outside(levels_inside(3), "Y", 104)


# -- scaling ------------------------------------------------------------------------------------------------------


def filmed(low: float, high: float, depth: int = 8, full: bool = False, frames: int = 12) -> PictureSeries:
    """Pictures whose luma runs evenly from ``low`` to ``high`` (8-bit codes of the file's own range)."""
    meter = LumaMeter(depth, full)
    ramp = np.linspace(low, high, 160) * (1 << (depth - 8))
    plane = np.broadcast_to(np.round(ramp), (90, 160)).astype(np.uint8 if depth == 8 else np.uint16)
    for _ in range(frames):
        meter.feed(plane)
    rows = meter.finish()
    return PictureSeries(
        luma=rows.luma, bins=LumaBins(rows.depth, rows.edges, rows.full_range), counted=rows.counted,
        darkest=rows.darkest, brightest=rows.brightest, time=np.arange(frames), time_base=Fraction(1, 25),
    )  # fmt: skip


@pytest.mark.parametrize("depth", [8, 10])
@pytest.mark.parametrize(
    ("low", "high", "full_range", "twice"),
    [
        (16, 235, False, False),  # as it should be
        (5, 246, True, False),
        (0, 255, True, False),
        (30.5, 218, False, True),  # 16 to 235 scaled by 219/255 once more
        (16, 200, False, False),  # no white, but black: a look
        (40, 235, False, False),  # lifted blacks and white titles: a look
        (11, 235, False, False),  # deep blacks alone
        (16, 250, False, False),  # highlights alone
    ],
)
def test_scaling_by_what_is_used_at_both_ends(
    depth: int, low: float, high: float, full_range: bool, twice: bool
) -> None:
    """Both ends have to say the same. Common practice, no source; 219/255 is the ratio of the ranges."""
    use = range_use(filmed(low, high, depth), [Span(0, 12)])
    assert (use.full_range, use.scaled_twice, use.pictures) == (full_range, twice, 12)


def test_full_range_that_says_so_is_well_scaled() -> None:
    """Codes 0 to 255 of a file that is flagged full range are black to white."""
    use = range_use(filmed(0, 255, full=True), [Span(0, 12)])
    assert not use.full_range and not use.scaled_twice


@pytest.mark.parametrize("depth", [8, 10])
def test_where_the_pictures_end(depth: int) -> None:
    """Codes 40 to 200 are 11 and 84 % of the nominal range: ITU-R BT.709-6, item 4.6; a bin of white is four wide."""
    use = range_use(filmed(40, 200, depth), [Span(0, 12)])
    assert use.darkest == pytest.approx(100 * (40 - 16) / 219, abs=0.1)
    assert use.lightest == pytest.approx(100 * (200 - 16) / 219, abs=2)
    assert (use.has_black, use.has_white) == (False, False)


def test_damaged_pictures_do_not_weigh() -> None:
    """A row without counted pixels is left out."""
    picture = filmed(16, 235)
    counted, luma = picture.counted.copy(), picture.luma.copy()
    counted[3], luma[3] = 0, 0
    assert range_use(replace(picture, counted=counted, luma=luma), [Span(0, 12)]).pictures == 11


# -- clipping -----------------------------------------------------------------------------------------------------


def seen(planes: list[Planes]) -> dict[str, np.ndarray]:
    meter = clipping_meter.ClippingMeter(PictureKind(320, 180, Fraction(25), None, None))
    for view in planes:
        meter.feed(view)
    return meter.finish()


def sky(ceiling: float | None, bits: int = 8, full: bool = False) -> Planes:
    """A sky that grows brighter to the right, up to 290 where nothing stops it, with noise."""
    rng = np.random.default_rng(3)
    light = np.linspace(100, 290, 320) + rng.normal(0, 2, (180, 320))
    light = np.minimum(light, ceiling if ceiling is not None else 1e9) if ceiling else light * 0.8
    codes = (light - 16) / 219 * 255 if full else light
    top = (1 << bits) - 1
    return Planes(
        0,
        np.clip(np.round(codes * (1 << (bits - 8))), 0, top).astype(np.uint8 if bits == 8 else np.uint16),
        None,
        None,
        bits,
        full,
    )


@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("ceiling", [235.0, 246.0, 220.0])
def test_a_ceiling_is_found_at_its_level(bits: int, ceiling: float) -> None:
    """A made ramp of known share above the ceiling: (290 - ceiling) / 190 of the picture."""
    series = seen([sky(ceiling, bits)])
    assert series["clipping.share"][0] / 65535 == pytest.approx((290 - ceiling) / 190, abs=0.03)
    assert abs(int(series["clipping.step"][0]) - ceiling) <= 1


def test_what_is_no_clipping() -> None:
    """A sky that nothing stops; white type on black; a white drawing on grey; a grey picture; full range in its own
    steps is found as narrow is."""
    title = np.full((180, 320), 16, np.uint8)
    title[60:120, 40:280] = 235
    drawing = np.full((180, 320), 120, np.uint8)
    drawing[:, :100] = 235
    grey = np.full((180, 320), 200, np.uint8)
    pictures = [sky(None), *(Planes(0, plane, None, None, 8) for plane in (title, drawing, grey))]
    for view in pictures:
        assert seen([view])["clipping.share"][0] == 0
    assert seen([sky(235.0, full=True)])["clipping.share"][0] > 0.2 * 65535


def test_stretches_of_clipping() -> None:
    """Long enough and large enough; the last is shorter than two seconds at 25 frames a second."""
    assert EVERY == clipping_meter.EVERY
    share = np.zeros(60, np.uint16)
    share[10:20], share[30:33] = 6554, 9000
    series = {"clipping.share": share, "clipping.step": np.full(60, 235, np.uint8)}
    (stretch,) = clipped_stretches(series, 5.0, Fraction(2), Fraction(25), [Span(0, 720)])
    assert stretch.span == Span(120, 229) and stretch.area == pytest.approx(10.0, abs=0.01)
    assert stretch.level == pytest.approx(percent_of(235)) == pytest.approx(100)
    assert lasting_clipped(series, Fraction(2), Fraction(25), [Span(0, 720)]) == pytest.approx(10.0, abs=0.01)
    assert lasting_clipped(series, Fraction(1), Fraction(25), [Span(300, 720)]) == pytest.approx(13.7, abs=0.1)
    assert clipped_stretches(series, 5.0, Fraction(10), Fraction(25), [Span(0, 720)]) == []
