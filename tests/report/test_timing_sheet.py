"""The timing sheet: acts, breaks and TRT for the people who schedule."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import pytest

from qc.judge import judge
from qc.judge.timing_form import TimingForm
from qc.judge.verdict import Outcome
from qc.programme.sheet import read_sheet
from qc.report.timing_sheet import COLUMNS, guarded, timing_sheet
from tests.kit import verdicts
from tests.kit.six_files import SHAPES, judged


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
    assert rows[1]["EOM"] == rows[2]["SOM"]  # and ends where the next act starts
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


@pytest.mark.parametrize("code", SHAPES)
def test_the_sheet_of_every_outlet_is_read_back(code, tmp_path):
    """Whatever the columns and their order, the sheet declares the same acts again, frame for frame, to the reader of
    ``qc check --sheet``, and the outlet's own requirement on sheets is met by it."""
    made, profile, verdict = judged(code)
    path = tmp_path / "sheet.csv"
    path.write_bytes(timing_sheet(verdict))

    sheet = read_sheet(path, made.clock, profile.profile.programme.eom)
    start = made.clock.start
    assert start is not None
    assert tuple((act.som - start, act.eom - start) for act in sheet.acts) == tuple(
        (span.first, span.end) for span in SHAPES[code].spans
    )
    again = judge(made, profile, sheet=sheet)
    declared = [item for item in again.findings if item.requirement == "structure.sheet"]
    assert all(item.outcome is Outcome.PASS for item in declared)
    assert again.programme.acts == verdict.programme.acts


@pytest.mark.parametrize("code", SHAPES)
def test_columns_stand_in_the_outlets_order(code):
    """The header is the profile's list, every row has as many cells, and no cell is a formula (RFC 4180; OWASP)."""
    _, profile, verdict = judged(code)
    rows = list(csv.reader(io.StringIO(timing_sheet(verdict).decode(), newline="")))

    assert rows[0] == list(profile.profile.timing_sheet.columns)
    assert {len(row) for row in rows} == {len(rows[0])}
    assert not [cell for row in rows for cell in row if cell.startswith(("=", "+", "-", "@"))]


@pytest.mark.parametrize("code", SHAPES)
def test_totals_add_up_in_frames(code):
    """Sum of acts and sum of breaks make the programme with breaks; the acts make the TRT. Truth: how it was made."""
    shape, (_, _, verdict) = SHAPES[code], judged(code)
    totals = {total.name: total.frames for total in verdict.programme.form.totals}

    assert totals["sum of acts"] == totals["TRT"] == sum(shape.acts)
    assert totals["sum of breaks"] == sum(shape.gaps)
    assert totals["programme with breaks"] == sum(shape.acts) + sum(shape.gaps)


def test_totals_by_the_outlets_accounting():
    """Whole seconds outward: an act from second 0 into second 32 counts 33; breaks are what is left over.

    By hand from the labels (SMPTE ST 12-1, drop-frame): acts are 00:00;00 to 00:32;05, 00:33;05 to 01:04;17 (two labels
    dropped at 1:00), 01:05;17 to 01:38;02, 01:39;02 to 02:11;27. The rule is common practice, no source.
    """
    rows = rows_of(judged("corvane-5-mini")[2])
    by_part = {row["part"]: row for row in rows if row["part"] != "act"}

    assert [row["duration"] for row in rows if row["part"] == "act"] == ["00:00:33", "00:00:32", "00:00:34", "00:00:33"]
    assert [row["duration"] for row in rows if row["part"] == "break"] == ["00:00:00"] * 3
    assert (by_part["TRT"]["duration"], by_part["TRT"]["accounting"]) == ("00:02:12", "whole-second outward")
    assert (by_part["sum of acts"]["duration"], by_part["sum of acts"]["accounting"]) == ("00:02:08;27", "frame-exact")
    assert by_part["programme with breaks"]["duration"] == "00:02:12"
    assert by_part["sum of breaks"]["duration"] == "00:00:00"


def test_one_column_can_name_the_rows():
    """With only "act" or only "part" that column says which act, which break, which total."""
    for name, wanted in (("act", ["1", "break 1", "2"]), ("part", ["act 1", "break 1", "act 2"])):
        table = replace(verdicts.programme(), form=TimingForm((name, "SOM", "EOM")))
        rows = rows_of(verdicts.verdict(programme=table))
        assert [row[name] for row in rows[:3]] == wanted
        assert rows[-1][name] == "TRT"


def test_folders_before_the_name_stay_at_home():
    """Two files of one name are told apart by folders in the house; the outlet's traffic gets the name."""
    rows = rows_of(verdicts.verdict(file="season 2/206/BRLN_0206.mxf"))

    assert {row["file"] for row in rows} == {"BRLN_0206.mxf"}
