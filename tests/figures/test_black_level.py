"""Lifted and crushed blacks in made histograms, and what looks like them. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

import numpy as np
import pytest

from qc.figures.black_level import BlackLevel, black_level
from qc.measurement.record import LumaBins, PictureSeries
from qc.meters.picture.luma import LumaMeter
from qc.timing.spans import Span

SIZE = (90, 160)


def series(planes: list[np.ndarray], depth: int = 8, full: bool = False) -> PictureSeries:
    """Pictures given in 8-bit codes of their own range; empty ones are damaged."""
    meter = LumaMeter(depth, full)
    for plane in planes:
        if plane.size:
            codes = np.clip(np.round(plane * 2.0 ** (depth - 8)), 0, (1 << depth) - 1)
            meter.feed(codes.astype(np.uint8 if depth == 8 else np.uint16))
        else:
            meter.skip()
    rows = meter.finish()
    return PictureSeries(
        luma=rows.luma, bins=LumaBins(rows.depth, rows.edges, rows.full_range), counted=rows.counted,
        darkest=rows.darkest, brightest=rows.brightest, time=np.arange(len(planes)), time_base=Fraction(1, 25),
    )  # fmt: skip


def read(planes: list[np.ndarray], depth: int = 8, full: bool = False) -> BlackLevel:
    return black_level(series(planes, depth, full), [Span(0, len(planes))], 8.0, 1.0)


def scene(low: float = 16, high: float = 220, noise: float = 1.5, seed: int = 1) -> np.ndarray:
    """Even luma from ``low`` to ``high`` with the noise of a camera."""
    rng = np.random.default_rng(seed)
    return np.linspace(low, high, SIZE[1]) + rng.normal(0, noise, SIZE)


def crushed(seed: int = 1, by: float = 12) -> np.ndarray:
    """A scene whose lowest codes are cut at reference black (16: ITU-R BT.709-6, item 4.6)."""
    return np.maximum(scene(seed=seed) - by, 16)


#: A bright picture with nothing dark: what a shot may be.
SNOW = np.full(SIZE, 150.0)


@pytest.mark.parametrize("depth", [8, 10])
@pytest.mark.parametrize(("full", "codes"), [(False, (16, 40)), (True, (0, 28))])
def test_how_dark_pictures_get(depth: int, full: bool, codes: tuple[int, int]) -> None:
    """Percent of the nominal range: ITU-R BT.709-6, item 4.6; full range runs from 0 to 255."""
    black, lifted = codes
    found = read([scene(black, 220, 0)] * 3 + [scene(lifted, 220, 0)] * 5, depth, full)
    assert found.darkest == pytest.approx(0, abs=0.1)
    assert found.bright == (Span(3, 8),) and found.bright_pictures == 5
    assert found.lowest == pytest.approx(11, abs=0.1)


def test_a_thousandth_of_the_picture_is_black_enough() -> None:
    """A pupil is enough; a single pixel of 14,400 is not."""
    pupil, speck = SNOW.copy(), SNOW.copy()
    pupil[40:48, 40:48], speck[40, 40] = 16, 16
    assert read([pupil] * 4).bright_pictures == 0
    assert read([speck] * 4).bright_pictures == 4


def test_a_stretch_is_counted_through_breaks_and_damage() -> None:
    """What lies between the spans is no picture of the programme; a damaged picture says nothing."""
    planes = [scene(40)] * 4 + [np.full(SIZE, 16.0)] * 3 + [scene(40), np.empty((0, 0)), scene(40)]
    found = black_level(series(planes), [Span(0, 4), Span(7, 10)], 8.0, 1.0)
    assert (found.bright, found.bright_pictures, found.pictures) == ((Span(0, 4), Span(7, 10)), 6, 6)


@pytest.mark.parametrize("depth", [8, 10])
def test_blacks_that_were_cut_are_piled_up(depth: int) -> None:
    """12 of 204 codes lie in the pile: 6 % of the picture, and what noise brings there."""
    found = read([SNOW] * 6 + [crushed(seed) for seed in range(4)], depth)
    assert found.piled == pytest.approx(0.4) and found.piles == (Span(6, 10),)
    assert found.worst_share == pytest.approx(12 / 204, abs=0.01) and 6 <= found.worst < 10


def night() -> np.ndarray:
    """Most of it at the black of the camera."""
    return np.maximum(scene(-60, 60), 16)


def lettering() -> np.ndarray:
    """White type on flat black, with soft edges; the median is type."""
    plane = np.full(SIZE, 16.0)
    plane[:, 70:], plane[:, 69] = 235, 120
    return plane


def noise_round_black() -> np.ndarray:
    """A black coat in the light: noise on both sides of black, none of it cut."""
    return np.where(np.arange(SIZE[1]) < 16, 20 + scene(0, 0, 3), scene(60, 220))


def full_range() -> np.ndarray:
    """Full range that is called narrow: as much lies under black as at it."""
    return np.maximum(scene(-20, 255), 0)


CLEAN = [night, lettering, noise_round_black, full_range, scene]


@pytest.mark.parametrize("made", CLEAN, ids=lambda made: made.__name__)
def test_what_is_not_crushed(made: Callable[[], np.ndarray]) -> None:
    """Beside snow, so that nothing of it is always there."""
    assert read([SNOW] * 6 + [made()] * 6).piled == 0


def test_bands_are_always_there() -> None:
    """A letterbox with dark pictures in it: its bands are no pile, and do not hide one."""
    boxed = [scene(22, 220, seed=seed) for seed in range(6)]
    for plane in boxed:
        plane[:12], plane[-12:] = 16, 16
    assert read(boxed).piled == 0
    for plane in boxed[3:]:
        plane[12:-12] = np.maximum(plane[12:-12] - 24, 16)
    assert read(boxed).piled == pytest.approx(0.5)


def test_no_pictures_no_figures() -> None:
    """A programme of damaged pictures alone."""
    assert read([np.empty((0, 0))] * 3).pictures == 0
