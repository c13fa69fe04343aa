"""The mixer's sheet: which meter first, then one mix for all, then each outlet with the peaks in the way."""

from __future__ import annotations

from dataclasses import replace

from qc.judge.mix import OneMix
from qc.judge.verdict import Outcome, Verdict
from qc.report.mix_page import mix_html, mix_page
from tests.kit import verdicts
from tests.kit.sheet_page import checked, harmless, text_of
from tests.kit.verdicts import place
from tests.kit.whole_verdict import mix_row, mix_sheet

PEAKS = (
    place(5000, within="act 1 +00:02:46;24", channel=1, value=-1.25),
    place(20000, within="act 3 +00:00:23;10", channel=2, value=-1.96),
)
SHEET = mix_sheet(
    gain=-0.4, peaks=PEAKS, more_peaks=14, words="Lower the mix 0.4 dB; 16 peaks are then over -2.0 dBTP."
)
MIX = OneMix(
    group=(1, 2),
    outlets=("CORVANE 5", "TIDEWOLD ONE"),
    serves=True,
    low=-0.5,
    high=0.25,
    gain=0.0,
    loudness=-23.3,
    ceiling=-3.0,
    peaks=3,
    conflicts=(),
    sentence="One mix serves all: leave it; 3 peaks are over -3.0 dBTP.",
)


def verdict(name: str = "CORVANE 5", **more: object) -> Verdict:
    profile = replace(verdicts.PROFILE, name=name, code=name.lower().replace(" ", "-"))
    return verdicts.verdict(**{"profile": profile, "mixes": (SHEET,), **more})


def page(*judged: Verdict, mix: OneMix | None = None) -> bytes:
    return mix_html(judged or (verdict(),), verdicts.media(), mix, verdicts.RUN)


def test_the_meter_is_named_before_any_figure():
    """The first question a mixer asks is: which meter? Standard and edition stand before outlet and level."""
    made = page(verdict(), verdict("TIDEWOLD ONE"), mix=MIX)
    text = text_of(made)

    checked(made)
    assert text.count("ITU-R BS.1770-5, gated, true peak 4x oversampled.") == 1
    assert text.index("ITU-R BS.1770-5") < text.index("One mix serves all") < text.index("Integrated")
    assert "Programme measured: 01:00:00;00 to 01:21:41;08, 4 acts." in text


def test_two_names_of_one_scale_are_one_meter():
    """LUFS and LKFS are the same unit (ITU-R BS.1770-5, EBU Tech 3341): the meter is named once."""
    lufs = replace(SHEET, meter="ITU-R BS.1770-5, gated at -70 LUFS", unit="LUFS")
    lkfs = replace(SHEET, meter="ITU-R BS.1770-5, gated at -70 LKFS")
    made = mix_page((verdict(mixes=(lufs,)), verdict("KERRAWIND", mixes=(lkfs,))), verdicts.media(), None, verdicts.RUN)

    assert made.meters == ("ITU-R BS.1770-5, gated at -70 LUFS.",)


def test_figures_per_programme_and_act():
    """Integrated, max short-term, max momentary, LRA, true peak, target with tolerance, gain; unmeasured says so."""
    made = mix_page((verdict(),), verdicts.media(), None, verdicts.RUN)
    rows = made.parts[0].figures.rows

    assert [row[0] for row in rows] == ["programme", "act 1", "act 2", "act 3", "act 4"]
    assert rows[0][3:] == ("-23.6", "-18.2", "-15.4", "6.3", "-3.1", "-24.0 ±2.0", "yes", "-0.4 dB")
    assert rows[3][8:] == ("-24.0 ±2.0", "no", "+3.4 dB")
    assert rows[4][3] == "not measured"
    assert made.parts[0].notes == ("Act 4: silent",)


def test_a_level_is_rounded_as_a_meter_rounds():
    """One decimal, half away from zero, as loudness is judged (common practice of meters, no source)."""
    rows = (mix_row("programme", 0, 9300, -23.25, target=-23.0, low=-24.0, high=-23.0, max_short_term=-18.05),)
    made = mix_page((verdict(mixes=(replace(SHEET, rows=rows),)),), verdicts.media(), None, verdicts.RUN)

    assert made.parts[0].figures.rows[0][3:5] == ("-23.3", "-18.1")
    assert made.parts[0].figures.rows[0][8] == "-23.0 -1.0/+0.0"


def test_peaks_after_the_gain_have_place_channel_and_overshoot():
    """Timecode, act-relative time, channel, level after the gain, dB over; what is over by little is not 0.0 over."""
    made = mix_page((verdict(),), verdicts.media(), None, verdicts.RUN)
    peaks = made.parts[0].peaks

    assert peaks is not None
    assert peaks.caption == "16 peaks over -2.0 dBTP after -0.4 dB"
    assert peaks.rows == (
        ("01:02:46;24", "act 1 +00:02:46;24", "1", "-1.3 dBTP", "0.8 dB"),
        (place(20000).timecode, "act 3 +00:00:23;10", "2", "-2.0 dBTP", "0.04 dB"),
    )
    assert made.parts[0].more_peaks == "14 more places like these."


def test_one_mix_for_all_says_window_and_what_stands_in_the_way():
    """The window of gains that all accept, or the conflicts, each with its reason."""
    serves = text_of(page(verdict(), mix=MIX))
    against = replace(
        MIX, serves=False, low=None, high=None, gain=None, loudness=None, conflicts=("VELMARK asks for a and b",)
    )
    conflict = text_of(page(verdict(), mix=against))

    assert "Gains that serve all -0.5 dB to +0.3 dB" in serves and "Programme then -23.3 LUFS" in serves
    assert "Lowest ceiling of all -3.0 dBTP Peaks over it then 3" in serves
    assert "VELMARK asks for a and b." in conflict
    told = replace(against, sentence="No one level is right for both outlets: VELMARK asks for a and b.")
    assert text_of(page(verdict(), mix=told)).count("VELMARK asks for a and b") == 1
    assert "Gains that serve all" not in conflict and "Peaks over it then" not in conflict


def test_every_group_of_an_outlet_has_its_part():
    """Two judged groups are two parts, each named."""
    second = replace(SHEET, group="described video", channels=(3,))
    made = mix_page((verdict(mixes=(SHEET, second)),), verdicts.media(), None, verdicts.RUN)

    assert [part.title for part in made.parts] == ["CORVANE 5, stereo mix", "CORVANE 5, described video"]
    assert dict(made.parts[1].facts)["Mix"] == "described video, channel 3"


def test_a_single_act_of_which_nothing_is_asked_is_not_told_twice():
    """One part: the programme's line alone, unless the act has a limit of its own."""
    programme = mix_row("programme", 0, 9300, -23.6)
    same = mix_row("act 1", 0, 9300, -23.6, accepted=None, target=None, low=None, high=None, gain=None)
    asked = mix_row("act 1", 0, 9300, -23.6)
    rows = [
        mix_page((verdict(mixes=(replace(SHEET, rows=(programme, act)),)),), verdicts.media(), None, verdicts.RUN)
        .parts[0]
        .figures.rows
        for act in (same, asked)
    ]

    assert [len(each) for each in rows] == [1, 2]


def test_an_outlet_without_figures_says_why():
    """Nothing asked, or not measured with its reason; never a sheet that just lacks an outlet."""
    unmeasured = verdicts.finding(
        requirement="loudness.programme", outcome=Outcome.NOT_MEASURED, measured=None, reason="there is no sound"
    )
    text = text_of(page(verdict(mixes=(), findings=(unmeasured,)), verdict("KERRAWIND", mixes=(), findings=())))

    assert "CORVANE 5: not measured. There is no sound." in text
    assert "KERRAWIND asks for no loudness and no true peak." in text
    assert "No loudness and no true peak was measured." in text


def test_silence_and_lost_channels_are_listed_once_for_all_outlets():
    """The same silence at two outlets is one line that names both; failures come before what was waived."""
    silence = verdicts.finding(
        requirement="silence.one_channel",
        check="silence",
        title="One channel silent",
        outcome=Outcome.FAIL,
        measured=1.4,
        unit="s",
        limit="at most 1 s",
        places=(place(20000, 42, within="act 3 +00:00:23;10", channel=1),),
        more_places=2,
    )
    waived = replace(verdicts.FINDINGS[9], requirement="silence.inside_acts", title="Silence inside acts")
    made = mix_page(
        (verdict(findings=(waived, silence)), verdict("KERRAWIND", findings=(silence,))),
        verdicts.media(),
        None,
        verdicts.RUN,
    )

    assert [(item.badge.word, item.title, item.outlets) for item in made.heard] == [
        ("FAIL", "One channel silent, programme", "CORVANE 5 and KERRAWIND"),
        ("WAIVED", "Silence inside acts, act 4", "CORVANE 5"),
    ]
    assert "channel 1" in made.heard[0].places[0] and made.heard[0].places[0].startswith("01:11:07;10 to ")
    assert made.heard[0].more == "2 more places like these."
    assert "Waived by R. Ashgrove" in made.heard[1].what


def test_what_no_outlet_asks_about_is_not_called_met():
    """A sheet without silences is no pass of silence where nobody asked; what was asked and met is named."""

    def carries(outcome: Outcome):
        return verdicts.finding(requirement="audio.must_carry", title="Channel carries sound", outcome=outcome)

    def judged(*own: Verdict) -> tuple[str, ...]:
        return mix_page(own, verdicts.media(), None, verdicts.RUN).judged

    silence = verdicts.finding(requirement="silence.inside_acts", title="Silence inside acts")
    unasked = "channels that must be silent, sound at the ends of acts."
    assert judged(verdict(findings=(carries(Outcome.PASS),))) == (
        "Asked for and met: channels that must carry sound.",
        f"No outlet here asks about these, so they are not judged: silence, {unasked}",
    )
    assert judged(
        verdict(findings=(carries(Outcome.FAIL),)), verdict("KERRAWIND", findings=(silence, carries(Outcome.FAIL)))
    ) == (
        "Asked for and met: silence (KERRAWIND).",
        f"No outlet here asks about these, so they are not judged: {unasked}",
    )


def test_foreign_text_stays_text():
    """Group, meter, notes and instructions that try to break out of the page."""
    rows = (mix_row(verdicts.HOSTILE, 0, 10, -23.0, note=verdicts.HOSTILE),)
    peaks = (place(10, within=verdicts.HOSTILE, channel=1, value=-1.0),)
    sheet = replace(
        SHEET, group=verdicts.HOSTILE, meter=verdicts.HOSTILE, unit=verdicts.HOSTILE, rows=rows, peaks=peaks,
        words=verdicts.HOSTILE,
    )  # fmt: skip
    mix = replace(MIX, sentence=verdicts.HOSTILE, conflicts=(verdicts.HOSTILE,), outlets=(verdicts.HOSTILE,))
    hostile = replace(verdicts.hostile_verdict(), mixes=(sheet, sheet))

    harmless(mix_html((hostile,), verdicts.media(name=verdicts.HOSTILE), mix, verdicts.RUN))
