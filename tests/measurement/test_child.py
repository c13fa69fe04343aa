"""The child process: whatever it does, the parent goes on, cleans up, and says where it was."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from qc.errors import CannotMeasure
from qc.measurement import child
from qc.measurement.child import Progress, RunLimits, measure_file, probe_file
from qc.media.facts import FileFacts
from tests.kit.render import episode

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def short(media_dir: Path) -> Path:
    return episode(media_dir / "child.mov", acts=(30, 30), raster=(128, 72)).path


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where private folders of children are made during this test."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    return tmp_path


def misbehave(monkeypatch: pytest.MonkeyPatch, then: str) -> None:
    """A child that reads its request, reports some progress, then does as told."""
    code = f"import sys, time, os, json; json.loads(sys.stdin.readline()); {then}"
    monkeypatch.setattr(child, "WORKER", ("-u", "-c", code))


PROGRESS = 'print(\'{"progress": {"frames": 375, "seconds": 15.0, "share": 0.1}}\', flush=True); '


def test_facts_come_first_and_progress_ends_at_the_end(short: Path) -> None:
    """``on_facts`` once, before any progress; the record is whole."""
    told: list[object] = []
    record = measure_file(short, store=None, on_facts=told.append, on_progress=told.append)

    assert isinstance(told[0], FileFacts) and told[0] == record.facts
    assert all(isinstance(item, Progress) and 0 <= (item.fraction or 0) <= 1 for item in told[1:])
    assert record.complete and record.picture is not None and record.picture.frames == 75
    assert record.identity.size == short.stat().st_size
    assert {"av", "numpy", "opencv", "libavcodec"} <= set(record.libraries)


def test_probing_gives_the_same_facts(short: Path) -> None:
    """``probe_file`` reads what the long pass starts from."""
    assert probe_file(short) == measure_file(short, store=None).facts


def test_a_child_that_hangs_is_ended_and_its_place_named(
    short: Path, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No sign of life for the time allowed: an error with the last position, no process, no folder left."""
    misbehave(monkeypatch, f"{PROGRESS} open({str(folder / 'pid')!r}, 'w').write(str(os.getpid())); time.sleep(600)")
    began = time.monotonic()
    with pytest.raises(CannotMeasure) as caught:
        measure_file(short, store=None, limits=RunLimits(no_progress_seconds=3))

    assert time.monotonic() - began < 30
    assert "0:00:15.000 (frame 375)" in caught.value.what and caught.value.where == short.name
    with pytest.raises(ProcessLookupError):
        os.kill(int((folder / "pid").read_text()), 0)
    assert not list(folder.glob("airworthy-*"))


@pytest.mark.parametrize(
    ("then", "said"),
    [
        ("os.kill(os.getpid(), 11)", "crashed (SIGSEGV)"),
        ("sys.exit(7)", "gave up"),
        ("print('not json', flush=True); time.sleep(60)", "could not be understood"),
        ("print('[1]', flush=True); time.sleep(60)", "could not be understood"),
        ('print(\'{"facts": {"wrapper": 3}}\', flush=True); time.sleep(60)', "headers could not be handed over"),
        ("print('{\"result\": {}}', flush=True); time.sleep(60)", "measurement could not be handed over"),
    ],
)
def test_a_child_that_breaks_is_one_files_error(
    short: Path, folder: Path, monkeypatch: pytest.MonkeyPatch, then: str, said: str
) -> None:
    """A crash, an early exit or nonsense: CannotMeasure naming the file; nothing is left behind."""
    misbehave(monkeypatch, then)
    with pytest.raises(CannotMeasure) as caught:
        measure_file(short, store=None)

    assert said in caught.value.what and caught.value.where == short.name
    assert not list(folder.glob("airworthy-*"))


def test_a_memory_bound_ends_in_words(short: Path, folder: Path) -> None:
    """A file that needs more than allowed is an error of that file (data segment bound by the system)."""
    pytest.importorskip("resource")
    with pytest.raises(CannotMeasure) as caught:
        measure_file(short, store=None, limits=RunLimits(memory_bytes=60 << 20))

    assert caught.value.where == short.name
    assert "Traceback" not in str(caught.value)


def test_memory_stays_flat_in_the_length_of_the_programme(media_dir: Path) -> None:
    """Three times the pictures and sound cost at most 30 MB more (peak resident size of the child)."""
    resource = pytest.importorskip("resource")
    assert resource
    script = (
        "import resource, sys; from pathlib import Path; from qc.measurement.child import measure_file;"
        "r = measure_file(Path(sys.argv[1]), store=None); assert r.complete;"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    peaks = []
    for frames in (200, 600):
        made = episode(
            media_dir / f"flat-{frames}.mov", acts=(frames // 2, frames // 2), break_frames=0, raster=(320, 180)
        )
        done = subprocess.run(
            [sys.executable, "-c", script, str(made.path)], cwd=ROOT, capture_output=True, text=True, check=True
        )
        peaks.append(int(done.stdout) / 1024)

    assert peaks[1] - peaks[0] < 30
    assert max(peaks) < 400


@pytest.mark.parametrize("name", ["missing.mov", "empty.mov", "notes.mov", "folder.mov"])
def test_what_cannot_be_measured_says_so(tmp_path: Path, name: str) -> None:
    """No file, no content, no media, no file at all: words for the user from the child."""
    path = tmp_path / name
    if name == "empty.mov":
        path.touch()
    elif name == "notes.mov":
        path.write_text("Act 1 is two frames short.\n" * 50)
    elif name == "folder.mov":
        path.mkdir()
    for act in (probe_file, lambda where: measure_file(where, store=None)):
        with pytest.raises(CannotMeasure) as caught:
            act(path)
        assert name in str(caught.value) and "inside the tool" not in str(caught.value)


@pytest.mark.skipif(os.name != "posix", reason="signals of this kind are POSIX")
def test_an_interrupt_leaves_no_child_and_no_folder(short: Path, tmp_path: Path) -> None:
    """Ctrl-C while the child works: KeyboardInterrupt comes out, the child is gone, so is its folder."""
    pid, folder = tmp_path / "pid", tmp_path / "temp"
    folder.mkdir()
    fake = f"import os, time; open({str(pid)!r}, 'w').write(str(os.getpid())); time.sleep(600)"
    script = (
        "import sys; from pathlib import Path; from qc.measurement import child;"
        f"child.WORKER = ('-c', {fake!r});"
        "child.measure_file(Path(sys.argv[1]), store=None)"
    )
    parent = subprocess.Popen(
        [sys.executable, "-c", script, str(short)],
        cwd=ROOT,
        env={**os.environ, "TMPDIR": str(folder)},
        stderr=subprocess.PIPE,
        text=True,
    )
    deadline = time.monotonic() + 60
    while not (pid.exists() and pid.read_text()) and time.monotonic() < deadline:
        time.sleep(0.05)
    assert list(folder.iterdir())
    parent.send_signal(signal.SIGINT)
    _, said = parent.communicate(timeout=60)

    assert "KeyboardInterrupt" in said
    with pytest.raises(ProcessLookupError):
        os.kill(int(pid.read_text()), 0)
    assert not list(folder.iterdir())


def test_a_folder_of_python_files_beside_the_media_is_not_run(short: Path, tmp_path: Path) -> None:
    """The child does not import from the current folder, where media and anything else may lie."""
    (tmp_path / "qc.py").write_text("raise SystemExit('ran a stranger')")
    (tmp_path / "numpy.py").write_text("raise SystemExit('ran a stranger')")
    script = (
        "import sys; sys.path[:] = [p for p in sys.path if p]; from pathlib import Path;"
        "from qc.measurement.child import probe_file; print(probe_file(Path(sys.argv[1])).wrapper)"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", script, str(short)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip() == "MOV"


def test_the_child_starts_light() -> None:
    """What costs a second to import and is not needed to measure stays out of the child and of its parent."""
    heavy = ("scipy", "pyloudnorm", "pydantic", "jinja2", "rich", "typer", "ffmpeg")
    script = (
        "import sys, qc.measurement.child, qc.measurement.store; parent = set(sys.modules);"
        "import qc.measurement.worker, qc.measurement.one_pass, qc.media.probe;"
        f"print([name for name in {heavy!r} if name in sys.modules], [n for n in ('av', 'cv2') if n in parent])"
    )
    done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[] []"
