"""The timing sheet as a page for the outlet's traffic: the same times as the CSV, and nothing of the house."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import pytest

from qc.judge.timing_form import TimingForm
from qc.report.media_file import media_file
from qc.report.timing_page import timing_html, timing_page
from qc.report.timing_sheet import timing_sheet
from tests.kit import verdicts
from tests.kit.sheet_page import checked, harmless, text_of
from tests.kit.six_files import SHAPES, judged
from tests.kit.whole_verdict import SECRET, secretive_verdict


def page_of(code: str) -> bytes:
    made, _, verdict = judged(code)
    return timing_html(verdict, media_file(made), verdicts.RUN)


@pytest.mark.parametrize("code", SHAPES)
def test_page_and_csv_say_the_same(code):
    """Every label, duration and number of frames of the CSV stands on the page, in the outlet's order."""
    _, profile, verdict = judged(code)
    made, page = page_of(code), timing_page(verdict, verdicts.media(), verdicts.RUN)
    rows = list(csv.DictReader(io.StringIO(timing_sheet(verdict).decode(), newline="")))

    checked(made)
    assert page.table is not None
    columns = [column.name.lower() for column in page.table.columns]
    asked = [name.lower() for name in profile.profile.timing_sheet.columns]
    assert [name for name in columns if name != "part"] == [
        name for name in asked if name in columns and name != "part"
    ]
    for row, shown in zip(rows, page.table.rows, strict=True):
        for name in ("SOM", "EOM", "duration", "frames"):
            if name in row:
                assert shown[columns.index(name.lower())] == row[name]


def test_the_convention_stands_above_the_table():
    """How labels count, what EOM is, how lengths are rounded: before the first time, in words."""
    corvane, kerrawind, hoshinami = (
        text_of(page_of(f"{name}-mini")) for name in ("corvane-5", "kerrawind", "hoshinami-net")
    )

    assert (
        "Timecode counts drop-frame. SOM is the first frame of an act or break, EOM is the frame after its" in corvane
    )
    assert "the frame after its last (exclusive)." in corvane
    assert "EOM is its last frame (inclusive)" in kerrawind and "Timecode counts non-drop-frame" in kerrawind
    assert "the start of each act is rounded down and its end rounded up" in corvane
    assert "Durations and TRT are counted frame by frame." in hoshinami
    assert "Frames add up; drop-frame labels of durations need not" in hoshinami
    assert "Frames add up; drop-frame" not in kerrawind
    for text in (corvane, kerrawind, hoshinami):
        assert text.index("How it is counted") < text.index("Acts, breaks and totals")


def test_worked_totals():
    """Sum of acts frame by frame and TRT by the outlet's accounting stand beside one another: 2:08;27 and 2:12."""
    page = timing_page(judged("corvane-5-mini")[2], verdicts.media(), verdicts.RUN)
    assert page.table is not None
    totals = {row[page.table.header]: row[-2:] for row in page.table.rows[-4:]}

    assert page.trt == "00:02:12 (3863 frames)"
    assert totals == {
        "sum of acts, frame-exact": ("00:02:08;27", "3863"),
        "sum of breaks": ("00:00:00", "90"),
        "programme with breaks": ("00:02:12", "3953"),
        "TRT": ("00:02:12", "3863"),
    }
    assert page.table.strong == (7, 8, 9, 10)


def test_nothing_internal_is_on_the_page():
    """Paths, options, other outlets, fixes, waivers, profile files: none of it reaches the outlet's traffic."""
    media = verdicts.media(name=f"{SECRET}/{verdicts.NAME}")
    run = replace(verdicts.RUN, options={"sheet": SECRET})
    made = timing_html(secretive_verdict(), media, run)

    checked(made)
    assert SECRET.encode() not in made
    assert not re.search(rb"FAIL|ADVISORY|not met|waive|limit|toml", made.split(b"</style>")[1], re.IGNORECASE)
    assert verdicts.NAME.encode() in made


def test_no_reason_for_missing_acts_names_an_option():
    """Without acts the page says so; what the crew should do about it is left out."""
    table = verdicts.nothing_found("breaks are not visible in the picture; give one with --sheet")
    text = text_of(timing_html(verdicts.verdict(programme=table), verdicts.media(), verdicts.RUN))

    assert "There are no acts to list: Breaks are not visible in the picture." in text
    assert "--sheet" not in text and "Running time" not in text


def test_a_declared_structure_says_so():
    """Acts that are declared, not seen, are not passed off as measured."""
    table = replace(verdicts.programme(), found_by="declared timing sheet", form=TimingForm(("part", "SOM", "EOM")))
    text = text_of(timing_html(verdicts.verdict(programme=table), verdicts.media(), verdicts.RUN))

    assert "Acts are as declared: the breaks are not visible in the picture." in text


def test_foreign_text_stays_text():
    """File, outlet, document and note that try to break out of the page."""
    hostile = verdicts.hostile_verdict()
    media = verdicts.media(name=verdicts.HOSTILE, facts=verdicts.facts(verdicts.HOSTILE))

    harmless(timing_html(hostile, media, verdicts.RUN))
    harmless(timing_html(replace(hostile, programme=verdicts.programme()), media, verdicts.RUN))
