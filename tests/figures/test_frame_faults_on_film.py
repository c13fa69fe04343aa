"""Faults of single frames planted in cuts of the open film at random frames, as they are and after two codecs.

The truth is known by the making (tests/kit/film_faults.py). Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from qc.figures.black import runs_of
from tests.kit.film_faults import SIZE, Cut, Plan, Planted, film_pictures, planned, render_forms
from tests.kit.frame_figures import Frames, frames_of, frames_of_file, planes_420

pytestmark = pytest.mark.realmedia

#: Even motion (falling leaves, pans, a flight, wings), cuts, close faces, a chase; no black, no short shot at a seam.
CUT = Cut(((540, 250), (1800, 260), (8570, 150), (8760, 110), (10225, 190), (3400, 240), (7440, 130)))
WANTED = {
    "freeze": 2,
    "stray at a cut": 3,
    "black at a cut": 2,
    "drop": 5,
    "repeat": 8,
    "solid": 2,
    "stray": 5,
    "hit": 7,
}
SEED = 20
AS_IT_IS = "not coded"


@pytest.fixture(scope="module")
def made(film: Path, media_dir: Path) -> tuple[Plan, dict[str, Frames]]:
    plan = planned(CUT, WANTED, SEED)
    as_it_is, paths = render_forms(plan, media_dir, "frame-faults")
    return plan, {AS_IT_IS: as_it_is, **{form: frames_of_file(path) for form, path in paths.items()}}


#: How the kinds that are planted come out as figures.
FOUND: dict[str, Callable[[Frames], list[tuple[int, int]]]] = {
    "repeat": lambda seen: [(one.span.first, one.count) for one in seen.repeats],
    "drop": lambda seen: [(frame, 1) for frame in seen.drops],
    "freeze": lambda seen: [(run.span.first, run.span.frames) for run in seen.stills(25) if not run.still],
    "stray": lambda seen: [(one.span.first, one.span.frames) for one in seen.strays],
    "black at a cut": lambda seen: [(run.first, run.frames) for run in runs_of(seen.black)],
    "hit": lambda seen: [(hit.frame, 1) for hit in seen.hits],
    "solid": lambda seen: [(run.span.first, run.span.frames) for run in seen.solids],
}


def kinds_of(kind: str) -> tuple[str, ...]:
    return ("stray", "stray at a cut") if kind == "stray" else (kind,)


def test_every_planted_fault_is_found_at_its_frame(made: tuple[Plan, dict[str, Frames]]) -> None:
    """99 in 100 over all forms, none missed as it is; each at its first frame and with its length."""
    plan, forms = made
    assert Counter(one.kind for one in plan.truth) == WANTED
    missed: list[tuple[str, Planted]] = []
    for form, seen in forms.items():
        for kind, found in FOUND.items():
            at = found(seen)
            planted = [one for one in plan.truth if one.kind in kinds_of(kind)]
            missed += [(form, one) for one in planted if (one.first, one.frames) not in at]
    assert len(missed) <= 0.01 * len(plan.truth) * len(forms), missed
    assert not [one for form, one in missed if form == AS_IT_IS], missed


def test_nothing_is_found_where_nothing_was_planted(made: tuple[Plan, dict[str, Frames]]) -> None:
    """And no fault is told twice under two names."""
    plan, forms = made
    for form, seen in forms.items():
        for kind, found in FOUND.items():
            planted = {(one.first, one.frames) for one in plan.truth if one.kind in kinds_of(kind)}
            extra = set(found(seen)) - planted
            assert not extra, (form, kind, extra)
        alarms = seen.alarms()
        assert not {"cadence", "broken"} & set(alarms), (form, alarms)


@pytest.mark.parametrize("shot", [566, 1816, 3400])
@pytest.mark.parametrize(("frames", "step"), [(2, 3), (3, 2), (3, 3)])
def test_a_stray_shot_may_move_fast(film: Path, shot: int, frames: int, step: int) -> None:
    """Two or three frames of wild motion in a calm shot: what is alike in them is nowhere in the same place."""
    pictures, wild = list(film_pictures(shot, 50)), list(film_pictures(13000, 12))
    pictures[20 : 20 + frames] = wild[::step][:frames]
    seen = frames_of(planes_420(picture, SIZE, number) for number, picture in enumerate(pictures))
    assert [(one.span.first, one.span.frames, one.kind) for one in seen.strays] == [(20, frames, "inside a shot")]
