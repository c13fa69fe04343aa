"""Random damage to small files: no hang, no crash, and no pass for a file that lost anything.

Damage inside uncompressed sound cannot be seen without a reference (any bytes are some sound), so
"no pass" is asked of every file that was cut short, and of every file whose decoded picture and
sound are not as long as the original's or whose decoder met an error.
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
def lenient(tmp_path_factory: pytest.TempPathFactory) -> LoadedProfile:
    """Asks for nothing but a whole file, so that only the damage can fail it."""
    path = tmp_path_factory.mktemp("profile") / "whole.toml"
    path.write_text('[outlet]\nname = "Whole"\ncode = "whole"\n[integrity.decodable]\nrequired = true\n')
    return load_profile(str(path))


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
    for seed in seeds:
        case = damage(content, seed)
        path = folder / f"{seed}.{form}"
        path.write_bytes(case.content)
        verdict, measured = check(path, profile)
        path.unlink()
        if verdict.outcome is not Outcome.FAIL:
            words = f"{form} seed {seed} ({case.words}) passed"
            assert not (case.cut_short and lengths(measured) != lengths(whole)), words
            assert measured is not None and measured.complete, words
            assert lengths(measured) >= lengths(whole), words
            assert not any("error" in event.kind or "damaged" in event.kind for event in measured.events), words


@pytest.mark.parametrize("form", FORMS)
def test_damaged_files_never_hang_crash_or_pass(form, originals, lenient, tmp_path):
    """A seeded sample of the long run: every kind of damage twice in every wrapper."""
    judge_damaged(form, range(IN_SUITE), originals, tmp_path, lenient)


@pytest.mark.slow
@pytest.mark.parametrize("form", FORMS)
def test_damaged_files_never_hang_crash_or_pass_long_run(form, originals, lenient, tmp_path):
    """Two thousand damaged files (make fuzz)."""
    judge_damaged(form, range(1000, 1000 + IN_LONG_RUN), originals, tmp_path, lenient)
