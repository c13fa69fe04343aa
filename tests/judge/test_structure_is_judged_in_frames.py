"""Acts, breaks, black, running time and timing sheet, to the frame."""

from __future__ import annotations

import itertools
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.measurement.record import SoundSeries
from qc.programme.sheet import SheetRow, TimingSheet
from qc.timing.timecode import Counting
from tests.judge.test_sound_is_judged_on_the_programme import of, only
from tests.kit.made import (
    ACTS,
    FOUR_ACTS,
    PAL,
    SINGLE,
    Part,
    black,
    facts,
    four_acts,
    loaded,
    measurement,
    picture_stream,
    put_light,
)

DROP = Counting(30, drop=True)


def structure(verdict: Verdict) -> dict[str, Outcome]:
    return {f"{finding.requirement} {finding.subject}": finding.outcome for finding in verdict.findings}


@pytest.mark.parametrize(("frames", "outcome"), [(29, "fail"), (30, "pass"), (31, "pass"), (32, "fail")])
def test_break_length_just_on_each_side(frames: int, outcome: str) -> None:
    """30 to 31 frames are accepted; the fix says how many frames are amiss."""
    wanted = {"acts": {"exact": 4}, "break_length": {"min": "30 frames", "max": "31 frames"}}
    verdict = judge(measurement(four_acts(breaks=(30, frames, 30))), loaded(structure=wanted))
    found = next(item for item in of(verdict, "structure.break_length") if item.subject == "break 2")
    assert found.outcome.value == outcome and found.measured == frames
    if outcome == "fail":
        word = "Lengthen" if frames < 30 else "Shorten"
        target = 30 if frames < 30 else 31
        assert found.fix is not None and found.fix.amount == target - frames
        assert found.fix.sentence == f"{word} the black of break 2 by 1 frame, from {frames} to {target}."


def test_a_break_of_the_wrong_length_by_far() -> None:
    """5 s where 10 s are asked: minus 150 frames, in the words of an editor."""
    wanted = {"acts": {"exact": 2}, "break_length": {"exact": "10 s", "tolerance": "1 frame"}}
    verdict = judge(measurement([Part(2000), black(150), Part(2000)]), loaded(structure=wanted))
    found = only(verdict, "structure.break_length")
    assert found.fix is not None and found.fix.amount == 150
    assert found.limit == "10 s (300 frames) +/- 1 frame" and found.margin == -149


def test_a_missing_break_is_missing() -> None:
    """Three blacks expected, two there: the act count and the break fail, the rest stays judged."""
    parts = [Part(1110), black(30), Part(1024 + 952), black(30), Part(780)]
    verdict = judge(measurement(parts), loaded(structure=FOUR_ACTS, duration={"trt": {"exact": "3866 frames"}}))
    assert only(verdict, "structure.acts").outcome is Outcome.FAIL
    missing = [item for item in of(verdict, "structure.break_length") if item.measured == "missing"]
    assert len(missing) == 1 and missing[0].outcome is Outcome.FAIL
    assert missing[0].fix is not None and "of 30 frames of black" in missing[0].fix.sentence


def test_breaks_that_cannot_be_seen_are_not_measured() -> None:
    """Butt edits and no sheet: not a failure of structure, and no pass either."""
    wanted = {**FOUR_ACTS, "act_length": {"max": "1200 frames"}, "head": {"max": "0 frames"}}
    verdict = judge(measurement([Part(3866)]), loaded(structure=wanted, duration={"trt": {"exact": "3866 frames"}}))
    assert {finding.outcome for finding in verdict.findings} == {Outcome.NOT_MEASURED}
    assert not verdict.measurable and verdict.outcome is Outcome.FAIL


def test_an_act_that_is_over_says_who_has_room() -> None:
    """Act 3 is 14 s over its limit; act 4 has room (drop-frame labels of the lengths)."""
    parts = four_acts(acts=(1110, 1024, 952 + 420, 780))
    wanted = {**FOUR_ACTS, "act_length": {"max": "00:00:37;00"}, "act": [{"number": 3, "max": "952 frames"}]}
    verdict = judge(measurement(parts), loaded(structure=wanted))
    found = only(verdict, "structure.act.3")
    assert found.outcome is Outcome.FAIL and found.margin == -420
    assert found.fix is not None and found.fix.amount == -420
    assert found.fix.sentence == (
        "Act 3 is 00:00:14;00 (420 frames) over: take it out, or move it to a neighbour: "
        "act 4 has 00:00:11;00 of room, act 2 has 00:00:02;26 of room."
    )
    assert [item.subject for item in of(verdict, "structure.act_length")] == ["act 1", "act 2", "act 4"]


@pytest.mark.parametrize(("trt", "outcome"), [(3865, "fail"), (3866, "pass"), (3867, "fail")])
def test_running_time_is_exact_to_the_frame(trt: int, outcome: str) -> None:
    """One frame under, right, one over."""
    parts = four_acts(acts=(*ACTS[:3], trt - sum(ACTS[:3])), head=20, tail=40)
    found = only(
        judge(measurement(parts), loaded(structure=FOUR_ACTS, duration={"trt": {"exact": "3866 frames"}})),
        "duration.trt",
    )
    assert (found.outcome.value, found.measured, found.unit) == (outcome, trt, "frames")


def test_the_other_accounting_is_shown_where_it_differs() -> None:
    """Frame-exact 2 frames short, by whole seconds 3 s over: the same four acts (arithmetic by hand).

    Acts 00:06:10;14, 00:05:41;19, 00:05:17;22 and 00:04:20;05 from 01:00:00;00 with 10 s between the labels.
    """
    labels = [
        "01:00:00;00",
        "01:06:10;14",
        "01:06:20;14",
        "01:12:02;03",
        "01:12:12;03",
        "01:17:29;25",
        "01:17:39;25",
        "01:22:00;00",
    ]
    frames = [DROP.frame(label) if label != "01:22:00;00" else DROP.length(label) for label in labels]
    lengths = [end - start for start, end in itertools.pairwise(frames)]
    parts = [Part(n) if place % 2 == 0 else black(n) for place, n in enumerate(lengths)]
    wanted = {"acts": {"exact": 4}, "break_length": {"exact": "10 s", "tolerance": "1 frame"}}
    made = measurement(parts)
    exact = judge(made, loaded(structure=wanted, duration={"trt": {"exact": "00:21:30;00"}}))
    found = only(exact, "duration.trt")
    assert (found.measured, found.margin) == (38660, -2.0)
    assert found.reason == "TRT 00:21:29;28 frame-exact, drop-frame; 00:21:33 whole-second outward"
    assert found.fix is not None and found.fix.sentence.startswith(
        "The programme is 00:00:00;02 (2 frames) under: add it"
    )
    outward = loaded(
        structure=wanted, duration={"trt": {"exact": "00:21:30;00"}}, programme={"accounting": "whole-second outward"}
    )
    verdict = judge(made, outward)
    found = only(verdict, "duration.trt")
    assert found.reason == "TRT 00:21:33 whole-second outward, drop-frame; 38660 frames; 00:21:29;28 frame-exact"
    assert found.fix is not None and "3 seconds over" in found.fix.sentence
    assert (verdict.programme.trt, verdict.programme.trt_other_accounting) == ("00:21:33", "00:21:29;28")
    assert verdict.programme.trt_frames == 38660


def test_non_drop_frame_paperwork_makes_a_programme_38_frames_long() -> None:
    """00:21:30:00 non-drop is 38,700 frames, 38 more than 00:21:30;00 (SMPTE ST 12-1 arithmetic)."""
    found = only(
        judge(measurement([Part(38700)]), loaded(structure=SINGLE, duration={"trt": {"exact": "00:21:30;00"}})),
        "duration.trt",
    )
    assert (found.outcome, found.margin) == (Outcome.FAIL, -38.0)
    assert "read as non-drop-frame it is exactly 00:21:30:00" in found.reason


def test_a_drop_frame_length_in_a_25_fps_file_is_taken_as_real_time() -> None:
    """The wrong rate is a finding of its own; the length is judged all the same."""
    header = facts(pictures=(picture_stream(frame_rate=PAL),), timecodes=())
    profile = loaded(
        structure=SINGLE,
        duration={"trt": {"exact": "00:01:00;00", "tolerance": "1 frame"}},
        picture={"frame_rate": {"accept": ["30000/1001"]}},
    )
    verdict = judge(measurement([Part(1500)], header), profile)
    assert only(verdict, "duration.trt").outcome is Outcome.PASS
    assert only(verdict, "picture.frame_rate").outcome is Outcome.FAIL


def test_head_tail_slot_and_table() -> None:
    """Everything before, between and after; the table tiles the file."""
    parts = four_acts(head=60, tail=150)
    wanted = {**FOUR_ACTS, "head": {"exact": "2 s"}, "tail": {"min": "5 s"}}
    verdict = judge(measurement(parts), loaded(structure=wanted, duration={"slot": {"exact": "3956 frames"}}))
    assert verdict.outcome is Outcome.PASS, structure(verdict)
    table = verdict.programme
    spans = [
        table.head,
        *sorted([*(act.span for act in table.acts), *(item.span for item in table.breaks)]),
        table.tail,
    ]
    assert spans[0].first == 0 and all(a.end == b.first for a, b in itertools.pairwise(spans))
    assert table.acts[0].som == "01:00:02;00" and table.found_by == "black and silence in the picture"


@pytest.mark.parametrize(
    ("accept", "parts", "outcome"),
    [
        ("single", [Part(900)], "pass"),
        ("single", [Part(900), black(60), Part(900)], "advisory"),
        ("single", [Part(900), black(60, lufs=-30.0), Part(900)], "pass"),  # a hold under music
    ],
)
def test_a_single_part_with_a_black_that_looks_like_a_break(accept: str, parts: list[Part], outcome: str) -> None:
    """Black and silent for two seconds: perhaps the version with breaks; a person must look."""
    verdict = judge(measurement(parts), loaded(structure={"parts": {"accept": [accept]}}))
    assert only(verdict, "structure.parts").outcome.value == outcome


def test_a_break_that_is_not_black_or_not_silent() -> None:
    """A frame of picture and a tail of sound inside a break are told with their place."""
    wanted = {**FOUR_ACTS, "break_content": {"max_luma_percent": 5.0, "max_peak_dbfs": -60.0}}
    clean = judge(measurement(four_acts()), loaded(structure=wanted))
    assert {item.outcome for item in of(clean, "structure.break_content")} == {Outcome.PASS}
    made = measurement(four_acts())
    put_light(made, 1110 + 10, 30)
    assert made.sound is not None
    made.sound.sample_peak[7300:7310, 0] = 0.1
    found = {item.subject: item for item in of(judge(made, loaded(structure=wanted)), "structure.break_content")}
    assert found["break 1"].outcome is Outcome.FAIL
    assert found["break 1"].places[0].timecode == "01:00:37;10"
    assert found["break 2"].outcome is Outcome.FAIL
    assert found["break 2"].fix is not None and "silent" in found["break 2"].fix.sentence


@pytest.mark.parametrize(("lufs", "outcome"), [(-20.0, "advisory"), (-45.0, "pass")])
def test_sound_at_an_act_end_is_advisory_and_room_sound_is_none(lufs: float, outcome: str) -> None:
    """Room sound that is cut under -30 dBFS is normal (common practice); louder is looked at, never failed."""
    wanted = {**FOUR_ACTS, "act_ends": {"max_level_dbfs": -30.0}}
    verdict = judge(measurement(four_acts(lufs=lufs)), loaded(structure=wanted))
    assert {item.outcome.value for item in of(verdict, "structure.act_ends")} == {outcome}
    assert verdict.outcome.value == outcome


def act_starts(accept: str, heads: list[int]) -> list[Finding]:
    parts = (
        [black(heads[0]), Part(900), black(heads[1]), Part(900)]
        if heads[0]
        else [Part(900), black(heads[1]), Part(900)]
    )
    wanted = {
        "acts": {"exact": 2},
        "break_length": {"min": "1 frame", "max": "60 s"},
        "act_starts": {"accept": [accept]},
    }
    return of(judge(measurement(parts), loaded(structure=wanted)), "structure.act_starts")


def test_acts_on_whole_minutes_know_the_dropped_labels() -> None:
    """01:01:00;02 is the first label of its minute (SMPTE ST 12-1), one frame later is not."""
    good = act_starts("whole minute", [0, 900])
    assert [(item.measured, item.outcome.value) for item in good] == [("01:00:00;00", "pass"), ("01:01:00;02", "pass")]
    late = act_starts("whole minute", [0, 901])
    assert (late[1].measured, late[1].outcome.value) == ("01:01:00;03", "fail")
    assert late[1].fix is not None and late[1].fix.sentence.endswith("later, to 01:02:00;02.")
    assert [item.outcome.value for item in act_starts("whole second", [30, 45])] == ["pass", "fail"]


def in_act(*blacks: Part, limit: dict[str, Any] | None = None) -> Finding:
    parts: list[Part] = [Part(600)]
    for item in blacks:
        parts += [item, Part(600)]
    profile = loaded(structure=SINGLE, black={"inside_acts": limit or {"max": "2 s"}})
    return only(judge(measurement(parts), profile), "black.inside_acts")


def test_one_stray_black_frame_fails() -> None:
    """Hard edges on both sides: a gap in the edit, with sound as evidence."""
    found = in_act(black(1, lufs=-24.0))
    assert (found.outcome, found.measured) == (Outcome.FAIL, 1)
    assert found.places[0].note == "1 frame of black, sound runs on"
    assert found.fix is not None and found.fix.sentence.startswith(
        "Close the gap: replace the black frame at 01:00:20;00"
    )


def test_a_long_fade_is_let_through_and_a_hole_is_not() -> None:
    """20 frames of black are a fade within 2 s; 61 frames are one too many."""
    assert in_act(black(20, lufs=-40.0)).outcome is Outcome.PASS
    assert in_act(black(60)).outcome is Outcome.PASS
    found = in_act(black(61))
    assert (found.outcome, found.margin) == (Outcome.FAIL, -1.0)
    assert found.places[0].note == "61 frames of black, silent too"


def test_a_dip_that_darkens_first_is_no_stray_black() -> None:
    """Two black frames in the middle of a dip: the frames beside them are dark already."""
    ramp = [Part(1, light=code) for code in (100, 80, 60, 45)]
    parts = [Part(600), *ramp, black(2, lufs=-24.0), *reversed(ramp), Part(600)]
    profile = loaded(structure=SINGLE, black={"inside_acts": {"max": "2 s"}})
    assert only(judge(measurement(parts), profile), "black.inside_acts").outcome is Outcome.PASS


def test_a_black_is_not_shortened_to_a_stray_one() -> None:
    """13 frames where 5 are the most: 5 with hard edges would be stray, so picture belongs there."""
    found = in_act(black(13, lufs=-24.0), limit={"max": "5 frames"})
    assert found.fix is not None and found.fix.amount == -13
    assert found.fix.sentence.startswith("Close the gap: replace the 13 black frames at 01:00:20;00")


def test_every_black_that_is_wrong_gets_its_instruction() -> None:
    """One stray frame, and one black 40 frames too long: both are named."""
    found = in_act(black(1, lufs=-24.0), black(100))
    assert found.fix is not None and found.fix.sentence == (
        "2 blacks: replace the black frame at 01:00:20;00 (act 1 +00:00:20;00) with picture; "
        "shorten the black at 01:00:40;01 (act 1 +00:00:40;01) by 40 frames."
    )


def test_a_night_scene_is_not_black() -> None:
    """Dark, but over the rule's share of nominal white (10 % of narrow range is code 37)."""
    found = in_act(Part(300, light=38))
    assert (found.outcome, found.measured, found.places) == (Outcome.PASS, 0, ())


def test_a_shortest_length_is_kept_to_where_the_outlet_gives_one() -> None:
    """Between 6 frames and 1 s: three frames are too few, six are right."""
    limit = {"min": "6 frames", "max": "1 s"}
    assert in_act(black(3), limit=limit).outcome is Outcome.FAIL
    assert in_act(black(6), limit=limit).outcome is Outcome.PASS


def test_an_all_black_file_is_no_programme() -> None:
    """One reason, nothing passed."""
    verdict = judge(measurement([black(600)]), loaded(structure=SINGLE, black={"inside_acts": {"max": "2 s"}}))
    assert {finding.outcome for finding in verdict.findings} == {Outcome.NOT_MEASURED}
    assert "black" in verdict.findings[0].reason


def made_sheet(shift: int = 0, amiss: dict[int, tuple[int, int]] | None = None) -> TimingSheet:
    """The sheet of four_acts(), moved by frames, with errors per act at SOM and EOM."""
    at, rows = DROP.frame("01:00:00;00") + shift, []
    for number, frames in enumerate(ACTS, 1):
        som, eom = (amiss or {}).get(number, (0, 0))
        rows.append(SheetRow(f"act {number}", number, at + som, at + frames + eom, number + 1))
        at += frames + 30
    elements = (SheetRow("opening", None, rows[0].som, rows[0].som + 300, 9),)
    return TimingSheet("sheet.csv", "utf-8", ",", DROP, "exclusive", tuple(rows), elements)


SHEET = {**FOUR_ACTS, "sheet": {"tolerance": "0 frames"}}


def sheet_findings(sheet: TimingSheet | None) -> list[Finding]:
    return of(judge(measurement(four_acts()), loaded(structure=SHEET), sheet=sheet), "structure.sheet")


def test_a_sheet_that_agrees_passes() -> None:
    """To the frame; how EOM is written and how it counts is said."""
    (found,) = sheet_findings(made_sheet())
    assert (found.outcome, found.measured) == (Outcome.PASS, "equal to the frame")
    assert found.reason == "EOM exclusive, drop-frame"


def test_a_sheet_that_is_wrong_in_one_act() -> None:
    """Signed frames at SOM and EOM, for that act alone."""
    (found,) = sheet_findings(made_sheet(amiss={3: (0, 2)}))
    assert (found.outcome, found.subject, found.measured, found.margin) == (
        Outcome.FAIL,
        "act 3",
        "EOM +2 frames",
        -2.0,
    )


def test_a_constant_offset_is_one_finding() -> None:
    """A sheet in 00: for a file that starts at 01: is one fact, not four."""
    hour = DROP.frame("01:00:00;00")
    (found,) = sheet_findings(made_sheet(shift=-hour))
    assert (found.outcome, found.subject) == (Outcome.FAIL, "timing sheet")
    assert "01:00:00;00" in str(found.measured) and "earlier" in str(found.measured)


def test_no_sheet_is_not_measured_and_does_not_stop_the_file() -> None:
    """The line is about a declared sheet; nothing declared, nothing compared."""
    verdict = judge(measurement(four_acts()), loaded(structure=SHEET))
    found = only(verdict, "structure.sheet")
    assert found.outcome is Outcome.NOT_MEASURED and found.reason == "no timing sheet was given; give one with --sheet"
    assert verdict.outcome is Outcome.PASS


def test_a_sheet_that_is_required_and_not_given_stops_the_file() -> None:
    """A must that was not measured never passes: neither the sheet itself nor an element known by it alone."""
    for wanted in (
        {"sheet": {"tolerance": "0 frames", "required": True}},
        {"element": [{"name": "opening", "max": "10 s"}]},
    ):
        verdict = judge(measurement(four_acts()), loaded(structure={**FOUR_ACTS, **wanted}))
        assert not verdict.measurable and verdict.outcome is not Outcome.PASS


def test_a_sheet_stands_in_for_breaks_that_cannot_be_seen() -> None:
    """Butt edits with a sheet: acts are judged, and the sheet is not checked against itself."""
    at, rows = DROP.frame("01:00:00;00"), []
    for number, frames in enumerate(ACTS, 1):
        rows.append(SheetRow(f"act {number}", number, at, at + frames, number + 1))
        at += frames
    sheet = TimingSheet("sheet.csv", "utf-8", ",", DROP, "exclusive", tuple(rows), ())
    profile = loaded(
        structure={"acts": {"exact": 4}, "sheet": {"tolerance": "0 frames"}}, duration={"trt": {"exact": "3866 frames"}}
    )
    verdict = judge(measurement([Part(sum(ACTS))]), profile, sheet=sheet)
    assert only(verdict, "structure.acts").outcome is Outcome.PASS
    assert only(verdict, "duration.trt").outcome is Outcome.PASS
    assert only(verdict, "structure.sheet").outcome is Outcome.NOT_MEASURED
    assert verdict.programme.found_by == "declared timing sheet"


def test_a_sheet_counts_where_the_outlet_says_nothing_of_acts() -> None:
    """Two acts on the sheet, the break as black in the picture: not one act with a hole in it."""
    at = DROP.frame("01:00:00;00")
    rows = (SheetRow("act 1", 1, at, at + 600, 2), SheetRow("act 2", 2, at + 613, at + 1213, 3))
    sheet = TimingSheet("sheet.csv", "utf-8", ",", DROP, "exclusive", rows, ())
    profile = loaded(duration={"trt": {"exact": "1200 frames"}}, black={"inside_acts": {"max": "5 frames"}})
    verdict = judge(measurement([Part(600), black(13), Part(600)]), profile, sheet=sheet)
    assert [(act.span.first, act.span.end) for act in verdict.programme.acts] == [(0, 600), (613, 1213)]
    assert structure(verdict)["duration.trt programme"] is Outcome.PASS
    assert only(verdict, "black.inside_acts").outcome is Outcome.PASS


def test_the_length_of_a_declared_element() -> None:
    """By name, from the sheet alone."""
    wanted = {**FOUR_ACTS, "element": [{"name": "opening", "max": "10 s"}, {"name": "credits", "max": "20 s"}]}
    verdict = judge(measurement(four_acts()), loaded(structure=wanted), sheet=made_sheet())
    assert only(verdict, "structure.element.opening").outcome is Outcome.PASS
    assert only(verdict, "structure.element.credits").outcome is Outcome.NOT_MEASURED


def test_places_name_a_moment_every_way() -> None:
    """Elapsed time where there is no timecode, act-relative time always."""
    none = measurement([Part(600), black(1), Part(600)], facts(timecodes=()))
    place = only(
        judge(none, loaded(structure=SINGLE, black={"inside_acts": {"max": "2 s"}})), "black.inside_acts"
    ).places[0]
    assert place.timecode == place.offset == "0:00:20.020"
    assert place.within == "act 1 +00:00:20:00"


def test_sound_that_is_not_there_is_no_silence() -> None:
    """Act ends and breaks behind the end of the sound, or without decoded sound, are not measured, not passed."""
    asked = {"break_content": {"max_luma_percent": 5.0, "max_peak_dbfs": -60.0}, "act_ends": {"max_level_dbfs": -30.0}}
    deaf = replace(measurement(four_acts()), sound=None)
    found = of(judge(deaf, loaded(structure=asked)), "structure.break_content")
    assert {item.outcome for item in found} == {Outcome.NOT_MEASURED}
    assert "no sound could be decoded" in found[0].reason
    short = measurement(four_acts())
    short = replace(short, sound=cut(short.sound, 5000))
    verdict = judge(short, loaded(structure=asked))
    assert of(verdict, "structure.break_content")[-1].outcome is Outcome.NOT_MEASURED
    assert of(verdict, "structure.act_ends")[-1].outcome is Outcome.NOT_MEASURED
    assert of(verdict, "structure.act_ends")[0].outcome is not Outcome.NOT_MEASURED


def test_a_programme_that_goes_on_without_sound_is_silent_there() -> None:
    """The sound stream ends in act 3: the rest is heard as silence, whatever its declared length."""
    short = measurement(four_acts())
    short = replace(short, sound=cut(short.sound, 8000))
    verdict = judge(short, loaded(structure={"acts": {"exact": 4}}, silence={"inside_acts": {"max": "2 s"}}))
    assert only(verdict, "silence.inside_acts").outcome is Outcome.FAIL


def cut(sound: SoundSeries | None, rows: int) -> SoundSeries:
    """The series without what lies behind so many rows."""
    assert sound is not None
    long = {f.name: getattr(sound, f.name) for f in fields(sound)}
    per_row = {n: v[:rows] for n, v in long.items() if isinstance(v, np.ndarray) and v.ndim == 2 and len(v) > rows}
    return replace(sound, **per_row)
