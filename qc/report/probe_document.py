"""What ``qc probe --json`` writes: the facts of one file and the run block."""

from __future__ import annotations

from pathlib import Path

from qc.media.facts import FileFacts
from qc.report.document import as_json
from qc.report.facts_document import facts_document
from qc.report.run import RunBlock
from qc.report.visible import visible

SCHEMA_NAME = "airworthy-probe/1"
SCHEMA_FILE = Path(__file__).parent / "schema" / "airworthy-probe-1.json"


def probe_json(name: str, facts: FileFacts, run: RunBlock) -> bytes:
    """UTF-8, indented; only ``run`` differs between two runs on the same file."""
    document = {"schema": SCHEMA_NAME, "file": visible(name), "facts": facts_document(facts), "run": run.document()}
    return as_json(document)
