"""The mixer's sheet: figures per span, the gain for the whole mix, and the peaks that then stand in its way."""

from __future__ import annotations

import pytest

from qc.judge import judge
from qc.judge.mix import MixSheet
from qc.measurement.record import Measurement
from tests.kit.made import FOUR_ACTS, SINGLE, Part, facts, four_acts, loaded, measurement, put_peak, sound_stream
from tests.kit.outlets import mix_outlet, outlet

PEAK = {"programme": {"max": -2.0, "unit": "dBTP"}}


def sheet(made: Measurement, profile) -> MixSheet:  # type: ignore[no-untyped-def]
    sheets = judge(made, profile).mixes
    assert len(sheets) == 1
    return sheets[0]


def test_every_span_has_its_figures_limits_and_gain() -> None:
    """Programme and acts: BS.1770-5 Annex 1 gives the levels made; the gain of a span goes to its own target."""
    parts = four_acts(peak=-9.0)
    parts[4] = Part(952, lufs=-27.0, peak=-9.0)
    found = sheet(measurement(parts), mix_outlet("CORVANE 5", FOUR_ACTS))
    assert [row.span for row in found.rows] == ["programme", "act 1", "act 2", "act 3", "act 4"]
    programme, act = found.rows[0], found.rows[3]
    assert act.integrated == pytest.approx(-27.0, abs=0.01) == act.max_short_term == act.max_momentary
    assert (act.low, act.target, act.high, act.gain, act.accepted) == (-26.0, -24.0, -22.0, 3.0, False)
    assert programme.accepted and programme.som == "01:00:00;00" and programme.eom == found.rows[4].eom
    assert programme.true_peak_dbtp == pytest.approx(-9.0, abs=0.01)
    assert (found.group, found.channels, found.unit, found.ceiling) == (
        "stereo of two mono streams",
        (1, 2),
        "LKFS",
        -2.0,
    )


def test_the_meter_is_named_with_standard_and_edition() -> None:
    """The mixer's first question is which meter: document and edition of each figure, span and channels."""
    words = sheet(measurement(four_acts()), mix_outlet("CORVANE 5", FOUR_ACTS)).meter
    for part in (
        "ITU-R BS.1770-5, gated at -70 LKFS and 10 LU under",
        "channels 1, 2 together",
        "true peak by Annex 2, 4 times oversampled",
        "EBU Tech 3341 (2023)",
        "EBU Tech 3342 (2023)",
        "without head, breaks and tail",
    ):
        assert part in words
    fast = facts(sounds=(sound_stream(1, rate=192_000), sound_stream(2, rate=192_000)))
    assert "from the samples as they are" in sheet(measurement([Part(600)], fast), mix_outlet("KERRAWIND")).meter


def test_peaks_after_the_gain_are_in_order_of_time() -> None:
    """+1.0 dB brings -2.5 and -2.9 to -1.5 and -1.9 over -2.0; -3.2 stays under it."""
    made = measurement(four_acts(lufs=-25.0, peak=-9.0))
    for row, channel, dbtp in ((6000, 2, -2.5), (1000, 1, -2.9), (3000, 1, -3.2)):
        put_peak(made, channel, row, dbtp)
    limit = {"programme": {"target": -24.0, "tolerance": 0.5, "unit": "LUFS"}}
    found = sheet(made, outlet("VELMARK KANAL", structure=FOUR_ACTS, loudness=limit, true_peak=PEAK))
    assert found.gain == 1.0 and found.more_peaks == 0
    assert [(place.channel, place.value) for place in found.peaks] == [(1, -1.9), (2, -1.5)]
    assert found.window == (0.5, 0.5)
    assert found.words == (
        "Raise the mix 1.0 dB (window +0.5 to +1.5 dB): hold 0.5 dB of peaks over -2.0 dBTP (2 places)."
    )


def test_a_hot_mix_lists_the_worst_places_and_counts_the_rest() -> None:
    """Twenty places at most; the rest is counted, and what is listed are the highest."""
    made = measurement(four_acts(peak=-9.0))
    for place in range(30):
        put_peak(made, 1 + place % 2, 200 + 100 * place, -1.9 + place * 0.05)
    found = sheet(made, outlet("KERRAWIND", structure=FOUR_ACTS, true_peak=PEAK))
    first = [place.span.first for place in found.peaks]
    assert first == sorted(first) and len(first) == 20
    over = sum(-1.9 + place * 0.05 > -1.95 for place in range(30)) - 2  # two of them fall in breaks
    assert len(first) + found.more_peaks == pytest.approx(over, abs=2)
    assert min(place.value or 0 for place in found.peaks) > -1.6


@pytest.mark.parametrize(
    ("first", "rest", "gain", "window", "words"),
    [
        (-24.0, -24.0, 0.0, (-2.0, 2.0), "The loudness of the mix is accepted as it is; "),
        (-26.3, -25.0, 0.3, (0.3, 3.0), "Raise the mix 0.3 dB (window +0.3 to +3.0 dB): "),
        (-30.0, -24.0, 0.0, None, "Leave the level of the mix; "),
    ],
)
def test_the_whole_mix_moves_only_where_that_helps(
    first: float, rest: float, gain: float, window: tuple[float, float] | None, words: str
) -> None:
    """Accepted as it is: 0. An act just out: the least that brings it in. An act far out: it gets a gain of its own."""
    parts = [Part(1110, lufs=first, peak=-12.0), *four_acts(lufs=rest, peak=-12.0)[1:]]
    found = sheet(measurement(parts), mix_outlet("CORVANE 5", FOUR_ACTS))
    assert (found.gain, found.window) == (gain, window)
    assert found.words.startswith(words)
    assert ("Act 1 is then -30.0 LKFS: give it +6.0 dB of its own." in found.words) is (first == -30.0)


def test_each_judged_group_has_a_sheet() -> None:
    """The mix, and music and effects that are silent here: no gain is guessed for silence, and it says why."""
    header = facts(sounds=tuple(sound_stream(index) for index in range(1, 5)))
    groups = [
        {"name": "mix", "channels": [1, 2], "layout": "stereo"},
        {"name": "M&E", "channels": [3, 4], "layout": "stereo"},
    ]
    found = judge(measurement([Part(600)], header), mix_outlet("KERRAWIND", audio={"group": groups})).mixes
    assert [(item.group, item.channels, item.gain) for item in found] == [("mix", (1, 2), 0.0), ("M&E", (3, 4), None)]
    assert found[1].rows[0].integrated is None and "silent" in found[1].rows[0].note
    assert found[1].words.startswith("No gain can be told for the M&E mix: ")
    assert found[1].peaks == ()


def test_without_a_programme_or_sound_there_is_no_sheet() -> None:
    """What cannot be measured has no figures: no empty sheet, no zero."""
    assert judge(measurement([Part(3000)]), mix_outlet("CORVANE 5", FOUR_ACTS)).mixes == ()
    assert judge(measurement([Part(300)], facts(sounds=())), mix_outlet("CORVANE 5")).mixes == ()


def test_an_outlet_that_asks_nothing_of_sound_gets_the_figures() -> None:
    """Figures without limits: nothing is accepted or refused, and no gain is asked for."""
    found = sheet(measurement([Part(600)]), loaded(structure=SINGLE))
    row = found.rows[0]
    assert (row.low, row.target, row.high, row.gain, row.accepted) == (None,) * 5
    assert found.window == (None, None) and found.words == "Neither loudness nor a ceiling is asked for."
