"""The open film checked as it is: every figure known from other programs, every known ground to refuse it.

Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0. Figures: FFmpeg 5.1 (frames, blackdetect d=0.1
pix_th=0.10, loudness range), libebur128 1.2.6 (loudness, true peak).
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest

from qc.judge import judge
from qc.judge.verdict import Outcome
from qc.measurement.child import measure_file
from qc.outlets.load import load_profile
from qc.report.measure_document import figures

pytestmark = pytest.mark.realmedia

FRAMES, RATE = 14_315, Fraction(24)
BLACK_SECONDS = ((0, 0.542), (299.125, 300.417), (460.833, 462.000), (489.917, 490.417), (580.000, 580.917))
#: It is 720p24 H.264 with 44.1 kHz AAC in MP4, without timecode: refused for that everywhere.
REFUSED_FOR = {"wrapper.kind", "picture.codec_profile", "picture.raster", "picture.frame_rate", "audio.sample_rate"}
#: Ten minutes of picture that was broadcast and shown as it is: none of these has anything to point out, hits and solid
#: frames with what they hold of frames spoiled as a whole and of bars.
NOTHING_TO_SAY = {"freeze", "cadence", "repeats", "drops", "strays", "hits", "solid", "black-level"}


def test_the_film_as_it_is(film: Path) -> None:
    """Frames, black, loudness, range and peak as others read them; no outlet takes it, for the known reasons; nothing
    is wrong with its motion and its blacks."""
    measurement = measure_file(film, store=None)
    found = figures(measurement)

    assert measurement.complete and found["picture"]["frames"] == FRAMES
    expected = [(round(first * RATE), round((end - first) * RATE)) for first, end in BLACK_SECONDS]
    runs = [(run["first_frame"], run["frames"]) for run in found["picture"]["black"]]
    long_enough = [run for run in runs if run[1] / RATE >= Fraction(1, 10)]
    assert long_enough == expected
    sound = found["sound"]
    assert sound["integrated_lufs"] == pytest.approx(-25.88, abs=0.1)
    # FFmpeg's ebur128: windows overlap by 2.9 s, as EBU Tech 3342 asks since 2016. libebur128 takes one window a
    # second and reads 23.4.
    assert sound["loudness_range_lu"] == pytest.approx(23.6, abs=0.2)
    assert sound["true_peak_dbtp"] == pytest.approx(-1.95, abs=0.2)

    for outlet in ("corvane-5", "hoshinami-net", "kerrawind", "meadowline-public", "tidewold-one", "velmark-kanal"):
        verdict = judge(measurement, load_profile(outlet))
        failing = {finding.requirement for finding in verdict.findings if finding.outcome is Outcome.FAIL}
        assert verdict.outcome is Outcome.FAIL and failing >= REFUSED_FOR, (outlet, REFUSED_FOR - failing)
        motion = [finding for finding in verdict.findings if finding.check in NOTHING_TO_SAY]
        assert {finding.check for finding in motion} == NOTHING_TO_SAY
        told = [(finding.requirement, finding.measured) for finding in motion if finding.outcome is not Outcome.PASS]
        assert not told, (outlet, told)
