"""``qc demo``: interrupted it leaves nothing; its whole run is ``make demo``, too long for here."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from pathlib import Path

from tests.kit.command import command, environment


def test_interrupt_leaves_no_media_and_no_child(tmp_path: Path) -> None:
    """Ctrl-C while rendering: exit 130, no part of a file, no temporary folder, nothing running on."""
    room = tmp_path / "tmp"
    room.mkdir()
    child = subprocess.Popen(
        command("demo", "--out", tmp_path / "out"),
        env=environment(TMPDIR=str(room), AIRWORTHY_STORE=str(tmp_path / "store")),
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    episodes = tmp_path / "out" / "demo-episodes"
    end = time.monotonic() + 60
    while not (episodes.is_dir() and any(path.stat().st_size for path in episodes.iterdir())):
        assert child.poll() is None and time.monotonic() < end
        time.sleep(0.1)
    os.killpg(child.pid, signal.SIGINT)
    _, said = child.communicate(timeout=60)

    assert child.returncode == 130, said
    assert b"Traceback" not in said
    assert not episodes.exists()
    assert list(room.iterdir()) == []
