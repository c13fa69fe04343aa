"""Acts and breaks from blacks: each situation comes out as what it is.

The programmes are made of numbers, so the truth is known by construction. That breaks are found by black
with silence, and that fades and night scenes are none, is common practice, no source.
"""

from __future__ import annotations

import time

import pytest

from qc.programme.find import NO_PROGRAMME, NOT_VISIBLE, find_structure
from qc.programme.structure import ExpectedClock, ProgrammeStructure
from qc.timing.spans import Span
from tests.programme.made import ACTS, CLOCK, COUNT_ONLY, TRT, Made, gap, made, tiles


def found(file: Made, expected: ExpectedClock = CLOCK, *, single_part: bool = False) -> ProgrammeStructure:
    structure = find_structure(file.frames, file.gaps, expected, single_part)
    if structure.acts:
        assert tiles(structure, file.frames)
    return structure


def acts_of(structure: ProgrammeStructure) -> tuple[Span, ...]:
    return tuple(act.span for act in structure.acts)


def breaks_of(structure: ProgrammeStructure) -> tuple[Span, ...]:
    return tuple(item.span for item in structure.breaks)


def test_four_acts_with_ten_second_breaks() -> None:
    """The plain case: acts, breaks and nothing else to say."""
    file = made()
    structure = found(file)
    assert (structure.found_by, structure.note, structure.unlike) == ("picture", "", ())
    assert acts_of(structure) == file.acts
    assert breaks_of(structure) == file.breaks
    assert [item.number for item in structure.breaks] == [1, 2, 3]
    assert all(item.silent_frames == 300 for item in structure.breaks)


def test_a_one_second_break_among_twenty_frame_fades() -> None:
    """30 frames with silence are the break, 20 frames with sound the fades, also a fade next to the break."""
    clock = ExpectedClock(acts=2, break_frames=(30, 30))
    file = made((20_000, 18_000), (30,)).also(*(gap(at, 20, 0) for at in (900, 5_000, 19_700, 20_100, 31_000)))
    structure = found(file, clock)
    assert breaks_of(structure) == file.breaks
    assert len(structure.extra_gaps) == 5
    assert (structure.unlike, structure.extra_breaks) == ((), ())


def test_a_silent_two_second_black_inside_an_act_next_to_the_break() -> None:
    """A designed silent black right before the break stays in its act; the break is the one of the right length."""
    file = made().also(gap(ACTS[0] - 200, 60))
    structure = found(file)
    assert breaks_of(structure) == file.breaks
    assert [item.span.first for item in structure.extra_gaps] == [ACTS[0] - 200]


def test_a_break_without_silence() -> None:
    """Music over a break of the right length: still the break, and said to be silent in no frame."""
    file = made(silent=False).also(gap(4_000, 20))
    structure = found(file)
    assert breaks_of(structure) == file.breaks
    assert [item.silent_frames for item in structure.breaks] == [0, 0, 0]


def test_a_break_of_half_the_length() -> None:
    """150 frames where 300 are expected is that break, with its length wrong."""
    file = made(breaks=(300, 150, 300))
    structure = found(file)
    assert breaks_of(structure) == file.breaks
    assert structure.unlike == ("break 2 is 150 frames where 300 are expected",)
    assert structure.missing_breaks == ()


def test_a_version_made_for_another_outlet() -> None:
    """1 s breaks where 10 s are expected: three breaks of the wrong length, not three missing ones."""
    structure = found(made(breaks=(30, 30, 30)))
    assert len(structure.breaks) == 3
    assert structure.unlike[0] == "break 1 is 30 frames where 300 are expected"


def test_wrong_length_is_told_against_a_range() -> None:
    """The words of a window, a minimum and a maximum."""
    for window, words in [((299, 301), "299 to 301"), ((299, None), "at least 299"), ((None, 200), "at most 200")]:
        structure = found(made(breaks=(250,) * 3), ExpectedClock(acts=4, break_frames=window))
        assert structure.unlike[0] == f"break 1 is 250 frames where {words} are expected"


@pytest.mark.parametrize("fades", [(), ((15_000, 20, 0), (25_000, 24, 5), (29_000, 12, 12))])
@pytest.mark.parametrize("missing", [1, 2, 3])
def test_one_break_is_missing(missing: int, fades: tuple[tuple[int, int, int], ...]) -> None:
    """The act runs on through the missing break; fades inside it are not promoted to breaks."""
    breaks = [300, 300, 300]
    breaks[missing - 1] = 0
    file = made(breaks=breaks).also(*(gap(*fade) for fade in fades))
    expected = ExpectedClock(
        acts=4, break_frames=(300, 300), act_frames=tuple((frames - 900, frames + 900) for frames in ACTS)
    )
    structure = found(file, expected)
    assert structure.missing_breaks == (missing,)
    assert [item.number for item in structure.breaks] == [n for n in (1, 2, 3) if n != missing]
    assert [act.number for act in structure.acts] == [n for n in (1, 2, 3, 4) if n != missing + 1]
    assert sum(act.span.frames for act in structure.acts) == TRT
    assert len(structure.extra_gaps) == len(fades)
    assert f"break {missing} is missing: act {missing} runs on through it" in structure.unlike


def test_one_break_too_many() -> None:
    """Silent and of break length, but in the middle of act 1: extra, and said to look just like a break."""
    file = made().also(gap(5_000, 300))
    placed = ExpectedClock(
        acts=4, break_frames=(300, 300), act_frames=tuple((frames - 900, frames + 900) for frames in ACTS)
    )
    for expected in (placed, CLOCK):
        structure = found(file, expected)
        assert len(structure.acts) == 4
        assert len(structure.extra_breaks) == 1
        assert "looks like one break more" in structure.unlike[0]
    assert breaks_of(found(file, placed)) == file.breaks


def test_black_hold_and_run_out_are_tail() -> None:
    """Black to the end of the file is tail, however long; so is leading black head."""
    for tail in (1, 150, 9_000):
        file = made(head=60, tail=tail)
        structure = found(file)
        assert (structure.head, structure.tail) == (Span(0, 60), Span(file.frames - tail, file.frames))
        assert acts_of(structure) == file.acts


def test_picture_after_the_run_out_is_told_from_the_programme_by_trt() -> None:
    """Textless backgrounds behind 10 s of black after the end: tail, when the TRT says where the end is."""
    file = made()
    longer = Made(file.frames + 300 + 2_000, (*file.gaps, gap(file.frames, 300)), file.acts, file.breaks)
    structure = found(longer)
    assert acts_of(structure) == file.acts
    assert structure.tail == Span(file.frames, longer.frames)


def test_the_end_of_a_last_fade_belongs_to_the_programme_if_the_trt_says_so() -> None:
    """Ten black frames at the very end complete the exact TRT; without them it would be short."""
    file = made().also(gap(made().frames - 10, 10))
    structure = found(file)
    assert structure.tail.frames == 0
    assert sum(act.span.frames for act in structure.acts) == TRT


def test_a_programme_that_is_short_stays_short() -> None:
    """Black after the last picture is never counted in to reach the TRT."""
    file = made((*ACTS[:3], ACTS[3] - 10), tail=400)
    structure = found(file)
    assert sum(act.span.frames for act in structure.acts) == TRT - 10


def test_head_elements_before_som_by_timecode() -> None:
    """Bars, slate and countdown before the stated SOM label are head, though they are picture."""
    file = made(tail=300)
    head = 3_000
    moved = tuple(gap(item.span.first + head, item.span.frames) for item in file.gaps)
    before = (gap(1_790, 10), gap(2_390, 10), gap(head - 300, 300))
    longer = Made(file.frames + head, (*before, *moved), file.acts, file.breaks)
    expected = ExpectedClock(acts=4, break_frames=(300, 300), programme_frames=(TRT, TRT), start_frame=head)
    structure = found(longer, expected)
    assert structure.head == Span(0, head)
    assert [act.span.frames for act in structure.acts] == list(ACTS)
    assert structure.extra_gaps == ()


def test_a_late_start_is_seen() -> None:
    """Two seconds of black after the stated SOM label are head, a fade of eight frames is act 1."""
    expected = ExpectedClock(acts=4, break_frames=(300, 300), programme_frames=(TRT, TRT), start_frame=0)
    assert found(made(head=60), expected).head == Span(0, 60)
    without_trt = ExpectedClock(acts=4, break_frames=(300, 300), start_frame=0)
    assert found(made(head=60), without_trt).head == Span(0, 60)
    assert found(made(head=8), without_trt).head == Span(0, 0)
    fade = found(made((ACTS[0] - 8, *ACTS[1:]), head=8), expected)
    assert fade.head == Span(0, 0)
    assert fade.extra_gaps[0].span == Span(0, 8)


@pytest.mark.parametrize("start", [None, 0, -108_000, 107_892])
def test_an_episode_that_starts_on_picture(start: int | None) -> None:
    """No head, with the stated label at the first frame, before the file, after it, or none at all."""
    expected = ExpectedClock(acts=4, break_frames=(300, 300), programme_frames=(TRT, TRT), start_frame=start)
    structure = found(made(), expected)
    assert structure.head == Span(0, 0)
    assert acts_of(structure) == made().acts


def test_a_wrong_label_does_not_cut_the_programme() -> None:
    """The SOM label lies two minutes in, but the TRT and act 1 fit from the first frame: the label is wrong."""
    expected = ExpectedClock(acts=4, break_frames=(300, 300), programme_frames=(TRT, TRT), start_frame=3_600)
    assert found(made(), expected).head == Span(0, 0)


def test_a_stated_head_without_timecode() -> None:
    """A head of 100 s by the outlet's layout, found by the black that ends there."""
    file = made(head=0)
    moved = tuple(gap(item.span.first + 3_000, item.span.frames) for item in file.gaps)
    longer = Made(file.frames + 3_000, (gap(2_700, 300), *moved), file.acts, file.breaks)
    expected = ExpectedClock(acts=4, break_frames=(300, 300), head_frames=(2_990, 3_010))
    assert found(longer, expected).head == Span(0, 3_000)


def test_an_all_black_file() -> None:
    """No programme found: no act, one reason."""
    structure = found(Made(1_000, (gap(0, 1_000),), (), ()))
    assert (structure.found_by, structure.note, structure.acts) == ("", NO_PROGRAMME, ())
    assert found(Made(1_000, (gap(0, 1_000),), (), ()), single_part=True).note == NO_PROGRAMME
    assert found(Made(0, (), (), ())).acts == ()


@pytest.mark.parametrize("fades", [(), ((3_000, 20, 0), (15_000, 24, 3))])
def test_breaks_that_are_not_visible(fades: tuple[tuple[int, int, int], ...]) -> None:
    """Butt edits and no sheet: nothing is invented, head and tail are still known, a sheet is asked for."""
    file = made(breaks=(0, 0, 0), head=30, tail=90).also(*(gap(*fade) for fade in fades))
    structure = found(file)
    assert (structure.found_by, structure.note, structure.acts) == ("", NOT_VISIBLE, ())
    assert structure.missing_breaks == (1, 2, 3)
    assert (structure.head.end, structure.tail.first) == (30, file.frames - 90)
    assert len(structure.extra_gaps) == len(fades)


def test_butt_joints_of_one_frame() -> None:
    """One black frame is the break where that is what the outlet asks for, sound or not; act lengths tell strays."""
    file = made(breaks=(1, 1, 1), silent=False)
    assert breaks_of(found(file, ExpectedClock(acts=4, break_frames=(1, 1)))) == file.breaks
    longer = file.also(gap(ACTS[0] - 900, 3))
    assert breaks_of(found(longer, ExpectedClock(acts=4, break_frames=(1, 1)))) == file.breaks
    stray = file.also(gap(40, 1, 0), gap(20_000, 2, 0))
    expected = ExpectedClock(acts=4, break_frames=(1, 1), act_frames=tuple((n - 60, n + 60) for n in ACTS))
    structure = found(stray, expected)
    assert breaks_of(structure) == file.breaks
    assert len(structure.extra_gaps) == 2


def test_butt_joints_of_no_frame_need_a_sheet() -> None:
    """A break of 0 frames cannot be seen; a stray black is not taken for one."""
    file = made(breaks=(0, 0, 0)).also(gap(5_000, 12, 0))
    structure = found(file, ExpectedClock(acts=4, break_frames=(0, 0)))
    assert (structure.found_by, structure.note) == ("", NOT_VISIBLE)


def test_an_outlet_that_states_only_the_number_of_acts() -> None:
    """Length and silence speak by themselves: the three long silent blacks, not the fades or the short black."""
    file = made().also(gap(3_000, 20, 0), gap(8_000, 30, 12), gap(15_000, 12, 0), gap(30_000, 40, 0))
    structure = found(file, COUNT_ONLY)
    assert breaks_of(structure) == file.breaks
    assert len(structure.extra_gaps) == 4
    sounding = made(silent=False).also(gap(3_000, 20, 0), gap(15_000, 25, 0))
    assert breaks_of(found(sounding, COUNT_ONLY)) == sounding.breaks


def test_an_outlet_that_states_no_number_of_acts() -> None:
    """The breaks of the stated length give it, and the note says so."""
    file = made(breaks=(60, 60, 60)).also(gap(3_000, 20, 0), gap(15_000, 60, 0), gap(22_000, 10))
    structure = found(file, ExpectedClock(break_frames=(60, 60)))
    assert breaks_of(structure) == file.breaks
    assert "no number of acts" in structure.note
    assert found(made(breaks=(0, 0, 0)), ExpectedClock(break_frames=(60, 60))).note == NOT_VISIBLE


def test_the_trt_tells_breaks_apart_where_no_break_length_is_stated() -> None:
    """Of two blacks alike in kind the one that makes the TRT exact is the break."""
    file = made((20_000, 18_662), (45,)).also(gap(9_000, 61), gap(30_000, 52))
    expected = ExpectedClock(acts=2, programme_frames=(TRT, TRT))
    assert breaks_of(found(file, expected)) == file.breaks


def test_a_single_part_has_no_breaks() -> None:
    """Every black inside is extra, also one that looks like a break; head and tail are found as ever."""
    file = made((40_000,), (), head=60, tail=150).also(gap(20_000, 300), gap(30_000, 20, 0))
    structure = found(file, single_part=True)
    assert (structure.found_by, len(structure.acts), structure.breaks) == ("whole file", 1, ())
    assert structure.acts[0].span == Span(60, 40_060)
    assert len(structure.extra_gaps) == 2
    assert (structure.missing_breaks, structure.extra_breaks) == ((), ())


@pytest.mark.parametrize("acts", [-1, 0, 65, 1_000_000])
def test_an_absurd_number_of_acts_does_not_stop(acts: int) -> None:
    """A count that no programme has is as good as none."""
    assert found(made(), ExpectedClock(acts=acts, break_frames=(300, 300))).acts


def test_a_file_of_a_few_frames() -> None:
    """One frame, two frames, black beside picture: no error."""
    for frames in (1, 2, 3):
        for gaps in ((), (gap(0, 1),), (gap(frames - 1, 1),)):
            assert find_structure(frames, gaps, CLOCK, False).acts == ()
            find_structure(frames, gaps, ExpectedClock(), True)


def test_two_hundred_candidates_in_little_time() -> None:
    """CPU for 200 blacks and a usual clock; a flickering file of 20,000 blacks ends too."""
    spread = tuple(gap(190 * k + (k * 37) % 80, 5 + (k * 53) % 300, (k * 29) % 5) for k in range(200))
    find_structure(39_562, spread, CLOCK, False)
    begin = time.process_time()
    find_structure(39_562, spread, CLOCK, False)
    assert time.process_time() - begin < 0.15  # about 15 ms alone; room for a busy machine
    flicker = tuple(gap(2 * k + 1, 1) for k in range(20_000))
    begin = time.process_time()
    find_structure(40_002, flicker, ExpectedClock(acts=4, break_frames=(1, 1), start_frame=50), False)
    assert time.process_time() - begin < 3
