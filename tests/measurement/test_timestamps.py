"""Times of pictures and sound: what is rounding, and what is a gap, a repeat, a jump."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.media.happening import Happening
from qc.media.timestamps import PictureTimes, Placed, SoundTimes

NTSC = Fraction(30000, 1001)


def pictures(stamps: list[int], base: Fraction, rate: Fraction = NTSC) -> list[Happening]:
    met: list[Happening] = []
    times = PictureTimes(0, base, rate, met.append)
    for stamp in stamps:
        times.accept(stamp)
    return met


BASES = (Fraction(1, 1000), Fraction(1, 600), Fraction(1, 90000))
RATES = (NTSC, Fraction(25), Fraction(24000, 1001), Fraction(60000, 1001))


@pytest.mark.parametrize(
    ("base", "rate"), [(Fraction(1001, 30000), NTSC), *((base, rate) for base in BASES for rate in RATES)]
)
def test_a_coarse_time_base_is_not_a_fault(base: Fraction, rate: Fraction) -> None:
    """A constant rate rounded to ticks of a thousandth or a 600th is constant (1 tick; common practice, no source)."""
    assert pictures([round(number / rate / base) for number in range(2000)], base, rate) == []


@pytest.mark.parametrize(
    ("stamps", "kind", "frame"),
    [
        ([0, 1001, 3003, 4004], "timestamp gap", 2),
        ([0, 1001, 1001, 2002], "timestamp repeat", 2),
        ([0, 1001, 1200], "timestamp repeat", 2),
        ([0, 1001, 2002, 1001], "timestamp jump", 3),
        ([0, 1001, 30000 * 20], "timestamp jump", 2),
    ],
)
def test_gaps_repeats_and_jumps_are_told_with_their_frame(stamps: list[int], kind: str, frame: int) -> None:
    """One occurrence, at the frame that comes wrong, with the time of the frame before it."""
    met = pictures(stamps, Fraction(1, 30000))

    assert met[0].kind == kind
    assert met[0].frame == frame
    assert met[0].seconds == Fraction(stamps[frame - 1], 30000)


def sound(base: Fraction, zero: Fraction = Fraction(0), rate: int = 48000) -> tuple[SoundTimes, list[Happening]]:
    met: list[Happening] = []
    return SoundTimes(1, rate, base, zero, met.append), met


@given(
    sizes=st.lists(st.integers(1, 5000), min_size=1, max_size=40),
    start=st.integers(0, 100_000),
    base=st.sampled_from([Fraction(1, 48000), Fraction(1, 1000), Fraction(1, 90000)]),
)
def test_sound_without_gaps_is_placed_by_its_count(sizes: list[int], start: int, base: Fraction) -> None:
    """Times rounded to ticks never shift, fill or drop a sample."""
    times, met = sound(base)
    at = start
    for number, size in enumerate(sizes):
        placed = times.accept(round(Fraction(at, 48000) / base), size)
        assert number == 0 or placed == Placed(0, 0)
        at += size
    assert met == []
    assert abs(times.place - at) <= 1 + base * 48000


def test_missing_sound_is_filled_so_that_the_rest_lies_in_place() -> None:
    """A hole of 100 ms becomes 4800 samples of silence and is told of."""
    times, met = sound(Fraction(1, 48000))
    times.accept(0, 1024)

    assert times.accept(1024 + 4800, 1024) == Placed(4800, 0)
    assert [event.kind for event in met] == ["timestamp gap"]
    assert times.accept(1024 + 4800 + 1024, 1024) == Placed(0, 0)


def test_overlapping_sound_is_left_out() -> None:
    """What lies before the end of what came is not measured twice."""
    times, met = sound(Fraction(1, 48000))
    times.accept(0, 1024)

    assert times.accept(24, 1024) == Placed(0, 1000)
    assert [event.kind for event in met] == ["timestamp repeat"]


def test_a_wild_time_moves_nothing() -> None:
    """A jump of hours in a damaged stamp neither fills nor drops: the sound goes on, told of."""
    times, met = sound(Fraction(1, 48000))
    times.accept(0, 1024)

    assert times.accept(10**12, 1024) == Placed(0, 0)
    assert times.accept(10**12 + 1024, 1024) == Placed(0, 0)
    assert [event.kind for event in met] == ["timestamp jump"]


@pytest.mark.parametrize(("early", "told"), [(2048, 0), (9600, 1)])
def test_sound_before_the_first_picture_is_left_out(early: int, told: int) -> None:
    """Short priming is dropped silently, more than 100 ms is told of; time zero is the first picture."""
    times, met = sound(Fraction(1, 48000), zero=Fraction(1))
    at, skipped = 48000 - early, 0
    while at < 50000:
        skipped += times.accept(at, 1024).skip
        at += 1024

    assert skipped == early
    assert times.place == at - 48000
    assert len(met) == told


def test_late_sound_is_preceded_by_silence() -> None:
    """A stream that starts 25 ms after the first picture has 1200 samples of silence before it."""
    times, met = sound(Fraction(1, 1000), zero=Fraction(2))

    assert times.accept(2025, 1024) == Placed(1200, 0)
    assert times.silence == 1200 and met == []
