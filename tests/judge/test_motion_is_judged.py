"""Freezes, cadence and single frames: outcomes, places, notes and fixes, on pictures whose faults are known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import cv2
import numpy as np
import pytest

from qc.figures.cadence import Cadence
from qc.judge import cadences, judge
from qc.judge.verdict import Finding, Outcome
from qc.measurement.record import Measurement
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.cards import CardsMeter
from qc.meters.picture.planes import Planes
from qc.timing.spans import Span
from tests.judge.test_sound_is_judged_on_the_programme import only
from tests.kit.frame_figures import frames_of
from tests.kit.heads import lavfi
from tests.kit.made import SINGLE, Part, black, loaded, measurement

KEY = "cadence.accepted"
WIDTH, HEIGHT = 160, 96
#: A file of two acts of 300 frames with a second of black between them.
ACT, BREAK = 300, 30
FRAMES = 2 * ACT + BREAK
#: In act 1: frames of the file. In act 2: counted from its first frame.
TWICE, STRAY, BROKEN = 60, 100, 150
STOPS, STOPPED, CARD = 60, 90, 250
TWO_ACTS = {"acts": {"exact": 2}, "break_length": {"exact": "30 frames"}}


@cache
def ground(seed: int) -> np.ndarray:
    """A wide soft texture, another for each seed."""
    noise = np.random.default_rng(seed).normal(0, 1, (HEIGHT, 4 * WIDTH)).astype(np.float32)
    soft = cv2.GaussianBlur(noise, (0, 0), 3)
    return np.clip(125 + 30 * soft / soft.std(), 40, 220).astype(np.uint8)


def view(seed: int, at: int) -> np.ndarray:
    return ground(seed)[:, at : at + WIDTH].copy()


def pictures(faults: bool) -> Iterator[np.ndarray]:
    for frame in range(ACT):
        luma = view(1, frame)
        if faults and frame == TWICE:
            luma = view(1, frame - 1)
        elif faults and STRAY <= frame < STRAY + 2:
            luma = view(5, frame)
        elif faults and frame == BROKEN:
            luma[32:64, 48:112] = np.kron(np.random.default_rng(9).integers(20, 230, (2, 4)), np.ones((16, 16)))
        yield luma
    for _ in range(BREAK):
        yield np.full((HEIGHT, WIDTH), 16, np.uint8)
    for frame in range(ACT):
        stops = STOPS <= frame < STOPS + STOPPED
        yield (
            np.full((HEIGHT, WIDTH), 90, np.uint8)
            if faults and frame == CARD
            else view(2, STOPS if faults and stops else frame)
        )


@cache
def series(faults: bool) -> dict[str, np.ndarray]:
    grey = np.full((HEIGHT // 2, WIDTH // 2), 128, np.uint8)
    seen = frames_of(Planes(number, luma, grey, grey, 8) for number, luma in enumerate(pictures(faults)))
    return dict(seen.series.series)


def file(faults: bool = True) -> Measurement:
    made = measurement([Part(ACT), black(BREAK), Part(ACT)])
    assert made.picture is not None
    return replace(made, picture=replace(made.picture, extra={**made.picture.extra, **series(faults)}))


def found(requirement: str, asked: dict[str, Any], faults: bool = True) -> Finding:
    """``frames.solid`` is asked as well: a card of one colour is then no stray shot."""
    section, name = requirement.split(".")
    sections: dict[str, dict[str, Any]] = {"frames": {"solid": {}}}
    sections.setdefault(section, {})[name] = asked
    profile = loaded(structure=TWO_ACTS, **sections)
    return only(judge(file(faults), profile), requirement)


#: Requirement, what is asked, what is measured, place (first frame, frames), words of its note.
ALL = (
    ("frames.repeats", {"most": 0}, 1, (TWICE, 1), "repeats the frame before"),
    ("frames.strays", {"shortest": 4}, 2, (STRAY, 2), "2 frames of another picture inside a shot"),
    ("frames.hits", {"most": 0}, 1, (BROKEN, 1), "blocks that neither frame beside it has"),
    ("frames.solid", {"percent": 95.0}, 1, (ACT + BREAK + CARD, 1), "one colour (Y 90, Cb 128, Cr 128"),
    ("freeze.inside_acts", {"max": "2 s"}, STOPPED, (ACT + BREAK + STOPS, STOPPED), "picture stops for 90 frames"),
)


@pytest.mark.parametrize(("requirement", "asked", "measured", "place", "note"), ALL, ids=[one[0] for one in ALL])
def test_each_fault_has_its_place_and_a_fix(requirement, asked, measured, place, note):
    """At its frames, with its words and its timecode; a must fails, a should is for a person to look at."""
    for level, outcome in (("must", Outcome.FAIL), ("should", Outcome.ADVISORY)):
        finding = found(requirement, {**asked, "level": level})
        assert finding.outcome is outcome and finding.measured == measured
        (only_place,) = finding.places
        assert (only_place.span.first, only_place.span.frames) == place
        assert note in only_place.note
        assert finding.fix is not None and only_place.timecode in finding.fix.sentence


@pytest.mark.parametrize(("requirement", "asked", "measured", "place", "note"), ALL, ids=[one[0] for one in ALL])
def test_the_same_pictures_without_faults_pass(requirement, asked, measured, place, note):
    finding = found(requirement, asked, faults=False)
    assert finding.outcome is Outcome.PASS and not finding.places and finding.fix is None


def test_a_stray_field_is_told_as_such():
    """One field of another picture: under every shortest shot that can be asked for."""
    made, frames = file(faults=False), list(pictures(faults=False))
    frames[STRAY][1::2] = view(5, STRAY)[1::2]
    grey = np.full((HEIGHT // 2, WIDTH // 2), 128, np.uint8)
    seen = frames_of(Planes(number, luma, grey, grey, 8, interlaced=True) for number, luma in enumerate(frames))
    assert made.picture is not None
    made = replace(made, picture=replace(made.picture, extra={**made.picture.extra, **seen.series.series}))
    finding = only(judge(made, loaded(structure=TWO_ACTS, frames={"strays": {"shortest": 2}})), "frames.strays")
    assert finding.outcome is Outcome.FAIL and (finding.measured, finding.unit) == ("one field", "")
    (place,) = finding.places
    assert (place.span.first, place.span.frames, place.value) == (STRAY, 1, 0.5)
    assert place.note == "one field of another picture inside a shot" and finding.reason.startswith("1 field too short")
    assert finding.fix is not None and place.note in finding.fix.sentence


def test_colour_that_is_lost_is_told_as_such():
    """For one frame, among the hits, and not twice."""
    made, frames = file(faults=False), list(pictures(faults=False))
    grey, blue = (np.full((HEIGHT // 2, WIDTH // 2), code, np.uint8) for code in (128, 90))
    seen = frames_of(
        Planes(number, luma, grey if number == BROKEN or luma.max() == 16 else blue, grey, 8)
        for number, luma in enumerate(frames)
    )
    assert made.picture is not None
    made = replace(made, picture=replace(made.picture, extra={**made.picture.extra, **seen.series.series}))
    asked = {"hits": {"most": 0}, "strays": {"shortest": 4}, "solid": {}}
    verdict = judge(made, loaded(structure=TWO_ACTS, frames=asked))
    finding = only(verdict, "frames.hits")
    assert finding.outcome is Outcome.FAIL and finding.measured == 1
    (place,) = finding.places
    assert (place.span.first, place.span.frames, place.area) == (BROKEN, 1, None)
    assert place.note == "colour is lost for one frame, 38 codes off on average"
    assert only(verdict, "frames.strays").outcome is only(verdict, "frames.solid").outcome is Outcome.PASS


#: Bars in the second act, from this frame of it on, and so many frames of them.
BARS_AT, BARS = 100, 50


def with_bars(at: int | None) -> Measurement:
    """Pictures without other faults, and EBU bars as FFmpeg makes them from a frame of the file on; None: no bars."""
    grey, shown = np.full((HEIGHT, WIDTH // 2), 128, np.uint8), lavfi("pal75bars", (WIDTH, HEIGHT))
    frames = [(luma, grey, grey) for luma in pictures(faults=False)]
    if at is not None:
        frames[at : at + BARS] = [shown] * BARS
    made, cards = file(faults=False), CardsMeter(PictureKind(WIDTH, HEIGHT, Fraction(30000, 1001), None, None))
    planes = [Planes(number, *frame, 8) for number, frame in enumerate(frames)]
    for one in planes:
        cards.feed(one)
    assert made.picture is not None
    extra = {**made.picture.extra, **frames_of(planes).series.series, **cards.finish()}
    return replace(made, picture=replace(made.picture, extra=extra))


def test_bars_in_an_act_are_told_to_the_frame():
    """And are no stray shot, no card of one colour; as long as is accepted they pass."""
    made = with_bars(ACT + BREAK + BARS_AT)
    asked: dict[str, Any] = {"bars": {}, "strays": {"shortest": 4}, "solid": {}}
    verdict = judge(made, loaded(structure=TWO_ACTS, frames=asked))
    finding = only(verdict, "frames.bars")
    assert (finding.outcome, finding.measured, finding.limit) == (Outcome.FAIL, BARS, "no colour bars")
    (place,) = finding.places
    assert (place.span.first, place.span.frames) == (ACT + BREAK + BARS_AT, BARS)
    assert place.note.startswith(f"{BARS} frames of colour bars: EBU 100/0/75/0")
    assert finding.fix is not None and place.timecode in finding.fix.sentence
    assert only(verdict, "frames.strays").outcome is only(verdict, "frames.solid").outcome is Outcome.PASS
    for longest, outcome in ((BARS, Outcome.PASS), (BARS - 1, Outcome.FAIL)):
        profile = loaded(structure=TWO_ACTS, frames={"bars": {"longest": f"{longest} frames"}})
        assert only(judge(made, profile), "frames.bars").outcome is outcome


def test_bars_outside_the_acts_are_none_and_unknown_where_acts_are():
    """Those between two acts are not the programme's. Without acts they may be those of a head: not measured, and the
    place is named; without bars there is nothing to ask."""
    made = with_bars(ACT + BREAK + BARS_AT)
    parts = [Part(ACT), black(BREAK + ACT)]
    outside = replace(made, picture=replace(measurement(parts).picture, extra=made.picture.extra))  # type: ignore[union-attr]
    assert only(judge(outside, loaded(structure=SINGLE, frames={"bars": {}})), "frames.bars").outcome is Outcome.PASS
    for at, outcome in ((ACT + BREAK + BARS_AT, Outcome.NOT_MEASURED), (None, Outcome.PASS)):
        made = with_bars(at)
        unbroken = replace(made, picture=replace(measurement([Part(FRAMES)]).picture, extra=made.picture.extra))  # type: ignore[union-attr]
        unknown = only(judge(unbroken, loaded(structure=TWO_ACTS, frames={"bars": {}})), "frames.bars")
        assert unknown.outcome is outcome, unknown
        assert unknown.reason.startswith("bars stand at " if outcome is Outcome.NOT_MEASURED else "")


def test_bars_are_not_measured_without_small_pictures():
    finding = found("frames.bars", {})
    assert finding.outcome is Outcome.NOT_MEASURED and "measure it again" in finding.reason


def test_missing_frames_and_cadences_are_not_found_here():
    """Nothing else comes out of the same pictures."""
    for requirement, asked in (
        ("frames.drops", {"most": 0}),
        ("cadence.accepted", {"accept": ["none"]}),
        ("cadence.unbroken", {"required": True}),
        ("freeze.stills", {"max": "1 s"}),
    ):
        assert found(requirement, asked).outcome is Outcome.PASS, requirement


def test_a_share_counts_every_frame_once(monkeypatch):
    """Five stretches over each other and one beside: those that a longer one of their kind covers are parts of it, and
    what is left is counted once. Every frame twice, with one in 25 more, are two kinds over the same frames."""

    def told(*found: Cadence) -> Finding:
        monkeypatch.setattr(cadences, "repeating", lambda case: list(found))
        return only(judge(file(), loaded(structure=SINGLE, cadence={"accepted": {"accept": ["2:2"]}})), KEY)

    spans = (Span(0, 300), Span(0, 250), Span(50, 320), Span(100, 290), Span(200, 500))
    finding = told(*(Cadence(span, "regular repeats", Fraction(number + 20)) for number, span in enumerate(spans)))
    assert finding.measured == "regular repeats" and [place.span for place in finding.places] == [spans[0], spans[4]]
    assert finding.reason == f"over {round(100 * 500 / FRAMES)} % of the programme"
    both = told(Cadence(Span(0, FRAMES), "2:2", Fraction(2)), Cadence(Span(9, 600), "regular repeats", Fraction(25)))
    assert both.measured == "2:2, regular repeats" and both.outcome is Outcome.FAIL and len(both.places) == 1
    assert both.reason == "over 100 % of the programme"


def test_limits_meet_values():
    """As many repeats as are let through; a freeze exactly as long as is accepted, and one frame under that."""
    assert found("frames.repeats", {"most": 1}).outcome is Outcome.PASS
    assert found("freeze.inside_acts", {"max": f"{STOPPED} frames"}).outcome is Outcome.PASS
    assert found("freeze.inside_acts", {"max": f"{STOPPED - 1} frames"}).outcome is Outcome.FAIL
    assert found("frames.strays", {"shortest": 2}).outcome is Outcome.PASS
    assert found("frames.strays", {"shortest": 3}).outcome is Outcome.FAIL
    assert found("frames.solid", {"percent": 95.0, "longest": "1 frame"}).outcome is Outcome.PASS


def test_what_lies_between_acts_is_not_judged():
    """The pictures of the second act moved into the break: nothing of them is told."""
    made = file()
    parts = [Part(ACT), black(BREAK + ACT)]
    outside = replace(made, picture=replace(measurement(parts).picture, extra=made.picture.extra))  # type: ignore[union-attr]
    profile = loaded(structure=SINGLE, freeze={"inside_acts": {"max": "1 s"}}, frames={"solid": {}})
    verdict = judge(outside, profile)
    assert only(verdict, "freeze.inside_acts").outcome is Outcome.PASS
    assert only(verdict, "frames.solid").outcome is Outcome.PASS


def test_an_older_record_is_not_measured_and_says_so():
    """A must that could not be measured never passes."""
    made = file()
    assert made.picture is not None
    old = {name: array for name, array in made.picture.extra.items() if not name.startswith("motion.")}
    verdict = judge(
        replace(made, picture=replace(made.picture, extra=old)),
        loaded(structure=TWO_ACTS, frames={"repeats": {}, "strays": {}}, freeze={"inside_acts": {"max": "2 s"}}),
    )
    for requirement in ("frames.repeats", "frames.strays", "freeze.inside_acts"):
        finding = only(verdict, requirement)
        assert finding.outcome is Outcome.NOT_MEASURED and "measure the file again" in finding.reason
    assert verdict.outcome is Outcome.FAIL
