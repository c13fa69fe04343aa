"""Found, missed, false: the demo's own judge of its findings must not flatter. Contract of this tool, no outside
source; frames and labels are SMPTE ST 12-1 arithmetic."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from timecode import Timecode

from qc.demo.episodes import OUTLETS, TITLES, VERSIONS
from qc.demo.ffmpeg_program import ffmpeg_program
from qc.demo.layout import layout
from qc.demo.outlet_forms import FORMS
from qc.demo.score_text import MOST_ROWS, score_text, tally_text
from qc.demo.tally import CheckTally, tally
from qc.demo.truth import FalseAlarm, Score, score, truth_document
from qc.demo.version import Content, Expected, Noted, Version
from qc.errors import UserError
from qc.judge.catalogue import CHECKS, check_of
from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.media.letters import written
from qc.timing.spans import Span
from tests.kit.verdicts import verdict

BLACK = Expected("black.inside_acts", "acts", Content(10), value=1)
LOUD = Expected("loudness.programme", "programme", value=-24.9, within=0.1)
ACT = Expected("structure.act_length", "act 3", "act 3", value=1230)
COUNT = Expected("timecode.counting", "timecode", "file", value="non-drop-frame")


def finding(requirement: str, outcome: Outcome = Outcome.FAIL, **more: object) -> Finding:
    base = Finding(requirement, check_of(requirement)[0], "Title", "act 1", outcome, "must", 1, "0")
    return replace(base, **more)  # type: ignore[arg-type]


def place(first: int, end: int, **more: object) -> Place:
    return replace(Place(Span(first, end), "01:00:00;00", "01:00:00;01", "0:00:00.000"), **more)  # type: ignore[arg-type]


def black(*places: Place, **more: object) -> Finding:
    return finding("black.inside_acts", subject="acts", places=places, **more)


def loud(**more: object) -> Finding:
    return finding("loudness.programme", **{"subject": "programme", "measured": -24.95, **more})


def judged(*findings: Finding) -> Verdict:
    return replace(verdict(), findings=findings)


def scored(expected: tuple[Expected, ...], *findings: Finding) -> Score:
    return score(Version(205, "corvane-5-mini", expected), judged(*findings))


def test_a_planted_fault_at_its_place_is_found() -> None:
    """Requirement, subject, frames and value have to fit; a pass is no alarm."""
    result = scored(
        (BLACK, LOUD, ACT, COUNT),
        black(place(10, 11)),
        loud(),
        # Act 3 of CORVANE's mini season: after acts of 960 and 958 frames and two breaks of 30.
        finding("structure.act_length", subject="act 3", measured=1230, places=(place(1978, 2968),)),
        finding("timecode.counting", subject="timecode", measured="non-drop-frame"),
        finding("wrapper.kind", Outcome.PASS),
    )
    assert (result.missed, result.false) == ((), ())
    assert result.right and result.found == (BLACK, LOUD, ACT, COUNT)


@pytest.mark.parametrize(
    ("expected", "wrong"),
    [
        (BLACK, black(place(9, 10))),
        (BLACK, black(place(11, 12))),
        (BLACK, black(place(10, 12))),
        (BLACK, black()),
        (BLACK, black(place(10, 11), outcome=Outcome.ADVISORY)),
        (BLACK, black(place(10, 11, value=2.0))),
        (BLACK, replace(black(place(10, 11)), requirement="black.other")),
        (LOUD, loud(measured=-25.1)),
        (LOUD, loud(measured=None, outcome=Outcome.NOT_MEASURED)),
        (LOUD, loud(subject="programme, M&E")),
        (LOUD, loud(places=(place(0, 100),))),
        (ACT, finding("structure.act_length", subject="act 3", measured=1230)),
        (COUNT, finding("timecode.counting", subject="timecode", measured="drop-frame")),
    ],
    ids=[
        "a frame early", "a frame late", "a frame too long", "no place", "only advisory", "other length there",
        "other requirement", "other value", "not measured", "other subject", "a place inside the programme",
        "an act without its place", "other word",
    ],
)  # fmt: skip
def test_what_does_not_fit_is_both_missed_and_false(expected: Expected, wrong: Finding) -> None:
    """A finding next to the truth is a miss and a false alarm, not half a hit."""
    result = scored((expected,), wrong)
    assert (result.found, result.missed) == ((), (expected,))
    assert [alarm.finding for alarm in result.false] == [wrong]
    assert not result.right


def test_a_removed_fault_is_a_miss() -> None:
    """Nothing came out for what was planted."""
    result = scored((BLACK, LOUD), loud())
    assert (result.found, result.missed, result.false) == ((LOUD,), (BLACK,), ())
    assert not result.right


def test_slack_and_anywhere_are_only_for_who_states_them() -> None:
    """A place may miss an edge by the stated frames, or be a part of the planted one, no further; its note counts."""
    near = replace(BLACK, at=Content(10, 20), slack=3, value=None)
    part = replace(BLACK, at=Content(10, 20), anywhere=True, says="row 47", value=None)
    assert scored((near,), black(place(7, 33))).right and scored((near,), black(place(13, 27))).right
    assert not scored((near,), black(place(6, 30))).right and not scored((near,), black(place(10, 34))).right
    assert scored((part,), black(place(29, 30, note="column 2, row 47"))).right
    assert not scored((part,), black(place(29, 31, note="column 2, row 47"))).right
    assert not scored((part,), black(place(29, 30, note="column 2, row 48"))).right


def test_an_unplanned_finding_is_false() -> None:
    """A clean file that is alarmed about, however mildly: not right."""
    for outcome in (Outcome.FAIL, Outcome.ADVISORY, Outcome.NOT_MEASURED, Outcome.WAIVED):
        alarm = finding("wrapper.kind", outcome)
        result = scored((), alarm)
        assert result.false == (FalseAlarm(alarm),) and not result.right


def test_one_place_too_many_is_false() -> None:
    """A finding that points at the planted frame and at another one is a hit and a false alarm."""
    stray = place(400, 401)
    both = black(place(10, 11), stray)
    result = scored((BLACK,), both)
    assert (result.found, result.missed, result.false) == ((BLACK,), (), (FalseAlarm(both, (stray,)),))
    uncounted = black(place(10, 11), more_places=3)
    assert scored((BLACK,), uncounted).false == (FalseAlarm(uncounted),)


def test_two_faults_of_a_kind_need_two_places() -> None:
    """One place does not answer for two planted frames, nor two findings for one fault."""
    second = replace(BLACK, at=Content(50))
    assert scored((BLACK, second), black(place(10, 11), place(50, 51))).right
    assert scored((BLACK, second), black(place(10, 11))).missed == (second,)
    again = black(place(10, 11))
    assert [alarm.finding for alarm in scored((BLACK,), black(place(10, 11)), again).false] == [again]


def test_content_is_found_behind_breaks_and_head() -> None:
    """Content frame 1400 of CORVANE lies in act 2, one break of 30 frames later; parts have names."""
    version = Version(205, "corvane-5-mini")
    plan = layout(FORMS["corvane-5-mini"], version)
    assert plan.span(Content(959)) == Span(959, 960)
    assert plan.span(Content(1400, 2)) == Span(1430, 1432)
    assert plan.span("break 1") == Span(960, 990)
    assert (plan.span("SOM"), plan.span("act 4").end) == (Span(0, 1), plan.frames)
    headed = layout(FORMS["meadowline-public-mini"], version)
    assert headed.span("SOM") == Span(300, 301) and headed.span("programme") == Span(300, headed.frames)
    for nowhere in (Content(959, 2), Content(99_999), "act 5", "break 4", "lunch"):
        with pytest.raises(LookupError):
            plan.span(nowhere)


def test_the_truth_file_names_every_planted_place() -> None:
    """Every fault, also one of the whole programme, has frames and labels; 205 is black at 01:00:48;20."""
    document = truth_document(VERSIONS)
    json.dumps(document, allow_nan=False)
    assert len(document["files"]) == len(VERSIONS)
    last = next(file for file in document["files"] if file["episode"] == 205)
    black_frame = {"first_frame": 1460, "frames": 1, "timecode": "01:00:48;20", "until": "01:00:48;21"}
    assert last["planted"][0]["at"] == black_frame and last["planted"][0]["check"] == "black"
    assert last["planted"][1]["at"]["frames"] == 2 and last["planted"][1]["check"] == "strays"
    assert last["looks_like_a_fault_and_is_none"][0]["at"]["frames"] == 20
    planted = [item for file in document["files"] for item in file["planted"]]
    assert len(planted) == 16
    quiet = next(item for item in planted if item["requirement"] == "loudness.programme")
    # VELMARK KANAL: 169 s of programme behind 75 frames of head.
    assert quiet["at"] == {"first_frame": 75, "frames": 4225, "timecode": "10:00:00:00", "until": "10:02:49:00"}
    assert all(item["check"] in CHECKS and item["at"]["frames"] for item in planted)


@pytest.mark.parametrize("version", VERSIONS, ids=lambda version: f"{version.episode} {version.outlet}")
def test_labels_of_the_truth_are_right_by_another_library(version: Version) -> None:
    """Every label in the truth file is what the package timecode counts from the file's start (SMPTE ST 12-1)."""
    form = FORMS[version.outlet]
    start = version.start or form.start
    rate = "25" if form.rate == 25 else "29.97"
    (document,) = truth_document([version])["files"]
    stands = [*document["acts"], *[item["at"] for item in document["planted"]]]
    stands += [item["at"] for item in [*document["planted_for_later"], *document["looks_like_a_fault_and_is_none"]]]
    for at in stands:
        for frame, label in ((at["first_frame"], at["timecode"]), (at["first_frame"] + at["frames"], at["until"])):
            other = Timecode(rate, start, force_non_drop_frame=":" in start[-3:] and rate != "25")
            assert label == str(other + frame if frame else other)


def test_every_entry_can_be_told() -> None:
    """Each version has a title and outlet, every fault a check that exists, a subject and a place in its file."""
    assert list(TITLES) == list(range(201, 214))
    for version in VERSIONS:
        assert version.episode in TITLES and version.outlet in OUTLETS
        plan = layout(FORMS[version.outlet], version)
        for expected in version.expected:
            assert check_of(expected.requirement)[0] in CHECKS and expected.subject
            assert 0 <= plan.span(expected.at).first < plan.span(expected.at).end <= plan.frames


def test_the_score_is_told_per_check() -> None:
    """Planted, found, missed and false of each check add up; checks that found nothing amiss are counted."""
    right = scored((LOUD, COUNT), loud(), finding("timecode.counting", subject="timecode", measured="non-drop-frame"))
    wrong = scored((BLACK, ACT), black(place(9, 10)), finding("wrapper.kind", Outcome.PASS))
    rows = {row.check: row for row in tally([right, wrong])}
    assert rows["loudness"] == CheckTally("loudness", 1, 1, 0, 0)
    assert rows["black"] == CheckTally("black", 1, 0, 1, 1)
    assert rows["act-length"] == CheckTally("act-length", 1, 0, 1, 0)
    assert rows["wrapper"] == CheckTally("wrapper", 0, 0, 0, 0)
    assert list(rows) == [check for check in CHECKS if check in rows]
    text = tally_text(tuple(rows.values()))
    lines = text.splitlines()
    assert lines[0].split() == ["check", "planted", "found", "missed", "false"]
    assert {"black", "act-length"} == {line.split()[0] for line in lines[1:3]}  # what is wrong stands first
    assert "all                                      4        2        2        1" in lines
    assert lines[-1] == "1 more check had nothing planted and raised no alarm."


def test_the_table_fits_a_screen() -> None:
    """All checks wrong at once: 80 columns, and with the four last lines of the demo 24 lines; nothing is lost."""
    rows = [CheckTally(name * 3, 10, 5, 5, 100) for name in CHECKS]
    lines = tally_text(rows).splitlines()
    assert len(lines) + 4 <= 24 and max(map(len, lines)) <= 80
    more = next(line for line in lines if " more " in line)
    assert [int(word) for word in more.split()[-4:]] == [(len(rows) - MOST_ROWS) * n for n in (10, 5, 5, 100)]


def test_a_score_says_where_in_label_and_frame() -> None:
    """Found and missed are named by timecode and frame of the truth, false by those of the finding."""
    version = Version(205, "corvane-5-mini", (BLACK, LOUD))
    text = score_text(version, score(version, judged(loud(), black(place(9, 10)))))
    found, missed, *rest = text.splitlines()
    false = " ".join(" ".join(rest).split())
    assert found.split() == [
        "found", "loudness.programme", "01:00:00;00,", "frame", "0,", "3956", "frames",
    ]  # fmt: skip
    assert missed.split()[:2] == ["MISSED", "black.inside_acts"] and "frame 10, 1 frame" in missed
    assert false.startswith("FALSE ") and max(map(len, text.splitlines())) <= 80 and "frame 9, 1 frame" in false


def test_innocent_things_stay_in_the_truth() -> None:
    """What looks like a fault is named with its frames, so that a false alarm there can be told for what it is."""
    version = Version(201, "corvane-5-mini", innocent=(Noted("a fade", Content(5, 2)),))
    (file,) = truth_document([version])["files"]
    assert file["planted"] == [] and file["looks_like_a_fault_and_is_none"][0]["at"]["first_frame"] == 5


def test_digits_can_be_told_apart() -> None:
    """The burnt-in clock is readable: no two digits share a picture."""
    assert len({written(digit).tobytes() for digit in "0123456789"}) == 10


def test_an_explicit_ffmpeg_comes_first(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The setting wins over the packaged program; one that names nothing is told, not skipped."""
    program = tmp_path / "my-ffmpeg"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.setenv("AIRWORTHY_FFMPEG", str(program))
    assert ffmpeg_program() == str(program)
    monkeypatch.setenv("AIRWORTHY_FFMPEG", str(tmp_path / "gone"))
    with pytest.raises(UserError, match="names no program"):
        ffmpeg_program()
    monkeypatch.delenv("AIRWORTHY_FFMPEG")
    assert "ffmpeg" in ffmpeg_program()
