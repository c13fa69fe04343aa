"""The terminal summary: 80 columns, plain, nothing a file name can do to the terminal."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from qc.errors import UserError
from qc.judge.catalogue import CAUTIONS
from qc.judge.verdict import Outcome
from qc.report import wording
from qc.report.text import cautions_text, header_text, one_mix_text, overview_text, verdict_text
from tests.kit import verdicts
from tests.report.test_mix_page import MIX


@pytest.mark.parametrize("verdict", [verdicts.verdict(), verdicts.passing_verdict(), verdicts.hostile_verdict()])
def test_no_line_is_longer_than_80_columns_and_none_holds_a_control(verdict):
    """Widths and controls, hostile text included: an escape sequence in a name is shown, not sent."""
    text = verdict_text(verdict)

    assert max(map(len, text.splitlines())) <= 80
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u202a-\u202e]", text)
    assert text.endswith("\n")


def test_a_failing_finding_has_figures_place_and_fix():
    """What, how far, where and what to do stand together."""
    text = verdict_text(verdicts.verdict())

    assert "FAIL  True peak, programme: -1.40 dBTP, 0.60 dB outside" in text
    assert "at 01:08:01;16 (frame 14430), act 2 +00:02:41;05, channel 2" in text
    assert "and 17 more" in text
    assert "-> Lower the stereo mix by 0.6 dB" in text


def test_what_was_not_measured_is_named_with_its_reason():
    """Never silent about a must that was not measured."""
    text = verdict_text(verdicts.verdict())

    assert "NOT MEASURED  Silence inside acts, stereo mix" in text
    assert "the sound stops at 01:14:02;11, before act 4 ends" in text


def test_colour_only_wraps_words_that_stand_there_anyway():
    """Without its colour codes the coloured text is the plain one."""
    verdict = verdicts.verdict()

    coloured = verdict_text(verdict, colour=True)

    assert coloured != verdict_text(verdict)
    assert re.sub("\x1b\\[[0-9;]*m", "", coloured) == verdict_text(verdict)


@pytest.mark.parametrize(
    ("findings", "outcome", "words"),
    [
        ((Outcome.PASS,), Outcome.PASS, "Every requirement that this profile states was measured and is met."),
        (
            (Outcome.WAIVED,),
            Outcome.PASS,
            "Every requirement that this profile states was measured and is met or waived.",
        ),
        ((Outcome.FAIL,), Outcome.FAIL, "Not deliverable as it is: 1 requirement is not met."),
        (
            (Outcome.NOT_MEASURED,),
            Outcome.FAIL,
            "Cannot be called deliverable: 1 requirement could not be measured.",
        ),
        (
            (Outcome.ADVISORY,),
            Outcome.ADVISORY,
            "Every must is met; a person has to look at what is listed before the file is sent.",
        ),
        ((), Outcome.FAIL, "Cannot be called deliverable: the file could not be measured."),
    ],
)
def test_the_headline_says_no_more_than_is_known(findings, outcome, words):
    """One plain sentence per verdict; a must that was not measured is never called met."""
    verdict = verdicts.verdict(outcome=outcome, findings=tuple(verdicts.finding(outcome=each) for each in findings))

    assert words in " ".join(verdict_text(verdict).split())


def test_the_overview_has_one_line_per_outlet():
    """Good and bad are counted; a failing outlet says what its gravest failure is and how far off."""
    names = ("CORVANE 5", "MEADOWLINE PUBLIC", "VELMARK KANAL")
    judged = [
        (verdicts.verdict if number else verdicts.passing_verdict)(profile=replace(verdicts.PROFILE, name=name))
        for number, name in enumerate(names)
    ]

    lines = overview_text(judged).splitlines()

    assert lines[0] == "3 verdicts: 1 deliverable, 2 not."
    assert lines[1] == "  PASS  CORVANE 5"
    assert lines[2] == "  FAIL  MEADOWLINE PUBLIC     Complete and decodable 3 errors outside (+3 fail)"
    assert overview_text(judged[:1]) == ""


def test_an_advisory_is_counted_as_on_the_index():
    """Deliverable after a look is neither deliverable nor not; the index counts in the same words."""
    look = verdicts.verdict(outcome=Outcome.ADVISORY)
    lines = overview_text([look, verdicts.verdict()]).splitlines()

    assert lines[0] == "2 verdicts: 0 deliverable, 1 deliverable after a look, 1 not."


def test_wide_names_do_not_push_the_overview_over_the_edge():
    """East Asian wide characters take two columns (Unicode UAX #11)."""
    judged = [verdicts.verdict(file="長い名前" * 30 + str(number)) for number in range(2)]

    lines = overview_text(judged).splitlines()

    assert lines[1] == "長い名前" * 9 + "長い..."


def test_header_findings_that_pass_are_not_shown():
    """Before the long pass only what needs a reader is printed."""
    assert header_text([verdicts.FINDINGS[0]]) == ""
    assert "Start of programme" in header_text([verdicts.FINDINGS[0], verdicts.FINDINGS[4]])


def test_one_mix_for_all_is_said_on_the_console_too():
    """The whole sentence, within 80 columns; nothing where there is one outlet or no sound."""
    text = one_mix_text(MIX)
    assert " ".join(text.split()) == "One mix for all: One mix serves all: leave it; 3 peaks are over -3.0 dBTP."
    assert max(map(len, text.splitlines())) <= 80
    assert one_mix_text(None) == ""


def test_what_the_headers_say_is_brief():
    """What, measured, limit; the verdict has clause, reason and fix."""
    lines = header_text([verdicts.FINDINGS[4]]).splitlines()

    assert lines == ["    FAIL  Start of programme: 00:59:59;28, limit 01:00:00;00"]


def test_the_cautions_of_every_verdict_are_one_paragraph():
    """None of what they say is lost, in fewer lines than they take in a report; any other caution stands beside it."""
    text = cautions_text([verdicts.verdict(cautions=(*CAUTIONS, "One more."))])
    flat = " ".join(text.split())

    assert len(CAUTIONS) == 4 and len(text.splitlines()) == 4
    for words in (
        "law",
        "Flashing is screened only",
        "certified test",
        "your station requires",
        "Captions",
        "station's own specification",
        "In full in every report. Caution: One more.",
    ):
        assert words in flat


def test_a_caution_is_said_once_for_all_outlets():
    """Six outlets with the same caution: one caution at the end of the run."""
    text = cautions_text([verdicts.verdict(), verdicts.passing_verdict()])

    assert text.count("Caution:") == 1
    assert "accredited method" in " ".join(text.split())
    assert max(map(len, text.splitlines())) <= 80
    assert cautions_text([verdicts.verdict(cautions=())]) == ""


def test_a_place_in_a_file_without_timecode_is_said_to_be_elapsed_time():
    """No timecode: the label is elapsed time and says so, once."""
    here = verdicts.place(30)
    place = replace(here, timecode=here.offset, until=here.offset)
    text = verdict_text(verdicts.verdict(findings=(verdicts.finding(outcome=Outcome.FAIL, places=(place,)),)))

    assert "at elapsed 0:00:01.001 (frame 30)" in text


def test_one_reason_for_many_requirements_is_given_once():
    """A file that cannot be read has forty requirements that were not measured: one block names them all."""
    missing = tuple(
        verdicts.finding(title=name, outcome=Outcome.NOT_MEASURED, measured=None, reason="the file is empty")
        for name in ("Wrapper", "Raster", "True peak")
    )
    text = verdict_text(verdicts.verdict(findings=missing))

    assert text.count("the file is empty") == 1
    assert "NOT MEASURED  3 requirements: the file is empty" in text
    assert "Wrapper, programme; Raster, programme; True peak, programme" in text


@pytest.mark.parametrize(
    ("title", "subject", "words"),
    [
        ("True peak", "act 2", "True peak, act 2"),
        ("Wrapper", "file", "Wrapper"),
        ("Timecode at SOM", "SOM", "Timecode at SOM"),
    ],
)
def test_a_subject_that_adds_nothing_is_left_out(title, subject, words):
    """The same name of a finding in every report."""
    assert wording.title(verdicts.finding(title=title, subject=subject)) == words


@pytest.mark.parametrize(
    ("count", "unit", "words"), [(1, "streams", "1 stream"), (1, "tracks", "1 track"), (2, "acts", "2 acts")]
)
def test_one_of_something_is_not_many(count, unit, words):
    """Counts read as a person writes them."""
    assert wording.number(count, unit) == words


def test_a_remedy_opens_a_sentence_with_a_capital():
    """Errors are one or two whole sentences; a unit or an option at the start keeps its spelling."""
    assert str(UserError("there is no file", where="x", remedy="give one")) == "x: there is no file. Give one."
    assert str(UserError("no limit", remedy="dBFS is expected")) == "no limit. dBFS is expected."
    assert str(UserError("no sheet", remedy="--sheet takes one")) == "no sheet. --sheet takes one."
