"""The JSON document: the published schema, stable bytes, no number that is none."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator

from qc.judge.verdict import Outcome
from qc.report.document import SCHEMA_FILE, report_json
from qc.report.media_file import unreadable_file
from tests.kit import verdicts

ROOT = Path(__file__).parents[2]
SCHEMA = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))


def problems(content: bytes) -> list[str]:
    return [error.message for error in Draft202012Validator(SCHEMA).iter_errors(json.loads(content))]


def test_the_schema_itself_is_valid():
    """Source: JSON Schema draft 2020-12, its own meta-schema."""
    Draft202012Validator.check_schema(SCHEMA)


def test_documents_follow_the_published_schema():
    """Verdicts with every outcome, a clean one, one without structure and an unreadable file."""
    gone = unreadable_file("empty.mov", "the file is empty", 0)
    lost = verdicts.verdict(file="empty.mov", programme=verdicts.nothing_found("nothing could be read"))

    content = report_json(
        [verdicts.media(), gone], [verdicts.verdict(), verdicts.passing_verdict(), lost], verdicts.RUN
    )

    assert problems(content) == []


@pytest.mark.parametrize(
    "change",
    [
        lambda document: document.pop("run"),
        lambda document: document["verdicts"][0].update(outcome="waived"),
        lambda document: document["verdicts"][0]["findings"][0].update(colour="red"),
        lambda document: document["verdicts"][0]["findings"][0].update(outcome="not measured"),
        lambda document: document["files"][0].update(sha256="ABC"),
    ],
    ids=["run missing", "outcome unknown", "key unknown", "a figure that was not measured", "no checksum"],
)
def test_the_schema_refuses_what_is_wrong(change):
    """The schema can fail: each of these makes a valid document invalid."""
    document = json.loads(report_json([verdicts.media()], [verdicts.verdict()], verdicts.RUN))
    change(document)

    assert not Draft202012Validator(SCHEMA).is_valid(document)


def test_only_the_run_block_differs_between_runs():
    """Two runs at other times with other options give the same bytes up to the last key, "run"."""
    later = replace(verdicts.RUN, started="2027-01-01T00:00:00+00:00", options={"strict": True}, python="3.13.1")

    first = report_json([verdicts.media()], [verdicts.verdict()], verdicts.RUN)
    second = report_json([verdicts.media()], [verdicts.verdict()], later)

    mark = b'\n  "run": {'
    assert first != second
    assert first.split(mark)[0] == second.split(mark)[0]
    assert list(json.loads(first)) == ["schema", "files", "verdicts", "run"]


def test_bytes_do_not_depend_on_the_hash_seed():
    """No set or hash order reaches the document."""
    code = (
        "import sys; from tests.kit import verdicts as v; from qc.report.document import report_json;"
        "sys.stdout.buffer.write(report_json([v.media()], [v.verdict()], v.RUN))"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)},
            check=True,
            capture_output=True,
        ).stdout
        for seed in ("1", "2")
    }

    assert runs == {report_json([verdicts.media()], [verdicts.verdict()], verdicts.RUN)}


def test_numbers_have_three_decimals_and_no_negative_nought():
    """-1.4046 stays -1.405; -0.0001 becomes 0.0, never -0.0; array numbers become plain ones."""
    findings = (
        verdicts.finding(measured=-1.40461, margin=-0.0001),
        verdicts.finding(measured=np.float32(0.5), margin=np.int64(3)),
    )
    content = report_json([], [verdicts.verdict(findings=findings)], verdicts.RUN)
    first, second = json.loads(content)["verdicts"][0]["findings"]

    assert first["measured"] == -1.405
    assert math.copysign(1, first["margin"]) == 1.0
    assert (second["measured"], second["margin"]) == (0.5, 3)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_nan_and_infinity_never_reach_a_document(value):
    """RFC 8259, section 6: such numbers are not JSON; here they would hide a fault."""
    with pytest.raises(ValueError, match="NaN or infinity"):
        report_json([], [verdicts.verdict(findings=(verdicts.finding(measured=value),))], verdicts.RUN)


def test_hostile_text_survives_as_text():
    """Markup and controls come back as they were; bytes of a name that are no text are shown by number."""
    content = report_json(
        [verdicts.media(name="caf\udce9.mov", facts=verdicts.facts(verdicts.HOSTILE))],
        [verdicts.hostile_verdict()],
        verdicts.RUN,
    )
    document = json.loads(content.decode("utf-8", "strict"))

    assert document["verdicts"][0]["file"] == verdicts.HOSTILE
    assert document["files"][0]["name"] == "caf<U+DCE9>.mov"
    assert content.endswith(b"}\n")


def test_a_finding_carries_what_the_verdict_carries():
    """Every field of a finding that fails is in the document."""
    document = json.loads(report_json([], [verdicts.verdict()], verdicts.RUN))
    peak = document["verdicts"][0]["findings"][2]

    assert peak["outcome"] == Outcome.FAIL
    assert (peak["measured"], peak["margin"], peak["unit"], peak["limit"]) == (
        -1.405,
        -0.595,
        "dBTP",
        "at most -2.0 dBTP",
    )
    assert peak["places"][0] == {
        "first_frame": 14430,
        "frames": 1,
        "timecode": "01:08:01;16",
        "until": "01:08:01;17",
        "offset": "0:08:01.481",
        "within": "act 2 +00:02:41;05",
        "channel": 2,
        "value": -1.405,
        "note": "",
        "area": None,
    }
    assert peak["more_places"] == 14
    assert peak["fix"]["amount"] == -0.6
    assert peak["fix"]["after"] == {"integrated_lkfs": -24.215, "true_peak_dbtp": -2.005}
