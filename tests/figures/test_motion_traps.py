"""What looks like a fault of single frames and is none, made of pictures of the open film; and what stands beside it.

Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import cv2
import numpy as np
import pytest

from qc.timing.spans import Span
from tests.kit.film_faults import SIZE, film_pictures
from tests.kit.frame_figures import Frames, frames_of, planes_420

pytestmark = pytest.mark.realmedia

WIDTH, HEIGHT = SIZE
Pictures = list[np.ndarray]
#: Shots of the film that move and have no cut within 60 frames.
SHOTS = (1816, 8590, 8780, 10240, 3420, 7460)


def shot(number: int, frames: int = 50) -> Pictures:
    return list(film_pictures(SHOTS[number % len(SHOTS)], frames))


def lit(picture: np.ndarray, light: float) -> np.ndarray:
    """Light added to all of it, in linear light (ITU-R BT.1886)."""
    made = picture.copy()
    linear = np.clip((picture[:HEIGHT].astype(np.float32) - 16) / 219, 0, None) ** 2.4 + light
    made[:HEIGHT] = np.rint(16 + 219 * np.clip(linear, 0, 1) ** (1 / 2.4))
    return made


def mixed(one: np.ndarray, other: np.ndarray, share: float) -> np.ndarray:
    return np.rint(one * (1 - share) + other * share).astype(np.uint8)


def colour(luma: int) -> np.ndarray:
    made = np.full((HEIGHT * 3 // 2, WIDTH), 128, np.uint8)
    made[:HEIGHT] = luma
    return made


def title(text: str = "BRINDLEWICK LANE", ground: np.ndarray | None = None, down: int = 200) -> np.ndarray:
    made = (colour(40) if ground is None else ground).copy()
    cv2.putText(made[:HEIGHT], text, (80, down), cv2.FONT_HERSHEY_SIMPLEX, 1.3, 220, 2, cv2.LINE_AA)
    return made


def still_title() -> Pictures:
    return [*shot(0), *[title()] * 100, *shot(1)]


def photograph_with_noise() -> Pictures:
    rng, photo = np.random.default_rng(2), next(film_pictures(9300, 1))
    noisy = [np.clip(np.rint(photo + rng.normal(0, 1.5, photo.shape)), 0, 255).astype(np.uint8) for _ in range(75)]
    return [*shot(0, 30), *noisy, *shot(1, 30)]


def photo_flashes() -> Pictures:
    """Of one and of two frames, weak ones and such that burn out, in a row and apart."""
    made = shot(2, 60) + shot(3, 60)
    flashes = {8: 0.3, 20: 0.9, 32: 0.5, 33: 0.2, 75: 0.9, 76: 0.5, 85: 0.25, 95: 0.9, 96: 0.9, 105: 0.4}
    return [lit(picture, flashes.get(number, 0.0)) for number, picture in enumerate(made)]


def white_flash() -> Pictures:
    made = shot(4, 60)
    made[30] = colour(235)
    return made


def fast_montage() -> Pictures:
    """Shots of two to five frames, one after the other."""
    cuts = [4, 3, 5, 2, 4, 3, 2, 5, 3, 4]
    made = shot(0, 30)
    for number, frames in enumerate(cuts):
        made += list(film_pictures(700 + 900 * number, frames))
    return made + shot(1, 30)


def fades() -> Pictures:
    """Out to black and in, a dissolve, a dip to white, each of twelve frames."""
    first, second, third = shot(0, 50), shot(1, 50), shot(4, 50)
    ramp = [(step + 1) / 13 for step in range(12)]
    out = [mixed(picture, colour(16), share) for picture, share in zip(first[-12:], ramp, strict=True)]
    into = [mixed(colour(16), picture, share) for picture, share in zip(second[:12], ramp, strict=True)]
    across = [mixed(one, other, share) for one, other, share in zip(second[-12:], third[:12], ramp, strict=True)]
    dip = [mixed(picture, colour(235), share) for picture, share in zip(third[-12:], ramp, strict=True)]
    rise = [mixed(colour(235), picture, share) for picture, share in zip(first[:12], ramp, strict=True)]
    held = [colour(16)] * 8, [colour(235)] * 5
    return [*first[:-12], *out, *held[0], *into, *second[12:-12], *across, *third[12:-12], *dip, *held[1], *rise]


def black_between_acts() -> Pictures:
    return [*shot(0), *[colour(16)] * 50, *shot(1)]


def whip_pan() -> Pictures:
    """A wide picture that rushes by for eight frames, between two shots that stand almost still."""
    wide = np.tile(next(film_pictures(9300, 1))[:HEIGHT], (1, 3))
    offsets = [0, 1, 2, 3, 4, 5, 40, 160, 330, 520, 700, 830, 880, 895, 900, 901, 902, 903]
    made = []
    for offset in offsets:
        picture = colour(128)
        picture[:HEIGHT] = cv2.blur(wide[:, offset : offset + WIDTH], (9 if 5 < offset < 890 else 1, 1))
        made.append(picture)
    return shot(2, 30) + made + shot(3, 30)


def rolling_credits() -> Pictures:
    """On grey and on black: the ground is of one colour, and covers more than 95 % of the picture."""
    rolls = [
        title("WORDS AND PICTURES", ground=colour(ground), down=340 - 2 * step)
        for ground in (40, 16)
        for step in range(75)
    ]
    return [*shot(0, 30), *rolls, *shot(1, 30)]


def slow_creep() -> Pictures:
    """A still that is moved by a fifteenth of a pixel a frame."""
    photo = next(film_pictures(9300, 1))
    made = []
    for step in range(75):
        picture, move = photo.copy(), np.float32([[1, 0, step / 15], [0, 1, 0]])
        picture[:HEIGHT] = cv2.warpAffine(
            photo[:HEIGHT], move, SIZE, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
        )
        made.append(picture)
    return [*shot(0, 30), *made, *shot(1, 30)]


def sparks() -> Pictures:
    """Bright dots in other places in each frame, some as large as blocks, over a night."""
    rng, made = np.random.default_rng(3), []
    for picture in shot(5, 60):
        night = mixed(picture, colour(16), 0.6)
        for _ in range(30):
            at = int(rng.integers(WIDTH)), int(rng.integers(HEIGHT))
            cv2.circle(night[:HEIGHT], at, int(rng.integers(1, 8)), 235, -1, cv2.LINE_AA)
        made.append(night)
    return made


def fields_of_a_cut() -> Pictures:
    """Cuts that fall between the fields of a frame."""
    made: Pictures = []
    for number in range(4):
        pictures = shot(number, 25)
        if made:
            woven = made[-1].copy()
            woven[1:HEIGHT:2] = pictures[0][1:HEIGHT:2]
            made.append(woven)
        made += pictures
    return made


TRAPS: tuple[Callable[[], Pictures], ...] = (
    still_title,
    photograph_with_noise,
    photo_flashes,
    white_flash,
    fast_montage,
    fades,
    black_between_acts,
    whip_pan,
    rolling_credits,
    slow_creep,
    sparks,
    fields_of_a_cut,
)


def frames(pictures: Pictures) -> Frames:
    def planes() -> Iterator:
        for number, picture in enumerate(pictures):
            yield planes_420(picture, SIZE, number)

    return frames_of(planes())


@pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.__name__)
def test_no_alarm(film, trap):
    """Nothing that the base of picture faults would point out."""
    assert frames(trap()).alarms() == {}


def test_a_title_is_told_as_a_still_of_its_length(film):
    (run,) = frames(still_title()).stills(50)
    assert run.still and run.span == Span(50, 150)


def test_stray_frames_stand_out_from_the_same_pictures(film):
    """The same shots: one frame of another between two, two inside one, one beside black; and a grey frame."""
    alien = list(film_pictures(6200, 2))
    first, second = shot(0, 40), shot(1, 40)
    made = [*first, alien[0], *second, *alien, *second[::-1], *[colour(16)] * 10, alien[0], *first[::-1], colour(110)]
    seen = frames([*made, *first])
    assert [(one.span.first, one.span.frames, one.kind) for one in seen.strays] == [
        (40, 1, "between shots"),
        (81, 2, "inside a shot"),
        (133, 1, "at black"),
    ]
    assert [run.span for run in seen.solids] == [Span(174, 175)]


def test_a_card_for_missing_media_is_told_with_lettering_too(film):
    """Red, with a line of text on it; the same text on grey is a title (above)."""
    ground = colour(80)
    ground[HEIGHT:].reshape(2, -1)[1] = 200
    seen = frames([*shot(0, 30), *[title("NO MEDIA", ground)] * 12, *shot(1, 30)])
    assert [run.span for run in seen.solids] == [Span(30, 42)]


def test_lettering_on_a_card_for_missing_media_may_be_large_where_it_stands_still(film):
    """Two lines: 94 % of it is red. The same as a title that rolls is none."""
    ground = colour(80)
    ground[HEIGHT:].reshape(2, -1)[1] = 200
    for line in range(2):
        ground = title("MEDIA OFFLINE", ground, down=50 + 60 * line)
    cards = [np.concatenate([np.roll(ground[:HEIGHT], -3 * step, axis=0), ground[HEIGHT:]]) for step in range(12)]
    still, rolls = (frames([*shot(0, 30), *middle, *shot(1, 30)]) for middle in ([ground] * 12, cards))
    (run,) = still.solids
    assert run.span == Span(30, 42) and 0.9 <= run.share < 0.95
    assert rolls.solids == []


def test_a_frame_without_any_signal_is_green(film):
    """Luma of black, and Cb and Cr of 0: no black."""
    green = np.zeros((HEIGHT * 3 // 2, WIDTH), np.uint8)
    green[:HEIGHT] = 16
    seen = frames([*shot(0, 30), green, *shot(0, 60)[30:]])
    assert [run.span for run in seen.solids] == [Span(30, 31)] and seen.spoiled == []
