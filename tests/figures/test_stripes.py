"""Stripes over a large area are found, at rest or changing, and ordinary pictures are not striped.

Source of the rule: ITU-R BT.1702-3, Guideline 2 and its attachment: more than five light-dark pairs of clearly
discernible stripes, any orientation; over 40 % of the screen at rest, 25 % if they oscillate, flash or reverse
contrast; a smooth drift in one direction is exempt.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import cv2
import numpy as np
import pytest

from qc.figures.stripes import StripeRule, stripe_events
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.planes import Planes
from qc.meters.picture.stripes import StripesMeter

PAL = Fraction(25)
WIDTH, HEIGHT = 480, 270


def striped(
    period: float,
    across: float,
    phase: float = 0.0,
    low: int = 40,
    high: int = 200,
    share: float = 1.0,
    light: float = 0.5,
) -> np.ndarray:
    """Stripes whose light and dark follow each other in the direction ``across`` (degrees), on part of a grey."""
    y, x = np.mgrid[0:HEIGHT, 0:WIDTH].astype(float)
    angle = np.deg2rad(across)
    turn = (x * np.cos(angle) + y * np.sin(angle)) / period + phase
    picture = np.where(turn % 1 < light, high, low).astype(np.uint8)
    if share < 1:
        width, height = round(WIDTH * share**0.5), round(HEIGHT * share**0.5)
        left, top = (WIDTH - width) // 2, (HEIGHT - height) // 2
        inner = picture[top : top + height, left : left + width].copy()
        picture[:] = 110
        picture[top : top + height, left : left + width] = inner
    return picture


def events(picture: Callable[[int], np.ndarray], frames: int = 50, rate: Fraction = PAL, bits: int = 8) -> list:
    meter = StripesMeter(PictureKind(WIDTH, HEIGHT, rate, None, None))
    for number in range(frames):
        meter.feed(Planes(number, picture(number), None, None, bits))
    return stripe_events(meter.finish(), rate, frames, StripeRule())


@pytest.mark.parametrize("across", [0, 30, 90, 135])
@pytest.mark.parametrize("period", [7, 20, 45])
def test_stripes_of_any_direction_and_width(across, period):
    """Found with their direction and number; the whole screen is striped."""
    picture = striped(period, across)
    (event,) = events(lambda _: picture)

    along = abs(np.cos(np.deg2rad(across))) * WIDTH + abs(np.sin(np.deg2rad(across))) * HEIGHT
    assert not event.changing and event.area > 75
    assert abs((event.direction - (90 - across) + 90) % 180 - 90) < 4
    assert event.pairs <= along / period + 1
    if across in (0, 90):
        assert event.pairs == pytest.approx(along / period, abs=1)


@pytest.mark.parametrize(("pairs", "told"), [(4, False), (5, False), (6, True), (8, True)])
def test_more_than_five_pairs(pairs, told):
    """Five pairs across the screen are none too many."""
    picture = striped(WIDTH / pairs, 0)
    assert bool(events(lambda _: picture)) == told


def test_area_at_rest_and_changing():
    """30 % at rest is no event, reversing it is; 20 % never."""
    still = striped(20, 0, share=0.3)
    assert not events(lambda _: still)
    (event,) = events(lambda n: striped(20, 0, phase=0.5 * (n // 3 % 2), share=0.3))
    assert event.changing
    assert not events(lambda n: striped(20, 0, phase=0.5 * (n // 3 % 2), share=0.2))


@pytest.mark.parametrize(
    ("moves", "changing"),
    [
        (lambda n: striped(30, 20, phase=0.5 * np.sin(n / 5)), True),  # to and fro
        (lambda n: striped(30, 20, phase=0.5 * (n // 3 % 2)), True),  # contrast reverses
        (lambda n: striped(30, 20, low=16 if n // 3 % 2 else 90, high=200 if n // 3 % 2 else 110), True),  # flash
        (lambda n: striped(30, 20, phase=0.04 * n), None),  # drift
    ],
    ids=["oscillating", "reversing", "flashing", "drifting"],
)
def test_how_the_stripes_move(moves, changing):
    """Oscillating, reversing and flashing stripes are told of as changing; a smooth drift is exempt."""
    found = events(moves, frames=75)
    assert [event.changing for event in found] == ([] if changing is None else [changing])


@pytest.mark.parametrize("first", range(3, 16, 3))
@pytest.mark.parametrize("share", [1.0, 0.3])
def test_a_cut_is_no_movement_of_the_stripes(first, share):
    """Stripes at rest between two cuts, to plain shots and to shots with other stripes: by their area at rest.

    Known by making: the same picture in every frame from one cut to the next; a look lies somewhere before each cut."""
    plain = np.random.default_rng(3).integers(60, 90, (HEIGHT, WIDTH), dtype=np.uint8)
    one, other = striped(20, 0, share=share), striped(31, 90, share=share)
    shots = [plain] * first + [one] * 45 + [other] * 45 + [plain] * 30
    found = events(lambda n: shots[n], frames=len(shots))

    assert [event.changing for event in found] == ([False] if share == 1 else [])
    for event in found:  # looks are half a second apart
        assert abs(event.span.first - first) <= 13 and abs(event.span.end - first - 90) <= 13


def test_stripes_that_swing_until_the_cut_are_changing():
    """The last look loses them to the cut; what the looks before it saw still counts."""
    shots = [striped(30, 20, phase=0.5 * np.sin(n / 5), share=0.35) for n in range(48)]
    shots += [np.full((HEIGHT, WIDTH), 70, np.uint8)] * 20
    assert [event.changing for event in events(lambda n: shots[n], frames=len(shots))] == [True]


@pytest.mark.parametrize("half", [3, 6, 12])
def test_stripes_that_come_and_go_are_changing(half):
    """A flash of the same stripes, however slow within a second, is no cut."""
    shown, gone = striped(20, 0, share=0.35), np.full((HEIGHT, WIDTH), 70, np.uint8)
    found = events(lambda n: gone if n // half % 2 else shown, frames=150)
    assert found and all(event.changing for event in found)


def test_pictures_that_are_not_striped():
    """Noise, blocks, a grid of thin lines, lettering, low contrast, and stripes of uneven width."""
    noise = np.random.default_rng(2)
    widths = noise.integers(4, 30, 60)
    uneven = np.repeat(np.arange(60) % 2, widths)[:WIDTH].astype(np.uint8) * 180 + 30
    letters = np.full((HEIGHT, WIDTH), 20, np.uint8)
    for top in range(20, HEIGHT, 18):
        cv2.putText(letters, "HAYFIELD LANTERN RIVER STONE", (15, top), cv2.FONT_HERSHEY_DUPLEX, 0.6, 230, 1)
    pictures = [
        noise.integers(16, 235, (HEIGHT, WIDTH), dtype=np.uint8),
        cv2.resize(noise.integers(16, 235, (27, 48), dtype=np.uint8), (WIDTH, HEIGHT), interpolation=cv2.INTER_NEAREST),
        np.maximum(striped(30, 0, low=16, light=0.1), striped(30, 90, low=16, light=0.1)),
        striped(20, 0, low=100, high=110),
        np.broadcast_to(np.resize(uneven, WIDTH), (HEIGHT, WIDTH)).copy(),
        letters,
        np.zeros((HEIGHT, WIDTH), np.uint8),
    ]
    for picture in pictures:
        assert not events(lambda _, own=picture: own, frames=30)


@pytest.mark.parametrize("shape", [(1, 1), (9, 16), (40, 70), (99, 131)])
def test_small_and_odd_rasters_go_through(shape):
    """Nothing found where there is too little to see."""
    meter = StripesMeter(PictureKind(shape[1], shape[0], None, None, None))
    for number in range(30):
        meter.feed(Planes(number, np.full(shape, number * 8, np.uint8), None, None, 8))
        meter.skip()
    assert meter.finish()["stripes.found"].shape == (0, 8)
