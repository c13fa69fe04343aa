"""Written lengths of time: the forms that exist, and the frames they come to."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.timing.durations import Duration, DurationError
from qc.timing.timecode import TimecodeError
from tests.timing.test_timecode import _rows

NTSC, FILM = Fraction(30000, 1001), Fraction(24000, 1001)


@pytest.mark.parametrize("row", _rows("lengths.csv"), ids=lambda row: row["label"])
def test_lengths_of_half_hour_programmes(row: dict[str, str]) -> None:
    """Common programme lengths in each counting; at 29.97 the two countings lie 38 to 52 frames apart."""
    assert Duration(f"{row['label']};00").frames(NTSC) == int(row["drop_30"])
    assert Duration(f"{row['label']}:00").frames(NTSC) == int(row["nondrop_30"])
    assert Duration(f"{row['label']}:00").frames(Fraction(25)) == int(row["base_25"])
    assert Duration(f"{row['label']}:00").frames(FILM) == int(row["base_24"])


@pytest.mark.parametrize(
    ("text", "rate", "frames"),
    [
        ("38662 frames", NTSC, 38662),
        ("1 frame", NTSC, 1),
        ("0 frames", NTSC, 0),
        ("2 s", NTSC, 60),
        ("2s", Fraction(25), 50),
        ("10 s", NTSC, 300),
        ("250 ms", Fraction(25), 6),  # 6.25
        ("500 ms", Fraction(25), 13),  # 12.5: halves go up
        ("1.5 s", Fraction(24), 36),
        ("00:00:00:00", Fraction(25), 0),
        ("00:00:01;00", Fraction(60000, 1001), 60),
    ],
)
def test_counted_forms(text: str, rate: Fraction, frames: int) -> None:
    """Frames, seconds and milliseconds, to the nearest frame."""
    assert Duration(text).frames(rate) == frames


@pytest.mark.parametrize(
    "text",
    [
        "",
        "21:30",
        "2",
        "2,5 s",
        "-2 s",
        "+2 s",
        "1e3 s",
        "nan s",
        "inf s",
        "2 sec",
        "2 m",
        "1.5 frames",
        "1:00:00:00",
        "00:60:00:00",
        "00:00:60:00",
        "24:00:00:00",
        "00:21:30.00",
        " 2 s",
        "2 s\n",
        "٢ s",
        "9" * 10 + " s",
        "1." + "0" * 7 + " s",
        "2" + " " * 1000 + "s",
        "9" * 100_000,
    ],
    ids=range(24),
)
def test_anything_else_is_refused(text: str) -> None:
    """Bare numbers, other units, signs, other scripts and endless digits are no lengths; the message stays short."""
    with pytest.raises(DurationError) as caught:
        Duration(text)
    assert len(str(caught.value)) < 200


@pytest.mark.parametrize(("text", "rate"), [("00:21:30;00", Fraction(25)), ("00:21:30;00", Fraction(30)),
                                            ("00:21:30;00", FILM), ("00:00:00:25", Fraction(25))])  # fmt: skip
def test_a_length_that_the_rate_cannot_have(text: str, rate: Fraction) -> None:
    """Drop-frame lengths exist at 30000/1001 and 60000/1001 only (SMPTE ST 12-1), and frame 25 of 25 nowhere."""
    with pytest.raises(TimecodeError):
        Duration(text).frames(rate)


@given(st.text(max_size=40))
def test_any_text_is_a_length_or_a_clear_error(text: str) -> None:
    """Whatever is typed: frames, or an error made for the user."""
    try:
        assert Duration(text).frames(NTSC) >= 0
    except (DurationError, TimecodeError) as error:
        assert str(error)
