"""Figures that several outlets share: worked out once, the same as asked alone, and the same after a gain."""

from __future__ import annotations

import numpy as np
import pytest

from qc.figures import loudness, peaks
from qc.figures.reading import Reading
from qc.figures.shared import Figures
from qc.timing.spans import Span
from tests.kit.sound import STEREO, programme, series_of

RATE = 48_000
SPANS = (Span(0, 250), Span(300, 600))


@pytest.fixture(scope="module")
def sound():  # type: ignore[no-untyped-def]
    return series_of(programme(7, [-20, -30, -24, -40, -18, -26], RATE), RATE)


def test_the_figures_are_those_of_the_functions(sound) -> None:  # type: ignore[no-untyped-def]
    """Equal readings, and the same object when asked again: nothing is worked out twice."""
    figures = Figures(sound)
    for name in ("integrated", "max_momentary", "max_short_term", "loudness_range"):
        first = getattr(figures, name)(STEREO, SPANS)
        assert first == getattr(loudness, name)(sound, STEREO, SPANS)
        assert getattr(figures, name)(STEREO, list(SPANS)) is first
    assert figures.true_peak(STEREO, SPANS) == peaks.true_peak(sound, STEREO, SPANS)


@pytest.mark.parametrize("gain", [-6.0, -0.7, 0.4, 3.0])
def test_a_gain_shifts_every_figure_but_the_range(sound, gain: float) -> None:  # type: ignore[no-untyped-def]
    """ITU-R BS.1770-5, Annex 1 and 2: all levels move by the gain; a range of levels does not (EBU Tech 3342)."""
    figures = Figures(sound)
    after = figures.after_gain(STEREO, [Span(0, sound.rows)], gain)
    for name, shift in (
        ("integrated", gain),
        ("max_momentary", gain),
        ("max_short_term", gain),
        ("true_peak", gain),
        ("loudness_range", 0.0),
    ):
        before = getattr(figures, name)(STEREO, SPANS).value
        assert before is not None
        assert getattr(after, name)(STEREO, SPANS).value == pytest.approx(before + shift, abs=1e-4)
    assert figures.integrated(STEREO, SPANS) == loudness.integrated(sound, STEREO, SPANS)


def test_the_worst_peaks_are_the_highest_events(sound) -> None:  # type: ignore[no-untyped-def]
    """Sorted by height, cut at the number asked for, all of them counted; the rest of each event as in time order."""
    everything = peaks.peaks_above(sound, STEREO, SPANS, -30.0)
    worst, total = peaks.worst_peaks(sound, STEREO, SPANS, -30.0, 3)
    assert total == len(everything) > 3
    assert list(worst) == sorted(everything, key=lambda peak: (-peak.dbtp, peak.span.first, peak.channel))[:3]
    for peak in everything:
        rows = sound.true_peak[peak.span.first : peak.span.end, peak.channel]
        assert peak.row == peak.span.first + int(rows.argmax())
        assert peak.dbtp == pytest.approx(20 * np.log10(rows.max()))


def test_a_peak_at_the_ceiling_is_not_over_it() -> None:
    """Just on each side, to the last bit of the series' own precision."""
    made = series_of(programme(3, [-20], RATE), RATE)
    made.true_peak[:] = 0.0
    for ceiling in (-3.0, -2.0, -1.0, -0.7, -12.3):
        exact = 10 ** (ceiling / 20)
        under = np.float32(exact)
        under = under if float(under) <= exact else np.nextafter(under, np.float32(0))
        made.true_peak[20, 0] = under
        assert peaks.peaks_above(made, STEREO, [Span(0, 100)], ceiling) == []
        made.true_peak[20, 0] = np.nextafter(under, np.float32(1))
        assert len(peaks.peaks_above(made, STEREO, [Span(0, 100)], ceiling)) == 1


def test_silence_is_said_to_be_silence() -> None:
    """Silent sound is a result with a reason; sound that is too short or absent is none."""
    made = series_of(np.zeros((RATE, 2)), RATE)
    figures = Figures(made)
    whole = [Span(0, 100)]
    assert figures.integrated(STEREO, whole).silent and figures.true_peak(STEREO, whole).silent
    assert figures.max_momentary(STEREO, whole).silent
    assert not figures.integrated(STEREO, [Span(0, 5)]).silent
    assert not figures.max_short_term(STEREO, whole).silent
    assert not Reading(None, "silent as a grave").silent
    with pytest.raises(ValueError, match="no sound"):
        Figures(None).integrated(STEREO, whole)
