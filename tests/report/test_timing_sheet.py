"""The timing sheet: acts, breaks and TRT for the people who schedule."""

from __future__ import annotations

import csv
import io
import re

import pytest

from qc.programme.sheet import read_sheet
from qc.report.timing_sheet import COLUMNS, guarded, timing_sheet
from tests.kit import verdicts


def rows_of(verdict) -> list[dict[str, str]]:
    content = timing_sheet(verdict).decode()
    assert "\n" not in content.replace("\r\n", "")  # RFC 4180, section 2, rule 1
    return list(csv.DictReader(io.StringIO(content, newline="")))


def test_acts_breaks_and_trt_stand_in_order():
    """Each act is followed by its break, TRT closes; frames of the acts add up to it."""
    rows = rows_of(verdicts.verdict())

    assert [row["part"] for row in rows] == ["act", "break"] * 3 + ["act", "TRT"]
    assert sum(int(row["frames"]) for row in rows if row["part"] == "act") == int(rows[-1]["frames"])
    assert rows[0]["SOM"] == "01:00:00;00"
    assert rows[0]["EOM"] == rows[1]["SOM"] == "01:05:10;10"  # exclusive: the break starts where the act ends
    assert rows[-1]["duration"] == "00:21:12;00"
    assert rows[-1]["note"] == "by the other accounting 00:21:11;08"


def test_every_row_says_how_it_was_counted():
    """A sheet without its convention would be read by another one."""
    for row in rows_of(verdicts.verdict()):
        assert (row["counting"], row["accounting"], row["EOM is"]) == (
            "drop-frame",
            "whole-second outward",
            "exclusive",
        )


def test_without_acts_the_sheet_says_why():
    """No structure: one row with the reason, never an empty sheet that looks like a programme of no length."""
    rows = rows_of(verdicts.verdict(programme=verdicts.nothing_found()))

    assert [(row["part"], row["note"]) for row in rows] == [
        ("none", "breaks are not visible; a timing sheet is needed")
    ]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_no_cell_is_a_formula(start):
    """A name that a spreadsheet would run is kept as text.

    Source: OWASP, CSV Injection (=, +, -, @, tab, carriage return, line feed, full-width forms).
    """
    rows = rows_of(verdicts.verdict(file=f"{start}cmd|' calc'!A1.mov"))

    assert all(row["file"].startswith("'") for row in rows)


def test_blanks_before_a_formula_do_not_hide_it():
    """ " =1+1" loses its blank on the way and is guarded all the same; plain text and numbers stay."""
    assert guarded(" =1+1") == "'=1+1"
    assert guarded("BRLN_0203.mxf") == "BRLN_0203.mxf"
    assert guarded(-12) == -12


def test_quotes_commas_and_lines_in_a_name_keep_the_row_whole():
    """Every row has all columns, whatever the file is called."""
    content = timing_sheet(verdicts.verdict(file='a",b\n;c.mov')).decode()

    assert all(len(row) == len(COLUMNS) for row in csv.reader(io.StringIO(content, newline="")))


def test_the_sheet_can_be_declared_for_the_next_check(tmp_path):
    """A sheet written here is read back as the same acts, frame for frame; breaks and TRT are left out."""
    path = tmp_path / "sheet.csv"
    path.write_bytes(timing_sheet(verdicts.verdict()))

    acts = read_sheet(path, verdicts.CLOCK, "exclusive").acts

    start = verdicts.CLOCK.start
    assert [(act.som - start, act.eom - start) for act in acts] == [(act.first, act.end) for act in verdicts.ACTS]


@pytest.mark.parametrize("behind", [";", "; ", ';"', ";'", ";;"])
def test_no_formula_hides_behind_a_semicolon(behind):
    """Spreadsheets of many countries split a row at semicolons, so a name must not make a cell of its own there.

    Source: OWASP, CSV Injection ("you also need to take care of the field separator").
    """
    cell = guarded(f"act 2{behind}=1+1")

    assert not re.search('[;"]\\s*=', cell) and cell.endswith("'=1+1")
    assert guarded("01:00:00;00") == "01:00:00;00"
    assert guarded("5 s over; see act 2") == "5 s over; see act 2"
