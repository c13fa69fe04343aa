"""The main job on real pictures and sound: an episode cut from the open film, judged for every outlet.

The truth is known by construction (acts, breaks, planted faults) or from libebur128 (loudness, true
peak), never from this project. Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.judge import judge
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.measurement.child import measure_file
from qc.outlets.load import LoadedProfile, load_profile
from tests.kit.film_episode import DROP, HOUR, Faults, film_episode

pytestmark = pytest.mark.realmedia

#: What an episode made for CORVANE cannot meet elsewhere: other clock, other raster rate, other wrapper.
#: Requirement ids, from the profiles' own lines; the same whatever the codec.
ELSEWHERE = {
    "meadowline-public": {"structure.head", "duration.trt", "audio.channels", "wrapper.kind", "picture.codec"},
    "velmark-kanal": {"picture.frame_rate", "timecode.start", "timecode.counting", "structure.head", "structure.tail"},
    "tidewold-one": {"picture.frame_rate", "timecode.start", "timecode.counting", "audio.channels"},
    "kerrawind": {"picture.frame_rate", "timecode.start", "timecode.counting", "duration.trt", "audio.channels"},
    "hoshinami-net": {"duration.trt", "audio.channels"},
}
FORMS = {
    "mxf-mpeg2": set(),
    "mov-prores": {"wrapper.kind", "picture.codec", "picture.codec_profile", "picture.bit_depth"},
    "mov-h264": {"wrapper.kind", "picture.codec", "picture.codec_profile", "picture.chroma"},
}
PLANTED = Faults(act_gain=(0.0, 3.6, 0.0, 0.0), longer=14, short_break=5, black_frame=200)


@pytest.fixture(scope="module")
def folder(media_dir: Path) -> Path:
    path = media_dir / "film-episode"
    path.mkdir()
    return path


@pytest.fixture(scope="module")
def corvane(folder: Path) -> LoadedProfile:
    """The short version of CORVANE 5, for a programme of one minute."""
    path = folder / "minute.toml"
    path.write_text(
        'base = ["corvane-5-mini"]\n[outlet]\nname = "CORVANE 5, one minute"\ncode = "corvane-5-minute"\n'
        '[duration.trt]\nexact = "00:01:00;00"\ntolerance = "1 frame"\n'
        '[structure.act_length]\nmin = "00:00:10;00"\nmax = "00:00:18;00"\n'
    )
    return load_profile(str(path))


def failing(verdict: Verdict) -> set[str]:
    return {finding.requirement for finding in verdict.findings if finding.outcome is Outcome.FAIL}


def findings(verdict: Verdict, requirement: str, outcome: Outcome) -> list[Finding]:
    return [f for f in verdict.findings if f.requirement == requirement and f.outcome is outcome]


@pytest.mark.parametrize("form", FORMS)
def test_a_clean_episode_in_every_codec(folder, corvane, form):
    """Acts, breaks, loudness and peak read as built; only what the wrapper and codec are differs."""
    episode = film_episode(folder, "clean", form)
    verdict = judge(measure_file(episode.path, store=None), corvane)
    assert failing(verdict) == FORMS[form]
    table = verdict.programme
    assert [(act.span.first, act.span.end) for act in table.acts] == list(episode.acts)
    assert (table.trt_frames, len(table.breaks)) == (1798, 3)
    assert table.acts[0].som == "01:00:00;00" and table.acts[3].eom == "01:01:03;00"
    # libebur128: integrated within 0.1 LU, true peak within 0.2 dB.
    assert [act.integrated for act in table.acts] == pytest.approx(list(episode.act_lufs), abs=0.1)
    (loudness,) = findings(verdict, "loudness.programme", Outcome.PASS)
    assert loudness.measured == pytest.approx(episode.programme_lufs, abs=0.1)
    (peak,) = findings(verdict, "true_peak.programme", Outcome.PASS)
    assert peak.measured == pytest.approx(episode.true_peak, abs=0.2)


def test_a_clean_episode_at_every_outlet(folder, corvane):
    """One measurement, six verdicts: it passes where it belongs and fails elsewhere for the known reasons."""
    episode = film_episode(folder, "clean", "mxf-mpeg2")
    measurement = measure_file(episode.path, store=None)
    home = judge(measurement, corvane)
    assert not failing(home) and home.measurable
    # The film's sound is cut hard at each act's end, so this may be pointed out; that every fifth of its frames is
    # shown twice, to make 29.97 of 24, has to be; and nothing else.
    advisories = {finding.requirement for finding in home.of(Outcome.ADVISORY)}
    assert {"cadence.accepted"} <= advisories <= {"structure.act_ends", "cadence.accepted"}
    for outlet, reasons in ELSEWHERE.items():
        verdict = judge(measurement, load_profile(f"{outlet}-mini"))
        assert verdict.outcome is Outcome.FAIL
        assert failing(verdict) >= reasons, (outlet, reasons - failing(verdict))
        assert not [f for f in verdict.findings if f.outcome is Outcome.FAIL and f.fix is None]


@pytest.mark.parametrize("form", ["mxf-mpeg2", "mov-prores"])
def test_planted_faults_are_found_and_nothing_else(folder, corvane, form):
    """A loud act, an act 14 frames long, a break 5 frames short, one black frame: each in frames and dB."""
    episode = film_episode(folder, "planted", form, PLANTED)
    verdict = judge(measure_file(episode.path, store=None), corvane)
    assert failing(verdict) == FORMS[form] | {
        "loudness.act",
        "structure.break_length",
        "black.inside_acts",
        "duration.trt",
    }
    (loud,) = findings(verdict, "loudness.act", Outcome.FAIL)
    assert loud.subject.startswith("act 2") and loud.fix is not None and loud.fix.amount is not None
    assert loud.measured == pytest.approx(episode.act_lufs[1], abs=0.1)
    assert loud.fix.amount == pytest.approx(-24.0 - episode.act_lufs[1], abs=0.15)
    (short,) = findings(verdict, "structure.break_length", Outcome.FAIL)
    assert "break 2" in short.subject and short.fix is not None and short.fix.amount == 5
    (black,) = findings(verdict, "black.inside_acts", Outcome.FAIL)
    at = episode.acts[1][0] + PLANTED.black_frame
    assert [(place.span.first, place.span.frames) for place in black.places] == [(at, 1)]
    assert black.places[0].timecode == DROP.label(HOUR + at)
    (long,) = findings(verdict, "duration.trt", Outcome.FAIL)
    assert verdict.programme.trt_frames == 1798 + 14
    assert long.fix is not None
