"""Unfinished, damaged, unreadable and unsteady files; what is not measured never passes."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from qc.delivery.status import status_of
from qc.errors import CannotMeasure, NotJudged
from qc.judge import judge, judge_nothing, judge_unreadable
from qc.judge.verdict import Outcome
from qc.measurement.record import Measurement
from qc.outlets.load import list_profiles, load_profile
from tests.judge.test_sound_is_judged_on_the_programme import ATSC, PEAK, only
from tests.kit.made import FOUR_ACTS, SINGLE, Part, event, facts, four_acts, loaded, measurement, picture_stream

ALL = loaded(
    structure=FOUR_ACTS,
    loudness={"programme": ATSC},
    true_peak={"programme": PEAK},
    duration={"trt": {"exact": "3866 frames"}},
    wrapper={"kind": {"accept": ["MXF OP1a"]}},
)


def test_a_file_that_stops_early_fails_with_both_lengths_and_the_last_good_label() -> None:
    """Header checks stand; nothing measured over a part of the file is told as a result."""
    header = facts(duration=Fraction(1290))
    made = measurement(four_acts(), header, complete=False, incomplete_because="packets stop before the declared end")
    made = replace(made, events=(event("early end", stream=0, frame=3956, detail="packets stop"),))
    verdict = judge(made, ALL)
    found = only(verdict, "integrity.decodable")
    assert found.outcome is Outcome.FAIL
    assert found.measured == "0:02:11.999 of 0:21:30.000 decodable"
    assert found.places[0].timecode == "01:02:11;29"
    assert "the last good frame is 01:02:11;29" in found.reason
    assert only(verdict, "wrapper.kind").outcome is Outcome.PASS
    rest = [item for item in verdict.findings if item.requirement not in ("integrity.decodable", "wrapper.kind")]
    assert {item.outcome for item in rest} == {Outcome.NOT_MEASURED}
    assert verdict.outcome is Outcome.FAIL and not verdict.measurable


def test_an_unfinished_file_fails_even_where_nothing_asks() -> None:
    """A profile without an integrity line, or with one that only should."""
    made = measurement(four_acts(), complete=False, incomplete_because="stopped")
    bare = judge(made, loaded(wrapper={"kind": {"accept": ["MXF"]}}))
    assert bare.outcome is Outcome.FAIL and not bare.measurable
    lenient = judge(made, loaded(integrity={"decodable": {"level": "should"}}))
    assert lenient.outcome is Outcome.FAIL and not lenient.measurable


@pytest.mark.parametrize("kind", ["decode error", "damaged packet", "raster change", "layout change"])
def test_damage_fails_with_its_place(kind: str) -> None:
    """Counted by kind, placed by frame, also where the profile does not ask."""
    made = measurement(four_acts(), events=(event(kind, stream=0, frame=1500, count=3, detail="block lost"),))
    found = only(judge(made, ALL), "integrity.decodable")
    assert (found.outcome, found.measured) == (Outcome.FAIL, f"3 x {kind}")
    assert found.places[0].within == "act 2 +00:00:12;00"
    assert "block lost" in found.reason


def test_a_sound_file_passes_its_integrity_line() -> None:
    """And without the line there is no finding."""
    verdict = judge(measurement(four_acts()), loaded(integrity={"decodable": {"required": True}}))
    assert only(verdict, "integrity.decodable").outcome is Outcome.PASS
    assert not [
        item for item in judge(measurement(four_acts()), ALL).findings if item.requirement == "integrity.decodable"
    ]


def test_unreadable_files_have_a_verdict() -> None:
    """Integrity fails with the reason; everything else is not measured; nothing passes."""
    for path in list_profiles()[:6]:
        profile = load_profile(path)
        verdict = judge_unreadable("x.mxf", profile, CannotMeasure("the file is empty", remedy="Export it again"))
        outcomes = {item.requirement: item.outcome for item in verdict.findings}
        assert outcomes.pop("integrity.decodable") is Outcome.FAIL
        assert set(outcomes.values()) == {Outcome.NOT_MEASURED}
        assert len(outcomes) >= len(dict(profile.profile.requirements())) - 1
        assert verdict.outcome is Outcome.FAIL and not verdict.measurable
        assert "the file is empty" in verdict.findings[0].reason


def test_without_a_finished_file_nothing_is_said_against_it() -> None:
    """Missing, out of reach or still growing: not judged, with the reason; it never passes."""
    for path in list_profiles()[:6]:
        verdict = judge_nothing("x.mxf", load_profile(path), NotJudged("the file is still changing", remedy="wait"))
        (only_one,) = verdict.findings
        assert only_one.outcome is verdict.outcome is Outcome.NOT_MEASURED and not verdict.measurable
        assert "still changing" in only_one.reason and only_one.fix is None
        assert status_of(verdict, strict=False) == 3


def test_a_variable_rate_fails_and_frames_are_not_counted() -> None:
    """From a screen recorder: every third step is double."""
    made = measurement(four_acts())
    assert made.picture is not None
    steps = np.where(np.arange(made.picture.frames) % 3 == 0, 2000, 1001)
    picture = replace(made.picture, time=np.concatenate([[0], np.cumsum(steps)[:-1]]), time_base=Fraction(1, 30000))
    header = facts(pictures=(picture_stream(time_base=Fraction(1, 30000)),))
    made = replace(made, picture=picture, facts=header)
    verdict = judge(
        made, loaded(structure=FOUR_ACTS, integrity={"constant_rate": {}}, duration={"trt": {"exact": "1 s"}})
    )
    assert only(verdict, "integrity.constant_rate").outcome is Outcome.FAIL
    assert "variable rate" in only(verdict, "integrity.constant_rate").reason
    for requirement in ("structure.acts", "duration.trt"):
        found = only(verdict, requirement)
        assert found.outcome is Outcome.NOT_MEASURED and "varies" in found.reason


def test_one_gap_is_told_by_its_frame_and_ticks_of_the_time_base_are_tolerated() -> None:
    """Milliseconds round 33.37 ms to 33 and 34: no gap; one step of two frames is one."""
    made = measurement(four_acts())
    assert made.picture is not None
    profile = loaded(integrity={"constant_rate": {}})
    coarse = np.round(np.arange(made.picture.frames) * 1001 / 30).astype(np.int64)
    even = replace(made, picture=replace(made.picture, time=coarse, time_base=Fraction(1, 1000)))
    assert only(judge(even, profile), "integrity.constant_rate").outcome is Outcome.PASS
    time = made.picture.time.copy()
    time[2000:] += 1
    gap = replace(made, picture=replace(made.picture, time=time * 1001, time_base=Fraction(1, 30000)))
    found = only(judge(gap, profile), "integrity.constant_rate")
    assert found.outcome is Outcome.FAIL and [place.span.first for place in found.places] == [2000]


def test_a_must_without_a_measurement_never_passes() -> None:
    """A record made before levels were measured: said plainly; a should does not stop the file."""
    limit = {"luma_max": 105, "area_percent": 1}
    made = measurement([Part(300)])
    assert made.picture is not None
    older = replace(made, picture=replace(made.picture, extra={}))
    must = judge(older, loaded(structure=SINGLE, levels={"range": limit}))
    assert "no measurement of picture levels" in only(must, "levels.range").reason
    assert must.outcome is Outcome.FAIL and not must.measurable
    should = judge(older, loaded(structure=SINGLE, levels={"range": {**limit, "level": "should"}}))
    assert should.outcome is Outcome.PASS and should.measurable


def test_every_verdict_carries_the_cautions() -> None:
    """What it does not say: law, flashing, captions, the station's own word."""
    text = " ".join(judge(measurement([Part(300)]), loaded(structure=SINGLE)).cautions)
    for words in (
        "not a statement about any law",
        "Flashing is screened only",
        "not a certified test",
        "Captions",
        "station's specification",
    ):
        assert words in text


def test_sound_without_picture_is_judged_without_a_crash() -> None:
    """A stem in the folder: nothing of the structure is measured, and it does not pass."""
    verdict = judge(measurement([Part(3000)], facts(pictures=(), timecodes=())), ALL)
    assert verdict.outcome is Outcome.FAIL
    assert only(verdict, "loudness.programme").reason == "no picture stream"


@pytest.mark.parametrize("path", list_profiles(), ids=lambda path: path.stem)
def test_every_shipped_profile_judges_any_file(path) -> None:  # type: ignore[no-untyped-def]
    """Every requirement of each profile has findings, whatever the file."""
    profile = load_profile(path)
    for parts in (four_acts(), [Part(300)], [Part(1, lufs=None, light=16)]):
        verdict = judge(measurement(parts), profile)
        asked = {key for key, _ in profile.profile.requirements()}
        assert asked <= {finding.requirement for finding in verdict.findings}


def test_an_unreadable_file_still_tells_every_limit() -> None:
    """What was asked stands beside what could not be measured, and the remedy opens its own sentence."""
    for path in list_profiles():
        verdict = judge_unreadable(
            "x.mxf", load_profile(path), CannotMeasure("the file is empty", remedy="send it again")
        )
        assert all(found.limit for found in verdict.findings)
        assert "the file is empty. Send it again" in verdict.findings[-1].reason


def uncounted(first: int, end: int) -> Measurement:
    """A file whose pictures ``first`` up to ``end`` were damaged: no pixel of them was counted."""
    made = measurement([Part(1200)])
    assert made.picture is not None
    luma, counted = made.picture.luma.copy(), made.picture.counted.copy()
    luma[first:end], counted[first:end] = 0, 0
    return replace(made, picture=replace(made.picture, luma=luma, counted=counted))


PICTURES = {
    "field_order": {"measured": {"accept": ["top first", "progressive content"]}},
    "active_picture": {"blank_edges": {"columns": 4, "rows": 2}, "shape": {"accept": ["full raster"]}},
    "stuck_pixels": {"programme": {"most": 0}},
}


def test_what_passes_says_how_many_pictures_it_has_not_seen() -> None:
    """Twenty damaged pictures of 1200, and one; none in a file without damage."""
    for end, words in ((320, "20 damaged pictures not looked at"), (301, "1 damaged picture not looked at")):
        verdict = judge(uncounted(300, end), loaded(structure=SINGLE, **PICTURES))
        shown = [item for item in verdict.findings if item.requirement.startswith(tuple(PICTURES))]
        assert len(shown) == 4 and all(words in item.reason for item in shown), shown
    whole = judge(uncounted(300, 300), loaded(structure=SINGLE, **PICTURES))
    assert not any("damaged" in item.reason for item in whole.findings)


def test_where_no_picture_could_be_measured_nothing_of_the_picture_passes() -> None:
    """Every one damaged, or of fewer than four rows: not measured, and the file fails."""
    verdict = judge(uncounted(0, 1200), loaded(structure=SINGLE, **PICTURES))
    assert {item.outcome for item in verdict.findings} == {Outcome.NOT_MEASURED}
    assert all("all of them are damaged, or too small" in item.reason for item in verdict.findings)
    assert verdict.outcome is Outcome.FAIL
