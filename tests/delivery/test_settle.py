"""A growing file is not judged: size and time of change have to stand still. Common practice, no source."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from qc.delivery.settle import require_settled
from qc.errors import CannotMeasure
from qc.media.sniff import readable_file


class Clock:
    """Time that passes only when somebody waits; ``meanwhile`` is what happens to the file then."""

    def __init__(self, start: float, meanwhile=lambda: None) -> None:
        self.time, self.meanwhile = start, meanwhile

    def now(self) -> float:
        return self.time

    def wait(self, seconds: float) -> None:
        self.time += seconds
        self.meanwhile()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "a.mov"
    path.write_bytes(b"12345")
    os.utime(path, (1000, 1000))
    return path


def test_an_old_file_costs_no_time(file: Path) -> None:
    """Left alone for exactly the time asked for: no wait at all."""
    clock = Clock(1005)
    require_settled(file, 5, now=clock.now, wait=clock.wait)
    assert clock.time == 1005


@pytest.mark.parametrize("now", [1000.0, 1001.5, 900.0], ids=["just written", "recent", "its clock is ahead"])
def test_a_recent_file_is_watched_for_the_rest(file: Path, now: float) -> None:
    """A fresh export that stands still is taken; a time stamp in the future means the whole wait."""
    clock = Clock(now)
    require_settled(file, 5, now=clock.now, wait=clock.wait)
    assert clock.time == pytest.approx(max(1005, now) if now >= 1000 else now + 5)


@pytest.mark.parametrize("change", ["grows", "is touched", "goes away"])
def test_a_change_while_watched_is_refused(file: Path, change: str) -> None:
    """More bytes, or a newer time of change with the same size, or no file any more."""

    def meanwhile() -> None:
        if change == "grows":
            file.write_bytes(b"123456")
            os.utime(file, (1000, 1000))
        elif change == "is touched":
            os.utime(file, (1001, 1001))
        else:
            file.unlink(missing_ok=True)

    clock = Clock(1001, meanwhile)
    with pytest.raises(CannotMeasure, match="no such file" if change == "goes away" else "still changing"):
        require_settled(file, 5, now=clock.now, wait=clock.wait)


def test_what_is_no_file_is_named(tmp_path: Path) -> None:
    """A broken link, a folder, a pipe and a missing file each in the words of the probe, even with the rule off."""
    (tmp_path / "link").symlink_to(tmp_path / "gone")
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "folder").mkdir()
    said = {"link": "a link to a file that is not there", "folder": "this is a folder", "pipe": "not a regular file"}
    for name, words in {**said, "none": "there is no such file"}.items():
        with pytest.raises(CannotMeasure, match=words) as caught:
            require_settled(tmp_path / name, 0)
        with pytest.raises(CannotMeasure) as probed:
            readable_file(tmp_path / name)
        assert str(caught.value) == str(probed.value)
