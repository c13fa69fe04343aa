"""The columns that an outlet wants of its timing sheet: checked like everything in a profile."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from qc.outlets.diff import differences
from qc.outlets.load import ProfileError, list_profiles, load_profile
from qc.outlets.schema import DEFAULT_COLUMNS, Profile
from qc.outlets.vocabulary import WORDS
from qc.programme.sheet_table import read_table
from qc.report.profile_text import show_text
from tests.kit.profiles import GOOD, write_profile


def problems(folder: Path, columns: str) -> list[tuple[str, str, str, str, str]]:
    path = write_profile(folder, f"{GOOD}\n[timing_sheet]\ncolumns = {columns}\n")
    with pytest.raises(ProfileError) as caught:
        load_profile(path)
    return [(each.section, each.key, each.found, each.expected, each.meant) for each in caught.value.problems]


def test_a_misspelt_column_names_the_nearest(tmp_path: Path) -> None:
    """ "Som" would be a column that no sheet has: refused, with the word that was meant."""
    ((section, key, found, _, meant),) = problems(tmp_path, '["act", "SOM", "EOM", "durration"]')

    assert (section, key, found, meant) == ("timing_sheet", "columns", '"durration"  (text)', '"duration"')


@pytest.mark.parametrize(
    ("columns", "found"),
    [
        ('["act", "EOM"]', 'no "SOM"'),
        ('["SOM", "EOM", "duration"]', 'no "part" or "act"'),
        ('["note"]', 'no "SOM" and no "EOM" and no "part" or "act"'),
        ('["act", "SOM", "EOM", "act"]', '"act"  (text) twice'),
        ("[]", "an empty list"),
        ('"act, SOM, EOM"', '"act, SOM, EOM"  (text)'),
        ('["act", "SOM", "EOM", 7]', "7  (number)"),
    ],
)
def test_columns_that_make_no_sheet_are_told(tmp_path: Path, columns: str, found: str) -> None:
    """A sheet without SOM, EOM or a name for its rows could not be read back; a column twice neither."""
    told = problems(tmp_path, columns)

    assert [(section, key) for section, key, *_ in told] == [("timing_sheet", "columns")]
    assert told[0][2] == found


def test_the_message_as_an_author_reads_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """File, line, key, what was found and what is accepted."""
    path = write_profile(tmp_path, f'{GOOD}\n[timing_sheet]\ncolumns = ["act", "SOM"]\n')
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ProfileError) as caught:
        load_profile(path.name)

    line = path.read_text(encoding="utf-8").splitlines().index('columns = ["act", "SOM"]') + 1
    head = f"  line {line}".ljust(11) + "[timing_sheet] columns"
    assert head in str(caught.value)
    assert 'found     no "EOM"' in str(caught.value)
    assert 'expected  "SOM", "EOM" and "part" or "act" among the columns' in str(caught.value)


def test_without_the_section_the_usual_columns_hold(tmp_path: Path) -> None:
    """An outlet that says nothing gets the usual sheet; a profile shows its columns with the file they come from."""
    assert load_profile(write_profile(tmp_path, GOOD)).profile.timing_sheet.columns == list(DEFAULT_COLUMNS)
    text = " ".join(show_text(load_profile("kerrawind-mini")).split())
    assert "Columns of the timing sheet are part, SOM, EOM, duration, EOM is, accounting, frames, note [" in text


def test_every_word_stands_for_one_column() -> None:
    """The usual columns are words of the list, each once; a short form keeps its outlet's columns."""
    assert len(set(WORDS["timing_sheet.columns"])) == len(WORDS["timing_sheet.columns"])
    assert set(DEFAULT_COLUMNS) < set(WORDS["timing_sheet.columns"])
    full, mini = (load_profile(name).profile for name in ("tidewold-one", "tidewold-one-mini"))
    assert "timing_sheet.columns" not in {each.key for each in differences(full, mini)}


def test_the_six_outlets_want_six_different_sheets() -> None:
    """Shipped profiles ask for orders of their own, so that order is tried and not assumed."""
    orders = {tuple(load_profile(path).profile.timing_sheet.columns) for path in list_profiles()}

    assert len(orders) == 6
    assert DEFAULT_COLUMNS not in orders


def test_no_word_of_the_list_confuses_the_reader_of_sheets(tmp_path: Path) -> None:
    """All columns in one header: act, part, SOM and EOM are each found once, nothing is taken for two things."""
    path = tmp_path / "sheet.csv"
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(WORDS["timing_sheet.columns"])
        writer.writerow(["act", 1, "01:00:00;00", "01:00:10;00", *[""] * (len(WORDS["timing_sheet.columns"]) - 4)])

    table = read_table(path)
    assert table.columns == {"kind": "part", "act": "act", "som": "SOM", "eom": "EOM", "eom is": "EOM is"}
    assert set(Profile.model_validate({"outlet": {"name": "A", "code": "a"}}).timing_sheet.columns) <= set(
        WORDS["timing_sheet.columns"]
    )
