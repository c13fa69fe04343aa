"""Remedies: right amounts, one clear sentence each. All by arithmetic."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.judge.limits import Bounds, weigh
from qc.remedy import flags
from qc.remedy.acts import ActLengths, change_act, change_programme, change_seconds
from qc.remedy.breaks import change_break, change_edge, clean_break, put_in_break, stray_black
from qc.remedy.exports import one_of, re_export, re_wrap
from qc.remedy.fix import Window
from qc.remedy.gain import Ceiling, change_gain, lower_peaks
from qc.timing.timecode import Counting

DROP = Counting(30, drop=True)
NONE = Ceiling(None, None)


def test_gain_with_peaks_in_the_way() -> None:
    """-23.9 to -23.0 +/- 0.5 with peaks at -2.2 under a ceiling of -2.0."""
    fix = change_gain("mix", -23.9, -23.5, -22.5, -23.0, Ceiling(-2.0, -2.2, lambda gain: ((), 3)))
    assert fix.sentence == (
        "Raise the mix 0.9 dB (window +0.4 to +1.4 dB); true peak becomes -1.3 dBTP, limit -2.0: "
        "hold 0.7 dB of peaks first (3 places)."
    )
    assert fix.after == {"integrated": -23.0, "true_peak_dbtp": -1.3, "peaks_over_db": 0.7, "peaks_to_hold": 3.0}


def test_gain_with_nothing_in_the_way() -> None:
    """A mix that is lowered cannot hit its ceiling."""
    fix = change_gain("mix", -21.0, -26.0, -22.0, -24.0, Ceiling(-2.0, -1.5))
    assert fix.sentence == (
        "Lower the mix 3.0 dB (window -5.0 to -1.0 dB); true peak becomes -4.5 dBTP, limit -2.0: "
        "no peak stands in the way."
    )
    assert fix.amount == -3.0


def test_gain_without_a_ceiling_says_nothing_of_one() -> None:
    """Where the outlet judges no peak, the new peak is told without a limit; without peaks nothing is."""
    assert change_gain("mix", -25.0, -24.0, None, None, NONE).sentence == "Raise the mix 1.0 dB (at least +1.0 dB)."
    told = change_gain("mix", -22.0, None, -23.0, None, Ceiling(None, -1.0)).sentence
    assert told == "Lower the mix 1.0 dB (at most -1.0 dB); true peak becomes -2.0 dBTP."


@given(
    measured=st.floats(-40, -10).map(lambda value: round(value, 4)),
    low=st.floats(-28, -24).map(lambda value: round(value, 1)),
    width=st.floats(0.2, 5).map(lambda value: round(value, 1)),
    target=st.booleans(),
)
def test_the_gain_always_ends_inside(measured: float, low: float, width: float, target: bool) -> None:
    """Whatever was measured: after the gain, on the meter, the limit is met."""
    bounds = Bounds(low, round(low + width, 1), "")
    if weigh(measured, bounds, meter=True).inside:
        return
    aim = round(low + width / 2, 1) if target else None
    fix = change_gain("mix", measured, bounds.low, bounds.high, aim, NONE)
    assert fix.amount is not None
    assert weigh(measured + fix.amount, bounds, meter=True).inside


def test_peaks_held_or_the_mix_lowered() -> None:
    """0.6 dB over: the whole mix may come down only if its loudness has the room."""
    with_room = lower_peaks("mix", -1.4, -2.0, 3, -1.2)
    assert with_room.sentence == (
        "Hold these 3 peaks of the mix by up to 0.6 dB, or lower the whole mix 0.6 dB: its loudness allows 1.2 dB."
    )
    without = lower_peaks("mix", -1.4, -2.0, 1, -0.2)
    assert without.sentence == (
        "Hold this peak of the mix by up to 0.6 dB; lowering the whole mix is no way out, its loudness allows 0.2 dB."
    )
    assert lower_peaks("mix", -1.4, -2.0, 1, None).sentence == "Hold this peak of the mix by up to 0.6 dB."
    assert with_room.after == {"true_peak_dbtp": -2.0, "peaks_to_hold": 3.0}


def test_an_act_over_and_who_has_room() -> None:
    """14 s over at 29.97 drop-frame; the act with most room first, acts without limit not named."""
    others = [ActLengths(1, 11_000, None, 11_270), ActLengths(2, 9_000), ActLengths(4, 7_000, None, 7_630)]
    fix = change_act(ActLengths(3, 12_620, None, 12_200), 420, others, DROP)
    assert fix.sentence == (
        "Act 3 is 00:00:14;00 (420 frames) over: take it out, or move it to a neighbour: "
        "act 4 has 00:00:21;00 of room, act 1 has 00:00:09;00 of room."
    )
    assert (fix.action, fix.amount, fix.unit) == ("shorten", -420, "frames")


def test_an_act_under_takes_from_those_that_can_give() -> None:
    """Room downwards is measured against the shortest accepted length."""
    fix = change_act(ActLengths(2, 99, 100, None), -1, [ActLengths(1, 150, 120, None)], DROP)
    assert fix.sentence == (
        "Act 2 is 00:00:00;01 (1 frame) under: add it, or move it from a neighbour: act 1 can give 00:00:01;00."
    )


def test_the_programme_over_and_under() -> None:
    """By frames and by whole seconds per act."""
    assert (
        change_programme(2, 38_664, [], DROP).sentence == "The programme is 00:00:00;02 (2 frames) over: take it out."
    )
    under = change_programme(-2, 38_660, [ActLengths(4, 7_000, None, 7_630)], DROP)
    assert under.sentence == "The programme is 00:00:00;02 (2 frames) under: add it; act 4 has 00:00:21;00 of room."
    assert under.after == {"trt_frames": 38_662.0}
    assert "1 second over: take out 1 second," in change_seconds(1, "00:21:31").sentence
    assert "3 seconds under: add 3 seconds," in change_seconds(-3, "00:21:27").sentence


def test_breaks_in_frames() -> None:
    """Plus and minus; one frame is one frame."""
    assert change_break(2, 29, -1).sentence == "Lengthen the black of break 2 by 1 frame, from 29 to 30."
    assert change_break(2, 450, 150).sentence == "Shorten the black of break 2 by 150 frames, from 450 to 300."
    assert change_edge("tail", 0, -150).sentence == "Lengthen the tail by 150 frames, from 0 to 150."
    assert "breaks 1, 3 of 300 frames of black" in put_in_break((1, 3), 300).sentence
    assert clean_break(1, True, False).sentence == "Make break 1 black from its first frame to its last."
    assert clean_break(1, True, True).sentence == "Make break 1 black and silent from its first frame to its last."
    assert stray_black(3, "act 2").sentence == "Close the gap: replace the 3 black frames at act 2 with picture."


@pytest.mark.parametrize(
    "fix",
    [
        flags.start_timecode("00:59:00;00", "01:00:00;00"),
        flags.counting("drop-frame", 38),
        flags.field_order("interlaced, top first"),
        flags.colour("BT.709"),
        flags.rotation(0),
        flags.aperture(),
        flags.valid_label("tag"),
        flags.agree("01:00:00;00"),
    ],
    ids=lambda fix: fix.sentence[:30],
)
def test_a_flag_needs_no_encode(fix) -> None:  # type: ignore[no-untyped-def]
    """Each says so, as one instruction that ends in a full stop."""
    assert fix.action == "re-flag" and fix.amount is None
    assert "re-flag" in fix.sentence.lower() and fix.sentence.endswith(".")


def test_exports() -> None:
    """A new export, or only a new wrapper."""
    assert re_export("codec ProRes").sentence == "Re-export with codec ProRes."
    assert re_wrap("MXF OP1a").action == "re-wrap"
    assert [one_of(["a"]), one_of(["a", "b"]), one_of([1, 2, 3])] == ["a", "a or b", "1, 2 or 3"]


def test_a_choice_of_lengths_is_told() -> None:
    """40 s with a tolerance of 1 s at 25 frames a second: 1000 frames, from 975 to 1025 are accepted."""
    pal = Counting(25)
    under = change_programme(-300, 700, [], pal, (975, 1025))
    assert under.sentence == "The programme is 00:00:12:00 (300 frames) under: add it (275 to 325 frames fit)."
    assert under.window == Window(275.0, 325.0)
    over = change_act(ActLengths(1, 1100, 975, 1025), 100, [], pal)
    assert over.sentence == "Act 1 is 00:00:04:00 (100 frames) over: take it out (75 to 125 frames fit)."
    assert over.window == Window(-125.0, -75.0)
    assert change_programme(-300, 700, [], pal, (1000, 1000)).window is None
