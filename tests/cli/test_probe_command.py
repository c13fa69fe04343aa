"""``qc probe`` as a user runs it: page, JSON, exit status, nothing on stderr that is not a sentence."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry, Resource

from qc.report.document import SCHEMA_FILE as REPORT_SCHEMA
from qc.report.probe_document import SCHEMA_FILE
from tests.kit.render import EIGHT_MONO, episode

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


@pytest.mark.parametrize("form", ["mov-prores", "mxf-mpeg2", "mp4-h264"])
def test_json_fits_its_published_schema(media_dir: Path, form: str) -> None:
    """What is printed validates against the schema in the package. Source: JSON Schema 2020-12, package jsonschema."""
    path = episode(
        media_dir / f"schema-{form}.{form[:3]}", form=form, sounds=EIGHT_MONO, acts=(6,), break_frames=[]
    ).path
    schemas = [json.loads(file.read_text(encoding="utf-8")) for file in (SCHEMA_FILE, REPORT_SCHEMA)]
    registry = Registry().with_resources([(schema["$id"], Resource.from_contents(schema)) for schema in schemas])
    document = json.loads(qc("probe", str(path), "--json", "-").stdout)

    Draft202012Validator(schemas[0], registry=registry).validate(document)


def test_not_media(tmp_path: Path) -> None:
    """Exit status 3 and one sentence, for a document under a media name."""
    path = tmp_path / "BRLN_0206.mxf"
    path.write_bytes(b"%PDF-1.7 quarterly figures")
    done = qc("probe", str(path))

    assert done.returncode == 3
    assert done.stdout == ""
    assert done.stderr == (
        "BRLN_0206.mxf: this is not a media file: its content looks like a PDF document.\n"
        "  Deliver the exported programme itself.\n"
    )
