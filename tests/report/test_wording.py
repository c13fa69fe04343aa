"""Figures, limits and places in words: units on both sides, nothing told twice."""

from __future__ import annotations

import pytest

from qc.report.wording import limit, measured, place_details
from tests.kit import verdicts


@pytest.mark.parametrize(
    ("figure", "asked", "unit", "words"),
    [
        ("25", "30000/1001", "frames/s", ("25 frames/s", "30000/1001 frames/s")),
        (2, "8", "channels", ("2 channels", "8 channels")),
        (2, "1", "channels", ("2 channels", "1 channel")),
        (8, "10 or 12", "bit", ("8 bit", "10 or 12 bit")),
        (3, "at most 1 frame", "frames", ("3 frames", "at most 1 frame")),
        (-1.4, "at most -2.0 dBTP", "dBTP", ("-1.40 dBTP", "at most -2.0 dBTP")),
        (-23.6, "-24.0 LKFS +/- 2.0", "LKFS", ("-23.60 LKFS", "-24.0 LKFS +/- 2.0")),
        ("silent", "at least -60.0 dBFS", "dBFS", ("silent", "at least -60.0 dBFS")),
        ("00:07:02;09", "at most 00:06:48;00", "frames", ("00:07:02;09", "at most 00:06:48;00")),
        ("16:9", "4:3", "", ("16:9", "4:3")),
        (7, "fewer than 7 changes in any second", "changes", ("7 changes", "fewer than 7 changes in any second")),
    ],
)
def test_units_stand_on_both_sides(figure, asked, unit, words):
    finding = verdicts.finding(measured=figure, limit=asked, unit=unit)
    assert (measured(finding), limit(finding)) == words


@pytest.mark.parametrize(
    ("frames", "value", "unit", "note", "told"),
    [
        (26, 26.0, "frames", "picture stops for 26 frames", ["picture stops for 26 frames"]),
        (1, 1.0, "frames", "1 frame of another picture", ["1 frame of another picture"]),
        (26, 26.0, "frames", "", ["26 frames"]),
        (26, 3.0, "frames", "126 frames in all", ["26 frames", "3 frames", "126 frames in all"]),
        (70, 100.0, "%", "100 % of the screen", ["70 frames", "100 % of the screen"]),
        (70, 27.46, "%", "27 % of the screen", ["70 frames", "27.46 %", "27 % of the screen"]),
        (1, -1.4, "dBTP", "", ["-1.40 dBTP"]),
    ],
)
def test_a_place_says_no_figure_twice(frames, value, unit, note, told):
    """Its length, its value and its note may be one figure; another figure with the same digits in it is not."""
    details = place_details(verdicts.place(199, frames, value=value, note=note), unit)
    offset = f"{verdicts.CLOCK.offset(199)} from the first frame"
    assert sorted(details) == sorted(("frame 199", offset, *told))
