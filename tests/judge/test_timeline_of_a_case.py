"""The timeline of a file: curves against other meters, parts and runs against what was put there, every odd file."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pyebur128
import pytest
import timecode
from hypothesis import given
from hypothesis import strategies as st

from qc.figures import loudness, peaks
from qc.figures.curves import level_steps, loudness_steps, true_peak_steps
from qc.figures.groups import ChannelGroup
from qc.judge.axis import MOST_LABELS, axis_marks
from qc.judge.judging import judge, judge_unreadable
from qc.judge.timeline import Timeline
from qc.measurement.record import Measurement
from qc.outlets.load import LoadedProfile
from qc.selftest.run import series_of
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting
from tests.kit import made
from tests.kit.sound import programme

RATE = 48000
STEREO = ChannelGroup("stereo", (0, 1), (1.0, 1.0))
LIMITS = {
    "loudness": {
        "programme": {"unit": "LKFS", "target": -24.0, "tolerance": 2.0},
        "max_short_term": {"unit": "LKFS", "max": -18.0},
    },
    "true_peak": {"programme": {"unit": "dBTP", "max": -2.0, "tolerance": 0.3}},
}


def seen(measurement: Measurement, profile: LoadedProfile | None = None) -> Timeline:
    timeline = judge(measurement, profile or made.loaded(structure=made.FOUR_ACTS, **LIMITS)).timeline
    assert timeline is not None
    return timeline


def test_short_term_and_momentary_agree_with_libebur128() -> None:
    """Every 100 ms the curves read what libebur128 reads of the 3 s and 400 ms that end there (EBU Tech 3341 v4).

    Their filters are their own; a hundredth of a LU is the rounding of our stored energies.
    """
    samples = programme(7, [-20, -30, None, -24, -18, -40, -26, -22], RATE)
    exact = loudness_steps(series_of(samples, RATE), STEREO, (300, 40), 1)
    assert exact is not None
    mode = pyebur128.MeasurementMode.MODE_S | pyebur128.MeasurementMode.MODE_M
    state = pyebur128.R128State(2, RATE, mode)
    theirs = []
    for block in samples.reshape(-1, RATE // 10, 2):
        state.add_frames(np.ascontiguousarray(block).ravel(), len(block))
        theirs.append((pyebur128.get_loudness_shortterm(state), pyebur128.get_loudness_momentary(state)))
    short, momentary = np.array(theirs).T
    assert exact[0][9::10][29:] == pytest.approx(short[29:], abs=0.01)
    loud = momentary[3:] > -70
    assert loud.sum() > 60
    assert exact[1][9::10][3:][loud] == pytest.approx(momentary[3:][loud], abs=0.01)


def test_a_step_holds_the_highest_window_that_ends_in_it() -> None:
    """The drawing hides no maximum: the curve's highest value is the reading of the whole span, and lies where the
    reading's window ends; the same for true peak. Before the first whole window a value is undefined."""
    sound = series_of(programme(3, [-30, -20, -26, -35, -18, -24], RATE), RATE)
    whole = [Span(0, sound.rows)]
    curves = loudness_steps(sound, STEREO, (300, 40), 10)
    assert curves is not None
    for curve, length, reading in (
        (curves[0], 300, loudness.max_short_term(sound, STEREO, whole)),
        (curves[1], 40, loudness.max_momentary(sound, STEREO, whole)),
    ):
        assert np.isnan(curve[: length // 10 - 1]).all() and not np.isnan(curve[length // 10 - 1 :]).any()
        assert np.nanmax(curve) == pytest.approx(reading.value, abs=1e-4)
        assert int(np.nanargmax(curve)) == (reading.row + length - 1) // 10
    top = true_peak_steps(sound, (0, 1), 10)
    reading = peaks.true_peak(sound, STEREO, whole)
    assert top is not None and float(top.max()) == pytest.approx(reading.value, abs=1e-4)
    assert int(top.argmax()) == reading.row // 10


def test_a_level_reads_the_loudest_10_ms_of_its_channel() -> None:
    """RMS of a full-scale sine is -3.01 dBFS by arithmetic; nothing is -inf; a channel that is not there is None."""
    sine = np.sin(2 * np.pi * 1000 * np.arange(RATE) / RATE)
    sound = series_of(np.stack([sine, 0 * sine], axis=1), RATE)
    level = level_steps(sound, (0,), 10)
    assert level == pytest.approx(np.full(10, -3.0103), abs=1e-3)
    assert np.isneginf(level_steps(sound, (1,), 10)).all()
    assert level_steps(sound, (2,), 10) is None and true_peak_steps(sound, (), 10) is None


def test_parts_tile_the_file_and_black_and_silence_lie_where_they_were_put() -> None:
    """Acts, breaks, head and tail as found, in order and without gaps; runs in frames."""
    made_up = made.measurement(made.four_acts(head=60, tail=45))
    made.put_light(made_up, 500, made.BLACK_CODE)
    made.put_silence(made_up, (1, 2), 700, 800)
    timeline = seen(made_up)
    names = ["head", "act 1", "break 1", "act 2", "break 2", "act 3", "break 3", "act 4", "tail"]
    assert [part.name for part in timeline.parts] == names
    assert timeline.parts[0].span.first == 0 and timeline.parts[-1].span.end == timeline.frames
    assert all(one.span.end == two.span.first for one, two in zip(timeline.parts, timeline.parts[1:], strict=False))
    assert timeline.parts[1].length == "00:00:37;00" and timeline.parts[1].timecode == "01:00:02;00"
    assert Span(500, 501) in timeline.black and Span(60 + 1110, 60 + 1140) in timeline.black
    assert any(run.first in (209, 210) and run.end in (239, 240) for run in timeline.silence)
    assert timeline.no_parts == timeline.no_curves == ""


def test_limits_are_those_of_the_outlet_and_curves_are_shared() -> None:
    """Band, target, highest accepted 3 s and ceiling come from the profile (the tolerance of measurement beside
    the ceiling, EBU R 128); what does not depend on it is worked out once for a measurement."""
    made_up = made.measurement(made.four_acts())
    first, second = seen(made_up), seen(made_up, made.loaded(structure=made.FOUR_ACTS))
    short, peak = first.short_term, first.true_peak
    assert short is not None and peak is not None and second.short_term is not None
    assert (short.unit, short.low, short.target, short.high, short.most) == ("LKFS", -26.0, -24.0, -22.0, -18.0)
    assert (peak.low, peak.high, peak.most) == (None, -2.0, pytest.approx(-1.7))
    assert (second.short_term.low, second.short_term.most, second.short_term.unit) == (None, None, "LUFS")
    assert second.short_term.values is short.values
    other = seen(made.measurement(made.four_acts(lufs=-20.0)))
    assert other.short_term is not None and np.nanmax(other.short_term.values) == pytest.approx(-20.0, abs=0.01)
    assert np.nanmax(short.values) == pytest.approx(-24.0, abs=0.01)


def test_timelines_compare_like_other_records() -> None:
    """Two judgements of one file are equal, arrays with nan included; of two files they are not."""
    made_up = made.measurement(made.four_acts())
    assert seen(made_up) == seen(made_up)
    assert seen(made_up) != seen(made.measurement(made.four_acts(lufs=-20.0)))


def test_silence_is_shown_from_half_a_second_or_from_what_the_outlet_refuses() -> None:
    """A pause of 0.3 s is left out, unless the outlet accepts no more than 6 frames."""
    made_up = made.measurement(made.four_acts())
    made.put_silence(made_up, (1, 2), 700, 730)
    pauses = [run for run in seen(made_up).silence if run.first < 300]
    strict = made.loaded(structure=made.FOUR_ACTS, silence={"inside_acts": {"max": "6 frames"}})
    assert not pauses and [run for run in seen(made_up, strict).silence if run.first < 300]


def test_what_goes_on_without_sound_is_silent() -> None:
    """Sound that ends early: silence to the end of the picture, and the curves end where it ends."""
    made_up = made.measurement(made.four_acts())
    assert made_up.sound is not None
    rows = 6000
    cut = {name: getattr(made_up.sound, name)[:rows] for name in ("energy", "plain", "sample_peak", "true_peak")}
    timeline = seen(replace(made_up, sound=replace(made_up.sound, **cut)))
    assert timeline.silence[-1].end == timeline.frames and timeline.silence[-1].first in (1798, 1799)
    assert timeline.true_peak is not None and len(timeline.true_peak.values) == 600


def _sound_alone() -> Measurement:
    header = made.facts(pictures=(), others=(), timecodes=(), wrapper="WAV")
    return made.measurement([made.Part(300)], header)


def _without_sound() -> Measurement:
    return made.measurement(made.four_acts(), made.facts(sounds=()))


def _one_frame() -> Measurement:
    return made.measurement([made.Part(1)])


def _digital_silence() -> Measurement:
    return made.measurement([made.black(200)])


def _unknown_rate() -> Measurement:
    return made.measurement([made.Part(100)], made.facts(pictures=(made.picture_stream(frame_rate=None),)))


def _incomplete() -> Measurement:
    return replace(made.measurement(made.four_acts()), complete=False, incomplete_because="the file ends early")


ODD = {
    "sound alone": _sound_alone,
    "without sound": _without_sound,
    "one frame": _one_frame,
    "digital silence": _digital_silence,
    "unknown rate": _unknown_rate,
    "incomplete": _incomplete,
}


@pytest.mark.parametrize("name", ODD)
def test_any_file_has_a_timeline(name: str) -> None:
    """Axis from the first frame to the last, parts or the reason why there are none, curves or the reason."""
    timeline = seen(ODD[name](), made.loaded(**LIMITS))
    assert timeline.frames >= 1
    assert timeline.marks[0][0] == 0 and timeline.marks[-1][0] == timeline.frames - 1
    assert bool(timeline.parts) != bool(timeline.no_parts)
    assert (timeline.true_peak is None) == bool(timeline.no_curves)
    assert all(0 <= run.first < run.end <= timeline.frames for run in (*timeline.black, *timeline.silence))


def test_silence_reads_minus_infinity_and_too_little_is_undefined() -> None:
    """Digital silence is a reading without a number; 200 frames hold 3 s, one frame does not."""
    silent, short = seen(_digital_silence(), made.loaded(**LIMITS)), seen(_one_frame(), made.loaded(**LIMITS))
    assert silent.short_term is not None and short.short_term is not None and silent.true_peak is not None
    assert np.isneginf(silent.short_term.values[30:]).all() and np.isneginf(silent.true_peak.values).all()
    assert np.isnan(short.short_term.values).all()
    assert silent.silence == (Span(0, 200),)


def test_black_of_an_incomplete_file_is_shown() -> None:
    """What was decoded is drawn, although no structure can be told from it."""
    assert len(seen(_incomplete()).black) == 3 and "ends early" in seen(_incomplete()).no_parts


def test_a_group_that_the_file_does_not_have_has_no_curve() -> None:
    """A curve of some of its channels would be another figure."""
    group = {"name": "mix", "channels": [2, 3], "layout": "stereo"}
    timeline = seen(made.measurement(made.four_acts()), made.loaded(audio={"group": [group]}, **LIMITS))
    assert timeline.short_term is None and timeline.true_peak is None
    assert timeline.no_curves == "the file has no channel 3"


def test_a_file_that_cannot_be_read_has_no_timeline() -> None:
    """There is nothing to draw."""
    assert judge_unreadable("x.mxf", made.loaded(**LIMITS), "it is empty").timeline is None


RATES = {
    "29.97 drop-frame": (Fraction(30000, 1001), Counting(30, True), "29.97", "01:00:00;00"),
    "29.97": (Fraction(30000, 1001), Counting(30), "29.97", "01:00:00:00"),
    "25": (Fraction(25), Counting(25), "25", "09:59:30:00"),
    "59.94 drop-frame": (Fraction(60000, 1001), Counting(60, True), "59.94", "00:58:20;00"),
}


@pytest.mark.parametrize("name", RATES)
@pytest.mark.parametrize("frames", [2, 40, 1000, 38661, 250_000])
def test_labels_of_the_axis_agree_with_another_library(name: str, frames: int) -> None:
    """Each labelled frame has the timecode that the timecode library counts to it; no axis has too many."""
    rate, counting, named, start = RATES[name]
    marks = axis_marks(Clock(rate, counting, counting.frame(start)), frames)
    assert 2 <= len(marks) <= MOST_LABELS + 2
    for frame, label in marks:
        theirs = timecode.Timecode(named, start, force_non_drop_frame=not counting.drop)
        if frame:
            theirs.add_frames(frame)
        assert str(theirs) == label, frame


def test_labels_fall_on_round_times() -> None:
    """Two minutes apart on a half hour; where drop-frame has no such label, on the first of that minute (ST 12-1)."""
    counting = Counting(30, True)
    labels = [label for _, label in axis_marks(Clock(made.NTSC, counting, counting.frame("01:00:00;00")), 38661)]
    assert labels[:3] == ["01:00:00;00", "01:02:00;02", "01:04:00;02"] and "01:10:00;00" in labels
    assert [label for _, label in axis_marks(Clock(made.PAL, Counting(25), None), 3000)][1] == "0:00:10"


@given(
    frames=st.integers(1, 10_000_000),
    rate=st.sampled_from([Fraction(1, 10), Fraction(24000, 1001), Fraction(25), Fraction(100), Fraction(120)]),
    start=st.one_of(st.none(), st.integers(0, 10_000_000)),
)
def test_an_axis_is_in_order_and_small(frames: int, rate: Fraction, start: int | None) -> None:
    """Any length, any rate, past midnight too: first and last frame labelled, ascending, few."""
    marks = axis_marks(Clock(rate, Counting.for_rate(rate), start), frames)
    places = [frame for frame, _ in marks]
    assert places[0] == 0 and places[-1] == frames - 1
    assert places == sorted(set(places)) and len(places) <= MOST_LABELS + 3
