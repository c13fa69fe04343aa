"""Acts and breaks together by either accounting: what traffic adds up."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.programme.accounting import programme_time
from qc.programme.slot import slot_time
from qc.programme.structure import Act
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting

NTSC = Fraction(30000, 1001)
DROP = Counting(30, drop=True)
START = DROP.frame("01:00:00;00")
CLOCK = Clock(NTSC, DROP, START)
PAL = Clock(Fraction(25), Counting(25), Counting(25).frame("10:00:00:00"))

#: The worked example of the accounting: SOM and EOM (exclusive) of four acts, ten seconds of break between them.
ACTS = [
    Act(number, Span(DROP.frame(som) - START, DROP.frame(eom) - START))
    for number, (som, eom) in enumerate(
        [
            ("01:00:00;00", "01:06:10;14"),
            ("01:06:20;14", "01:12:02;03"),
            ("01:12:12;03", "01:17:29;25"),
            ("01:17:39;25", "01:21:59;28"),
        ],
        1,
    )
]


def test_worked_example_whole_second_outward() -> None:
    """TRT 21:33 and three breaks of 9 s fill the 22 minutes from 01:00:00 to 01:22:00.

    By hand from the labels: acts reach from :00 to 06:11, 06:20 to 12:03, 12:12 to 17:30, 17:39 to 22:00. The rule is
    common practice, no source; labels by SMPTE ST 12-1.
    """
    slot = slot_time(ACTS, CLOCK, "whole-second outward")

    assert slot.breaks == ("00:00:09",) * 3
    assert (slot.breaks_total, slot.total) == ("00:00:27", "00:22:00")
    assert (slot.breaks_frames, slot.total_frames, slot.overlap) == (900, 39_560, 0)


def test_worked_example_frame_exact() -> None:
    """38,660 frames of acts and 900 of breaks are 39,560 frames, 00:22:00;00 by the arithmetic of SMPTE ST 12-1."""
    slot = slot_time(ACTS, CLOCK, "frame-exact")

    assert slot.breaks == ("00:00:10;00",) * 3
    assert (slot.breaks_total, slot.breaks_frames) == ("00:00:30;00", 900)
    assert slot.total_frames == 38_660 + 900 == DROP.length("00:22:00;00")


def test_breaks_of_under_a_second_are_told_as_an_overlap() -> None:
    """Acts counted outward share the second that a break of one frame lies in: no break of minus one second."""
    acts = [Act(1, Span(0, 40)), Act(2, Span(41, 75))]  # 0 to 2 s, 1 to 3 s
    slot = slot_time(acts, PAL, "whole-second outward")

    assert (slot.breaks, slot.breaks_total, slot.total, slot.overlap) == (("00:00:00",), "00:00:00", "00:00:03", 1)


def test_one_part_has_no_break_and_no_act_no_slot() -> None:
    """A single part is its own slot; without acts there is nothing to add."""
    one = slot_time([Act(1, Span(750, 1500))], PAL, "frame-exact")

    assert (one.breaks, one.breaks_frames, one.total, one.total_frames) == ((), 0, "00:00:30:00", 750)
    assert slot_time([], PAL, "frame-exact").total == ""


@settings(max_examples=100, deadline=None, derandomize=True)
@given(
    lengths=st.lists(st.tuples(st.integers(1, 20_000), st.integers(0, 2_000)), min_size=1, max_size=6),
    first=st.integers(0, 5_000),
    clock=st.sampled_from([CLOCK, PAL]),
    accounting=st.sampled_from(["frame-exact", "whole-second outward"]),
)
def test_acts_and_breaks_fill_the_slot(lengths, first, clock, accounting) -> None:
    """By either rule TRT and breaks make the slot, less what the acts share; frames always add up."""
    acts, at = [], first
    for number, (act, gap) in enumerate(lengths, 1):
        acts.append(Act(number, Span(at, at + act)))
        at += act + gap
    slot, time = slot_time(acts, clock, accounting), programme_time(acts, clock, accounting, "exclusive")

    assert time.trt_frames + slot.breaks_frames == slot.total_frames == acts[-1].span.end - first
    if accounting == "whole-second outward":
        assert _seconds(time.trt) + _seconds(slot.breaks_total) - slot.overlap == _seconds(slot.total)


def _seconds(text: str) -> int:
    hours, minutes, seconds = (int(part) for part in text.split(":"))
    return 3600 * hours + 60 * minutes + seconds


@pytest.mark.parametrize("counting", [CLOCK, PAL])
def test_a_file_without_timecode_counts_from_nought(counting: Clock) -> None:
    """Elapsed time stands in for labels: the same as a file that starts at 00:00:00:00."""
    acts = [Act(1, Span(10, 400)), Act(2, Span(700, 1000))]
    without = slot_time(acts, Clock(counting.rate, counting.counting, None), "whole-second outward")

    assert without == slot_time(acts, Clock(counting.rate, counting.counting, 0), "whole-second outward")
