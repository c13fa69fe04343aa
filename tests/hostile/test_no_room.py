"""Nowhere to write: the verdict is said all the same, the exit status stays, the reason is told, nothing is left half.

Full disks and read-only folders are real ones: small file systems of a mount namespace of the test's own, where the
system allows that (it then says why it is skipped); elsewhere the limit on file sizes that every POSIX system has.
"""

from __future__ import annotations

import json
import os
import resource
import shlex
import stat
import subprocess
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from qc.measurement.child import measure_file
from qc.measurement.store import Store
from tests.kit.command import Done, command, environment, qc
from tests.kit.papers import read
from tests.kit.profiles import write_profile
from tests.kit.render import MONO_PAIR, NTSC, episode

OUTLET = """
[outlet]
name = "Pier"
code = "pier"

[picture.frame_rate]
accept = ["30000/1001"]

[audio.channels]
exact = 4
"""
SAID = "Not deliverable as it is: 1 requirement is not met."


@pytest.fixture(scope="module")
def clip(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("room") / "clip.mov"
    return episode(path, acts=(20,), break_frames=[], rate=NTSC, sounds=MONO_PAIR).path


@pytest.fixture(scope="module")
def store(clip: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A store that knows the clip."""
    kept = tmp_path_factory.mktemp("store")
    measure_file(clip, store=Store(kept))
    return kept


@pytest.fixture
def folder(tmp_path: Path, store: Path) -> Path:
    write_profile(tmp_path, OUTLET, "pier.toml")
    (tmp_path / "store").symlink_to(store)
    return tmp_path


def arguments(clip: Path, *more: object) -> list[str]:
    return command("check", clip, "--outlet", "pier.toml", "--settle", 0, *more)


def run(folder: Path, words: list[str], before: Callable[[], None] | None = None, **env: str) -> Done:
    settings = environment(**{"AIRWORTHY_STORE": str(folder / "store"), **env})
    done = subprocess.run(
        words, cwd=folder, env=settings, capture_output=True, timeout=120, check=False, preexec_fn=before
    )
    result = Done(done.returncode, done.stdout.decode(), done.stderr.decode())
    assert "Traceback" not in result.words and "inside the tool" not in result.words, result.words
    return result


def whole(folder: Path) -> list[Path]:
    """Everything that was written; each has to be whole by a parser, and nothing has a temporary name."""
    papers = [path for path in folder.rglob("*") if path.is_file()]
    for path in papers:
        assert path.suffix in (".html", ".csv", ".json", ".xml"), f"{path.name} was left behind"
        read(path)
        if path.suffix == ".html":
            assert path.read_bytes().endswith(b"</html>\n")
    return papers


@pytest.mark.parametrize("out", ["taken", "taken/reports"])
def test_a_file_in_the_place_of_the_folder(clip: Path, folder: Path, out: str) -> None:
    """The verdict is printed, the status is that of the verdict, the message names place and remedy."""
    (folder / "taken").write_text("precious")
    done = run(folder, arguments(clip, "--out", out, "--json", f"{out}/all.json", "--junit", f"{out}/all.xml"))
    assert done.status == 1 and SAID in done.out
    assert "taken" in done.err and "--out" in done.err and len(done.err.splitlines()) <= 6
    assert "report:" not in done.out and "All papers" not in done.out  # nothing is pointed at that is not there
    assert (folder / "taken").read_text() == "precious"


def test_a_limit_on_the_size_of_files(clip: Path, folder: Path) -> None:
    """No paper over 12 kB can be written: smaller ones are whole, the rest is not there, the verdict is the same."""
    run(folder, arguments(clip, "--out", "first"))

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (12_000, 12_000))

    done = run(folder, arguments(clip, "--out", "out", "--json", "out/all.json"), limited)
    assert done.status == 1 and SAID in done.out
    assert "could not be written" in done.err
    papers = whole(folder / "out")
    assert all(path.stat().st_size <= 12_000 for path in papers)
    assert len(papers) < len(whole(folder / "first"))


def test_an_old_report_outlives_a_full_disk(clip: Path, folder: Path) -> None:
    """Papers of an earlier run that cannot be replaced stay whole."""
    run(folder, arguments(clip, "--out", "out"))
    before = {path: path.read_bytes() for path in whole(folder / "out")}

    def limited() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))

    done = run(folder, arguments(clip, "--out", "out"), limited)
    assert done.status == 1 and SAID in done.out
    assert {path: path.read_bytes() for path in whole(folder / "out")} == before


def mounted(folder: Path, mount: str, words: list[str], **env: str) -> Done:
    """Runs in a mount namespace of its own after ``mount``; the mounts are gone with it. Skips where not allowed."""
    try:
        allowed = subprocess.run(
            ["unshare", "-m", "sh", "-c", f"{mount}; umount room"], cwd=folder, capture_output=True, check=False
        )
    except FileNotFoundError:
        pytest.skip("there is no unshare here")
    if allowed.returncode:
        pytest.skip(f"no mount is allowed here: {allowed.stderr.decode().strip()[:80]}")
    # What is in the small file system at the end is copied out of it before it goes.
    script = f"{mount}; {shlex.join(words)}; status=$?; cp -r room/. seen; exit $status"
    (folder / "seen").mkdir()
    return run(folder, ["unshare", "-m", "sh", "-c", script], **env)


def test_a_full_disk(clip: Path, folder: Path) -> None:
    """64 kB of room: what fits is whole, its links lead to what is there, the verdict and the status stand."""
    (folder / "room").mkdir()
    words = arguments(clip, "--out", "room/out", "--json", "room/out/all.json", "--junit", "room/out/all.xml")
    done = mounted(folder, "mount -t tmpfs -o size=64k none room", words)
    assert done.status == 1 and SAID in done.out
    assert "No space left on device" in done.err and "--out" in done.err
    papers = whole(folder / "seen")
    assert 0 < sum(path.stat().st_size for path in papers) <= 64 * 1024
    for page in papers:
        for link in read(page).links:
            # The index of the run is written last, and had no room
            there = link == "../index.html" or (page.parent / link).is_file()
            assert link.startswith(("#", "data:")) or there, (page.name, link)


def test_a_read_only_folder(clip: Path, folder: Path) -> None:
    """Nothing is written, the verdict and the status stand."""
    (folder / "room").mkdir()
    mount = "mount --bind room room && mount -o remount,bind,ro room"
    done = mounted(folder, mount, arguments(clip, "--out", "room/out", "--json", "room/all.json"))
    assert done.status == 1 and SAID in done.out
    assert "Read-only file system" in done.err and whole(folder / "seen") == []


def test_no_room_for_temporary_files(clip: Path, folder: Path) -> None:
    """The pass cannot hand on its figures: not measured, said in words that help, nothing left."""
    (folder / "room").mkdir()
    words = arguments(clip, "--out", "out", "--quiet", "--fresh")
    done = mounted(folder, "mount -t tmpfs -o size=8k none room", words, TMPDIR=str(folder / "room"))
    assert done.status == 3 and done.out.startswith("FAIL  clip.mov  Pier")
    assert "temporary files (No space left on device)" in done.said and "TMPDIR" in done.said
    assert whole(folder / "seen") == [] and whole(folder / "out")


def test_a_store_that_cannot_be_written(clip: Path, folder: Path) -> None:
    """The measurement cannot be kept for the next run: a word about it, the same verdict and papers."""
    (folder / "taken").write_text("")
    done = run(folder, arguments(clip, "--out", "out"), AIRWORTHY_STORE=str(folder / "taken" / "store"))
    assert done.status == 1 and SAID in done.out
    assert done.said.startswith("The measurement of clip.mov could not be kept in ") and whole(folder / "out")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
@pytest.mark.parametrize("json_too", [False, True])
def test_standard_output_on_a_full_disk(clip: Path, folder: Path, json_too: bool) -> None:
    """What standard output cannot take is said on standard error, and the status is still the verdict's."""
    words = arguments(clip, "--out", "out", *(["--json", "-"] if json_too else []))
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            words, cwd=folder, env=environment(AIRWORTHY_STORE=str(folder / "store")), stdout=full,
            stderr=subprocess.PIPE, timeout=120, check=False,
        )  # fmt: skip
    said = done.stderr.decode()
    assert done.returncode == 1, said
    assert SAID in said and "Standard output cannot be written (No space left on device)" in said
    assert "Traceback" not in said and "Exception" not in said and whole(folder / "out")


def test_a_pipe_that_stands_there_is_written_to(clip: Path, folder: Path) -> None:
    """A document can go into a named pipe; a device that stands in the place of a file is not replaced by one."""
    pipe = folder / "pipe"
    os.mkfifo(pipe)
    got: list[str] = []
    reader = threading.Thread(target=lambda: got.append(pipe.read_text()), daemon=True)
    reader.start()
    done = qc(
        "check", clip, "--outlet", "pier.toml", "--settle", 0, "--json", "pipe", "--junit", "/dev/null", cwd=folder
    )
    reader.join(timeout=30)
    assert done.status == 1 and done.err == ""
    assert [verdict["code"] for verdict in json.loads(got[0])["verdicts"]] == ["pier"]
    assert stat.S_ISFIFO(pipe.stat().st_mode) and stat.S_ISCHR(os.stat("/dev/null").st_mode)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
def test_a_full_device_as_a_document(clip: Path, folder: Path) -> None:
    """The document cannot be written: a message, the verdict's status, and the device is still one."""
    done = run(folder, arguments(clip, "--json", "/dev/full"))
    assert done.status == 1 and SAID in done.out
    assert "/dev/full" in done.err and "No space left on device" in done.err
    assert stat.S_ISCHR(os.stat("/dev/full").st_mode)
