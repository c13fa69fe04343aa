"""A gain fix is done with FFmpeg, and the file that comes out is measured: what was promised holds.

Promised are loudness, true peak, the list of peaks then over the ceiling, and what another outlet of the same run says
of it: within 0.1 LU and 0.1 dB by this tool, and confirmed by libebur128 (pyebur128) and SciPy's resampler.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0; speech and music of the demo are made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.signal import resample_poly

from qc.demo.outlet_forms import FORMS
from qc.demo.render import render
from qc.demo.sound import Stems
from qc.demo.version import Version
from qc.judge import judge
from qc.judge.together import Together, judge_together
from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.measurement.child import measure_file
from qc.outlets.load import LoadedProfile, load_profile
from qc.remedy.fix import Fix
from tests.kit import made
from tests.kit.film import film_path
from tests.kit.remedied import decoded, with_gain, with_gains
from tests.kit.render import SOUND_RATE
from tests.kit.render import render as rendered
from tests.kit.sound import libebur128
from tests.kit.sound import programme as speech

LU, DB = 0.1, 0.1
#: Two interpolators of the same peak (ITU-R BS.1770-5, Annex 2, asks for 4x at least and allows them to differ).
OTHER_METER_DB = 0.2
START = "01:00:00:00"


def outlet(
    name: str, target: float, tolerance: float, ceiling: float, unit: str = "LUFS", **more: Any
) -> LoadedProfile:
    """An invented outlet that asks for a loudness and a ceiling, for a programme of one part."""
    return made.loaded(
        outlet={"name": name, "code": name.lower().replace(" ", "-")},
        structure=made.SINGLE,
        loudness={"programme": {"target": target, "tolerance": tolerance, "unit": unit}},
        true_peak={"programme": {"max": ceiling, "unit": "dBTP"}},
        **more,
    )


TIDEWOLD = outlet("TIDEWOLD ONE", -23.0, 0.5, -3.0)
VELMARK = outlet("VELMARK KANAL", -23.0, 0.5, -0.3)
CORVANE = outlet("CORVANE 5", -24.0, 2.0, -2.0, "LKFS")


def judged(path: Path, *outlets: LoadedProfile) -> list[Verdict]:
    measurement = measure_file(path, store=None)
    return [judge(measurement, loaded) for loaded in outlets]


def of(verdict: Verdict, requirement: str) -> Finding:
    (found,) = [finding for finding in verdict.findings if finding.requirement == requirement]
    return found


def fix_of(finding: Finding) -> Fix:
    assert finding.outcome is Outcome.FAIL and finding.fix is not None and finding.fix.amount is not None
    return finding.fix


@dataclass(frozen=True)
class Before:
    path: Path
    label: str
    sounds: int
    verdict: Verdict

    def raised(self, decibels: float, name: str) -> Path:
        out = self.path.with_name(f"{name}{self.path.suffix}")
        return with_gain(self.path, out, decibels, sounds=self.sounds, label=self.label)


@pytest.fixture(scope="module")
def film(media_dir: Path) -> Path:
    """24 s of the film at -31.7 LUFS with peaks up to -9.3 dBTP (libebur128): raised to -23 a dozen are over -3."""
    cut = ["-ss", "170", "-t", "24", "-i", str(film_path()), "-vf", "scale=160:90,fps=30000/1001,setsar=1"]
    coding = ["-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-c:a", "pcm_s24le", "-ar"]
    return rendered(media_dir / "mix.mov", [*cut, *coding, str(SOUND_RATE), "-timecode", START])


@pytest.fixture(scope="module")
def quiet(film: Path) -> Before:
    """The film as TIDEWOLD ONE sees it."""
    return Before(film, START, 1, judged(film, TIDEWOLD)[0])


@pytest.fixture(scope="module")
def at_target(quiet: Before) -> Path:
    """The film after the gain that TIDEWOLD's fix asks for."""
    gain = fix_of(of(quiet.verdict, "loudness.programme")).amount
    assert gain is not None
    return quiet.raised(gain, "at-target")


@pytest.fixture(scope="module")
def after(at_target: Path) -> Verdict:
    return judged(at_target, TIDEWOLD)[0]


@pytest.mark.realmedia
def test_the_film_reads_what_was_promised_after_the_gain(quiet: Before, at_target: Path, after: Verdict) -> None:
    """Integrated loudness and true peak after the fix, by this tool and by libebur128; the loudness then passes."""
    fix = fix_of(of(quiet.verdict, "loudness.programme"))
    loudness, peak = of(after, "loudness.programme"), of(after, "true_peak.programme")
    assert fix.amount == pytest.approx(8.7, abs=0.15)
    assert loudness.outcome is Outcome.PASS and loudness.measured == pytest.approx(fix.after["integrated"], abs=LU)
    assert peak.outcome is Outcome.FAIL and peak.measured == pytest.approx(fix.after["true_peak_dbtp"], abs=DB)
    outside = libebur128(decoded(at_target), SOUND_RATE)
    assert fix.after["integrated"] == pytest.approx(outside.integrated, abs=LU)
    assert fix.after["true_peak_dbtp"] == pytest.approx(outside.true_peak, abs=OTHER_METER_DB)


def listed(places: Sequence[Place]) -> dict[tuple[int, int | None], float]:
    """(first frame, channel) -> dBTP."""
    return {(place.span.first, place.channel): value_of(place) for place in places}


def value_of(place: Place) -> float:
    assert place.value is not None
    return place.value


@pytest.mark.realmedia
def test_the_peaks_over_the_ceiling_are_those_that_were_listed(quiet: Before, at_target: Path, after: Verdict) -> None:
    """Every listed peak is there after the gain, at its frame and channel and within 0.1 dB, and no other is.

    Only peaks within 0.1 dB of the ceiling may come or go. SciPy's resampler finds each of them in the new file.
    """
    fix = fix_of(of(quiet.verdict, "loudness.programme"))
    (before,), (mix,) = quiet.verdict.mixes, after.mixes
    promised, found = listed(fix.peaks), listed(mix.peaks)
    assert len(promised) >= 8 and fix.more_peaks == 0 and len(promised) == fix.after["peaks_to_hold"]
    assert (before.gain, mix.gain) == (fix.amount, 0.0) and listed(before.peaks) == promised
    for place in promised.keys() | found.keys():
        if place in promised and place in found:
            assert promised[place] == pytest.approx(found[place], abs=DB)
        else:
            assert promised.get(place, found.get(place)) == pytest.approx(-3.0, abs=DB + 0.05)
    sound = decoded(at_target)
    for (frame, channel), dbtp in promised.items():
        assert channel is not None
        assert oversampled_peak(sound[:, channel - 1], frame) == pytest.approx(dbtp, abs=OTHER_METER_DB)


def oversampled_peak(samples: np.ndarray, frame: int) -> float:
    """Highest magnitude of two frames at 29.97 from this one, eightfold oversampled by SciPy, in dBTP."""
    first = round(frame * SOUND_RATE * 1001 / 30000)
    margin = 480
    part = samples[max(0, first - margin) : first + 3204 + margin]
    return 20 * float(np.log10(np.abs(resample_poly(part, 8, 1)).max()))


@pytest.fixture(scope="module")
def together(quiet: Before) -> Together:
    measurement = measure_file(quiet.path, store=None)
    return judge_together(measurement, [TIDEWOLD, VELMARK, CORVANE], sheet_of=lambda loaded: None)


@pytest.mark.realmedia
def test_what_other_outlets_were_promised_comes_true(together: Together, at_target: Path) -> None:
    """TIDEWOLD's gain is done to the one file: VELMARK and CORVANE then read and say what was foretold of them."""
    fix = fix_of(of(together.verdicts[0], "loudness.programme"))
    told = {item.code: item for item in fix.consequences}
    assert {code: item.accepted for code, item in told.items()} == {"velmark-kanal": True, "corvane-5": False}
    for verdict in judged(at_target, VELMARK, CORVANE):
        promised = told[verdict.profile.code]
        loudness, peak = of(verdict, "loudness.programme"), of(verdict, "true_peak.programme")
        assert promised.accepted == (loudness.outcome is Outcome.PASS and peak.outcome is Outcome.PASS)
        assert promised.after["integrated"] == pytest.approx(loudness.measured, abs=LU)
        assert promised.after["true_peak_dbtp"] == pytest.approx(peak.measured, abs=DB)


@pytest.mark.realmedia
def test_one_mix_for_all_is_one_mix_for_all(together: Together, quiet: Before) -> None:
    """The advised gain is done: every outlet accepts the loudness, and as many peaks are to hold as were counted."""
    mix = together.one_mix
    assert mix is not None and mix.serves and mix.gain is not None and mix.ceiling == -3.0
    verdicts = judged(quiet.raised(mix.gain, "one-mix"), TIDEWOLD, VELMARK, CORVANE)
    loudness = [of(verdict, "loudness.programme") for verdict in verdicts]
    assert [finding.outcome for finding in loudness] == [Outcome.PASS] * 3
    assert mix.loudness == pytest.approx(loudness[0].measured, abs=LU)
    (sheet,) = verdicts[0].mixes
    assert len(sheet.peaks) == mix.peaks > 0 and sheet.more_peaks == 0


@pytest.mark.realmedia
def test_the_window_of_gains_is_where_the_loudness_passes(quiet: Before) -> None:
    """A gain a little inside each end of the window passes the loudness, a little outside it fails.

    One file carries the mix four times, at four gains.
    """
    window = fix_of(of(quiet.verdict, "loudness.programme")).window
    assert window is not None and window.low is not None and window.high is not None
    # Half a decibel to each side, judged on the 0.1 of a meter: 1.0 to 1.1 dB wide.
    assert 0.95 <= window.high - window.low <= 1.15
    gains = (window.low - 0.15, window.low + 0.05, window.high - 0.05, window.high + 0.15)
    several = with_gains(quiet.path, quiet.path.with_name("window.mov"), gains, label=START)
    mixes = [{"name": f"mix {n}", "channels": [2 * n - 1, 2 * n], "layout": "stereo"} for n in range(1, 5)]
    (verdict,) = judged(several, outlet("TIDEWOLD ONE", -23.0, 0.5, -3.0, audio={"group": mixes}))
    found = [finding for finding in verdict.findings if finding.requirement == "loudness.programme"]
    assert [finding.outcome is Outcome.PASS for finding in found] == [False, True, True, False]


@pytest.mark.realmedia
def test_lowering_the_mix_holds_the_peaks(at_target: Path, after: Verdict) -> None:
    """Peaks over -3 dBTP: the mix lowered by what the fix says reads the promised peak and passes."""
    fix = fix_of(of(after, "true_peak.programme"))
    assert fix.amount is not None and fix.amount < 0
    lowered = with_gain(at_target, at_target.with_name("lowered.mov"), fix.amount, sounds=1, label=START)
    peak = of(judged(lowered, TIDEWOLD)[0], "true_peak.programme")
    assert peak.outcome is Outcome.PASS and peak.measured == pytest.approx(fix.after["true_peak_dbtp"], abs=DB)
    assert libebur128(decoded(lowered), SOUND_RATE).true_peak == pytest.approx(
        fix.after["true_peak_dbtp"], abs=OTHER_METER_DB
    )


def failing(verdict: Verdict) -> set[str]:
    return {finding.requirement for finding in verdict.findings if finding.outcome is Outcome.FAIL}


def test_the_quiet_episode_of_the_demo_passes_after_its_gain(media_dir: Path) -> None:
    """202 for VELMARK KANAL, eight mono tracks in MXF: raised as told, loudness and peak pass and read as promised.

    The episode is cut to twenty seconds, so its length fails before and after; nothing else does after the gain.
    """
    code = "velmark-kanal-mini"
    form = replace(FORMS[code], acts=(20 * 25,))
    path = render(Version(202, code, lufs=-24.9), media_dir / "202", Stems(202, 25 * SOUND_RATE), form=form)
    outlet = load_profile(code)
    before = Before(path, form.start, len(form.tracks), judged(path, outlet)[0])
    assert failing(before.verdict) == {"loudness.programme", "duration.trt"}
    fix = fix_of(of(before.verdict, "loudness.programme"))
    assert fix.amount == pytest.approx(1.9, abs=LU)
    raised = before.raised(fix.amount, "raised")
    (after,) = judged(raised, outlet)
    loudness, peak = of(after, "loudness.programme"), of(after, "true_peak.programme")
    assert failing(after) == {"duration.trt"}
    assert loudness.measured == pytest.approx(fix.after["integrated"], abs=LU)
    assert peak.measured == pytest.approx(fix.after["true_peak_dbtp"], abs=DB)
    programme = slice(75 * SOUND_RATE // 25, 575 * SOUND_RATE // 25)
    outside = libebur128(decoded(raised, 2)[programme], SOUND_RATE)
    assert fix.after["integrated"] == pytest.approx(outside.integrated, abs=LU)
    assert fix.after["true_peak_dbtp"] == pytest.approx(outside.true_peak, abs=OTHER_METER_DB)


def test_one_loud_act_is_lowered_on_its_own(media_dir: Path) -> None:
    """The gain for act 2 is done to act 2: it passes at the promised loudness, act 1 stays as it was."""
    acts, gap = ((0, 300), (330, 630)), "between(n,300,329)"
    seconds = [Fraction(frame * 1001, 30000) for act in acts for frame in act]
    edges = [round(second * SOUND_RATE) for second in seconds]
    sound = speech(7, [-20.0] * 22, SOUND_RATE)[: edges[-1]]
    sound[edges[2] :] *= 10 ** (5 / 20)
    sound *= 10 ** ((-24 - libebur128(sound[: edges[1]], SOUND_RATE).integrated) / 20)
    sound[edges[1] : edges[2]] = 0
    raw = media_dir / "acts.f64"
    sound.astype("<f8").tofile(raw)
    picture = ["-f", "lavfi", "-i", "testsrc2=size=320x180:rate=30000/1001:duration=21.021"]
    filters = ["-vf", f"drawbox=color=black:t=fill:enable='{gap}',setsar=1", "-frames:v", "630"]
    coding = ["-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-c:a", "pcm_s24le"]
    track = ["-f", "f64le", "-ar", str(SOUND_RATE), "-ch_layout", "stereo", "-i", str(raw)]
    path = rendered(media_dir / "acts.mov", [*picture, *track, *filters, *coding, "-timecode", START])
    outlet = made.loaded(
        structure={"acts": {"exact": 2}, "break_length": {"exact": "30 frames"}},
        loudness={"act": {"target": -24.0, "tolerance": 2.0, "unit": "LKFS"}},
        true_peak={"programme": {"max": -2.0, "unit": "dBTP"}},
    )
    (before,) = judged(path, outlet)
    one, two = [finding for finding in before.findings if finding.requirement == "loudness.act"]
    assert one.outcome is Outcome.PASS and two.subject == "act 2"
    fix = fix_of(two)
    assert fix.amount == pytest.approx(-5.0, abs=0.15) and "act 2" in fix.where
    lowered = with_gain(path, media_dir / "acts-after.mov", fix.amount, sounds=1, label=START, seconds=(10.5, 99))
    (after,) = judged(lowered, outlet)
    first, second = [finding for finding in after.findings if finding.requirement == "loudness.act"]
    assert first.measured == pytest.approx(one.measured, abs=0.01)
    assert second.outcome is Outcome.PASS and second.measured == pytest.approx(fix.after["integrated"], abs=LU)
    outside = libebur128(decoded(lowered)[edges[2] :], SOUND_RATE)
    assert fix.after["integrated"] == pytest.approx(outside.integrated, abs=LU)
    assert fix.after["true_peak_dbtp"] == pytest.approx(outside.true_peak, abs=OTHER_METER_DB)
