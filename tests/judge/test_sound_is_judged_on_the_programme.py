"""Loudness, peaks, silence and channels: on the acts joined, per group, with a remedy in numbers."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.verdict import Finding, Outcome, Verdict
from tests.kit.made import (
    FOUR_ACTS,
    NTSC,
    SINGLE,
    Part,
    black,
    event,
    facts,
    four_acts,
    loaded,
    measurement,
    put_peak,
    put_silence,
    sound_stream,
)

EBU = {"target": -23.0, "tolerance": 0.5, "unit": "LUFS"}
ATSC = {"target": -24.0, "tolerance": 2.0, "unit": "LKFS"}
PEAK = {"max": -2.0, "unit": "dBTP"}


def only(verdict: Verdict, requirement: str) -> Finding:
    found = [finding for finding in verdict.findings if finding.requirement == requirement]
    assert len(found) == 1, found
    return found[0]


def of(verdict: Verdict, requirement: str) -> list[Finding]:
    return [finding for finding in verdict.findings if finding.requirement == requirement]


def sound(verdict: Verdict) -> list[Finding]:
    return [finding for finding in verdict.findings if not finding.requirement.startswith("structure.")]


@pytest.mark.parametrize(
    ("lufs", "outcome"),
    [
        (-23.54, Outcome.PASS),
        (-23.56, Outcome.FAIL),
        (-22.46, Outcome.PASS),
        (-22.44, Outcome.FAIL),
        (-23.0, Outcome.PASS),
    ],
)
def test_loudness_just_on_each_side_of_a_limit(lufs: float, outcome: Outcome) -> None:
    """-23.0 +/- 0.5 on the resolution of a meter; BS.1770-5 Annex 1 gives the level made."""
    verdict = judge(measurement(four_acts(lufs=lufs)), loaded(structure=FOUR_ACTS, loudness={"programme": EBU}))
    found = only(verdict, "loudness.programme")
    assert found.outcome is outcome
    assert found.measured == pytest.approx(lufs, abs=0.01)
    assert verdict.outcome is (Outcome.PASS if outcome is Outcome.PASS else Outcome.FAIL)
    assert verdict.measurable


def test_breaks_head_and_tail_are_outside_the_span() -> None:
    """A minute of tone at the head and in the breaks does not lift the reading."""
    tone = {"lufs": -17.0, "light": 16}
    parts = [black(60, **tone), Part(900), black(30, **tone), Part(900), black(60, **tone)]
    profile = loaded(
        structure={"acts": {"exact": 2}, "break_length": {"exact": "30 frames"}}, loudness={"programme": ATSC}
    )
    assert only(judge(measurement(parts), profile), "loudness.programme").measured == pytest.approx(-24.0, abs=0.02)


def test_the_gain_to_target_says_what_the_peaks_do() -> None:
    """Gain, window, true peak after it, and decibels to hold; integrated afterwards."""
    made = measurement(four_acts(lufs=-23.9, peak=-2.2))
    profile = loaded(structure=FOUR_ACTS, loudness={"programme": EBU}, true_peak={"programme": PEAK})
    fix = only(judge(made, profile), "loudness.programme").fix
    assert fix is not None
    assert (fix.action, fix.amount, fix.unit, fix.where) == ("change gain", 0.9, "dB", "mix")
    assert fix.sentence == (
        "Raise the mix 0.9 dB (window +0.4 to +1.4 dB); true peak becomes -1.3 dBTP, limit -2.0: "
        "hold 0.7 dB of peaks first (8 places)."
    )
    assert fix.after["integrated"] == pytest.approx(-23.0, abs=0.05)
    assert fix.after["true_peak_dbtp"] == pytest.approx(-1.3, abs=0.02)
    assert fix.after["peaks_over_db"] == pytest.approx(0.7)


def test_each_act_is_judged_on_its_own() -> None:
    """One quiet act fails though the programme passes."""
    parts = four_acts()
    parts[4] = Part(952, lufs=-27.0)
    profile = loaded(structure=FOUR_ACTS, loudness={"programme": ATSC, "act": ATSC})
    verdict = judge(measurement(parts), profile)
    assert only(verdict, "loudness.programme").outcome is Outcome.PASS
    acts = {finding.subject: finding.outcome for finding in of(verdict, "loudness.act")}
    assert acts == {"act 1": Outcome.PASS, "act 2": Outcome.PASS, "act 3": Outcome.FAIL, "act 4": Outcome.PASS}
    fix = next(finding.fix for finding in of(verdict, "loudness.act") if finding.subject == "act 3")
    assert fix is not None and fix.sentence.startswith("Raise the mix of act 3 3.0 dB (window +1.0 to +5.0 dB)")


def test_silence_fails_and_is_never_a_number() -> None:
    """A silent programme has no loudness (BS.1770-5: no block passes the absolute gate); it must not pass."""
    profile = loaded(
        structure=SINGLE,
        loudness={
            "programme": ATSC,
            "max_short_term": {"max": -18.0, "unit": "LUFS"},
            "range": {"max": 20.0, "unit": "LU"},
        },
        true_peak={"programme": PEAK},
    )
    verdict = judge(measurement([Part(600, lufs=None)]), profile)
    loud = only(verdict, "loudness.programme")
    assert (loud.outcome, loud.measured) == (Outcome.FAIL, "silent")
    assert loud.reason.startswith("silent programme")
    assert only(verdict, "loudness.max_short_term").measured == "silent"
    assert only(verdict, "true_peak.programme").outcome is Outcome.PASS
    assert only(verdict, "loudness.range").outcome is Outcome.NOT_MEASURED
    assert verdict.outcome is Outcome.FAIL


def test_no_sound_stream_is_a_layout_fault_and_nothing_measured() -> None:
    """Never "-inf, pass"."""
    profile = loaded(
        structure=SINGLE,
        audio={"channels": {"exact": 2}, "arrangement": {"accept": ["mono streams"]}},
        loudness={"programme": ATSC},
        true_peak={"programme": PEAK},
        silence={"inside_acts": {"max": "2 s"}},
    )
    verdict = judge(measurement([Part(300)], facts(sounds=())), profile)
    assert only(verdict, "audio.channels").outcome is Outcome.FAIL
    assert only(verdict, "audio.arrangement").outcome is Outcome.FAIL
    for requirement in ("loudness.programme", "true_peak.programme", "silence.inside_acts"):
        found = only(verdict, requirement)
        assert (found.outcome, found.measured, found.reason) == (Outcome.NOT_MEASURED, None, "no sound stream")
    assert verdict.outcome is Outcome.FAIL and not verdict.measurable


def test_a_programme_span_that_is_unknown_is_not_the_whole_file() -> None:
    """Four acts asked, no break visible: not measured, and it says to give a sheet."""
    verdict = judge(measurement([Part(3000)]), loaded(structure=FOUR_ACTS, loudness={"programme": ATSC}))
    found = only(verdict, "loudness.programme")
    assert found.outcome is Outcome.NOT_MEASURED
    assert "programme span unknown" in found.reason and "timing sheet" in found.reason
    assert verdict.outcome is Outcome.FAIL and not verdict.measurable


def test_a_programme_shorter_than_the_window_is_not_measured() -> None:
    """BS.1770-5: one block of 400 ms; EBU Tech 3341: 3 s for short-term."""
    profile = loaded(structure=SINGLE, loudness={"programme": ATSC, "max_short_term": {"max": -18.0, "unit": "LUFS"}})
    verdict = judge(measurement([Part(10)]), profile)
    for requirement in ("loudness.programme", "loudness.max_short_term"):
        found = only(verdict, requirement)
        assert found.outcome is Outcome.NOT_MEASURED and "too short" in found.reason


def test_a_dialogue_anchored_limit_is_not_tested() -> None:
    """ATSC A/85: long form is anchored on dialogue; a full-programme figure is another quantity."""
    must = loaded(structure=SINGLE, loudness={"anchor": "dialogue", "programme": ATSC})
    found = only(judge(measurement([Part(600)]), must), "loudness.programme")
    assert found.outcome is Outcome.NOT_MEASURED
    assert "dialogue-anchored limit not tested" in found.reason and "-24.0" in found.reason
    should = loaded(structure=SINGLE, loudness={"anchor": "dialogue", "programme": {**ATSC, "level": "should"}})
    verdict = judge(measurement([Part(600)]), should)
    assert only(verdict, "loudness.programme").outcome is Outcome.ADVISORY
    assert verdict.outcome is Outcome.ADVISORY


@pytest.mark.parametrize(("dbtp", "outcome"), [(-1.96, Outcome.PASS), (-1.94, Outcome.FAIL)])
def test_true_peak_just_on_each_side(dbtp: float, outcome: Outcome) -> None:
    """Rounded to 0.1 as meters show it."""
    made = measurement(four_acts())
    put_peak(made, 2, 6000, dbtp)
    found = only(judge(made, loaded(structure=FOUR_ACTS, true_peak={"programme": PEAK})), "true_peak.programme")
    assert found.outcome is outcome and found.at_limit == (outcome is Outcome.PASS)
    assert found.places[0].channel == 2
    assert found.places[0].within.startswith("act 2 +")
    assert found.places[0].value == pytest.approx(dbtp, abs=0.01)


def test_the_worst_peaks_are_listed_and_the_rest_counted() -> None:
    """Five places, worst first; act, channel and value with each; more are counted."""
    made = measurement(four_acts())
    for place in range(8):
        put_peak(made, 1, 400 + 100 * place, -1.0 - place * 0.05)
    put_peak(made, 2, 9000, -0.2)
    profile = loaded(structure=FOUR_ACTS, true_peak={"programme": PEAK}, loudness={"programme": ATSC})
    found = only(judge(made, profile), "true_peak.programme")
    assert [place.value for place in found.places] == sorted((place.value for place in found.places), reverse=True)
    assert (len(found.places), found.more_places, found.places[0].channel) == (5, 4, 2)
    assert found.measured == pytest.approx(-0.2, abs=0.01) and found.margin == pytest.approx(-1.8)
    assert found.fix is not None and found.fix.amount == -1.8
    assert found.fix.sentence.startswith("Hold these 9 peaks of the mix by up to 1.8 dB, or lower the whole mix")


def test_the_meters_tolerance_is_judged_with_but_not_mixed_to() -> None:
    """-0.8 dBTP is inside -1.0 with 0.3 dB of measuring tolerance (EBU R 128 v5, m); a remedy aims at -1.0."""
    limit = {"max": -1.0, "tolerance": 0.3, "unit": "dBTP"}
    for dbtp, outcome in ((-0.8, Outcome.PASS), (-0.4, Outcome.FAIL)):
        made = measurement(four_acts())
        put_peak(made, 1, 6000, dbtp)
        found = only(judge(made, loaded(structure=FOUR_ACTS, true_peak={"programme": limit})), "true_peak.programme")
        assert found.outcome is outcome
    assert found.fix is not None and found.fix.amount == -0.6
    quiet = {"target": -20.0, "tolerance": 0.5, "unit": "LUFS"}
    made = measurement(four_acts())
    put_peak(made, 1, 6000, -3.0)
    profile = loaded(structure=FOUR_ACTS, true_peak={"programme": limit}, loudness={"programme": quiet})
    gain = only(judge(made, profile), "loudness.programme").fix
    assert gain is not None and "limit -1.0" in gain.sentence


def test_peaks_in_a_break_are_no_peaks_of_the_programme() -> None:
    """The span is the acts joined."""
    made = measurement(four_acts())
    put_peak(made, 1, round((1110 + 15) * 100 / NTSC), 0.0)
    found = only(judge(made, loaded(structure=FOUR_ACTS, true_peak={"programme": PEAK})), "true_peak.programme")
    assert found.outcome is Outcome.PASS


def test_the_highest_short_term_value_names_its_place() -> None:
    """EBU R 128 s1: max short-term -18.0 LUFS; 4 s of -15 fail though the programme is quiet."""
    parts = [Part(900), Part(120, lufs=-15.0), Part(900)]
    limit = {"max": -18.0, "unit": "LUFS"}
    found = only(
        judge(measurement(parts), loaded(structure=SINGLE, loudness={"max_short_term": limit})),
        "loudness.max_short_term",
    )
    assert found.outcome is Outcome.FAIL and found.measured == pytest.approx(-15.0, abs=0.02)
    assert found.places[0].span.first in range(890, 935)


@pytest.mark.parametrize(("rows", "outcome"), [(200, Outcome.PASS), (210, Outcome.FAIL)])
def test_silence_inside_an_act_just_on_each_side(rows: int, outcome: Outcome) -> None:
    """2 s at 29.97 are 60 frames; 2.1 s are 63."""
    made = measurement(four_acts())
    put_silence(made, [1, 2], 5000, 5000 + rows)
    found = only(
        judge(made, loaded(structure=FOUR_ACTS, silence={"inside_acts": {"max": "2 s"}})), "silence.inside_acts"
    )
    assert found.outcome is outcome
    assert found.measured in (60, 63)
    if outcome is Outcome.FAIL:
        assert found.places[0].note == "2.10 s silent, picture runs on"
        assert found.places[0].within.startswith("act 2 +")


def test_silent_breaks_are_no_silence_inside_acts() -> None:
    """A second of silence in each break is what the outlet asked for."""
    found = only(
        judge(measurement(four_acts()), loaded(structure=FOUR_ACTS, silence={"inside_acts": {"max": "10 frames"}})),
        "silence.inside_acts",
    )
    assert found.outcome is Outcome.PASS


def test_one_lost_channel_is_named() -> None:
    """The left channel gone for 1.4 s while the right one sounds."""
    made = measurement(four_acts())
    put_silence(made, [1], 5000, 5140)
    profile = loaded(structure=FOUR_ACTS, silence={"inside_acts": {"max": "2 s"}, "one_channel": {"max": "1 s"}})
    verdict = judge(made, profile)
    assert only(verdict, "silence.inside_acts").outcome is Outcome.PASS
    found = only(verdict, "silence.one_channel")
    assert (found.outcome, found.places[0].channel) == (Outcome.FAIL, 1)
    assert found.fix is not None and "channel 1" in found.fix.sentence


def groups() -> dict[str, Any]:
    return {
        "must_carry": {"min": -60.0, "unit": "dBFS"},
        "must_be_silent": {"max": -80.0, "unit": "dBFS"},
        "group": [
            {"name": "mix", "channels": [1, 2], "layout": "stereo"},
            {"name": "spare", "channels": [3, 4], "layout": "discrete", "carries": "silence", "judged": False},
        ],
    }


def test_channels_carry_or_are_silent() -> None:
    """Dither under -80 dBFS is silence; sound on a spare channel and a dead programme channel are not."""
    header = facts(sounds=tuple(sound_stream(index) for index in range(1, 5)))
    good = measurement([Part(600)], header)
    assert good.sound is not None
    good.sound.sample_peak[:, 2:] = 10 ** (-90 / 20)
    profile = loaded(structure=SINGLE, audio=groups())
    assert judge(good, profile).outcome is Outcome.PASS
    bad = measurement([Part(600)], header)
    assert bad.sound is not None
    put_silence(bad, [2], 0, bad.sound.rows)
    bad.sound.sample_peak[500, 3] = 10 ** (-40 / 20)
    outcomes = {finding.subject: finding.outcome for finding in sound(judge(bad, profile))}
    assert outcomes == {
        "channel 1 (mix)": Outcome.PASS,
        "channel 2 (mix)": Outcome.FAIL,
        "channel 3 (spare)": Outcome.PASS,
        "channel 4 (spare)": Outcome.FAIL,
    }


def test_two_judged_groups_have_findings_of_their_own() -> None:
    """Each is named; the second is silent here and fails by itself."""
    header = facts(sounds=tuple(sound_stream(index) for index in range(1, 5)))
    audio = groups()
    audio["group"][1] = {"name": "M&E", "channels": [3, 4], "layout": "stereo"}
    profile = loaded(structure=SINGLE, audio={"group": audio["group"]}, loudness={"programme": ATSC})
    verdict = judge(measurement([Part(600)], header), profile)
    outcomes = {finding.subject: finding.outcome for finding in sound(verdict)}
    assert outcomes == {"programme, mix": Outcome.PASS, "programme, M&E": Outcome.FAIL}


def test_samples_that_are_not_numbers_fail_with_their_place() -> None:
    """Counted, left out of the figures, never passed, also where the profile does not ask."""
    made = measurement([Part(600)])
    assert made.sound is not None
    made.sound.invalid_samples[1] = 7
    made = replace(made, events=(event("invalid samples", stream=2, seconds=Fraction(5), count=7),))
    verdict = judge(made, loaded(structure=SINGLE, loudness={"programme": ATSC}))
    found = only(verdict, "integrity.decodable")
    assert (found.outcome, found.subject, found.measured) == (Outcome.FAIL, "channel 2", "7 invalid samples")
    assert found.places[0].span.first == 149
    assert verdict.outcome is Outcome.FAIL


def test_the_same_inputs_give_the_same_verdict() -> None:
    """Equal records, to the last field."""
    parts = [Part(900), black(3), Part(900, lufs=-30.0, peak=-1.0)]
    profile = loaded(
        structure=SINGLE,
        loudness={"programme": ATSC, "act": ATSC, "range": {"max": 20.0, "unit": "LU"}},
        true_peak={"programme": PEAK},
        black={"inside_acts": {"max": "2 s"}},
    )
    assert judge(measurement(parts), profile) == judge(measurement(parts), profile)


def test_no_figure_is_nan_or_infinite() -> None:
    """Whatever the sound is: nothing but finite numbers in findings, places, fixes and the table."""
    made = measurement([Part(300, lufs=None), Part(300), Part(300, lufs=None)])
    profile = loaded(
        structure=SINGLE,
        loudness={"programme": EBU, "range": {"max": 1.0, "unit": "LU"}},
        true_peak={"programme": PEAK},
    )
    verdict = judge(made, profile)
    numbers = [finding.measured for finding in verdict.findings if isinstance(finding.measured, float)]
    numbers += [finding.margin for finding in verdict.findings if finding.margin is not None]
    numbers += [value for finding in verdict.findings if finding.fix for value in finding.fix.after.values()]
    numbers += [
        value for act in verdict.programme.acts for value in (act.integrated, act.true_peak_dbtp) if value is not None
    ]
    assert numbers and np.isfinite(numbers).all()


def test_channels_that_do_not_exist_are_one_finding_a_group() -> None:
    """Two of four channels delivered: one line for each group, not one for each channel."""
    found = list(sound(judge(measurement([Part(600)]), loaded(structure=SINGLE, audio=groups()))))
    assert [item.subject for item in found if item.measured == "no such channel"] == ["channels 3, 4 (spare)"]


LOUD = {"programme": {"target": -24.0, "tolerance": 2.0, "unit": "LKFS"}}


@pytest.mark.parametrize(("lufs", "outcome"), [(-24.0, "pass"), (-20.0, "fail")])
def test_a_file_of_sound_alone_is_its_own_programme(lufs: float, outcome: str) -> None:
    """Where the outlet asks nothing of cut or picture, a sound file is judged whole, and the table says so."""
    made = measurement([Part(300, lufs=lufs)], facts(pictures=(), others=(), timecodes=()))
    verdict = judge(made, loaded(loudness=LOUD))
    assert only(verdict, "loudness.programme").outcome.value == outcome
    assert verdict.programme.note.startswith("there is no picture: the whole file")


def test_a_file_of_sound_alone_does_not_meet_an_outlet_that_asks_for_acts_or_black() -> None:
    """No picture, no cut: what stands on the cut stays unmeasured, and lengths in frames too."""
    made = measurement([Part(300)], facts(pictures=(), others=(), timecodes=()))
    for section in (
        {"structure": {"acts": {"exact": 1}}},
        {"timecode": {"start": {"at": "01:00:00;00"}}},
        {"duration": {"trt": {"exact": "10 s"}}},
        {"black": {"inside_acts": {"max": "2 s"}}},
    ):
        found = only(judge(made, loaded(loudness=LOUD, **section)), "loudness.programme")
        assert found.outcome is Outcome.NOT_MEASURED
    found = only(judge(made, loaded(silence={"inside_acts": {"max": "2 s"}})), "silence.inside_acts")
    assert found.outcome is Outcome.NOT_MEASURED and "no picture" in found.reason


def test_loudness_of_acts_has_the_name_that_the_outlet_writes() -> None:
    """LKFS (ITU-R BS.1770) and LUFS (EBU R 128) are one scale; the act table keeps to the outlet's name."""
    made = measurement([Part(300)])
    assert judge(made, loaded(loudness=LOUD)).programme.loudness_unit == "LKFS"
    assert judge(made, loaded()).programme.loudness_unit == "LUFS"
