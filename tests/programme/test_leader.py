"""What stands before and after a programme, on made pictures whose truth is known; and what must not be taken for it.

The shapes of heads are common practice, no source; bars come from FFmpeg's test sources.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from itertools import chain

import numpy as np
import pytest

from qc.programme.leader import Kind, Leader, read_leader, trailing_hold
from qc.timing.spans import Span
from tests.kit.heads import (
    BLACK,
    NTSC,
    PAL,
    RASTER,
    SLATE,
    WHITE,
    Picture,
    clock,
    countdown,
    film,
    film_leader,
    grey,
    lavfi,
    lettered,
    picture_series,
    plain,
    put_tone,
    silence,
    sound_series,
    still,
)

BARS = "smptehdbars"


def read(
    pictures: Iterable[Picture], samples: np.ndarray | None = None, rate: Fraction = PAL, span: Span | None = None
) -> Leader:
    series = picture_series(pictures, rate)
    sound = sound_series(samples) if samples is not None else None
    whole = span or Span(0, series.frames)
    found = read_leader(series, sound, [0, 1], whole, rate, pixel_percent=10, picture_percent=98)
    assert found is not None
    assert [element.span.first for element in found.elements] == [
        whole.first,
        *[element.span.end for element in found.elements[:-1]],
    ]
    assert not found.elements or found.elements[-1].span.end == whole.end
    return found


def shown(found: Leader) -> list[tuple[str, int]]:
    return [(element.name, element.span.frames) for element in found.elements]


def test_a_whole_head() -> None:
    """Bars and tone, slate, countdown, black with a blip: each to the frame, the flash inside its black."""
    samples = silence(300, NTSC)
    put_tone(samples, 0, 120 / NTSC)
    put_tone(samples, 294 / NTSC, 1 / NTSC)
    found = read(
        chain(
            *(still(lavfi(BARS), 120), still(SLATE, 60), countdown(60, 6)),
            *(still(BLACK, 54), still(WHITE, 1), still(BLACK, 5)),
        ),
        samples,
        NTSC,
    )  # fmt: skip
    assert shown(found) == [("bars and tone", 120), ("slate", 60), ("clock or countdown", 60), ("black", 60)]
    assert found.elements[0].bars is not None and found.elements[0].bars.name == "SMPTE RP 219"
    assert found.flashes == (Span(294, 295),)
    assert [round(burst.onset * float(NTSC), 2) for burst in found.bursts] == [294.0]
    assert {tone.channel for tone in found.tones} == {0, 1}


@pytest.mark.parametrize("tone_seconds", [0, 1, 4])
def test_bars_have_tone_when_it_sounds_for_most_of_them(tone_seconds: int) -> None:
    """Five seconds of bars: none, one second, four seconds of tone."""
    samples = silence(125, PAL)
    put_tone(samples, 0, tone_seconds)
    assert shown(read(still(lavfi(BARS), 125), samples)) == [("bars and tone" if tone_seconds == 4 else "bars", 125)]


def test_black_with_tone_is_tone() -> None:
    """Line-up tone without bars."""
    samples = silence(100, PAL)
    put_tone(samples, 0, 4)
    assert shown(read(still(BLACK, 100), samples)) == [("tone", 100)]


COUNTING: dict[str, Callable[[], Iterable[Picture]]] = {
    "numbers by the second": lambda: countdown(250, 25),
    "numbers every three frames": lambda: countdown(30, 3),
    "numbers on grey": lambda: countdown(250, 25, ground=60),
    "a hand that goes round": lambda: clock(250, PAL),
    "a hand that ticks": lambda: clock(250, PAL, ticking=True),
    "a fast hand": lambda: clock(50, PAL, 60),
    "a film leader": lambda: film_leader(200, PAL),
}


@pytest.mark.parametrize("name", list(COUNTING))
def test_clocks_and_countdowns_are_told_from_the_slate_before(name: str) -> None:
    """The slate ends and the counting begins on the frame, whatever kind it is."""
    pictures = list(COUNTING[name]())
    found = read(chain(still(SLATE, 60), pictures, still(BLACK, 25)))
    assert shown(found) == [("slate", 60), ("clock or countdown", len(pictures)), ("black", 25)]


def talking_head(frames: int) -> Iterable[Picture]:
    """A ground that stands, and a shape in the middle that moves as it likes."""
    rng = np.random.default_rng(8)
    across, down = 130.0, 60.0
    for frame in range(frames):
        if rng.random() < 0.4:
            across, down = across + rng.normal(0, 4), down + rng.normal(0, 2)
        luma = np.full((RASTER[1], RASTER[0]), 60, np.uint8)
        luma[round(down) : round(down) + 90, round(across) : round(across) + 60] = 150
        luma[round(down) + 40 : round(down) + 44 + frame % 7, round(across) + 20 : round(across) + 40] = 70
        yield grey(luma)


def brought_from_24(frames: int) -> Iterable[Picture]:
    """A moving picture in which every fifth frame repeats: stillness at even intervals."""
    kept = list(film(frames))
    return (kept[frame - (frame % 5 == 4)] for frame in range(frames))


def night(frames: int) -> Iterable[Picture]:
    """A dark scene with lamps that move: more than 2 % of it is light."""
    for frame in range(frames):
        luma = np.full((RASTER[1], RASTER[0]), 22, np.uint8)
        luma[20:50, (3 * frame) % 280 : (3 * frame) % 280 + 40] = 90
        luma[120:160, 200 - frame % 150 : 240 - frame % 150] = 70
        yield grey(luma)


MOVING: dict[str, Callable[[], Iterable[Picture]]] = {
    "a film": lambda: film(200),
    "somebody who talks": lambda: talking_head(200),
    "24 frames a second in 30": lambda: brought_from_24(200),
    "a night scene": lambda: night(200),
}


@pytest.mark.parametrize("name", list(MOVING))
def test_moving_pictures_are_no_clock(name: str) -> None:
    """What moves otherwise is called moving picture, and nothing else."""
    assert {element.kind for element in read(MOVING[name]()).elements} == {Kind.MOVING}


def test_a_plain_colour_is_no_slate() -> None:
    """A slate has something on it."""
    assert shown(read(chain(still(plain(90), 60), still(SLATE, 60)))) == [("still", 60), ("slate", 60)]


def test_two_slates_are_two() -> None:
    """Cards that follow each other are kept apart, or a slate too many would hide in one that is too long."""
    other = lettered(["BRLN 202", "TRT 09:00:00", "SLATE"])
    assert shown(read(chain(still(SLATE, 60), still(other, 50)))) == [("slate", 60), ("slate", 50)]


def test_a_mix_belongs_to_the_card_that_comes() -> None:
    """A slate that fades up over ten frames of another card, and one that fades out at its end."""

    def mixed(one: Picture, other: Picture, frames: int) -> Iterable[Picture]:
        for step in range(1, frames + 1):
            share = step / (frames + 1)
            yield grey((one[0] * (1 - share) + other[0] * share).astype(np.uint8))

    found = read(chain(still(plain(80), 60), mixed(plain(80), SLATE, 10), still(SLATE, 50), mixed(SLATE, BLACK, 6)))
    assert [name for name, _ in shown(found)][:2] == ["still", "slate"]
    assert found.elements[1].span.first == 60 and found.elements[1].span.end >= 120


def test_bars_with_something_moving_on_them_are_bars() -> None:
    """An identification that blinks on the bars, then a countdown."""

    def blinking(frames: int) -> Iterable[Picture]:
        luma, cb, cr = lavfi(BARS)
        for frame in range(frames):
            marked = luma.copy()
            marked[120:134, 100:180] = 235 if frame // 5 % 2 else 16
            yield marked, cb, cr

    assert shown(read(chain(blinking(100), countdown(125, 25)))) == [("bars", 100), ("clock or countdown", 125)]


def test_the_last_number_of_a_countdown_may_be_the_flash() -> None:
    """A countdown by the second whose "2" shows for one frame, with its ring or alone."""
    with_ring = read(chain(countdown(200, 25), still(next(iter(countdown(60, 25))), 1), still(BLACK, 49)))
    assert shown(with_ring)[0] == ("clock or countdown", 201)
    assert with_ring.faint == (Span(200, 201),)
    alone = read(chain(countdown(200, 25), still(lettered(["", "2"], scale=6), 1), still(BLACK, 49)))
    assert shown(alone) == [("clock or countdown", 201), ("black", 49)]
    assert alone.faint == (Span(200, 201),) and alone.flashes == ()


def test_a_test_card_that_is_no_bars() -> None:
    """FFmpeg's testsrc2 standing still: a card, of which nothing more is claimed."""
    assert shown(read(still(lavfi("testsrc2"), 60))) == [("slate", 60)]


def test_only_the_span_is_read() -> None:
    """Bars as a prop, a title that stands still and a humming tone in the programme are not looked at."""
    samples = silence(250, PAL)
    put_tone(samples, 2, 8, -10.0, 440)
    pictures = chain(still(BLACK, 50), still(lavfi(BARS), 100), still(SLATE, 100))
    found = read(pictures, samples, span=Span(0, 50))
    assert shown(found) == [("black", 50)] and found.tones == ()


def test_damaged_frames_are_counted() -> None:
    """A countdown with frames that could not be compared is not called one."""
    series = picture_series(chain(countdown(250, 25)), PAL)
    change = series.extra["cards.change"].copy()
    change[100:103] = 0xFFFF
    broken = replace(series, extra={**series.extra, "cards.change": change})
    found = read_leader(broken, None, [], Span(0, 250), PAL, pixel_percent=10, picture_percent=98)
    assert found is not None and found.damaged == 3
    assert Kind.COUNT not in {element.kind for element in found.elements}


def test_a_record_without_small_pictures_says_nothing() -> None:
    """An older record, or arrays of another shape: None, never a guess."""
    series = picture_series(still(BLACK, 10), PAL)
    cut = {**series.extra, "cards.change": series.extra["cards.change"][:5]}
    for extra in ({}, cut):
        damaged = replace(series, extra=extra)
        assert read_leader(damaged, None, [], Span(0, 10), PAL, pixel_percent=10, picture_percent=98) is None


def test_empty_and_outlying_spans() -> None:
    """No head, and a span beyond the file."""
    series = picture_series(still(SLATE, 60), PAL)
    for span in (Span(0, 0), Span(500, 600)):
        found = read_leader(series, None, [], span, PAL, pixel_percent=10, picture_percent=98)
        assert found is not None and found.elements == ()


def hold(pictures: Iterable[Picture], samples: np.ndarray, end: int) -> Span | None:
    series = picture_series(pictures, PAL)
    return trailing_hold(series, sound_series(samples), [0, 1], PAL, end, silence_below_dbfs=-60.0)


def test_a_held_picture_is_found_and_told() -> None:
    """Fifty frames of film with sound, then the last one held in silence for forty."""
    moving = list(film(50))
    samples = silence(90, PAL)
    put_tone(samples, 0, 2)
    assert hold(chain(moving, still(moving[-1], 40)), samples, 90) == Span(50, 90)
    found = read(chain(moving, still(moving[-1], 40)), samples, span=Span(50, 90))
    assert shown(found) == [("hold", 40)]


def test_what_is_no_hold() -> None:
    """Sound that goes on, a picture that moves on, a still that is too short."""
    moving = list(film(50))
    held = list(chain(moving, still(moving[-1], 40)))
    loud = silence(90, PAL)
    put_tone(loud, 0, 90 / PAL)
    assert hold(held, loud, 90) is None
    assert hold(film(90), silence(90, PAL), 90) is None
    assert hold(chain(moving, still(moving[-1], 8)), silence(58, PAL), 58) is None


def test_sound_that_dies_away_in_the_hold_shortens_it() -> None:
    """The hold begins where the picture stands and the sound is over."""
    moving = list(film(50))
    samples = silence(90, PAL)
    put_tone(samples, 0, 2.4)
    assert hold(chain(moving, still(moving[-1], 40)), samples, 90) == Span(60, 90)
