"""The timing sheet in frames of a file: placed, standing in for breaks that cannot be seen, and as a claim."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from qc.programme.find import NOT_VISIBLE, find_structure
from qc.programme.sheet import TimingSheet, read_sheet
from qc.programme.sheet_structure import compare_sheet, place_sheet
from qc.programme.structure import ExpectedClock
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting
from tests.programme.made import ACTS, CLOCK, Made, gap, made, tiles

DROP = Counting(30, drop=True)
NTSC = Fraction(30000, 1001)
HOUR = 107_892  # frames of an hour of drop-frame labels (SMPTE ST 12-1)
CLOCK_01 = Clock(NTSC, DROP, HOUR)


def sheet_of(
    folder: Path, file: Made, start: int = HOUR, shift: int = 0, move: dict[int, int] | None = None
) -> TimingSheet:
    """The true sheet of a made file, its labels from ``start``, all shifted, single acts' SOM moved."""
    lines = ["act,SOM,EOM"]
    for number, act in enumerate(file.acts, start=1):
        som = DROP.label(start + shift + act.first + (move or {}).get(number, 0))
        lines.append(f"{number},{som},{DROP.label(start + shift + act.end)}")
    path = folder / "sheet.csv"
    path.write_text("\n".join(lines))
    return read_sheet(path, DROP, "exclusive")


def test_breaks_that_cannot_be_seen_are_taken_from_the_sheet(tmp_path: Path) -> None:
    """Butt edits: not measured without a sheet, acts as declared with it, and the note says which."""
    file = made(breaks=(0, 0, 0), head=30, tail=60).also(gap(5_000, 20, 0))
    assert find_structure(file.frames, file.gaps, CLOCK, False).note == NOT_VISIBLE
    structure = find_structure(file.frames, file.gaps, CLOCK, False, sheet_of(tmp_path, file), CLOCK_01)
    assert structure.found_by == "sheet"
    assert structure.note == "breaks 1, 2 and 3 are not visible in the picture: taken from the timing sheet"
    assert tuple(act.span for act in structure.acts) == file.acts
    assert [item.span.frames for item in structure.breaks] == [0, 0, 0]
    assert (structure.missing_breaks, len(structure.extra_gaps)) == ((), 1)
    assert tiles(structure, file.frames)


def test_one_break_that_cannot_be_seen(tmp_path: Path) -> None:
    """The other breaks keep the edges that the picture shows, also where the sheet is a few frames off."""
    file = made(breaks=(300, 0, 300))
    sheet = sheet_of(tmp_path, file, move={2: 4})
    structure = find_structure(file.frames, file.gaps, CLOCK, False, sheet, CLOCK_01)
    assert structure.found_by == "sheet"
    assert structure.note.startswith("break 2 is not visible")
    assert [item.span for item in structure.breaks] == list(file.breaks)
    assert tuple(act.span for act in structure.acts) == file.acts


def test_a_sheet_does_not_hide_its_own_error(tmp_path: Path) -> None:
    """Break 2 unseen and SOM of act 1 declared ten frames late: the picture's SOM stands."""
    file = made(breaks=(300, 0, 300))
    sheet = sheet_of(tmp_path, file, move={1: 10})
    structure = find_structure(file.frames, file.gaps, CLOCK, False, sheet, CLOCK_01)
    assert tuple(act.span for act in structure.acts) == file.acts


def test_a_sheet_tells_a_head_that_the_outlet_does_not_state(tmp_path: Path) -> None:
    """Bars and slate of 100 s, no label stated by the outlet, one break unseen: SOM as declared."""
    file = made(breaks=(300, 0, 300))
    moved = tuple(gap(item.span.first + 3_000, item.span.frames) for item in file.gaps)
    longer = Made(file.frames + 3_000, moved, file.acts, file.breaks)
    sheet = sheet_of(tmp_path, file, start=HOUR + 3_000)
    structure = find_structure(longer.frames, longer.gaps, CLOCK, False, sheet, CLOCK_01)
    assert structure.head == Span(0, 3_000)
    assert [act.span.frames for act in structure.acts] == list(ACTS)


def test_a_sheet_is_only_a_claim_where_the_picture_is_beyond_doubt(tmp_path: Path) -> None:
    """Clear breaks and a sheet of another version: the picture stands, the differences are the finding."""
    file, other = made(), made((9_000, 9_000, 9_000, 11_662))
    structure = find_structure(file.frames, file.gaps, CLOCK, False, sheet_of(tmp_path, other), CLOCK_01)
    assert (structure.found_by, tuple(act.span for act in structure.acts)) == ("picture", file.acts)
    comparison = compare_sheet(sheet_of(tmp_path, other), structure, CLOCK_01)
    assert not comparison.within(100)
    assert comparison.differences[0].eom == 9_000 - ACTS[0]


def test_a_sheet_settles_what_the_picture_leaves_open(tmp_path: Path) -> None:
    """Four blacks that look alike, three of them breaks: the sheet says which."""
    file = made()
    decoyed = file.also(gap(16_000, 300))
    sheet = sheet_of(tmp_path, file)
    structure = find_structure(file.frames, decoyed.gaps, ExpectedClock(acts=4), False, sheet, CLOCK_01)
    assert structure.found_by == "picture"
    assert tuple(item.span for item in structure.breaks) == file.breaks
    assert structure.extra_gaps[0].span.first == 16_000


def test_agreement_to_the_frame(tmp_path: Path) -> None:
    """A true sheet agrees, one frame off at one edge is found and is within a tolerance of one frame."""
    file = made(head=30)
    structure = find_structure(file.frames, file.gaps, CLOCK, False)
    exact = compare_sheet(sheet_of(tmp_path, file), structure, CLOCK_01)
    assert exact.within(0) and exact.offset == 0
    one = compare_sheet(sheet_of(tmp_path, file, move={3: 1}), structure, CLOCK_01)
    assert [(item.som, item.eom) for item in one.differences] == [(0, 0), (0, 0), (1, 0), (0, 0)]
    assert one.within(1) and not one.within(0)


def test_a_sheet_in_01_for_a_file_that_starts_at_00(tmp_path: Path) -> None:
    """One constant offset of an hour, not one difference an act."""
    file = made(head=30)
    structure = find_structure(file.frames, file.gaps, CLOCK, False)
    clock = Clock(NTSC, DROP, 0)
    sheet = sheet_of(tmp_path, file)
    assert [act.span for act in place_sheet(sheet, clock, file.frames, 0).acts] == list(file.acts)
    comparison = compare_sheet(sheet, structure, clock)
    assert comparison.offset == HOUR
    assert {(item.som, item.eom) for item in comparison.differences} == {(0, 0)}
    assert not comparison.within(1)
    unseen = made(breaks=(0, 0, 0))
    by_sheet = find_structure(unseen.frames, unseen.gaps, CLOCK, False, sheet_of(tmp_path, unseen), clock)
    assert tuple(act.span for act in by_sheet.acts) == unseen.acts


@pytest.mark.parametrize("shift", [-20, 2, 45])
def test_a_constant_offset_of_a_few_frames(tmp_path: Path, shift: int) -> None:
    """All edges off alike: one offset; it still counts against the tolerance."""
    file = made(head=30, tail=60)
    structure = find_structure(file.frames, file.gaps, CLOCK, False)
    comparison = compare_sheet(sheet_of(tmp_path, file, shift=shift), structure, CLOCK_01)
    assert comparison.offset == shift
    assert {(item.som, item.eom) for item in comparison.differences} == {(0, 0)}
    assert comparison.within(abs(shift)) and not comparison.within(abs(shift) - 1)


def test_a_file_without_timecode(tmp_path: Path) -> None:
    """Act 1 of the sheet goes where the programme starts in the picture; no offset is claimed."""
    file = made(breaks=(0, 0, 0), head=60)
    clock = Clock(NTSC, DROP, None)
    sheet = sheet_of(tmp_path, file)
    structure = find_structure(file.frames, file.gaps, CLOCK, False, sheet, clock)
    assert tuple(act.span for act in structure.acts) == file.acts
    assert compare_sheet(sheet, structure, clock).offset == 0


def test_acts_that_only_one_of_the_two_has(tmp_path: Path) -> None:
    """Three acts declared, four in the picture: named by number."""
    file = made()
    sheet = sheet_of(tmp_path, replace(file, acts=file.acts[:3]))
    structure = find_structure(file.frames, file.gaps, CLOCK, False)
    comparison = compare_sheet(sheet, structure, CLOCK_01)
    assert (comparison.only_picture, comparison.only_sheet) == ((4,), ())
    assert not comparison.within(10_000)


def test_a_sheet_that_is_longer_than_the_file(tmp_path: Path) -> None:
    """A sheet of an hour for a clip without visible breaks fits nowhere: no acts, and the note says why."""
    sheet = sheet_of(tmp_path, made(breaks=(0, 0, 0)))
    structure = find_structure(2_000, [], CLOCK, False, sheet, CLOCK_01)
    assert structure.acts == ()
    assert "does not fit" in structure.note


def test_a_sheet_across_midnight(tmp_path: Path) -> None:
    """A file that starts at 23:50: labels wrap, places do not."""
    start = DROP.frame("23:50:00;00")
    file = made()
    sheet = sheet_of(tmp_path, file, start=start)
    placed = place_sheet(sheet, Clock(NTSC, DROP, start), file.frames, 0)
    assert [act.span for act in placed.acts] == list(file.acts)
    assert placed.offset == 0
