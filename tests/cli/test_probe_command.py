"""``qc probe`` as a user runs it: page, JSON, exit status, nothing on stderr that is not a sentence."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

from tests.kit.render import episode

ROOT = Path(__file__).resolve().parents[2]


def qc(*arguments: str) -> subprocess.CompletedProcess[str]:
    code = "from qc.cli.app import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], capture_output=True, text=True, check=False, timeout=60, cwd=ROOT
    )


def test_page_and_json(media_dir: Path, tmp_path: Path) -> None:
    """The page names wrapper and codec; the JSON holds the same facts; both twice the same but for the run block."""
    path = episode(media_dir / "command.mov", form="mov-prores", acts=(6,), break_frames=[]).path
    page = qc("probe", str(path), "--json", str(tmp_path / "facts.json"))
    document = qc("probe", str(path), "--json", "-")

    assert (page.returncode, page.stderr) == (0, "")
    assert "MOV, brand qt" in page.stdout and "ProRes, profile 422 HQ" in page.stdout
    assert str(path.parent) not in page.stdout
    written, printed = json.loads((tmp_path / "facts.json").read_text()), json.loads(document.stdout)
    assert written["facts"] == printed["facts"]
    assert printed["facts"]["pictures"][0]["frame_rate"] == "30000/1001"
    assert printed["facts"]["timecodes"][0]["drop"] is False
    assert set(printed) == {"schema", "file", "facts", "run"}


def test_not_media(tmp_path: Path) -> None:
    """Exit status 3 and one sentence, for a document under a media name."""
    path = tmp_path / "BRLN_0206.mxf"
    path.write_bytes(b"%PDF-1.7 quarterly figures")
    done = qc("probe", str(path))

    assert done.returncode == 3
    assert done.stdout == ""
    assert done.stderr.strip() == (
        "BRLN_0206.mxf: this is not a media file: its content looks like a PDF document. "
        "Deliver the exported programme itself."
    )
