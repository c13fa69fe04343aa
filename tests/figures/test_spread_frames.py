"""Frames spread over those of a higher rate: made by arithmetic, frame k showing picture floor(k x share + start)."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from qc.figures.cadence import MOVES, REPEAT, UNKNOWN, Signs, broken_at, repeat_cadences
from qc.figures.spread_frames import spreads

FILM, HALF_HOUR = Fraction(24000, 1001), 108_000
#: Rates of the pictures and of the file; kind and period of what is left.
RATES = {
    "25 in 59.94": (Fraction(25), Fraction(60000, 1001), "regular repeats", 12),
    "25 in 60": (Fraction(25), Fraction(60), "regular repeats", 12),
    "23.976 in 59.94": (FILM, Fraction(60000, 1001), "2:3", 5),
    "24 in 59.94": (Fraction(24), Fraction(60000, 1001), "2:3", 5),
    "24 in 50": (Fraction(24), Fraction(50), "regular repeats", 25),
    "23.976 in 50": (FILM, Fraction(50), "regular repeats", 25),
}


def shown(pictures: Fraction, frames: Fraction, count: int) -> list[int]:
    """The picture that each frame shows."""
    return [int(frame * pictures / frames + Fraction(1, 7)) for frame in range(count)]


def signs(pictures: list[int], unknown: float = 0.0) -> Signs:
    """What meters would say of these pictures, all of them in motion but for a share of the frames."""
    sign = np.array([MOVES, *(REPEAT if one == other else MOVES for one, other in pairwise(pictures))], np.int8)
    sign[np.random.default_rng(7).random(len(sign)) < unknown] = UNKNOWN
    none = np.zeros(len(sign), np.int8)
    return Signs(sign, none, none, none, none)


@pytest.mark.parametrize("name", RATES)
@pytest.mark.parametrize("unknown", [0.0, 0.3])
def test_every_repeat_of_a_conversion_is_of_one_cadence(name: str, unknown: float) -> None:
    """Half a minute, a part of it not known: one stretch, all that repeats in it, and nothing is out of step."""
    pictures, frames, kind, period = RATES[name]
    found = signs(shown(pictures, frames, 1800), unknown)
    (one,) = repeat_cadences(found)
    assert (one.kind, one.period) == (kind, period)
    assert one.span.first <= 10 and one.span.end >= 1790
    assert set(one.repeated) == set(np.flatnonzero(found.frame == REPEAT).tolist())
    assert broken_at([one]) == []


def test_slips_do_not_add_up_over_half_an_hour() -> None:
    """25 in 59.94 slips by a frame every fifty seconds against 12 in 5: still one stretch after 108,000 frames."""
    pictures, frames, _, _ = RATES["25 in 59.94"]
    found = signs(shown(pictures, frames, HALF_HOUR))
    (one,) = spreads(found.frame == REPEAT, found.frame == MOVES)
    assert (one.span.first, one.span.end) == (0, HALF_HOUR)


@pytest.mark.parametrize("name", ["25 in 59.94", "25 in 60", "23.976 in 59.94", "24 in 59.94"])
@pytest.mark.parametrize("lost", [1, 2, 3, 4])
def test_frames_lost_after_the_conversion_break_it_once(name: str, lost: int) -> None:
    """One to four frames are taken out at 700 (five of 23.976 in 59.94 are a whole period): one break, near there."""
    pictures, frames, _, _ = RATES[name]
    made = shown(pictures, frames, 1800)
    (frame,) = broken_at(repeat_cadences(signs(made[:700] + made[700 + lost :])))
    assert abs(frame - 700) <= 10


@pytest.mark.parametrize(("pictures", "frames"), [(25, 50), (24, 25), (30, 50), (24, 30), (25, 30), (50, 50), (10, 60)])
def test_other_conversions_are_left_to_their_period(pictures: int, frames: int) -> None:
    """Every frame twice, one in n, three in five, none, drawings on sixes: none of these shares."""
    found = signs(shown(Fraction(pictures), Fraction(frames), 1800))
    assert spreads(found.frame == REPEAT, found.frame == MOVES) == []


def test_repeats_without_a_rule_are_none() -> None:
    """As many repeats as in 25 in 59.94, by chance; and a file too short for a window."""
    again = np.random.default_rng(3).random(5000) < 0.58
    assert spreads(again, ~again) == []
    assert spreads(again[:60], ~again[:60]) == [] and spreads(again[:0], again[:0]) == []


@pytest.mark.parametrize("rates", [(25, Fraction(30000, 1001)), (25, Fraction(30))])
def test_even_slips_of_one_in_six_are_no_break(rates: tuple[int, Fraction]) -> None:
    """25 in 29.97 repeats every sixth frame and slips by one every 199: no break, wherever it begins."""
    made = shown(Fraction(rates[0]), rates[1], 1500)
    for first in range(0, 240, 40):
        assert broken_at(repeat_cadences(signs(made[first:]))) == [], first
