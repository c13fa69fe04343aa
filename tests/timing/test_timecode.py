"""Timecode labels against the published rule and two independent packages."""

from __future__ import annotations

import csv
from fractions import Fraction
from pathlib import Path

import numpy as np
import opentimelineio.opentime as otio
import pytest
import timecode
from hypothesis import given
from hypothesis import strategies as st

from qc.timing.timecode import Clock, Counting, TimecodeError, elapsed

NTSC = Fraction(30000, 1001)
DROP_30, DROP_60 = Counting(30, True), Counting(60, True)
COUNTINGS = [DROP_30, DROP_60, Counting(24), Counting(25), Counting(30), Counting(50), Counting(60)]


def _rows(name: str) -> list[dict[str, str]]:
    text = (Path(__file__).parent.parent / "vectors" / name).read_text(encoding="utf-8")
    return list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))


@pytest.mark.parametrize("row", _rows("st-12-1.csv"), ids=lambda row: f"{row['base']}{row['drop']}{row['frame']}")
def test_check_table_both_ways(row: dict[str, str]) -> None:
    """Every row of the check table, frame to label and label to frame (SMPTE ST 12-1)."""
    counting = Counting(int(row["base"]), row["drop"] == "yes")
    assert counting.label(int(row["frame"])) == row["label"]
    assert counting.frame(row["label"]) == int(row["frame"])


def _legal_labels(base: int, drop: bool) -> np.ndarray:
    """Every label of a day as the number HHMMSSFF, straight from the wording of the rule.

    SMPTE ST 12-1: numbers 0 and 1 (0 to 3 when counting to 60) are left out at the start of every
    minute except minutes 0, 10, 20, 30, 40 and 50. No arithmetic is shared with the code under test.
    """
    hour, minute, second, frame = np.meshgrid(
        np.arange(24), np.arange(60), np.arange(60), np.arange(base), indexing="ij", sparse=True
    )
    numbers = hour * 1_000_000 + minute * 10_000 + second * 100 + frame
    left_out = (frame < base // 15) & (second == 0) & (minute % 10 != 0) & drop
    return numbers[np.broadcast_to(~left_out, numbers.shape)]


@pytest.mark.parametrize("counting", COUNTINGS, ids=lambda c: f"{c.base}-{c.name}")
def test_a_day_holds_every_legal_label_once(counting: Counting) -> None:
    """The day's label list has as many entries as frames, and the code walks it in step.

    Both functions are checked at every frame within five of every minute's edge of the day, where
    numbers are dropped, and at every 997th frame (a prime) between; labels elsewhere only count up.
    """
    legal = _legal_labels(counting.base, counting.drop)
    assert len(legal) == counting.frames_per_day
    edges = np.flatnonzero(np.diff(legal // 10_000)) + 1  # first frame of each minute
    assert len(edges) == 24 * 60 - 1
    near = edges[:, None] + np.arange(-5, 6)
    frames = np.unique(np.concatenate([near.ravel(), np.arange(0, len(legal), 997), [0, len(legal) - 1]]))
    separator = ";" if counting.drop else ":"
    for frame, number in zip(frames.tolist(), legal[frames].tolist(), strict=True):
        digits = f"{number:08}"
        label = f"{digits[:2]}:{digits[2:4]}:{digits[4:6]}{separator}{digits[6:]}"
        assert counting.label(frame) == label
        assert counting.frame(label) == frame


def test_one_ten_minute_block_is_bijective_frame_by_frame() -> None:
    """All 17,982 frames of each counting's ten-minute block, no stride; blocks of ten minutes repeat."""
    for counting in (DROP_30, DROP_60):
        block = counting.frames_per_day // 144
        labels = [counting.label(frame) for frame in range(block)]
        assert len(set(labels)) == block
        assert [counting.frame(label) for label in labels] == list(range(block))
        later = counting.label(block * 77 + 4321)
        assert counting.frame(later) == block * 77 + 4321


@pytest.mark.parametrize("counting", COUNTINGS, ids=lambda c: f"{c.base}-{c.name}")
def test_every_frame_of_a_day_is_bijective(counting: Counting) -> None:
    """All frames of a day (2,589,408 at 29.97 drop-frame), no stride: the arithmetic as arrays, against the label list.

    Arrays, because as text five million labels take a minute; the text is what the tests around this one check.
    """
    day = np.arange(counting.frames_per_day)
    hours, minutes, seconds, frames = counting._split(day)  # type: ignore[arg-type]
    assert np.array_equal(
        ((hours * 100 + minutes) * 100 + seconds) * 100 + frames, _legal_labels(counting.base, counting.drop)
    )
    assert np.array_equal(counting._arithmetic(hours, minutes, seconds, frames), day)
    assert not np.any((frames < counting._dropped) & (seconds == 0) & (minutes % 10 != 0))


@given(frame=st.integers(0, 2_589_407))
def test_drop_frame_agrees_with_two_packages(frame: int) -> None:
    """29.97 drop-frame against the packages timecode and opentimelineio."""
    ours = DROP_30.label(frame)
    assert ours == str(timecode.Timecode("29.97", frames=frame + 1))
    assert ours == otio.RationalTime(frame, 30000 / 1001).to_timecode(30000 / 1001, drop_frame=True)
    assert round(otio.from_timecode(ours, 30000 / 1001).value) == DROP_30.frame(ours)


@given(frame=st.integers(0, 5_178_815))
def test_drop_frame_at_59_94_agrees_with_two_packages(frame: int) -> None:
    """59.94 drop-frame against the packages timecode and opentimelineio."""
    ours = DROP_60.label(frame)
    assert ours == str(timecode.Timecode("59.94", frames=frame + 1))
    assert ours == otio.RationalTime(frame, 60000 / 1001).to_timecode(60000 / 1001, drop_frame=True)


@given(rate=st.sampled_from([24, 25, 30]), frame=st.integers(0, 24 * 3600 * 24 - 1))
def test_plain_counting_agrees_with_opentimelineio(rate: int, frame: int) -> None:
    """24, 25 and 30 without dropping against the package opentimelineio."""
    assert Counting(rate).label(frame) == otio.RationalTime(frame, rate).to_timecode(rate, drop_frame=False)


@pytest.mark.parametrize(
    ("counting", "label"),
    [
        (DROP_30, "01:01:00;00"),
        (DROP_30, "01:01:00;01"),
        (DROP_30, "23:59:00;01"),
        (DROP_60, "01:01:00;03"),
        (DROP_30, "01:01:00:02"),  # non-drop mark in a drop-frame count
        (Counting(25), "10:00:00;00"),  # drop-frame does not exist at 25
        (Counting(25), "10:00:00:25"),
        (Counting(24), "10:00:00:24"),
        (Counting(30), "24:00:00:00"),
        (Counting(30), "00:60:00:00"),
        (Counting(30), "00:00:60:00"),
        (Counting(30), "0:00:00:00"),
        (Counting(30), "00:00:00"),
        (Counting(30), "-0:00:00:00"),
        (Counting(30), "00:00:00:00\n"),
        (Counting(30), "٠٠:٠٠:٠٠:٠٠"),  # digits of another script
        (Counting(30), "０1:00:00:00"),
        (Counting(30), "\u00a001:00:00:00"),
        (Counting(30), "01:00:00:00" + " " * 100),
        (Counting(30), ""),
        (Counting(30), "9" * 1_000_000),
    ],
    ids=range(21),
)
def test_illegal_labels_are_refused(counting: Counting, label: str) -> None:
    """Labels that the count skips or cannot have (SMPTE ST 12-1), and text that is no label; messages stay short."""
    with pytest.raises(TimecodeError) as caught:
        counting.frame(label)
    assert len(str(caught.value)) < 300


def test_a_skipped_label_names_the_first_one_of_its_minute() -> None:
    """The remedy for a dropped label says which label that minute starts with."""
    with pytest.raises(TimecodeError, match="first label of that minute is 01:01:00;02"):
        DROP_30.frame("01:01:00;01")


@pytest.mark.parametrize("base", [24, 25, 50])
def test_drop_frame_exists_only_at_29_97_and_59_94(base: int) -> None:
    """24000/1001, 24, 25 and 50 never drop (AS-11; ST 12-1)."""
    with pytest.raises(TimecodeError):
        Counting(base, drop=True)


def test_labels_wrap_at_midnight() -> None:
    """A file that starts at 23:59:30 runs on at 00:00:00."""
    start = DROP_30.frame("23:59:30;00")
    clock = Clock(NTSC, DROP_30, start)
    assert clock.at(899) == "23:59:59;29"
    assert clock.at(900) == "00:00:00;00"
    assert DROP_30.label(-1) == "23:59:59;29"


def test_a_file_without_timecode_is_named_by_elapsed_time() -> None:
    """No label is invented: elapsed time, to the millisecond, from the first frame."""
    clock = Clock(NTSC, Counting(30), None)
    assert clock.at(38_662) == elapsed(38_662, NTSC) == "0:21:30.022"
    assert elapsed(-30, NTSC) == "-0:00:01.001"


def test_seconds_of_a_label() -> None:
    """The whole second that a frame lies in, across a dropped minute."""
    assert DROP_30.second(1799) == 59
    assert DROP_30.second(1800) == 60
    assert DROP_30.second(2_589_407) == 86_399


@pytest.mark.parametrize("rate", [Fraction(1, 4), Fraction(1), Fraction(1000), Fraction(15)])
def test_odd_rates_of_screen_recordings_do_not_stop(rate: Fraction) -> None:
    """Rates that no station asks for still get labels, so that the report can say what is wrong."""
    assert Counting.for_rate(rate).label(0).startswith("00:00:00:0")
