"""Windows of gains: on the 0.1 dB of a meter, and what several limits leave. By arithmetic alone."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.figures.resolution import on_meter
from qc.remedy.acts import ActLengths, act_sentence, change_act, change_programme, programme_sentence
from qc.remedy.breaks import change_break, change_edge, gap_sentence
from qc.remedy.fix import Room, Window
from qc.remedy.gain import Ceiling, change_gain, gain_sentence, lower_peaks, peaks_sentence
from qc.remedy.gain_window import accepted_gains, common, exact_gains, holds, nearest
from qc.timing.timecode import Counting

DROP = Counting(30, drop=True)
LEVELS = st.floats(-40, -10).map(lambda value: round(value, 3))
TENTHS = st.integers(-60, 60).map(lambda tenth: tenth / 10)


@pytest.mark.parametrize(
    ("measured", "low", "high", "window"),
    [
        (-23.9, -23.5, -22.5, Window(0.4, 1.4)),
        (-23.94, -23.5, -22.5, Window(0.4, 1.4)),
        (-23.96, -23.5, -22.5, Window(0.5, 1.5)),
        (-21.0, -26.0, -22.0, Window(-5.0, -1.0)),
        (-20.0, None, -23.0, Window(None, -3.0)),
        (-30.0, -24.0, None, Window(6.0, None)),
        (-30.0, -24.04, -24.01, None),
    ],
)
def test_the_window_on_a_meter(measured: float, low: float | None, high: float | None, window: Window | None) -> None:
    """-23.94 reads -23.9 and -23.96 reads -24.0 (rounding of meters: common practice, no source)."""
    assert accepted_gains(measured, low, high) == window


@given(measured=LEVELS, low=TENTHS, width=st.integers(0, 40), gain=TENTHS)
def test_the_window_holds_just_the_gains_that_are_accepted(
    measured: float, low: float, width: int, gain: float
) -> None:
    """Every tenth of a dB: in the window if and only if the meter then reads inside; exact gains need no rounding."""
    low = round(low - 25, 1)
    high = round(low + width / 10, 1)
    inside = low <= on_meter(measured + gain) <= high
    assert holds(accepted_gains(measured, low, high), gain) is inside
    if holds(exact_gains(measured, low, high), gain):
        assert inside and low - 1e-6 <= measured + gain <= high + 1e-6


@given(windows=st.lists(st.tuples(TENTHS, st.integers(0, 30)), max_size=4), gain=TENTHS)
def test_what_is_common_is_in_each(windows: list[tuple[float, int]], gain: float) -> None:
    """A gain serves all if and only if it serves each."""
    all_windows = [Window(low, round(low + width / 10, 1)) for low, width in windows]
    assert holds(common(all_windows), gain) is all(holds(window, gain) for window in all_windows)


def test_common_and_nearest_at_their_edges() -> None:
    """Nothing asked is open; one that nothing serves leaves nothing; the nearest is the wanted one where it may be."""
    assert common([]) == Window(None, None)
    assert common([Window(0.0, 1.0), None]) is None
    assert common([Window(0.0, 0.5), Window(0.6, 1.0)]) is None
    assert [nearest(Window(0.4, 0.9), wanted) for wanted in (0.0, 0.7, 2.0)] == [0.4, 0.7, 0.9]
    assert nearest(Window(None, -0.3)) == -0.3


def test_a_sentence_is_made_from_its_record() -> None:
    """Whoever has the record without its sentence can make it again, word for word."""
    gain = change_gain("mix", -23.9, -23.5, -22.5, -23.0, Ceiling(-2.0, -2.2, lambda db: ((), 3)))
    held = lower_peaks("mix", -1.4, -2.0, 3, -1.2)
    acts = [ActLengths(4, 7_000, None, 7_630), ActLengths(1, 11_000, 10_000, 11_270)]
    act = change_act(ActLengths(3, 12_620, None, 12_200), 420, acts, DROP)
    whole = change_programme(-2, 38_660, acts, DROP)
    gap, edge = change_break(2, 29, -1), change_edge("tail", 200, 50)
    made = [
        (gain, gain_sentence(replace(gain, sentence=""))),
        (held, peaks_sentence(replace(held, sentence=""))),
        (act, act_sentence(replace(act, sentence=""), DROP)),
        (whole, programme_sentence(replace(whole, sentence=""), DROP)),
        (gap, gap_sentence(replace(gap, sentence=""))),
        (edge, gap_sentence(replace(edge, sentence=""))),
    ]
    for fix, sentence in made:
        assert fix.sentence == sentence and sentence.endswith(".")
    assert act.room == (Room("act 4", 630), Room("act 1", 270))
    assert gain.window == Window(0.4, 1.4) and gain.limits == {"true_peak_dbtp": -2.0}
    assert held.window == Window(-1.2, -0.6) and held.limits == {"true_peak_dbtp": -2.0, "gain_db": -1.2}


@pytest.mark.parametrize("lowest", [0.0, 0.4, -0.2])
def test_a_mix_that_may_not_come_down_says_so(lowest: float) -> None:
    """0.6 dB over, and less room than that: no window, and the room that there is."""
    fix = lower_peaks("mix", -1.4, -2.0, 2, lowest)
    assert fix.window is None
    assert fix.sentence.endswith(f"lowering the whole mix is no way out, its loudness allows {max(0, -lowest):.1f} dB.")
