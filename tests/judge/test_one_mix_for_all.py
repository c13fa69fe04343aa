"""One level of the mix for all outlets of a run: where it lies, what it leaves, and why there is none.

The windows are arithmetic: a gain of g dB shifts loudness and peaks by g dB (ITU-R BS.1770-5, Annex 1 and 2).
"""

from __future__ import annotations

import pytest

from qc.judge.mix import OneMix
from qc.judge.together import judge_together
from qc.measurement.record import Measurement
from tests.kit.made import FOUR_ACTS, Part, facts, four_acts, measurement, put_peak, sound_stream
from tests.kit.outlets import MIXES, all_six, mix_outlet, outlet


def solved(made: Measurement, profiles) -> OneMix:  # type: ignore[no-untyped-def]
    found = judge_together(made, profiles).one_mix
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("lufs", "low", "high", "gain"),
    [
        (-23.3, -0.2, 0.3, 0.0),
        (-24.0, 0.5, 1.0, 0.7),
        (-22.0, -1.5, -1.0, -1.2),
        (-23.5, 0.0, 0.5, 0.0),
        (-23.0, -0.5, 0.0, 0.0),
    ],
)
def test_one_mix_serves_all_six(lufs: float, low: float, high: float, gain: float) -> None:
    """Invented example of the demo's outlets: -23.5 to -23.0 with peaks at -3 dBTP or lower serves all six.

    -25..-23 (KERRAWIND) narrows -23.5..-22.5 (VELMARK, TIDEWOLD) to -23.5..-23.0, which -28..-23 (HOSHINAMI) and
    -26..-22 (CORVANE, MEADOWLINE) hold; so a mix at -23.3 is served with gains from -0.2 to +0.3 dB. A gain that has to
    be made leaves 0.2 dB to both ends.
    """
    found = solved(measurement(four_acts(lufs=lufs, peak=-9.0)), all_six(FOUR_ACTS))
    assert (found.serves, found.low, found.high, found.gain) == (True, low, high, gain)
    assert found.outlets == tuple(MIXES) and found.group == (1, 2) and found.ceiling == -3.0
    assert found.loudness == pytest.approx(lufs + gain, abs=0.01)
    assert found.peaks == 0 and found.conflicts == ()
    assert "right for all six outlets" in found.sentence and "no peak is over any ceiling" in found.sentence


def test_the_advice_in_the_words_of_a_colleague() -> None:
    """Three peaks stand over the lowest ceiling after the gain; outlets with a higher one are not named for them."""
    made = measurement(four_acts(lufs=-24.0, peak=-9.0))
    for row in (900, 3000, 6000):
        put_peak(made, 1, row, -3.2)
    found = solved(made, all_six(FOUR_ACTS))
    assert found.sentence == (
        "Raise the mix 0.7 dB (window +0.5 to +1.0 dB): then its loudness (-23.3 LUFS) is right for all six outlets; "
        "TIDEWOLD ONE still has 3 peaks over -3.0 dBTP."
    )
    assert (found.gain, found.peaks) == (0.7, 3)


@pytest.mark.parametrize(
    ("lufs", "first", "second", "gain"),
    [
        (-25.1, (-24.0, 2.0), (-23.0, 1.0), 1.3),  # accepted from -24.0 to -22.0: nearest to the mix with the room
        (-25.1, (-23.0, 1.0), (-23.0, 2.0), 2.1),  # one target for both: on it
        (-25.06, (-24.0, 2.0), (-23.0, 1.0), 1.3),  # a meter shows -25.1; the room counts before rounding
        (-25.0, (-24.0, 0.6), (-23.0, 0.6), 1.5),  # -23.6 to -23.4 is too narrow for it: the middle
        (-25.0, (-24.0, 0.7), (-23.0, 0.6), 1.5),  # -23.6 to -23.3: of the two in the middle the one nearer to the mix
        (-21.0, (-24.0, 0.7), (-23.0, 0.6), -2.4),
        (-23.9, (-24.0, 2.0), (-23.0, 1.0), 0.0),  # right as it is: nobody has to make it again
    ],
)
def test_the_advice_leaves_room_for_other_meters(
    lufs: float, first: tuple[float, float], second: tuple[float, float], gain: float
) -> None:
    """EBU R 128 v5 (2023) reckons with 0.2 LU between meters: a mix that is made to the very edge is refused by one."""
    profiles = [
        outlet(name, loudness={"programme": {"target": target, "tolerance": spread, "unit": "LUFS"}})
        for name, (target, spread) in {"CORVANE 5": first, "VELMARK KANAL": second}.items()
    ]
    found = solved(measurement([Part(900, lufs=lufs, peak=-9.0)]), profiles)
    assert (found.serves, found.gain) == (True, gain)


def test_a_mix_at_the_edge_is_left_and_the_room_is_told() -> None:
    """-23.5 passes everywhere as it is; 0.2 dB more is 0.2 from -23.5 and 0.3 from -23.0."""
    found = solved(measurement(four_acts(lufs=-23.5, peak=-9.0)), all_six(FOUR_ACTS))
    assert found.gain == 0.0
    assert found.sentence == (
        "Leave the level of the mix (window 0.0 to +0.5 dB): its loudness (-23.5 LUFS) is right for all six outlets; "
        "no peak is over any ceiling; at +0.2 dB its loudness is clear of every limit."
    )


def test_a_lower_level_that_frees_the_peaks_is_told() -> None:
    """-23.1 is right for all; at -0.2 dB the peaks at -2.8 are at -3.0 too, and -23.3 is right for all as well."""
    made = measurement(four_acts(lufs=-23.1, peak=-9.0))
    put_peak(made, 2, 3000, -2.8)
    found = solved(made, all_six(FOUR_ACTS))
    assert found.sentence == (
        "Leave the level of the mix (window -0.4 to +0.1 dB): its loudness (-23.1 LUFS) is right for all six outlets; "
        "TIDEWOLD ONE has 1 peak over -3.0 dBTP; at -0.2 dB no peak is over any ceiling."
    )


def test_two_tight_targets_exclude_each_other() -> None:
    """-24 +/- 0.4 and -23 +/- 0.5 (invented) have no level in common; both are named, and who goes alone."""
    tight = {"programme": {"target": -24.0, "tolerance": 0.4, "unit": "LKFS"}}
    profiles = [
        mix_outlet("VELMARK KANAL"),
        mix_outlet("TIDEWOLD ONE"),
        outlet("CORVANE 5", structure={"parts": {"accept": ["single"]}}, loudness=tight),
    ]
    found = solved(measurement([Part(900, lufs=-23.9, peak=-9.0)]), profiles)
    assert (found.serves, found.gain, found.low, found.high, found.loudness) == (False, None, None, None, None)
    assert found.conflicts == (
        "VELMARK KANAL asks for -23.5 to -22.5 LUFS, CORVANE 5 for -24.4 to -23.6 LKFS",
        "TIDEWOLD ONE asks for -23.5 to -22.5 LUFS, CORVANE 5 for -24.4 to -23.6 LKFS",
    )
    assert found.sentence.startswith(f"No one level is right for all three outlets: {found.conflicts[0]}; ")
    assert found.sentence.endswith(
        ". Raise the mix 0.9 dB: then its loudness (-23.0 LUFS) is right for two of three; "
        "no peak is over any ceiling; CORVANE 5 needs a mix of its own."
    )


def test_an_act_may_be_what_excludes() -> None:
    """The programme would do at -23.5, but an act at -22.1 may go up by 0.1 dB only: told with act and figures."""
    parts = four_acts(lufs=-24.6, peak=-9.0)
    parts[0] = Part(400, lufs=-22.1, peak=-9.0)
    found = solved(measurement(parts), [mix_outlet("CORVANE 5", FOUR_ACTS), mix_outlet("VELMARK KANAL", FOUR_ACTS)])
    assert not found.serves and len(found.conflicts) == 1
    assert found.conflicts[0].startswith("VELMARK KANAL needs at least +0.7 dB for programme (-24.2, asked for ")
    assert found.conflicts[0].endswith(
        "CORVANE 5 takes at most +0.1 dB for act 1 (-22.1, asked for -26.0 to -22.0 LKFS)"
    )


def test_an_outlet_that_no_gain_serves_is_told_by_itself() -> None:
    """Acts 6 LU apart cannot both lie within -26 to -22."""
    parts = four_acts(lufs=-24.0, peak=-9.0)
    parts[2] = Part(1024, lufs=-30.0, peak=-9.0)
    found = solved(measurement(parts), [mix_outlet("CORVANE 5", FOUR_ACTS), mix_outlet("KERRAWIND", FOUR_ACTS)])
    assert found.conflicts == (
        "CORVANE 5 by itself: act 2 (-30.0 LKFS) needs at least +4.0 dB, act 1 (-24.0 LKFS) takes at most +2.0 dB",
    )
    assert "is right for one of two" in found.sentence and "CORVANE 5 needs a mix of its own" in found.sentence


def test_outlets_that_judge_other_channels_are_not_mixed_in() -> None:
    """Two judge channels 1 and 2, one judges 3 and 4: it is named as not counted."""
    other = mix_outlet("HOSHINAMI NET", audio={"group": [{"name": "mix", "channels": [3, 4], "layout": "stereo"}]})
    header = facts(sounds=tuple(sound_stream(index) for index in range(1, 5)))
    made = measurement([Part(900, lufs=-23.3, peak=-9.0)], header)
    assert made.sound is not None
    made.sound.energy[:, 2:] = made.sound.energy[:, :2]
    found = solved(made, [mix_outlet("CORVANE 5"), other, mix_outlet("KERRAWIND")])
    assert found.outlets == ("CORVANE 5", "KERRAWIND")
    assert found.sentence.endswith("HOSHINAMI NET is not counted: other channels are judged there.")


@pytest.mark.parametrize("part", [Part(900, lufs=None), Part(900)], ids=["silent", "one outlet"])
def test_no_advice_without_two_outlets_or_without_sound(part: Part) -> None:
    """One outlet has its own fix; silence has no level (ITU-R BS.1770-5, Annex 1: no block passes the gate)."""
    profiles = all_six() if part.lufs is None else [mix_outlet("CORVANE 5")]
    assert judge_together(measurement([part]), profiles).one_mix is None
