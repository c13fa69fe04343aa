"""Random damage to small files: no hang, no crash, and no pass for a file that lost anything.

Damage inside uncompressed sound cannot be seen without a reference (any bytes are some sound), so
"no pass" is asked of every file that was cut short, and of every file whose decoded picture and
sound are not as long as the original's or whose decoder met an error. The profile asks for the streams that
were there, as every station's does: a header that was changed so that a stream is gone reads as a well-formed
file without that stream.
"""

from __future__ import annotations

import os
from fractions import Fraction
from pathlib import Path

import pytest

from qc.errors import CannotMeasure
from qc.judge import judge, judge_unreadable
from qc.judge.verdict import Outcome, Verdict
from qc.measurement.child import RunLimits, measure_file
from qc.measurement.record import Measurement
from qc.outlets.load import LoadedProfile, load_profile
from tests.kit.damage import KINDS, damage
from tests.kit.render import MONO_PAIR, STEREO, Sound, episode, render

FORMS = ("mov", "mxf", "mp4", "wav")
IN_SUITE = 2 * len(KINDS)  # per form; the long run (make fuzz) takes 500
IN_LONG_RUN = int(os.environ.get("AIRWORTHY_DAMAGED_FILES", "2000")) // len(FORMS)
LIMITS = RunLimits(no_progress_seconds=20, longest=Fraction(60))


@pytest.fixture(scope="session")
def originals(media_dir: Path) -> dict[str, Path]:
    shape = {"acts": (24, 20), "break_frames": 6, "raster": (160, 96)}
    made = {
        "mov": episode(media_dir / "damage.mov", form="mov-prores", sounds=MONO_PAIR, **shape).path,
        "mxf": episode(media_dir / "damage.mxf", form="mxf-mpeg2", sounds=MONO_PAIR, **shape).path,
        "mp4": episode(media_dir / "damage.mp4", form="mp4-h264", sounds=(Sound("stereo"),), **shape).path,
        "wav": render(
            media_dir / "damage.wav",
            ["-f", "lavfi", "-i", "sine=frequency=997:sample_rate=48000:duration=2", "-ac", "2", "-c:a", "pcm_s24le"],
        ),
    }
    assert STEREO
    return made


@pytest.fixture(scope="session")
def lenient(tmp_path_factory: pytest.TempPathFactory) -> dict[str, LoadedProfile]:
    """By form: asks for a whole file with its streams and for nothing else, so that only the damage can fail it."""
    folder = tmp_path_factory.mktemp("profile")
    made = {}
    for form in FORMS:
        path = folder / f"{form}.toml"
        path.write_text(
            '[outlet]\nname = "Whole"\ncode = "whole"\n[integrity.decodable]\nrequired = true\n'
            f"[streams.pictures]\nexact = {0 if form == 'wav' else 1}\n[audio.channels]\nexact = 2\n"
        )
        made[form] = load_profile(str(path))
    return made


def check(path: Path, profile: LoadedProfile) -> tuple[Verdict, Measurement | None]:
    try:
        measurement = measure_file(path, store=None, limits=LIMITS)
    except CannotMeasure as error:
        return judge_unreadable(path.name, profile, str(error)), None
    return judge(measurement, profile), measurement


def lengths(measurement: Measurement) -> tuple[int, int]:
    picture = measurement.picture.frames if measurement.picture else 0
    sound = int(measurement.sound.samples.min()) if measurement.sound is not None else 0
    return picture, sound


def judge_damaged(form: str, seeds: range, originals: dict[str, Path], folder: Path, profile: LoadedProfile) -> None:
    original = originals[form]
    content = original.read_bytes()
    verdict, whole = check(original, profile)
    assert verdict.outcome is Outcome.PASS, [f for f in verdict.findings if f.outcome is not Outcome.PASS]
    assert whole is not None
    wrongly = []
    for seed in seeds:
        case = damage(content, seed)
        path = folder / f"{seed}.{form}"
        path.write_bytes(case.content)
        verdict, measured = check(path, profile)
        path.unlink()
        if verdict.outcome is not Outcome.FAIL and not _rightly(measured, whole, case.cut_short):
            wrongly.append(f"{form} seed {seed} ({case.words}) passed")
    assert not wrongly, wrongly


def _rightly(measured: Measurement | None, whole: Measurement, cut_short: bool) -> bool:
    """The damage took nothing that can be known: all of it was decoded, without an error."""
    if measured is None or not measured.complete:
        return False
    if any(have < had for have, had in zip(lengths(measured), lengths(whole), strict=True)):
        return False
    if cut_short and lengths(measured) != lengths(whole):
        return False
    return not any("error" in event.kind or "damaged" in event.kind for event in measured.events)


@pytest.mark.parametrize("form", FORMS)
def test_damaged_files_never_hang_crash_or_pass(form, originals, lenient, tmp_path):
    """A seeded sample of the long run: every kind of damage twice in every wrapper."""
    judge_damaged(form, range(IN_SUITE), originals, tmp_path, lenient[form])


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMS)
def test_damaged_files_never_hang_crash_or_pass_long_run(form, originals, lenient, tmp_path):
    """Two thousand damaged files (make fuzz)."""
    judge_damaged(form, range(1000, 1000 + IN_LONG_RUN), originals, tmp_path, lenient[form])
