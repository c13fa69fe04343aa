"""Found, missed, false: the demo's own judge of its findings must not flatter."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from qc.demo.digits import written
from qc.demo.episodes import VERSIONS, Expected, Version
from qc.demo.ffmpeg_program import ffmpeg_program
from qc.demo.truth import score, truth_document
from qc.errors import UserError
from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.timing.spans import Span
from tests.kit.verdicts import verdict

BLACK = Expected("black.inside_acts", frames=(10, 11))
LOUD = Expected("loudness.programme", value=-24.9, within=0.1)


def finding(requirement: str, outcome: Outcome = Outcome.FAIL, **more: object) -> Finding:
    base = Finding(requirement, "check", "Title", "act 1", outcome, "must", 1, "0")
    return replace(base, **more)  # type: ignore[arg-type]


def place(first: int, end: int) -> Place:
    return Place(Span(first, end), "01:00:00;00", "01:00:00;01", "0:00:00.000")


def judged(*findings: Finding) -> Verdict:
    return replace(verdict(), findings=findings)


def test_a_planted_fault_at_its_place_is_found() -> None:
    """Requirement, frame and value have to fit."""
    version = Version(205, "corvane-5-mini", (BLACK, LOUD))
    result = score(
        version,
        judged(
            finding("black.inside_acts", places=(place(10, 11),)),
            finding("loudness.programme", measured=-24.95),
            finding("wrapper.kind", Outcome.PASS),
        ),
    )
    assert result.right and result.found == (BLACK, LOUD)


@pytest.mark.parametrize(
    "wrong",
    [
        finding("black.inside_acts", places=(place(9, 10),)),
        finding("black.inside_acts", Outcome.ADVISORY, places=(place(10, 11),)),
        finding("black.other", places=(place(10, 11),)),
        finding("loudness.programme", measured=-25.1),
        finding("loudness.programme", Outcome.NOT_MEASURED, measured=None),
    ],
    ids=["a frame off", "only advisory", "other requirement", "other value", "not measured"],
)
def test_what_does_not_fit_is_both_missed_and_false(wrong: Finding) -> None:
    """A finding next to the truth is a miss and a false alarm, not half a hit."""
    expected = LOUD if wrong.requirement.startswith("loudness") else BLACK
    result = score(Version(205, "corvane-5-mini", (expected,)), judged(wrong))
    assert (result.found, result.missed, result.false) == ((), (expected,), (wrong,))
    assert not result.right


def test_the_truth_file_names_every_planted_place() -> None:
    """Each file with its acts, faults, timecodes: 205 has one black frame at 01:00:47;20 and a later one."""
    document = truth_document(VERSIONS)
    json.dumps(document, allow_nan=False)
    last = document["files"][-1]
    assert last["planted"][0]["place"] == {"first_frame": 1430, "frames": 1, "timecode": "01:00:47;20"}
    assert last["planted_for_later"][0]["place"]["frames"] == 2
    assert len(document["files"]) == len(VERSIONS)


def test_digits_can_be_told_apart() -> None:
    """The burnt-in clock is readable: no two digits share a picture."""
    assert len({written(digit).tobytes() for digit in "0123456789"}) == 10


def test_an_explicit_ffmpeg_comes_first(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The setting wins over the packaged program; one that names nothing is told, not skipped."""
    program = tmp_path / "my-ffmpeg"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.setenv("AIRWORTHY_FFMPEG", str(program))
    assert ffmpeg_program() == str(program)
    monkeypatch.setenv("AIRWORTHY_FFMPEG", str(tmp_path / "gone"))
    with pytest.raises(UserError, match="names no program"):
        ffmpeg_program()
    monkeypatch.delenv("AIRWORTHY_FFMPEG")
    assert "ffmpeg" in ffmpeg_program()
