"""Faults of single frames in truly interlaced pictures of the open film: every field a moment of its own.

The truth is known by the making: faults are planted at random frames (tests/kit/film_faults.py) of shots that move from
field to field, upper field first and lower field first (tests/kit/woven_film.py), as they are and after MPEG-2 of
interlaced frames. The traps are made of the same pictures. Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest

from qc.figures.black import runs_of
from qc.timing.spans import Span
from tests.kit.film_faults import FORMS, SIZE, Plan, film_pictures, lit, planned, render_forms
from tests.kit.frame_figures import Frames, frames_of, frames_of_file, planes_420
from tests.kit.woven_film import OWN_PACE, STANDS, Move, Shot, WovenCut, in_fields

pytestmark = pytest.mark.realmedia

#: Things that move with every field, a camera that does, and both; cuts, close faces, falling leaves, wings.
CUT = WovenCut.of(
    Shot(566, 105, 1.0, STANDS),
    Shot(8780, 100, OWN_PACE, Move(60.0, 30.0), top_first=False),
    Shot(1816, 100, 1.0, Move(80.0, 40.0)),
    Shot(3420, 110, OWN_PACE, STANDS, top_first=False),
    Shot(10240, 90, OWN_PACE, Move()),
    Shot(8600, 110, OWN_PACE, Move(90.0, 20.0), top_first=False),
)
WANTED = {
    "freeze": 1,
    "stray at a cut": 2,
    "black at a cut": 1,
    "drop": 2,
    "hit": 3,
    "hit in one field": 2,
    "solid": 1,
    "repeat": 3,
    "stray": 2,
}
SEED = 21
AS_IT_IS, CODED = "not coded", "mpeg2"
SUFFIX, CODEC = FORMS[CODED]
INTERLACED = (SUFFIX, ("-vf", "setfield=tff", *CODEC, "-flags:v", "+ildct+ilme"))

#: How the kinds that are planted come out as figures.
FOUND: dict[tuple[str, ...], Callable[[Frames], list[tuple[int, int]]]] = {
    ("repeat",): lambda seen: [(one.span.first, one.count) for one in seen.repeats],
    ("drop",): lambda seen: [(frame, 1) for frame in seen.drops],
    ("freeze",): lambda seen: [(run.span.first, run.span.frames) for run in seen.stills(25) if not run.still],
    ("stray", "stray at a cut"): lambda seen: [(one.span.first, one.span.frames) for one in seen.strays],
    ("black at a cut",): lambda seen: [(run.first, run.frames) for run in runs_of(seen.black)],
    ("hit", "hit in one field"): lambda seen: [(hit.frame, 1) for hit in seen.hits],
    ("solid",): lambda seen: [(run.span.first, run.span.frames) for run in seen.solids],
}


@pytest.fixture(scope="module")
def made(film: Path, media_dir: Path) -> tuple[Plan, dict[str, Frames]]:
    plan = planned(CUT, WANTED, SEED)
    as_it_is, paths = render_forms(plan, media_dir, "faults-in-fields", {CODED: INTERLACED}, interlaced=True)
    return plan, {AS_IT_IS: as_it_is, CODED: frames_of_file(paths[CODED])}


def test_planted_faults_are_found_at_their_frames_and_nothing_else(made: tuple[Plan, dict[str, Frames]]) -> None:
    """Each at its first frame and with its length, as it is and coded; none under two names; no cadence."""
    plan, forms = made
    assert Counter(one.kind for one in plan.truth) == WANTED
    for form, seen in forms.items():
        for kinds, found in FOUND.items():
            planted = {(one.first, one.frames) for one in plan.truth if one.kind in kinds}
            assert set(found(seen)) == planted, (form, kinds)
        assert not {"cadence", "broken"} & set(seen.alarms()), form


WIDTH, HEIGHT = SIZE
Pictures = list[np.ndarray]


def moments(number: int, frames: int = 25, pace: float = 1.0, move: Move | None = None) -> Pictures:
    """Of shots of the film without a cut in them."""
    return list(Shot((1816, 8600, 8780, 3420)[number], frames, pace, move or Move(80.0, 40.0)).moments())


def grey(luma: int) -> np.ndarray:
    made = np.full((HEIGHT * 3 // 2, WIDTH), 128, np.uint8)
    made[:HEIGHT] = luma
    return made


def lettered(moment: np.ndarray, text: str, across: int, down: int) -> np.ndarray:
    made = moment.copy()
    cv2.putText(made[:HEIGHT], text, (across, down), cv2.FONT_HERSHEY_SIMPLEX, 1.0, 220, 2, cv2.LINE_AA)
    return made


def title_that_twitters() -> Pictures:
    """Lines one line high, and letters dimmer by two codes in one field of every second frame."""
    card = lettered(grey(40), "BRINDLEWICK LANE", 100, 100)
    card[150:300:7, 100:500] = 200
    dimmer = card.copy()
    dimmer[1:150:2] -= 2 * (card[1:150:2] > 60).astype(np.uint8)
    return [*in_fields(moments(0)), *[card, dimmer] * 30, *in_fields(moments(1))]


def crawling_text() -> Pictures:
    """Four pixels a field, over a picture that moves and over a card."""
    ground = [*moments(2), *[grey(60)] * 50]
    crawl = [
        lettered(picture, "NEWS FROM BRINDLEWICK LANE", 600 - 4 * field, 330) for field, picture in enumerate(ground)
    ]
    return list(in_fields(crawl))


def rolling_text() -> Pictures:
    """One line a field: rows of a field hold the same again and again, as those of film in fields do."""
    page = np.full((600, WIDTH), 40, np.uint8)
    for line in range(14):
        cv2.putText(page, "Words and pictures", (60 + 90 * (line % 3), 30 + 40 * line), 0, 0.8, 220, 1, cv2.LINE_AA)
    rolled = []
    for field in range(200):
        rolled.append(grey(40))
        rolled[-1][:HEIGHT] = page[field : field + HEIGHT]
    return list(in_fields(rolled))


def photo_flashes() -> Pictures:
    """Of one field, of the two of a frame and of two that are not; weak ones and such that burn out, and white."""
    flashes = {12: 0.3, 29: 0.9, 40: 0.9, 41: 0.9, 55: 0.4, 56: 0.4, 70: 0.25, 83: 0.5, 84: 0.2}
    made = [lit(moment, flashes.get(number, 0.0)) for number, moment in enumerate(moments(1, 60, OWN_PACE))]
    made[100] = grey(235)
    return list(in_fields(made))


def dissolve() -> Pictures:
    """Over 30 fields."""
    first, second = moments(0, 35), moments(3, 35)
    share = (np.arange(30) + 1) / 31
    across = [
        np.rint(one * (1 - part) + two * part).astype(np.uint8)
        for one, two, part in zip(first[-30:], second[:30], share, strict=True)
    ]
    return list(in_fields([*first[:-30], *across, *second[30:]]))


def fast_pan() -> Pictures:
    """To and fro by up to eleven pixels a field."""
    return list(in_fields(moments(1, 50, OWN_PACE, Move(110.0, 30.0, (40.0, 90.0, 200.0)))))


def segmented_frames() -> Pictures:
    """Both fields of a frame are of one moment."""
    return [*film_pictures(1816, 50), *in_fields(moments(2)), *film_pictures(10240, 50)]


TRAPS = (
    crawling_text,
    rolling_text,
    photo_flashes,
    dissolve,
    fast_pan,
    segmented_frames,
)


def frames(pictures: Pictures) -> Frames:
    return frames_of(planes_420(picture, SIZE, number, interlaced=True) for number, picture in enumerate(pictures))


@pytest.mark.parametrize("trap", TRAPS, ids=lambda trap: trap.__name__)
def test_no_alarm(film: Path, trap: Callable[[], Pictures]) -> None:
    """Nothing that the base of picture faults would point out, and no rule by which fields repeat."""
    seen = frames(trap())
    assert seen.alarms() == {} and not seen.cadences


def test_a_title_that_twitters_is_a_still_of_its_length(film: Path) -> None:
    seen = frames(title_that_twitters())
    (run,) = seen.stills(50)
    assert run.still and run.span == Span(25, 85)
    assert seen.alarms() == {}


def test_a_freeze_out_of_a_slow_even_move_is_no_card(film: Path) -> None:
    """The window stands while the film pans for 36 frames; the fifteenth is held for another 29."""
    shot = list(in_fields(list(Shot(760, 36, 1.0, STANDS).moments())))
    (run,) = frames([*shot[:15], *[shot[14]] * 29, *shot[15:]]).stills(25)
    assert run.span == Span(14, 44) and not run.still


def test_only_where_a_cut_falls_between_its_fields_a_frame_is_of_two_shots(film: Path) -> None:
    """After 49 fields and after 99. In a fast and even move every frame lies between those beside it, and is none; the
    film has a cut there too, after 34 fields."""
    seen = frames(list(in_fields([*moments(0)[:49], *moments(1), *moments(3)[:49]])))
    assert np.flatnonzero(seen.series.mixed).tolist() == [24, 49]
    assert seen.alarms() == {}
    fast = Shot(6736, 30, OWN_PACE, Move(110.0, 50.0, (120.0, 120.0, 200.0)))
    assert not frames(list(in_fields(list(fast.moments())))).series.mixed.any()


@pytest.mark.parametrize(("first", "at", "move"), [(8780, 15, STANDS), (8600, 33, Move(80.0, 40.0))])
def test_repeats_beside_moves_too_fast_to_be_alike(film: Path, first: int, at: int, move: Move) -> None:
    """Three frames stand in for three of the shot: from two frames to the next nothing is where it was."""
    shot = list(in_fields(list(Shot(first, at + 12, 1.0, move).moments())))
    seen = frames([*shot[: at + 1], *[shot[at]] * 3, *shot[at + 4 :]])
    assert [(one.span.first, one.count) for one in seen.repeats] == [(at + 1, 3)]


@pytest.mark.parametrize("top_first", [True, False], ids=["top first", "bottom first"])
def test_film_in_fields_beside_interlaced_shots_is_2_3_and_no_fault(film: Path, top_first: bool) -> None:
    """Fields of the film's pictures two and three by turns, up to a cut to pictures of a camera."""
    fields = [
        picture for number, picture in enumerate(film_pictures(1816, 80)) for picture in [picture] * (2 + number % 2)
    ]
    seen = frames([*in_fields(fields, top_first), *in_fields(moments(3, 30), top_first)])
    (cadence,) = seen.cadences
    assert (cadence.kind, cadence.period, cadence.fields) == ("2:3", 5, True)
    assert cadence.span.first == 0 and abs(cadence.span.end - 100) <= 5
    assert seen.alarms() == {}
