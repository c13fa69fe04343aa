"""Flashing is found where the rule says, and nowhere else.

Sources of the rule, where a test names no other: ITU-R BT.1702-3 (11/2023), Guideline 1, and Ofcom, guidance notes
to Section Two of the Broadcasting Code, Annex 1. More than a quarter of the screen and more than three flashes (so
seven changes) within any one second; leading edges 360 ms (50 Hz) or 334 ms (60 Hz) apart are always acceptable.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache

import cv2
import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from qc.figures.flashing import (
    FlashRule,
    area_curves,
    detail_events,
    flash_events,
    long_sequences,
    luminance_curve,
    readings,
    worst_second,
)
from qc.timing.spans import Span
from tests.kit.flashes import BLACK, RATES, WHITE, flat, lamp, measured, square_wave

RULE = FlashRule()
PAL = RATES["25"]

#: Rate, period in frames, most changes within any second: computed from the rate and the half-open second.
SQUARE_WAVES = [
    *(("25", *row) for row in ((2, 25), (4, 13), (6, 9), (7, 8), (8, 7), (9, 6), (10, 5), (13, 4))),
    *(("29.97", *row) for row in ((2, 30), (4, 15), (6, 10), (8, 8), (9, 7), (10, 6), (11, 6), (12, 5))),
    *(("23.976", *row) for row in ((2, 24), (4, 12), (6, 8), (7, 7), (8, 6), (9, 6), (10, 5))),
    *(("50", *row) for row in ((10, 10), (15, 7), (16, 7), (17, 6), (18, 6), (20, 5))),
    *(("59.94", *row) for row in ((10, 12), (18, 7), (19, 7), (20, 6), (21, 6), (23, 6))),
]


def found(series: dict[str, np.ndarray], rate: Fraction = PAL, reading: str = "bt1702", rule: FlashRule = RULE) -> list:
    return flash_events(series, reading, rate, rule)


@pytest.mark.parametrize(("rate", "period", "changes"), SQUARE_WAVES)
def test_square_waves_of_the_whole_screen(rate, period, changes):
    """Seven changes or more within a second fail, six pass, at every rate; the changes are counted exactly."""
    series = measured(square_wave(period, int(3 * RATES[rate])), RATES[rate])

    for reading in ("bt1702", "ofcom"):
        count, area, _ = worst_second(series, reading, RATES[rate], RULE)
        assert (count, area) == (changes, 100.0)
        events = found(series, RATES[rate], reading)
        assert bool(events) == (changes >= 7)
        assert all((event.changes, event.area, event.kind) == (changes, 100.0, "general") for event in events)


def test_where_it_flashes_is_told_to_the_frame():
    """From the first change to the last, and the frame that ends the worst second."""
    still = [flat(BLACK)] * 50
    series = measured([*still, *square_wave(4, 40), *still], PAL)
    (event,) = found(series)

    assert event.span == Span(52, 91)  # up at 52, down at 54, ..., down at 90
    assert event.span.contains(event.worst)
    assert area_curves(series, "bt1702", 140)[:, 52].max() == 100.0
    assert luminance_curve(series, "bt1702")[[51, 52]].tolist() == [0.0, 200.0]


@pytest.mark.parametrize("size", [(320, 180), (720, 576), (1280, 720), (1920, 1080)])
@pytest.mark.parametrize(("percent", "fails"), [(24, False), (26, True)])
def test_area_just_under_and_over_a_quarter(size, percent, fails):
    """24 % passes and 26 % fails wherever the lamp lies on the grid of cells. Source: BT.1702-3, Guideline 1."""
    width, height = size
    tall = round(height * 0.5)
    box = (round(width * 0.2173), round(height * 0.2371), round(width * height * percent / 100 / tall), tall)
    series = measured(lamp([box], lambda _, n: n % 6 >= 3, 40, size), PAL)

    assert bool(found(series)) == fails
    if fails:
        assert found(series)[0].area == pytest.approx(26, abs=0.6)


def test_areas_that_are_apart_add_up():
    """Four lamps of 6.9 % flash: together, or two against two, or one after the other within each second."""
    boxes = [(10, 8, 80, 50), (210, 8, 80, 50), (10, 120, 80, 50), (210, 120, 80, 50)]
    ways = {
        "together": lambda k, n: n % 6 >= 3,
        "two against two": lambda k, n: (n % 6 >= 3) == (k % 2 == 0),
    }
    for way in ways.values():
        (event,) = found(measured(lamp(boxes, way, 50), PAL))
        assert event.area == pytest.approx(100 * 4 * 80 * 50 / (320 * 180), abs=0.5)

    assert not found(measured(lamp(boxes[:3], ways["together"], 50), PAL))  # 20.8 %


def test_a_flash_that_moves_about_is_one_of_the_screen():
    """Each half of the screen flashes twice a second by turns: four flashes of half the screen within a second."""
    halves = [(0, 0, 160, 180), (160, 0, 160, 180)]
    series = measured(lamp(halves, lambda k, n: n % 6 < 3 and (n // 6) % 2 == k, 75), PAL)
    (event,) = found(series)

    assert event.changes >= 8 and event.area == pytest.approx(50, abs=0.5)


@pytest.mark.parametrize(
    ("low", "high", "bt1702", "ofcom"),
    [
        (64, 399, False, True),  # 20 cd/m2 is code 399.6 in BT.1702-3, 33.4 % signal in Ofcom's table
        (64, 401, True, True),
        (64, 370, False, True),  # 35 % signal
        (64, 353, False, False),
        (861, 940, True, False),  # the darker state has to be under 160 cd/m2: code 862.2 in BT.1702-3
        (864, 940, False, False),
        (851, 940, True, True),  # 90.1 % signal, code 853.6, in Ofcom's table
        (856, 940, True, False),
    ],
)
def test_how_large_and_how_dark_by_edition(low, high, bt1702, ofcom):
    """The two published tables part where they should. Sources: BT.1702-3, Annex 2, Table 1; Ofcom, Annex 1, table
    (234 mV is 20.1 cd/m2, 631 mV is 160); codes computed from them."""
    series = measured(square_wave(5, 50, low, high), PAL)

    assert readings(series) == ("bt1702", "ofcom", "red")
    assert bool(found(series, reading="bt1702")) == bt1702
    assert bool(found(series, reading="ofcom")) == ofcom


def test_three_isolated_flashes_pass_and_four_do_not():
    """Source: BT.1702-3, Guideline 1: isolated single, double or triple flashes are acceptable."""
    for flashes, fails in ((1, False), (2, False), (3, False), (4, True)):
        still = [flat(BLACK)] * 30
        burst = [flat(BLACK), flat(BLACK), flat(WHITE)] * flashes
        assert bool(found(measured([*still, *burst, *still], PAL))) == fails


@pytest.mark.parametrize(("rate", "frames"), [("25", 9), ("50", 18), ("29.97", 10), ("59.94", 20), ("23.976", 8)])
def test_leading_edges_far_enough_apart_pass_however_long_each_flash(rate, frames):
    """Flashes of uneven length can hold seven changes within a second although their leading edges keep the
    distance; a frame less and they fail. Source: BT.1702-3, Guideline 1 (360 ms, 334 ms)."""

    def wave(apart: int) -> list[np.ndarray]:
        lit = set()
        for first, length in ((0, apart - 1), (apart, 1), (2 * apart, 2), (3 * apart, 1)):
            lit |= set(range(5 + first, 5 + first + length))
        return [flat(WHITE if number in lit else BLACK) for number in range(6 * apart)]

    assert not found(measured(wave(frames), RATES[rate]), RATES[rate])
    assert found(measured(wave(frames - 1), RATES[rate]), RATES[rate])


def test_cuts_that_make_the_screen_flash_count():
    """A montage of a dark and a bright shot, four frames each, fails; at nine frames it passes.
    Source: BT.1702-3, Guideline 1, on rapidly changing image sequences; nine frames: Ofcom, Annex 1."""
    noise = np.random.default_rng(4)
    dark = cv2.resize(noise.integers(80, 250, (9, 16)).astype(np.uint16), (320, 180), interpolation=cv2.INTER_CUBIC)
    bright = cv2.resize(noise.integers(550, 900, (9, 16)).astype(np.uint16), (320, 180), interpolation=cv2.INTER_CUBIC)

    for length, fails in ((4, True), (9, False)):
        shots = [bright if (number // length) % 2 else dark for number in range(75)]
        assert bool(found(measured(shots, PAL))) == fails


@pytest.mark.parametrize("top_first", [True, False])
@pytest.mark.parametrize("rate", ["25", "29.97"])
def test_fields_of_an_interlaced_picture_are_moments_of_their_own(rate, top_first):
    """A flash of single fields fails though whole frames would show an even grey; a period of 16 fields at 25
    frames (320 ms) fails, of 18 (360 ms) passes, with the order of the fields as flagged."""
    fps = RATES[rate]

    def frames(period: int, count: int) -> list[np.ndarray]:
        made = []
        for number in range(count):
            picture = flat(BLACK)
            for late in (0, 1):
                row = late if top_first else 1 - late
                picture[row::2] = WHITE if (2 * number + late) % period >= period // 2 else BLACK
            made.append(picture)
        return made

    kind = {"interlaced": True, "top_first": top_first}
    assert found(measured(frames(2, 40), fps, **kind), fps)[0].changes == (50 if rate == "25" else 60)
    assert not found(measured(frames(2, 40), fps), fps)
    passes, fails = (18, 16) if rate == "25" else (20, 18)
    assert not found(measured(frames(passes, 90), fps, **kind), fps)
    assert found(measured(frames(fails, 90), fps, **kind), fps)
    if rate == "25":  # the wrong order makes five fields of seven, and back: another wave altogether
        right, wrong = (
            measured(frames(7, 40), fps, interlaced=True, top_first=way) for way in (top_first, not top_first)
        )
        assert found(right, fps)[0].changes != found(wrong, fps)[0].changes


def test_frames_of_either_scan_may_stand_beside_each_other():
    """A mixed stream keeps its clock: the period of 8 frames at 25 fails, of 9 passes."""
    from qc.meters.picture.bank import PictureKind
    from qc.meters.picture.flashing import FlashingMeter
    from qc.meters.picture.planes import Planes

    for period, fails in ((8, True), (9, False)):
        meter = FlashingMeter(PictureKind(160, 90, PAL, None, None))
        for number, luma in enumerate(square_wave(period, 75)):
            meter.feed(Planes(number, luma, None, None, 10, interlaced=number % 3 == 0))
        assert bool(found(meter.finish())) == fails


def test_red_of_equal_luminance_fails_as_red_alone():
    """Red and a dark grey of the same luminance, 5 Hz. Sources: BT.1702-3, Guideline 1 (saturated red, whatever the
    luminance); R / (R + G + B) >= 0.8 and 0.2 in u'v': ISO 9241-391 as quoted by WCAG 2.2. Code values: BT.709-6."""
    red = (250, 409, 960)  # R' = 1, G' = B' = 0, narrow range 10 bit
    grey = 250
    for share, fails in ((1.0, True), (0.27, True), (0.23, False)):

        def chroma(number: int, luma: np.ndarray, share: float = share) -> tuple[np.ndarray, np.ndarray]:
            cb, cr = (np.full((90, 80), 512, np.uint16) for _ in range(2))
            if number % 5 >= 2:
                cb[:, : round(80 * share)], cr[:, : round(80 * share)] = red[1], red[2]
            return cb, cr

        series = measured([flat(grey)] * 50, PAL, chroma=chroma)
        assert not found(series) and not found(series, reading="ofcom")
        events = found(series, reading="red")
        assert bool(events) == fails
        if fails:
            assert events[0].kind == "red" and events[0].changes == 10
            assert events[0].area == pytest.approx(100 * share, abs=2)


def test_colours_that_are_no_saturated_red_do_not_count():
    """Flesh, orange, blue and magenta against grey at 5 Hz; R / (R + G + B) stays under 0.8. Computed by BT.709-6."""
    for rgb in ((0.8, 0.6, 0.5), (1.0, 0.6, 0.0), (0.1, 0.1, 0.9), (0.9, 0.1, 0.9)):
        luma = 0.2126 * rgb[0] + 0.7152 * rgb[1] + 0.0722 * rgb[2]
        cb, cr = (512 + 896 * (rgb[2] - luma) / 1.8556, 512 + 896 * (rgb[0] - luma) / 1.5748)
        coloured = (round(cb), round(cr))

        def chroma(number: int, _: np.ndarray, on: tuple[int, int] = coloured) -> tuple[np.ndarray, np.ndarray]:
            values = on if number % 5 >= 2 else (512, 512)
            return np.full((90, 80), values[0], np.uint16), np.full((90, 80), values[1], np.uint16)

        series = measured([flat(round(64 + 876 * luma))] * 50, PAL, chroma=chroma)
        assert not len(series["flashing.red.ticks"])


def hlg_code(cd: float) -> int:
    """Narrow range 10 bit code for a luminance at a nominal peak of 1000. Source: ITU-R BT.2100-2, Table 5."""
    scene = (cd / 1000) ** (1 / 1.2)
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    return round(64 + 876 * ((3 * scene) ** 0.5 if scene <= 1 / 12 else a * np.log(12 * scene - b) + c))


def pq_code(cd: float) -> int:
    """Source: ITU-R BT.2100-2, Table 4."""
    y = (cd / 10000) ** (2610 / 16384)
    c1, c2, c3 = 3424 / 4096, 2413 / 128, 2392 / 128
    return round(64 + 876 * ((c1 + c2 * y) / (1 + c3 * y)) ** (2523 / 32))


@pytest.mark.parametrize(("transfer", "code"), [("HLG", hlg_code), ("PQ", pq_code), ("arib-std-b67", hlg_code)])
@pytest.mark.parametrize(
    ("low", "high", "fails"),
    [(10, 28, False), (10, 33, True), (150, 165, False), (150, 176, True), (400, 440, False), (400, 465, True)],
)
def test_high_dynamic_range_by_its_transfer_function(transfer, code, low, high, fails):
    """20 cd/m2 below 160, Michelson contrast over 1/17 from there on (400 to 450). Source: BT.1702-3, Guideline 1."""
    series = measured(square_wave(5, 50, code(low), code(high)), PAL, transfer=transfer)

    assert "ofcom" not in readings(series)
    assert luminance_curve(series, "bt1702")[:2] == pytest.approx(low, rel=0.03)
    assert bool(found(series)) == fails


@pytest.mark.parametrize(
    ("bits", "full_range", "low", "high"), [(8, False, 16, 101), (8, True, 0, 99), (12, False, 256, 1604)]
)
def test_any_bit_depth_and_range(bits, full_range, low, high):
    """Just over 20 cd/m2 in 8 bits, 8 bits full range and 12 bits fails. Source: BT.1702-3, Annex 2; BT.709-6, 4.6."""
    kind = np.uint8 if bits == 8 else np.uint16
    wave = [picture.astype(kind) for picture in square_wave(5, 50, low, high)]
    less = [picture.astype(kind) for picture in square_wave(5, 50, low, high - 2 ** (bits - 8) * 3)]

    assert found(measured(wave, PAL, bits=bits, full_range=full_range))
    assert not found(measured(less, PAL, bits=bits, full_range=full_range))


def test_more_than_five_seconds_near_the_limits_is_told_of():
    """Two and a half flashes a second of the whole screen: within the limits, and long. Source: BT.1702-3."""
    for seconds, told in ((4, False), (7, True)):
        series = measured(square_wave(10, 25 * seconds), PAL)
        assert not found(series)
        assert bool(long_sequences(series, "bt1702", PAL, RULE)) == told
    assert not long_sequences(measured(square_wave(25, 250), PAL), "bt1702", PAL, RULE)  # one flash a second


def test_a_stricter_rule_is_the_profile_s_affair():
    """Five changes, or a tenth of the screen: the same series, another answer."""
    series = measured(square_wave(10, 75), PAL)
    assert not found(series) and found(series, rule=FlashRule(changes=5))
    small = measured(lamp([(0, 0, 120, 60)], lambda _, n: n % 6 >= 3, 50), PAL)  # 12.5 %
    assert not found(small) and found(small, rule=FlashRule(area_percent=10))


# -- what must not alarm -----------------------------------------------------------------------------------------------


def photograph(seed: int = 2) -> np.ndarray:
    noise = np.random.default_rng(seed).integers(100, 800, (12, 20)).astype(np.uint16)
    return cv2.resize(noise, (320, 180), interpolation=cv2.INTER_CUBIC)


def alarms(series: dict[str, np.ndarray], rate: Fraction = PAL) -> list:
    return [
        event
        for reading in readings(series)
        for event in (
            *flash_events(series, reading, rate, RULE),
            *detail_events(series, reading, rate, RULE),
            *long_sequences(series, reading, rate, RULE),
        )
    ]


def test_a_photo_flash_is_no_alarm():
    """One bright frame."""
    shot = photograph()
    series = measured([shot] * 20 + [np.minimum(shot + 400, 940)] + [shot] * 20, PAL)
    assert area_curves(series, "bt1702", 41)[:, 20].max() > 25 and not alarms(series)


def test_fades_and_slow_pulses_are_no_alarm():
    """A fade out and in, a dissolve, and light that swings once a second for ten seconds."""
    shot, other = photograph().astype(float), photograph(9).astype(float)
    down = np.linspace(1, 0, 25)
    fade = [(64 + (shot - 64) * part).astype(np.uint16) for part in (*down, *down[::-1])]
    dissolve = [(shot * part + other * (1 - part)).astype(np.uint16) for part in down]
    swing = [(64 + (shot - 64) * (0.6 + 0.4 * np.sin(2 * np.pi * n / 25))).astype(np.uint16) for n in range(250)]
    for pictures in (fade, dissolve, swing):
        assert not alarms(measured(pictures, PAL))


@pytest.mark.parametrize(("rate", "lines_a_frame"), [("25", 4), ("29.97", 5), ("59.94", 4)])
def test_rolling_credits_are_no_alarm(rate, lines_a_frame):
    """White type on black in two columns, at 100 to 240 lines of 1080 a second: brighter here, darker beside."""
    tall = np.full((2600, 960), 16, np.uint8)
    letters = np.random.default_rng(7)
    for top in range(60, 2600, 28):
        for left in (60, 500):
            text = "".join(chr(65 + each) for each in letters.integers(0, 26, 20))
            cv2.putText(tall, text, (left, top), cv2.FONT_HERSHEY_DUPLEX, 0.7, 235, 1, cv2.LINE_AA)
    step = lines_a_frame / 2
    rolls = [tall[round(n * step) : round(n * step) + 540] for n in range(int(3 * RATES[rate]))]

    assert not alarms(measured(rolls, RATES[rate], bits=8), RATES[rate])


def test_a_small_lamp_is_no_alarm():
    """A tenth of the screen at 12 Hz."""
    assert not alarms(measured(lamp([(100, 60, 96, 60)], lambda _, n: n % 2 == 0, 75), PAL))


def test_detail_that_moves_is_told_apart_from_flashes():
    """A fast pan over fine texture makes places flicker over most of the screen; it is for a person to look at,
    not a flash of the screen (interpretation, no source)."""
    fine = np.random.default_rng(1).choice(np.array([64, 940], np.uint16), (90, 400))
    texture = cv2.resize(fine, (2000, 450), interpolation=cv2.INTER_NEAREST)
    series = measured([texture[:360, 13 * n : 13 * n + 640] for n in range(60)], PAL)

    assert not flash_events(series, "bt1702", PAL, RULE)
    assert detail_events(series, "bt1702", PAL, RULE)


# -- against the text of the rule -------------------------------------------------------------------------------------


@cache
def light(code: int) -> float:
    """BT.1702-3, Annex 2, Table 1, as its formula."""
    return 200 * (max(code - 64, 0) / 876) ** 2.4


def changes_by_the_text(codes: list[int]) -> list[tuple[int, int]]:
    """(frame, +1 or -1) of every change, in plain words: since the last change some moment differs by 20 cd/m2 or
    more, the darker of the two is under 160, and the move goes the other way than the last one."""
    found, since, way = [], 0, 0
    for now in range(len(codes)):
        for then in range(since, now):
            move = light(codes[now]) - light(codes[then])
            sign = 1 if move > 0 else -1
            if abs(move) >= 20 and min(light(codes[now]), light(codes[then])) < 160 and sign != way:
                found.append((now, sign))
                since, way = now, sign
                break
    return found


def most_by_any_choice(codes: list[int]) -> int:
    """The longest chain of moments in which every move is a change and the next goes the other way."""
    reached = [{1: 0, -1: 0} for _ in codes]
    for now in range(len(codes)):
        for then in range(now):
            move = light(codes[now]) - light(codes[then])
            if abs(move) >= 20 and min(light(codes[now]), light(codes[then])) < 160:
                way = 1 if move > 0 else -1
                reached[now][way] = max(reached[now][way], reached[then][-way] + 1)
    return max(value for each in reached for value in each.values())


def within_a_second(frames: list[int], rate: int = 25, apart: int = 9) -> list[tuple[int, int]]:
    """(frame, changes within the second that ends with it), less one where seven have their leading edges apart."""
    counted = []
    for end, now in enumerate(frames):
        own = [frame for frame in frames[: end + 1] if now - frame < rate]
        if len(own) == 7 and own[3] - own[1] >= apart and own[5] - own[3] >= apart:
            own.pop()
        counted.append((now, len(own)))
    return counted


#: A failing sequence is long however small its codes: nothing is gained by hunting for the shortest.
AS_MADE = (Phase.explicit, Phase.generate)
codes_of = st.lists(
    st.sampled_from([64, 64, 200, 350, 395, 405, 470, 600, 800, 855, 870, 940]), min_size=30, max_size=60
)
#: Left, top, height of eight regions, 40 wide: whole cells.
REGIONS = [(left, top, height) for top, height in ((0, 44), (44, 46)) for left in (0, 40, 80, 120)]


@settings(max_examples=20, phases=AS_MADE)
@given(st.lists(codes_of, min_size=8, max_size=8))
def test_any_sequence_is_counted_as_the_text_says(sequences):
    """Eight regions of the screen, each with a luminance of its own on every frame: the share of the screen with so
    many changes within the last second is that of a plain count, at every moment. Source: BT.1702-3, Guideline 1."""
    frames = min(map(len, sequences))
    pictures = []
    for number in range(frames):
        picture = flat(BLACK)
        for (left, top, height), codes in zip(REGIONS, sequences, strict=True):
            picture[top : top + height, left : left + 40] = codes[number]
        pictures.append(picture)
    series = measured(pictures, PAL)
    rows = dict(zip(series["flashing.bt1702.ticks"].tolist(), series["flashing.bt1702.share"].tolist(), strict=True))

    counts = np.zeros((frames, 8), int)
    changed: set[int] = set()
    for region, codes in enumerate(sequences):
        changes = [frame for frame, _ in changes_by_the_text(codes[:frames])]
        changed |= set(changes)
        for number in range(frames):
            # the second that ends with the moment; seven changes count as they stood when the last was made
            upto = [frame for frame in changes if frame <= number]
            own = sum(number - frame < 25 for frame in upto)
            counts[number, region] = min(own, within_a_second(upto)[-1][1]) if own == 7 else own
    area = np.array([height * 40 * 10000 / (160 * 90) for _, _, height in REGIONS])
    for number in range(frames):
        if 2 * number in rows:
            wanted = [area[counts[number] >= least].sum() for least in range(4, 13)]
            assert rows[2 * number][6:] == pytest.approx(wanted, abs=2)
        else:
            assert number not in changed


@settings(max_examples=40, phases=AS_MADE)
@given(codes_of, st.integers(1, 4))
def test_any_sequence_fails_where_the_text_says(codes, columns):
    """Part of the screen (a quarter to the whole of it) flashes in one: too much is more than a quarter, with seven
    or more changes within any second. Source: BT.1702-3, Guideline 1; Ofcom, Annex 1."""
    pictures = []
    for code in codes:
        picture = flat(BLACK)
        picture[:, : 40 * columns] = code
        pictures.append(picture)
    changes = changes_by_the_text(codes)
    wrong = [frame for frame, count in within_a_second([frame for frame, _ in changes]) if count >= 7]
    events = found(measured(pictures, PAL))

    assert bool(events) == bool(wrong and columns > 1)
    if events:
        assert events[-1].span.end == wrong[-1] + 1
        assert events[0].changes <= max(count for _, count in within_a_second([frame for frame, _ in changes]))


@settings(max_examples=100)
@given(st.lists(st.integers(64, 940), min_size=2, max_size=40))
def test_the_walk_finds_as_many_changes_as_any_choice_of_moments(codes):
    """Taking every change as soon as it is one loses none. Reference: the longest chain of all."""
    from qc.meters.picture.flash_walk import LuminanceWalk

    walk = LuminanceWalk(1, 0)
    steps = [walk.step(np.array([light(code)], np.float32)) for code in codes]
    ours = [(number, 1 if len(up) else -1) for number, (up, down) in enumerate(steps) if len(up) or len(down)]

    assert ours == changes_by_the_text(codes)
    assert len(ours) == most_by_any_choice(codes)
