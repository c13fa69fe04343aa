"""Field order, active picture and stuck pixels: outcomes, places, areas and fixes, on series made by number."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.headers import Headers
from qc.judge.picture_format import scan
from qc.judge.verdict import Finding, Outcome
from qc.measurement.record import Measurement
from qc.outlets.schema_kinds import Choice
from tests.judge.test_sound_is_judged_on_the_programme import only
from tests.kit.made import ACTS, FOUR_ACTS, SINGLE, Part, facts, four_acts, loaded, measurement, picture_stream

FRAMES = 1200
TOP = {"measured": {"accept": ["top first", "progressive content"]}}
CLEAN = {
    "blank_edges": {"columns": 4, "rows": 2},
    "shape": {"accept": ["full raster"]},
    "inserts": {"accept": ["none"], "level": "should"},
}
#: Energies of a pair: own rows, woven as top first, as bottom first, share that moves.
PAIRS = {"top": (5, 5, 15, 0.1), "bottom": (5, 15, 5, 0.1), "progressive": (0, 9, 9, 0.1), "still": (0, 0, 0, 0)}


def file(parts: Sequence[Part] = (Part(FRAMES),), **header: Any) -> Measurement:
    return measurement(list(parts), facts(pictures=(picture_stream(**header),)))


def fields(made: Measurement, first: int, end: int, kind: str) -> Measurement:
    """What the pairs within some frames show."""
    assert made.picture is not None
    frame, energy = made.picture.extra["fields.frame"], made.picture.extra["fields.energy"]
    energy[(frame >= first) & (frame < end)] = PAIRS[kind]
    return made


def blank(made: Measurement, sides: Sequence[int], first: int = 0, end: int = FRAMES, beside: int = 100) -> Measurement:
    """So many blank lines at the left, top, right and bottom of some frames."""
    assert made.picture is not None
    extra = made.picture.extra
    rows = (extra["active.frame"] >= first) & (extra["active.frame"] < end)
    extra["active.blank"][rows], extra["active.beside"][rows] = sides, beside
    return made


def found(made: Measurement, requirement: str, **sections: Any) -> Finding:
    return only(judge(made, loaded(structure=SINGLE, **sections)), requirement)


# -- field order -------------------------------------------------------------------------------------


def test_the_order_that_is_asked_for_passes_and_says_on_what_grounds() -> None:
    """Every pair is top first; the count of pairs with motion stands beside it."""
    finding = found(file(), "field_order.measured", field_order=TOP)
    assert (finding.outcome, finding.measured) == (Outcome.PASS, "top first")
    assert finding.reason == "172 pairs of frames with clear motion: 172 top first" and finding.fix is None


def test_a_reversed_programme_fails_and_a_flag_does_not_cure_it() -> None:
    """Bottom first throughout in a file flagged top first: the programme as a whole, so no place of its own."""
    finding = found(fields(file(), 0, FRAMES, "bottom"), "field_order.measured", field_order=TOP)
    assert (finding.outcome, finding.measured, finding.places) == (Outcome.FAIL, "bottom first", ())
    assert finding.fix is not None and finding.fix.sentence == (
        "Re-export with the upper field first: the picture itself is bottom first, so a new flag does not cure it."
    )


def test_a_reversed_shot_fails_at_its_place() -> None:
    """From frame 400 to 470 bottom first: mixed, one place, to within seven frames."""
    finding = found(fields(file(), 400, 470, "bottom"), "field_order.measured", field_order=TOP)
    assert (finding.outcome, finding.measured) == (Outcome.FAIL, "mixed")
    (place,) = finding.places
    assert (place.span.first, place.span.end) == (406, 471) and "within 7 frames" in place.note
    assert finding.fix is not None and finding.fix.sentence.startswith(
        f"Re-export with the upper field first from {place.timecode} (act 1 +00:00:13;16) on"
    )


def test_progressive_content_is_accepted_or_not_by_profile() -> None:
    """PsF passes where it is listed, and fails where true interlaced pictures are asked for."""
    made = fields(file(), 0, FRAMES, "progressive")
    assert found(made, "field_order.measured", field_order=TOP).outcome is Outcome.PASS
    strict = found(made, "field_order.measured", field_order={"measured": {"accept": ["top first"]}})
    assert (strict.outcome, strict.measured) == (Outcome.FAIL, "progressive content")
    assert strict.fix is not None and "the picture itself is progressive" in strict.fix.sentence


def test_interlaced_pictures_in_a_progressive_programme_are_found() -> None:
    """A shot of 80 frames that is interlaced where progressive content is asked for; and a whole file of it."""
    asked = {"measured": {"accept": ["progressive content"]}}
    made = fields(fields(file(scan_by_container="progressive"), 0, FRAMES, "progressive"), 300, 380, "top")
    finding = found(made, "field_order.measured", field_order=asked)
    assert (finding.outcome, finding.measured) == (Outcome.FAIL, "progressive content")
    assert [(place.span.first, place.span.end) for place in finding.places] == [(301, 380)]
    whole = found(fields(file(), 0, FRAMES, "top"), "field_order.measured", field_order=asked)
    assert whole.outcome is Outcome.FAIL and whole.fix is not None and "deinterlaced" in whole.fix.sentence


@pytest.mark.parametrize("level", ["must", "should"])
def test_too_little_motion_in_a_file_flagged_interlaced_is_for_a_person(level: str) -> None:
    """A still programme flagged top first, as the outlet asks: no pass, for nothing has shown that order; no refusal
    either. Where something moves, though too little, is where to look."""
    asked = {"measured": {**TOP["measured"], "level": level}}
    made = fields(file(), 0, FRAMES, "still")
    finding = found(made, "field_order.measured", field_order=asked)
    assert (finding.outcome, finding.measured, finding.places) == (Outcome.ADVISORY, "not enough motion", ())
    assert finding.reason.startswith("the file is flagged interlaced, top first; too little moves to tell (0 of 172")
    assert "an order that is wrong could not be seen here either" in finding.reason
    assert (
        finding.fix is not None and finding.fix.action == "look" and ", at a title that moves" in finding.fix.sentence
    )
    assert judge(made, loaded(structure=SINGLE, field_order=asked)).outcome is Outcome.ADVISORY
    assert made.picture is not None
    frame, energy = made.picture.extra["fields.frame"], made.picture.extra["fields.energy"]
    energy[80, 3], energy[90, 3] = 0.0008, 0.95  # a small thing that moves; a cut
    (place,) = found(made, "field_order.measured", field_order=asked).places
    assert (place.span.first, place.span.frames) == (int(frame[80]), 2)


def test_too_little_motion_is_an_answer() -> None:
    """A still programme flagged progressive passes and says that nothing could be seen, and so does one whose every
    order is taken; eight reversed pairs in it are a reason to look."""
    made = fields(file(scan_by_container="progressive", scan_by_stream="progressive"), 0, FRAMES, "still")
    finding = found(made, "field_order.measured", field_order=TOP)
    assert (finding.outcome, finding.measured) == (Outcome.PASS, "not enough motion")
    assert "an order that is wrong could not be seen here either" in finding.reason
    any_order = {"measured": {"accept": ["top first", "bottom first", "progressive content"]}}
    still = fields(file(), 0, FRAMES, "still")
    assert found(still, "field_order.measured", field_order=any_order).outcome is Outcome.PASS
    few = found(fields(made, 700, 756, "bottom"), "field_order.measured", field_order=TOP)
    assert few.outcome is Outcome.ADVISORY and len(few.places) == 1
    assert few.fix is not None and few.fix.action == "look"


def test_what_is_between_the_acts_is_not_judged() -> None:
    """Four reversed pairs in the first break are no finding about the programme; in an act they are."""
    profile = loaded(structure=FOUR_ACTS, field_order=TOP)
    for first, outcome in ((ACTS[0], Outcome.PASS), (ACTS[0] - 100, Outcome.FAIL)):
        made = fields(measurement(four_acts()), first, first + 30, "bottom")
        assert only(judge(made, profile), "field_order.measured").outcome is outcome


def test_a_flag_that_nobody_asks_for_still_has_to_be_true() -> None:
    """Flagged bottom first, shown top first: where the outlet asks for no flag, this finding tells."""
    made = file(scan_by_container="interlaced, bottom first", scan_by_stream="interlaced, bottom first")
    finding = found(made, "field_order.measured", field_order=TOP)
    assert finding.outcome is Outcome.FAIL and finding.reason.startswith("the file is flagged interlaced, bottom first")
    assert finding.fix is not None and finding.fix.no_export
    asked = found(
        made, "field_order.measured", field_order=TOP, picture={"scan": {"accept": ["interlaced, top first"]}}
    )
    assert asked.outcome is Outcome.PASS  # the flag is the other finding's


def test_without_the_series_nothing_is_measured() -> None:
    """An older record: not measured, never a pass."""
    made = file()
    assert made.picture is not None
    made = replace(made, picture=replace(made.picture, extra={}))
    sections = {"field_order": TOP, "active_picture": CLEAN, "stuck_pixels": {"programme": {}}}
    verdict = judge(made, loaded(structure=SINGLE, **sections))
    kinds = ("field_order", "active_picture", "stuck_pixels")
    findings = [item for item in verdict.findings if item.requirement.split(".")[0] in kinds]
    assert len(findings) == 5 and all(item.outcome is Outcome.NOT_MEASURED and item.reason for item in findings)
    assert verdict.outcome is Outcome.FAIL


FOLLOW = "The picture itself is {}: re-flag only, set container and stream to {}; no re-encode."


@pytest.mark.parametrize(
    ("flag", "shown", "asked", "sentence"),
    [
        ("interlaced, bottom first", "top", "interlaced, top first",
         FOLLOW.format("top first", "interlaced, top first")),
        ("interlaced, bottom first", "bottom", "interlaced, top first",
         "Re-export with the upper field first: the picture itself is bottom first, so a new flag does not cure it."),
        ("progressive", "top", "interlaced, top first",
         FOLLOW.format("top first", "interlaced, top first")),
        ("progressive", "progressive", "interlaced, top first",
         "Re-export with interlaced, top first scan: the picture itself is progressive, so decide first how it is to "
         "be scanned."),
        ("interlaced, top first", "top", "progressive",
         "Re-export with progressive scan: the picture itself is interlaced, top first, and has to be deinterlaced."),
        ("interlaced, top first", "progressive", "progressive",
         FOLLOW.format("progressive content", "progressive")),
    ],
)  # fmt: skip
def test_the_fix_of_a_wrong_flag_asks_the_picture_itself(flag: str, shown: str, asked: str, sentence: str) -> None:
    """Re-flag where the picture is what is asked for, re-export where it is not."""
    made = fields(file(scan_by_container=flag, scan_by_stream=flag), 0, FRAMES, shown)
    finding = found(made, "picture.scan", picture={"scan": {"accept": [asked]}})
    assert finding.outcome is Outcome.FAIL and finding.fix is not None and finding.fix.sentence == sentence


def test_before_the_pass_the_fix_says_to_look() -> None:
    """The headers alone know no order of the picture."""
    profile = loaded().profile
    header = facts(pictures=(picture_stream(scan_by_container="interlaced, bottom first"),))
    (finding,) = scan(Headers(facts=header, profile=profile), "picture.scan", Choice(accept=["interlaced, top first"]))
    assert finding.fix is not None and finding.fix.sentence.startswith("Check the field order in the picture")


# -- active picture ----------------------------------------------------------------------------------


def test_a_full_raster_passes() -> None:
    """And says so."""
    made = file()
    assert found(made, "active_picture.blank_edges", active_picture=CLEAN).measured == 0
    assert found(made, "active_picture.shape", active_picture=CLEAN).measured == "full raster"
    assert found(made, "active_picture.inserts", active_picture=CLEAN).measured == "none"


@pytest.mark.parametrize(
    ("sides", "good", "words", "area"),
    [
        ((4, 0, 0, 0), True, "", None),
        ((5, 0, 0, 0), False, "5 blank columns at the left throughout", (0, 0, 5 / 1920, 1)),
        ((0, 2, 0, 0), True, "", None),
        ((0, 0, 0, 3), False, "3 blank rows at the bottom throughout", (0, 1077 / 1080, 1, 3 / 1080)),
        ((0, 0, 9, 0), False, "9 blank columns at the right throughout", (1911 / 1920, 0, 9 / 1920, 1)),
        ((0, 70, 0, 0), False, "70 blank rows at the top throughout", (0, 0, 1, 70 / 1080)),
    ],
)
def test_tolerated_and_other_edges(sides: tuple[int, ...], good: bool, words: str, area: tuple[float, ...]) -> None:
    """Each side against its own tolerance, outlined in the frame that shows it best."""
    finding = found(blank(file(), sides), "active_picture.blank_edges", active_picture=CLEAN)
    assert (finding.outcome is Outcome.PASS) == good and finding.measured == max(sides)
    if good:
        assert not finding.places
        return
    (place,) = finding.places
    assert finding.outcome is Outcome.FAIL and finding.reason == words and place.span.frames == 1
    assert place.area is not None and (place.area.left, place.area.top, place.area.width, place.area.height) == (
        pytest.approx(area)
    )
    assert finding.fix is not None and finding.fix.action == "re-export"


def test_an_edge_in_a_part_is_for_a_person_to_look_at() -> None:
    """Three seconds of 40: an advisory with its stretch."""
    finding = found(blank(file(), (6, 0, 0, 0), 400, 490), "active_picture.blank_edges", active_picture=CLEAN)
    assert finding.outcome is Outcome.ADVISORY and finding.places[0].span.contains(450)
    assert "in 7." in finding.reason


def test_a_dark_programme_is_not_measured_rather_than_passed() -> None:
    """Nothing bright beside any edge, and more lines dark than tolerated."""
    finding = found(blank(file(), (30, 30, 30, 30), beside=5), "active_picture.blank_edges", active_picture=CLEAN)
    assert finding.outcome is Outcome.NOT_MEASURED and "too dark" in finding.reason


UNSEEN = "hold no picture in any frame, and beside them it is too dark, or too uneven, to tell why"


@pytest.mark.parametrize("level", ["must", "should"])
def test_where_no_frame_shows_a_picture_no_shape_is_claimed(level: str) -> None:
    """A tilted letterbox, as its rows are read (no row beside its bars is bright along two thirds of its length): both
    rules are not measured, a must stops the verdict, and both strips are shown."""
    made = blank(file(), (0, 90, 0, 90), beside=0)
    asked = {name: {**rule, "level": level} for name, rule in CLEAN.items()}
    for rule in ("blank_edges", "shape"):
        finding = found(made, f"active_picture.{rule}", active_picture=asked)
        assert (finding.outcome, finding.measured) == (Outcome.NOT_MEASURED, None)
        assert finding.reason == f"the outer 90 rows at the top and the outer 90 rows at the bottom {UNSEEN}"
        assert [place.area.height for place in finding.places if place.area] == pytest.approx([90 / 1080] * 2)
        assert finding.fix is not None and finding.fix.sentence.startswith(
            "Look beside the top and the bottom edge, at"
        )
    assert (judge(made, loaded(structure=SINGLE, active_picture=asked)).outcome is Outcome.FAIL) == (level == "must")


@pytest.mark.parametrize(
    ("rule", "sides", "beside", "outcome"),
    [
        ("blank_edges", (0, 2, 0, 0), 0, Outcome.PASS),  # as many as are tolerated
        ("blank_edges", (0, 3, 0, 0), 0, Outcome.NOT_MEASURED),
        ("blank_edges", (5, 0, 0, 0), 0, Outcome.NOT_MEASURED),
        ("blank_edges", (5, 0, 0, 0), 100, Outcome.FAIL),
        ("shape", (0, 16, 0, 16), 0, Outcome.PASS),  # 1.5 % of 1080 is 16.2
        ("shape", (0, 17, 0, 17), 0, Outcome.NOT_MEASURED),
        ("shape", (28, 0, 28, 0), 0, Outcome.PASS),  # 1.5 % of 1920 is 28.8
        ("shape", (29, 0, 29, 0), 0, Outcome.NOT_MEASURED),
        ("shape", (29, 0, 29, 0), 100, Outcome.FAIL),
    ],
)
def test_what_may_be_unseen(rule: str, sides: tuple[int, ...], beside: int, outcome: Outcome) -> None:
    """As much as is tolerated at an edge, and 1.5 % of the side for a shape: then it makes no difference."""
    made = blank(file(), sides, beside=beside)
    assert found(made, f"active_picture.{rule}", active_picture=CLEAN).outcome is outcome


def test_a_side_that_is_seen_once_is_seen() -> None:
    """All night but for three looks at the end: the picture reaches every edge."""
    made = blank(file(), (0, 90, 0, 90), 0, FRAMES - 3 * 8, beside=0)
    for rule, measured in (("blank_edges", 0), ("shape", "full raster")):
        finding = found(made, f"active_picture.{rule}", active_picture=CLEAN)
        assert (finding.outcome, finding.measured, finding.reason) == (Outcome.PASS, measured, "")


def test_an_edge_throughout_fails_though_another_is_unseen() -> None:
    """Nine columns are blank whatever the top is: it fails, and tells of both. In a part of the programme alone it
    would be an advisory, and then the unseen side weighs more."""
    made = blank(file(), (9, 90, 0, 0))
    assert made.picture is not None
    made.picture.extra["active.beside"][:, 1] = 0
    finding = found(made, "active_picture.blank_edges", active_picture=CLEAN)
    assert (finding.outcome, finding.measured) == (Outcome.FAIL, 9)
    assert finding.reason == f"9 blank columns at the left throughout; the outer 90 rows at the top {UNSEEN}"
    made.picture.extra["active.blank"][:100, 0] = 0
    part = found(made, "active_picture.blank_edges", active_picture=CLEAN)
    assert (
        part.outcome is Outcome.NOT_MEASURED and "9 blank columns at the left in 33.3 % of the pictures" in part.reason
    )


def test_words_in_a_bar_leave_it_a_bar() -> None:
    """Subtitles in the lower bar in three looks of four: a letterbox, because the upper bar is clear throughout and
    every frame without words says the same of the lower."""
    made = blank(file(), (0, 138, 0, 138))
    assert made.picture is not None
    words = np.arange(len(made.picture.extra["active.frame"])) % 4 > 0
    made.picture.extra["active.blank"][words, 3], made.picture.extra["active.beside"][words, 3] = 60, 0
    assert found(made, "active_picture.shape", active_picture=CLEAN).measured == "letterbox 2.39:1"
    assert found(made, "active_picture.blank_edges", active_picture=CLEAN).outcome is Outcome.PASS
    made.picture.extra["active.blank"][:, 3], made.picture.extra["active.beside"][:, 3] = 60, 0  # words in every frame
    assert found(made, "active_picture.shape", active_picture=CLEAN).outcome is Outcome.NOT_MEASURED


def test_two_k_is_named_with_what_to_do() -> None:
    """34 and 34 of 1080 lines: 2048x1080 scaled to the width (1920 x 1080 / 2048 = 1012.5)."""
    finding = found(blank(file(), (0, 34, 0, 34)), "active_picture.shape", active_picture=CLEAN)
    assert (finding.outcome, finding.measured) == (Outcome.FAIL, "letterbox 1.90:1")
    assert "2048x1080 scaled to a width of 1920: 1012.5 of 1080 lines, 68 blank" in finding.reason
    assert finding.fix is not None and "crop it to 1920x1080 (64 pixels a side" in finding.fix.sentence
    edges = found(blank(file(), (0, 34, 0, 34)), "active_picture.blank_edges", active_picture=CLEAN)
    assert edges.outcome is Outcome.PASS  # bars are the other finding's


@pytest.mark.parametrize(
    ("sides", "name"),
    [
        ((0, 138, 0, 138), "letterbox 2.39:1"),
        ((0, 21, 0, 21), "letterbox 1.85:1"),
        ((240, 0, 240, 0), "pillarbox 4:3"),
        ((120, 0, 120, 0), "pillarbox 14:9"),
        ((656, 0, 656, 0), "pillarbox 9:16"),
        ((50, 60, 50, 60), "letterbox and pillarbox at once: 1820x960, 1.90:1"),  # 2048x1080 in a window: 256:135
        ((240, 135, 240, 135), "letterbox and pillarbox at once: 1440x810, 16:9"),
        ((240, 60, 240, 60), "letterbox and pillarbox at once: 1440x960, 1.50:1"),
    ],
)
def test_shapes_have_their_names_and_are_accepted_by_profile(sides: tuple[int, ...], name: str) -> None:
    """By arithmetic on square pixels; where the outlet takes them they pass."""
    made = blank(file(), sides)
    assert found(made, "active_picture.shape", active_picture=CLEAN).measured == name
    agreed = {"shape": {"accept": ["full raster", "letterbox", "pillarbox"]}}
    assert found(made, "active_picture.shape", active_picture=agreed).outcome is Outcome.PASS


def test_a_window_is_outlined_as_one() -> None:
    """Bars all round at once: one place, one rectangle. One after the other they are two shapes."""
    finding = found(blank(file(), (50, 60, 50, 60)), "active_picture.shape", active_picture=CLEAN)
    (place,) = finding.places
    assert place.area is not None and (place.area.left, place.area.top) == pytest.approx((50 / 1920, 60 / 1080))
    assert (place.area.width, place.area.height) == pytest.approx((1820 / 1920, 960 / 1080))
    assert place.note == "1820x960 of 1920x1080, 60 and 60 rows, 50 and 50 columns blank"
    turns = blank(blank(file(), (0, 138, 0, 138), 0, FRAMES // 2), (240, 0, 240, 0), FRAMES // 2, FRAMES)
    shapes = found(turns, "active_picture.shape", active_picture=CLEAN)
    assert shapes.measured == "letterbox 2.39:1 and pillarbox 4:3" and len(shapes.places) == 2


def test_a_bar_at_one_side_is_a_blank_edge_told_once() -> None:
    """Seventy rows at the top alone: no full raster. It fails as an edge; as a shape where nobody asks for edges."""
    made = blank(file(), (0, 70, 0, 0))
    both = found(made, "active_picture.shape", active_picture=CLEAN)
    assert (both.outcome, both.measured) == (Outcome.PASS, "full raster but for 70 blank rows at the top")
    assert both.reason == "blank edges are judged apart"
    alone = found(made, "active_picture.shape", active_picture={"shape": CLEAN["shape"]})
    assert (alone.outcome, len(alone.places)) == (Outcome.FAIL, 1) and alone.fix is not None


def test_archive_is_for_a_person_to_look_at_unless_agreed() -> None:
    """Four seconds of pillarbox: an advisory that outlines the picture; accepted where the outlet says so."""
    made = blank(file(), (240, 0, 240, 0), 400, 520)
    finding = found(made, "active_picture.inserts", active_picture=CLEAN)
    assert (finding.outcome, finding.measured) == (Outcome.ADVISORY, "pillarbox")
    (place,) = finding.places
    assert place.area is not None and place.area.width == pytest.approx(0.75) and place.note.startswith("pillarbox 4:3")
    assert found(made, "active_picture.shape", active_picture=CLEAN).measured == "full raster"
    agreed = {"inserts": {"accept": ["pillarbox"]}}
    assert found(made, "active_picture.inserts", active_picture=agreed).outcome is Outcome.PASS


def test_active_format_description() -> None:
    """One accepted code passes, a change fails at its place, none is not measured; codes of SMPTE ST 2016-1."""
    asked = {"afd": {"accept": ["1000", "1010"]}}
    made = file()
    assert made.picture is not None
    assert found(made, "active_picture.afd", active_picture=asked).outcome is Outcome.NOT_MEASURED
    made.picture.extra["active.afd"][:] = 0b1010
    assert found(made, "active_picture.afd", active_picture=asked).measured == "1010"
    made.picture.extra["active.afd"][500:600] = 0b1001
    finding = found(made, "active_picture.afd", active_picture=asked)
    assert (finding.outcome, finding.measured) == (Outcome.FAIL, "1010, 1001")
    assert [(place.span.first, place.span.end) for place in finding.places] == [(500, 600)]
    assert finding.fix is not None and finding.fix.action == "re-flag"


# -- stuck pixels ------------------------------------------------------------------------------------


def stuck(made: Measurement, *, pictures: int = 8, seen: int = 40, best: int = 700) -> Measurement:
    """One white pixel at column 812, row 377."""
    assert made.picture is not None and isinstance(made.picture.extra, dict)
    made.picture.extra.update(
        {
            "stuck.place": np.array([[812, 377]], np.uint16),
            "stuck.frames": np.array([[14, 1190, best]], np.int32),
            "stuck.counts": np.array([[seen, 41, pictures, pictures, seen, 1, seen]], np.uint16),
            "stuck.level": np.array([[120, 235, 1]], np.float32),
        }
    )
    return made


def test_a_stuck_pixel_is_told_with_its_place_in_the_picture() -> None:
    """Column and row, how often and from when to when, the frame that shows it best, outlined."""
    finding = found(stuck(file()), "stuck_pixels.programme", stuck_pixels={"programme": {"level": "should"}})
    assert (finding.outcome, finding.measured, finding.limit) == (Outcome.ADVISORY, 1, "none")
    (place,) = finding.places
    assert place.note == (
        "bright by 120 codes, 1 pixel at column 812, row 377; seen in 40 of 41 pictures in which it could be, "
        "01:00:00;14 to 01:00:39;20"
    )
    assert (place.span.first, place.span.frames, place.value) == (700, 1, None) and place.area is not None
    assert place.area.left * 1920 == pytest.approx(808) and place.area.width * 1920 == pytest.approx(9)


def test_too_few_pictures_are_no_stuck_pixel_and_some_may_be_let_through() -> None:
    """Fewer different pictures than the outlet wants, or as many pixels as it lets through."""
    asked = {"stuck_pixels": {"programme": {"pictures": 5}}}
    assert found(stuck(file(), pictures=4), "stuck_pixels.programme", **asked).outcome is Outcome.PASS
    assert found(stuck(file(), pictures=5), "stuck_pixels.programme", **asked).outcome is Outcome.FAIL
    let = {"stuck_pixels": {"programme": {"most": 1}}}
    assert found(stuck(file()), "stuck_pixels.programme", **let).outcome is Outcome.PASS
    assert found(stuck(file(), seen=5), "stuck_pixels.programme", **asked).outcome is Outcome.PASS
