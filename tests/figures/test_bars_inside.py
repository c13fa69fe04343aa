"""Colour bars among pictures of the open film, to the frame: FFmpeg's own bars, which know nothing of this project.

Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from fractions import Fraction

import cv2
import numpy as np
import pytest

from qc.figures.bars_inside import BarsRun, bars_inside
from qc.figures.cards import Cards
from qc.figures.frame_series import FrameSeries
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.cards import CardsMeter
from qc.meters.picture.motion import MotionMeter
from qc.meters.picture.planes import Planes
from qc.timing.spans import Span
from tests.kit.film_faults import SIZE, film_pictures
from tests.kit.frame_figures import planes_420
from tests.kit.heads import lavfi

pytestmark = pytest.mark.realmedia

WIDTH, HEIGHT = SIZE
RATE = 25
#: Source of FFmpeg (libavfilter/vsrc_testsrc.c) -> pattern.
SOURCES = {
    "smptehdbars": "SMPTE RP 219",
    "smptebars": "SMPTE EG 1",
    "pal75bars": "EBU 100/0/75/0",
    "pal100bars": "EBU 100/0/100/0",
}


def bars(source: str) -> np.ndarray:
    return np.concatenate([plane.ravel() for plane in lavfi(source, SIZE, "yuv420p")]).reshape(-1, WIDTH)


def found(planes: Iterable[Planes], rate: int = RATE) -> list[BarsRun]:
    meters = CardsMeter(PictureKind(WIDTH, HEIGHT, Fraction(rate), None, None)), MotionMeter()
    for one in planes:
        for meter in meters:
            meter.feed(one)
    series = {name: array for meter in meters for name, array in meter.finish().items()}
    cards = Cards(series["cards.change"], series["cards.at"].astype(np.int64), series["cards.picture"])
    return bars_inside(FrameSeries(series), cards)


def found_in(pictures: Iterable[np.ndarray]) -> list[BarsRun]:
    return found(planes_420(picture, SIZE, number) for number, picture in enumerate(pictures))


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("source", SOURCES)
def test_bars_are_told_to_the_frame(film, source, seed):
    """Two seconds, half a second and one frame of them, put into a shot or between shots at random frames, with noise
    as of a codec."""
    rng = np.random.default_rng(seed)
    pictures, truth = [], []
    for shot, frames in zip(rng.choice([560, 1816, 3420, 7460, 8590], 3, replace=False), (50, 12, 1), strict=True):
        pictures += list(film_pictures(int(shot), int(rng.integers(30, 60))))
        truth.append(Span(len(pictures), len(pictures) + frames))
        pictures += [np.clip(bars(source) + rng.normal(0, 2, (HEIGHT * 3 // 2, WIDTH)), 0, 255).astype(np.uint8)
                     for _ in range(frames)]  # fmt: skip
        pictures += list(film_pictures(int(shot) + 60 * int(rng.integers(2)), 20))
    runs = found_in(pictures)
    assert [run.span for run in runs] == truth
    assert all(SOURCES[source] in run.name for run in runs)


def shifted_matrix(picture: np.ndarray) -> np.ndarray:
    """Codes of BT.709 taken for those of BT.601 and made BT.709 again: a matrix confused once."""
    luma, blue, red = picture[:HEIGHT].astype(float), *picture[HEIGHT:].reshape(2, HEIGHT // 2, -1).astype(float)
    blue, red = (plane.repeat(2, 0).repeat(2, 1) / 224 - 128 / 224 for plane in (blue, red))
    luma = (luma - 16) / 219
    r, b = luma + 2 * (1 - 0.299) * red, luma + 2 * (1 - 0.114) * blue
    g = (luma - 0.299 * r - 0.114 * b) / 0.587
    r, g, b = (np.clip(part, 0, 1) for part in (r, g, b))
    luma = 0.2126 * r + 0.7152 * g + 0.0722 * b
    both = [128 + 224 * (part - luma)[::2, ::2] / (2 * (1 - weight)) for part, weight in ((b, 0.0722), (r, 0.2126))]
    parts = [16 + 219 * luma, *both]
    return np.concatenate([np.rint(part).astype(np.uint8).ravel() for part in parts]).reshape(-1, WIDTH)


def test_bars_whose_matrix_was_confused_are_told_as_bars(film):
    shot = list(film_pictures(1816, 80))
    (run,) = found_in([*shot, *[shifted_matrix(bars("smptehdbars"))] * 40, *shot])
    assert run.span == Span(80, 120) and "levels off" in run.name


def _on(picture: np.ndarray, draw: Callable[[np.ndarray, np.ndarray], np.ndarray]) -> np.ndarray:
    """Each plane of the picture with what is drawn of that plane of the bars."""
    made, shown = picture.copy(), bars("smptehdbars")
    for part in (slice(0, HEIGHT), slice(HEIGHT, HEIGHT * 5 // 4), slice(HEIGHT * 5 // 4, None)):
        shape = (HEIGHT, WIDTH) if part.start == 0 else (HEIGHT // 2, WIDTH // 2)
        made[part] = draw(made[part].reshape(shape), shown[part].reshape(shape)).reshape(-1, WIDTH)
    return made


def on_a_screen(ground: np.ndarray, shown: np.ndarray) -> np.ndarray:
    height, width = ground.shape
    made = ground.copy()
    made[height // 6 : height * 4 // 6, width // 6 : width * 4 // 6] = cv2.resize(
        shown, (width * 4 // 6 - width // 6, height * 4 // 6 - height // 6), interpolation=cv2.INTER_AREA
    )
    return made


def at_an_angle(ground: np.ndarray, shown: np.ndarray) -> np.ndarray:
    height, width = ground.shape
    corners = np.float32([[0, 0], [1, 0], [1, 1], [0, 1]]) * (width, height)
    to = np.float32([[0.02, 0.1], [0.9, 0.0], [0.98, 0.95], [0.1, 0.9]]) * (width, height)
    made = ground.copy()
    matrix = cv2.getPerspectiveTransform(corners.astype(np.float32), to.astype(np.float32))
    return cv2.warpPerspective(shown, matrix, (width, height), dst=made, borderMode=cv2.BORDER_TRANSPARENT)


@pytest.mark.parametrize("draw", [on_a_screen, at_an_angle])
def test_bars_in_a_picture_are_none(film, draw):
    assert found_in(_on(picture, draw) for picture in film_pictures(1816, 60)) == []


def stripes(codes: np.ndarray) -> np.ndarray:
    made = np.full((HEIGHT * 3 // 2, WIDTH), 128, np.uint8)
    made[:HEIGHT] = np.rint(codes).astype(np.uint8)
    return made


def test_steps_and_runs_of_grey_are_none(film):
    """The luma of EBU bars without their colour, and an even run from light to dark, for two seconds; and the run for
    half a second, too short for a look at its colour."""
    shot = list(film_pictures(1816, 30))
    grey = bars("pal75bars")
    grey[HEIGHT:] = 128
    run = stripes(np.linspace(186, 10, WIDTH))
    assert found_in([*shot, *[grey] * 50, *shot, *[run] * 50, *shot, *[run] * 12, *shot]) == []


@pytest.mark.parametrize("light", range(160, 240, 8))
@pytest.mark.parametrize("dark", [4, 16, 28])
def test_an_even_run_too_short_for_a_look_at_its_colour_is_none(light, dark):
    assert found_in([*[stripes(np.full(WIDTH, 90))] * 30, *[stripes(np.linspace(light, dark, WIDTH))] * 12]) == []
