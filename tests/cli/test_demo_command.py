"""``qc demo``: its exit status and last words; interrupted it leaves nothing. Its whole run is ``make demo``, too long
for here. Contract of this tool, no outside source."""

from __future__ import annotations

import os
import signal
import subprocess
import time
from dataclasses import replace
from pathlib import Path

import pytest

from qc.cli import demo as demo_command
from qc.delivery.run import CheckedFile
from qc.demo import season
from qc.demo.episodes import VERSIONS
from qc.demo.layout import layout
from qc.demo.outlet_forms import FORMS
from qc.demo.truth import score
from qc.demo.version import Content, Version
from qc.judge.verdict import Finding, Place, Verdict
from qc.timing.spans import Span
from tests.kit import verdicts
from tests.kit.command import command, environment

#: 205: one planted black frame.
PLANTED = next(
    replace(version, expected=version.expected[:1])
    for version in VERSIONS
    if version.expected[:1] and version.expected[0].requirement == "black.inside_acts"
)


def verdict_on(version: Version, moved: int = 0) -> Verdict:
    """What a right check of this version says, its places moved by some frames."""
    plan = layout(FORMS[version.outlet], version)
    found = []
    for expected in version.expected:
        span = plan.span(expected.at)
        first = span.first + moved
        at = Place(Span(first, first + span.frames), plan.clock.at(first), plan.clock.at(first + span.frames), "")
        assert isinstance(expected.value, int)
        found.append(
            replace(
                verdicts.finding(),
                requirement=expected.requirement,
                check="black",
                subject=expected.subject,
                outcome=verdicts.Outcome.FAIL,
                measured=expected.value,
                places=(at,),
            )
        )
    passed: tuple[Finding, ...] = (verdicts.finding(),)
    return verdicts.verdict(findings=(*found, *passed))


@pytest.mark.parametrize(
    ("version", "seen", "status", "words"),
    [
        (PLANTED, verdict_on(PLANTED), 0, ["found", "Every planted fault was found, and nothing else."]),
        (PLANTED, verdict_on(replace(PLANTED, expected=())), 1, ["MISSED", "NOT RIGHT"]),
        (replace(PLANTED, expected=()), verdict_on(PLANTED), 1, ["FALSE", "NOT RIGHT"]),
        (PLANTED, verdict_on(PLANTED, moved=1), 1, ["MISSED", "FALSE", "frame 1460", "frame 1461", "NOT RIGHT"]),
        (replace(PLANTED, expected=(replace(PLANTED.expected[0], at=Content(7)),)), verdict_on(PLANTED), 1, ["MISSED"]),
    ],
    ids=["right", "a fault was removed", "an unplanned finding", "a frame late", "truth elsewhere"],
)
def test_the_exit_status_is_the_score(
    version: Version,
    seen: Verdict,
    status: int,
    words: list[str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    tmp_path: Path,
) -> None:
    """0 only if every planted fault was found at its frames and nothing else; the table says so per check.

    Rendering and checking are left out; the same scoring is run on what a check would have said.
    """

    def run(self: season.Season) -> list[season.Shown]:
        checked = CheckedFile(tmp_path / "a.mxf", verdicts.media(), (seen,), {}, 0, "")
        return [season.Shown(version, checked, score(version, seen), None)]

    monkeypatch.setattr(season.Season, "run", run)
    assert demo_command.demo(tmp_path / "out", full=False, keep=False) == status
    said = capsys.readouterr().out
    for word in words:
        assert word in said
    row = next(line for line in said.splitlines() if line.startswith("black"))
    assert (row.split()[3:] == ["0", "0"]) == (status == 0)
    assert max(map(len, said.split("Reports:")[0].splitlines())) <= 80
    assert (tmp_path / "out" / season.TRUTH_FILE).exists() and (tmp_path / "out" / "index.html").exists()


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
