"""Timing sheets from any desk: read strictly, every problem told with its line and column.

Column names and forms: common practice, no source. Labels: SMPTE ST 12-1.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.programme.sheet import TimingSheet, read_sheet
from qc.programme.sheet_problems import SheetError
from qc.timing.timecode import Clock, Counting

DROP = Counting(30, drop=True)
ROWS = [
    ("1", "01:00:00;00", "01:06:10;14"),
    ("2", "01:06:20;14", "01:12:02;03"),
    ("3", "01:12:12;03", "01:17:29;25"),
    ("4", "01:17:39;25", "01:21:59;28"),
]
FRAMES = [11_102, 10_239, 9_522, 7_797]


def csv_text(
    rows: list[tuple[str, ...]] = ROWS, header: tuple[str, ...] = ("act", "SOM", "EOM"), sep: str = ","
) -> str:
    return "\n".join(sep.join(row) for row in [header, *rows]) + "\n"


def read(folder: Path, content: str | bytes, counting: Counting = DROP, eom: str = "exclusive") -> TimingSheet:
    path = folder / "sheet.csv"
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_sheet(path, counting, eom)  # type: ignore[arg-type]


def problems(folder: Path, content: str | bytes, counting: Counting = DROP, eom: str = "exclusive") -> SheetError:
    with pytest.raises(SheetError) as caught:
        read(folder, content, counting, eom)
    text = str(caught.value)
    assert "Traceback" not in text and len(text) < 20_000
    assert all(char == "\n" or char.isprintable() for char in text)
    return caught.value


def test_a_plain_sheet(tmp_path: Path) -> None:
    """Four acts with their frames; the worked example of the accounting tests."""
    sheet = read(tmp_path, csv_text())
    assert [(act.number, act.frames) for act in sheet.acts] == list(enumerate(FRAMES, start=1))
    assert (sheet.encoding, sheet.separator, sheet.elements) == ("UTF-8", "comma", ())


@pytest.mark.parametrize("sep", [",", ";", "\t"])
@pytest.mark.parametrize(
    ("encoding", "stated"),
    [("utf-8", "UTF-8"), ("utf-8-sig", "UTF-8"), ("utf-16", "UTF-16"), ("utf-16-le", "UTF-16"),
     ("utf-16-be", "UTF-16"), ("latin-1", "Latin-1")],
)  # fmt: skip
def test_separators_encodings_and_line_ends(tmp_path: Path, sep: str, encoding: str, stated: str) -> None:
    """Comma, semicolon, tab; byte order mark or not; CRLF; the encoding taken is stated.

    Drop-frame labels hold a semicolon, so with that separator they are quoted, as CSV quotes.
    """
    rows = [tuple(f'"{cell}"' for cell in row) for row in [*ROWS, ("Générique", "01:21:00;02", "01:21:59;28")]]
    text = csv_text(rows, sep=sep).replace("\n", "\r\n")
    sheet = read(tmp_path, text.encode(encoding))
    assert [act.frames for act in sheet.acts] == FRAMES
    assert sheet.encoding == stated
    assert sheet.elements[0].name == "Générique"


@pytest.mark.parametrize(
    "header",
    [("Act", "som", "Eom"), ("ACT #", "S.O.M.", "E.O.M."), ("Segment", "TC In", "TC Out"), ("Part", "Start", "End")],
)
def test_header_names_are_tolerant(tmp_path: Path, header: tuple[str, ...]) -> None:
    """Case, blanks and dots do not matter; a title above and unknown columns beside are passed over."""
    assert len(read(tmp_path, "Brindlewick Lane 206\n\n" + csv_text(header=header)).acts) == 4
    wide = [(*row, "remark, quoted") for row in ROWS]
    quoted = [(*row[:3], f'"{row[3]}"') for row in wide]
    assert len(read(tmp_path, csv_text(quoted, (*header, "Remarks"))).acts) == 4


def test_names_of_acts_and_elements(tmp_path: Path) -> None:
    """A number or "act N" is an act, another name an element, a break or a total neither."""
    rows = [
        ("Act 1", "01:00:00;00", "01:06:10;14"),
        ("Break 1", "01:06:10;14", ""),
        ("#2", "01:06:20;14", "01:12:02;03"),
        ("part 3", "01:12:12;03", "01:17:29;25"),
        ("ACT 4", "01:17:39;25", "01:21:59;28"),
        ("opening", "01:00:30;00", "01:00:50;00"),
        ("TRT", "", ""),
        ("Total", "00:21:29;28", ""),
    ]
    sheet = read(tmp_path, csv_text(rows))
    assert [act.number for act in sheet.acts] == [1, 2, 3, 4]
    assert [(row.name, row.frames) for row in sheet.elements] == [("opening", 600)]


def test_inclusive_eom(tmp_path: Path) -> None:
    """The last frame named instead of the frame after it: one frame more, by statement of the caller only."""
    rows = [("1", "10:00:00:00", "10:00:09:24"), ("2", "10:00:10:00", "10:00:10:00")]
    sheet = read(tmp_path, csv_text(rows), Counting(25), "inclusive")
    assert [act.frames for act in sheet.acts] == [250, 1]
    error = problems(tmp_path, csv_text(rows), Counting(25))
    assert error.problems[0].line == 3
    assert "holds no frame" in error.problems[0].remedy


def test_a_clock_stands_for_its_counting(tmp_path: Path) -> None:
    """The sheet counts as the file does."""
    path = tmp_path / "a.csv"
    path.write_text(csv_text())
    clock = Clock(Fraction(30000, 1001), DROP, 0)
    assert read_sheet(path, clock, "exclusive") == read_sheet(path, DROP, "exclusive")


def test_drop_frame_text_for_a_25_frame_file(tmp_path: Path) -> None:
    """Every label is named with line and column."""
    error = problems(tmp_path, csv_text(), Counting(25))
    assert [(problem.line, problem.column) for problem in error.problems] == [
        (line, column) for line in (2, 3, 4, 5) for column in ("SOM", "EOM")
    ]
    assert "drop-frame" in error.problems[0].found
    assert "25 frames a second" in error.problems[0].expected


def test_labels_that_their_own_separator_cuts(tmp_path: Path) -> None:
    """A semicolon sheet with drop-frame labels that nobody quoted: the remedy says what happened."""
    assert "quotes" in problems(tmp_path, csv_text(sep=";")).problems[0].remedy


def test_a_label_that_drop_frame_skips(tmp_path: Path) -> None:
    """;00 of a minute that is no tenth does not exist (SMPTE ST 12-1); the remedy names the first that does."""
    rows = [("1", "01:00:00;00", "01:01:00;00")]
    error = problems(tmp_path, csv_text(rows))
    assert (error.problems[0].line, error.problems[0].column) == (2, "EOM")
    assert "01:01:00;02" in error.problems[0].remedy


def test_every_problem_at_once_in_one_readable_text(tmp_path: Path) -> None:
    """The whole message, word for word."""
    rows = [("1", "01:00:00;00", "00:59:00;02"), ("2", "=1+1", "01:12:02;03"), ("3", "01:12:12;30", "")]
    text = str(problems(tmp_path, csv_text(rows)))
    assert text == (
        "sheet.csv has 4 problems; the sheet was not used.\n"
        "\n"
        "  line 2, EOM\n"
        "      found     00:59:00;02 after a SOM of 01:00:00;00\n"
        "      expected  an EOM later than SOM\n"
        "      remedy    exchange the two\n"
        "  line 3, SOM\n"
        "      found     a formula: =1+1\n"
        "      expected  a plain value\n"
        "      remedy    export values, not formulas\n"
        "  line 4, SOM\n"
        "      found     01:12:12;30 (01:12:12;30 does not exist at 30 frames a second)\n"
        "      expected  HH:MM:SS;FF, drop-frame, 30 frames a second\n"
        "  line 4, EOM\n"
        "      found     an empty cell\n"
        "      expected  HH:MM:SS;FF, drop-frame, 30 frames a second\n"
        "      remedy    write HH:MM:SS:FF or HH:MM:SS;FF"
    )


@pytest.mark.parametrize(
    ("rows", "line", "found"),
    [
        ([ROWS[0], ("2", "01:06:00;02", "01:12:02;03")], 3, "before the end of act 1"),
        ([ROWS[0], ROWS[0]], 3, "act 1 where act 2 should follow"),
        ([ROWS[0], ROWS[2]], 3, "act 3 where act 2 should follow"),
        ([("2", *ROWS[0][1:]), ("1", *ROWS[1][1:])], 2, "before the end of act 1"),
        ([("opening", "01:00:00;00", "01:00:10;00")], 0, "no act"),
        ([], 0, "no act"),
        ([("1", "1:00:00;00", "01:06:10;14")], 2, "is not a timecode"),
        ([("1", "3600", "3970")], 2, "is not a timecode"),
        ([("@SUM(A1)", *ROWS[0][1:])], 2, "a formula"),
        ([("", *ROWS[0][1:])], 2, "an empty cell"),
        ([("x" * 300, *ROWS[0][1:])], 2, "junk"),
        ([("\u202e1", *ROWS[0][1:])], 2, "junk"),
        ([("1",)], 2, "an empty cell"),
        ([("1", "01:00:00;00", "01:06:10;14")] * 600, 502, "more than 500 rows"),
    ],
    ids=range(14),
)
def test_rows_that_cannot_be_meant(tmp_path: Path, rows: list[tuple[str, ...]], line: int, found: str) -> None:
    """Overlap, repeated and missing acts, wrong order, no act, no label, formulas, junk."""
    first = problems(tmp_path, csv_text(rows)).problems[0]
    assert first.line == line
    assert found in first.found


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "an empty file"),
        (b"   \n", "an empty file"),
        (b"hello\nworld\n", "hello"),
        (b"SOM,EOM\n01:00:00;00,01:00:10;00\n", "no column that names the act"),
        (b"act,SOM,EOM,SOM\n", "two columns"),
        (b"PK\x03\x04\x14\x00\x06\x00workbook", "no text"),
        (b"\xff\xfe\x00", "no text"),
        (b"%PDF-1.7\n\x00\x01\x02", "no text"),
        (b'act,SOM,EOM\n1,"01:00:00;00,01:00:10;00\n', "a broken row"),
        (b"act,SOM,EOM\n" + b"1," * 600_000, "more than 1000000 bytes"),
        (b"act,SOM,EOM\n" + b"1" * 200_000, "a broken row"),
        (b"a\x00c\x00t\x00", "a"),
    ],
    ids=range(12),
)
def test_files_that_are_no_sheet(tmp_path: Path, content: bytes, found: str) -> None:
    """Empty, prose, workbooks, halves of characters, open quotes, huge files: one clear error."""
    assert found in problems(tmp_path, content).problems[0].found


def test_files_that_are_not_there(tmp_path: Path) -> None:
    """Missing file, folder, name that no file can have."""
    for path in (tmp_path / "none.csv", tmp_path, Path("/dev/null"), tmp_path / ("n" * 300), Path("a\x00b.csv")):
        with pytest.raises(SheetError) as caught:
            read_sheet(path, DROP, "exclusive")
        assert caught.value.exit_status == 2


def test_the_sheet_that_the_reports_write_can_be_read_back(tmp_path: Path) -> None:
    """Columns part, act, SOM, EOM, with break and TRT rows and the way EOM is written; the other way is an error."""
    header = ("part", "act", "SOM", "EOM", "duration", "EOM is")
    rows = [
        ("act", "1", "01:00:00;00", "01:06:10;14", "00:06:10;14", "exclusive"),
        ("break", "", "01:06:10;14", "", "00:00:10;00", "exclusive"),
        ("act", "2", "01:06:20;14", "01:12:02;03", "00:05:41;19", "exclusive"),
        ("TRT", "", "", "", "00:11:52;03", "exclusive"),
    ]
    assert [act.frames for act in read(tmp_path, csv_text(rows, header)).acts] == FRAMES[:2]
    error = problems(tmp_path, csv_text(rows, header), eom="inclusive")
    assert (error.problems[0].column, error.problems[0].found) == ("EOM is", "exclusive")


def test_a_row_across_midnight(tmp_path: Path) -> None:
    """23:59:30 to 00:00:30 is a minute, not a reversed row; the next act starts after midnight."""
    rows = [("1", "23:59:30;00", "00:00:30;00"), ("2", "00:00:40;00", "00:10:00;00")]
    assert [act.frames for act in read(tmp_path, csv_text(rows)).acts] == [1_800, 17_982 - 1_200]


@settings(max_examples=150, deadline=None, derandomize=True)
@given(content=st.binary(max_size=300) | st.text(max_size=300).map(lambda text: ("act,SOM,EOM\n" + text).encode()))
def test_any_bytes_are_a_sheet_or_a_clear_error(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    """Whatever the file holds: acts, or an error made for the user."""
    try:
        assert read(tmp_path_factory.getbasetemp(), content).acts
    except SheetError as error:
        assert error.problems and all(char == "\n" or char.isprintable() for char in str(error))


def test_a_line_longer_than_a_cell_may_be_is_refused(tmp_path: Path) -> None:
    """A header line of 200 KB without a separator is told with its line, not left to the CSV reader."""
    with pytest.raises(SheetError) as error:
        read(tmp_path, "x" * 200_000)
    assert "line 1" in str(error.value)


@pytest.mark.parametrize("mark", ["\x85", "\u2028", "\u2029"])
def test_a_title_with_a_foreign_line_separator_hides_no_act(tmp_path: Path, mark: str) -> None:
    """Lines are those of CSV (RFC 4180: CR, LF), so the first act below such a title is still read."""
    assert len(read(tmp_path, f"Rain Barrel Row{mark}201\n" + csv_text()).acts) == 4
