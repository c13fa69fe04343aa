"""TRT by either accounting, exclusive and inclusive EOM, drop-frame and not."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.programme.accounting import programme_time
from qc.programme.structure import Act
from qc.timing.durations import Duration
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting

NTSC = Fraction(30000, 1001)
DROP = Counting(30, drop=True)
START = DROP.frame("01:00:00;00")
CLOCK = Clock(NTSC, DROP, START)

#: Four acts with ten-second breaks, 29.97 drop-frame: SOM, EOM exclusive, EOM inclusive, frame-exact,
#: frames, whole-second outward. Frames by SMPTE ST 12-1; the whole-second rule is common practice, no source.
#: Act 4 ends 22 minutes of arithmetic after the hour; drop-frame has no label 01:22:00;00, so it reads ;28.
SHEET = [
    ("01:00:00;00", "01:06:10;14", "01:06:10;13", "00:06:10;14", 11_102, "00:06:11"),
    ("01:06:20;14", "01:12:02;03", "01:12:02;02", "00:05:41;19", 10_239, "00:05:43"),
    ("01:12:12;03", "01:17:29;25", "01:17:29;24", "00:05:17;22", 9_522, "00:05:18"),
    ("01:17:39;25", "01:21:59;28", "01:21:59;27", "00:04:20;05", 7_797, "00:04:21"),
]
ACTS = [
    Act(number, Span(DROP.frame(row[0]) - START, DROP.frame(row[1]) - START)) for number, row in enumerate(SHEET, 1)
]


def test_worked_example_frame_exact() -> None:
    """21:29;28, 38,660 frames: two short of 21:30;00; the other rule is shown beside it because it disagrees."""
    time = programme_time(ACTS, CLOCK, "frame-exact", "exclusive")
    assert [(act.som, act.eom) for act in time.acts] == [row[:2] for row in SHEET]
    assert [(act.duration, act.frames) for act in time.acts] == [row[3:5] for row in SHEET]
    assert [act.counted_frames for act in time.acts] == [row[4] for row in SHEET]
    assert (time.trt, time.trt_frames, time.trt_counted_frames) == ("00:21:29;28", 38_660, 38_660)
    assert time.trt_frames - Duration("00:21:30;00").frames(NTSC) == -2
    assert (time.trt_other_accounting, time.counting) == ("00:21:33", "drop-frame")


def test_worked_example_whole_second_outward() -> None:
    """21:33 of the same cut: three seconds over 21:30."""
    time = programme_time(ACTS, CLOCK, "whole-second outward", "inclusive")
    assert [(act.som, act.eom) for act in time.acts] == [(row[0], row[2]) for row in SHEET]
    assert [(act.duration, act.frames) for act in time.acts] == [(row[5], row[4]) for row in SHEET]
    assert (time.trt, time.trt_frames) == ("00:21:33", 38_660)
    assert time.trt_counted_frames == Duration("00:21:33;00").frames(NTSC)
    assert time.trt_other_accounting == "00:21:29;28"


def test_length_does_not_depend_on_how_eom_is_written() -> None:
    """Inclusive EOM is one frame less as a label, never as a length."""
    exclusive = programme_time(ACTS, CLOCK, "whole-second outward", "exclusive")
    inclusive = programme_time(ACTS, CLOCK, "whole-second outward", "inclusive")
    assert [act.duration for act in exclusive.acts] == [act.duration for act in inclusive.acts]
    assert [act.eom for act in exclusive.acts] != [act.eom for act in inclusive.acts]


def test_an_act_on_whole_seconds_is_the_same_by_both_rules() -> None:
    """Edges on ;00 round to themselves, and so does the first label of a minute, which is ;02 (ST 12-1)."""
    first, end = DROP.frame("01:01:00;02") - START, DROP.frame("01:03:00;02") - START
    time = programme_time([Act(1, Span(first, end))], CLOCK, "whole-second outward", "exclusive")
    assert time.trt == "00:02:00"
    plain = programme_time(
        [Act(1, Span(0, 32_250))], Clock(Fraction(25), Counting(25), 900_000), "frame-exact", "exclusive"
    )
    assert (plain.trt, plain.trt_other_accounting) == ("00:21:30:00", "")


def test_one_frame_touches_one_second_and_two_frames_may_touch_two() -> None:
    """The outward rule at its smallest."""
    clock = Clock(Fraction(25), Counting(25), 0)
    seconds = [
        programme_time([Act(1, span)], clock, "whole-second outward", "exclusive").trt
        for span in (Span(10, 11), Span(24, 26), Span(25, 50), Span(7, 7))
    ]
    assert seconds == ["00:00:01", "00:00:02", "00:00:01", "00:00:00"]


def test_an_act_across_midnight() -> None:
    """Labels wrap, lengths do not."""
    clock = Clock(NTSC, DROP, DROP.frame("23:59:30;00"))
    for accounting in ("frame-exact", "whole-second outward"):
        time = programme_time([Act(1, Span(0, 1800))], clock, accounting, "exclusive")
        assert time.acts[0].eom == "00:00:30;00"
        assert time.trt.startswith("00:01:00")


def test_without_timecode_places_are_elapsed_time() -> None:
    """No label is invented for a file that carries none."""
    time = programme_time([Act(1, Span(25, 50))], Clock(Fraction(25), Counting(25), None), "frame-exact", "exclusive")
    assert (time.acts[0].som, time.acts[0].eom, time.trt) == ("0:00:01.000", "0:00:02.000", "00:00:01:00")


def test_no_acts_have_no_length() -> None:
    """Nothing found: zero frames, so that a judge must look at the acts first."""
    assert programme_time([], CLOCK, "whole-second outward", "exclusive").trt_frames == 0


def test_an_unknown_convention_is_refused() -> None:
    """There is no silent default."""
    with pytest.raises(ValueError, match="accounting"):
        programme_time(ACTS, CLOCK, "about", "exclusive")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="EOM"):
        programme_time(ACTS, CLOCK, "frame-exact", "")  # type: ignore[arg-type]


@given(
    lengths=st.lists(st.integers(1, 20_000), min_size=1, max_size=6),
    start=st.integers(0, 2_589_407),
    gap=st.integers(0, 400),
)
def test_outward_seconds_cover_each_act_by_less_than_two_seconds(lengths: list[int], start: int, gap: int) -> None:
    """Whatever the acts: outward never shortens, and adds under two seconds of label an act.

    In frames an act may gain up to two more than that, where a dropped number falls outside it.
    """
    acts, at = [], 0
    for number, length in enumerate(lengths, start=1):
        acts.append(Act(number, Span(at, at + length)))
        at += length + gap
    time = programme_time(acts, Clock(NTSC, DROP, start), "whole-second outward", "exclusive")
    for act in time.acts:
        assert -2 <= act.counted_frames - act.frames < 62
