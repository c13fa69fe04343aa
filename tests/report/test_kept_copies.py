"""Reports compared with kept copies. KEEP_COPIES=1 writes them anew; then look at the difference.

The made verdicts carry a fixed version and clock, so nothing needs to be masked.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from qc.report.document import report_json
from qc.report.html import report_html
from qc.report.junit import junit_xml
from qc.report.text import verdict_text
from qc.report.timing_sheet import timing_sheet
from tests.kit import verdicts
from tests.kit.html_walk import walk

KEPT = Path(__file__).parent / "kept"
MEDIA = {verdicts.NAME: verdicts.media()}


def page_text(verdict) -> bytes:
    return ("\n".join(walk(report_html(verdict, verdicts.media(), verdicts.RUN)).text) + "\n").encode()


COPIES = {
    "fail.html.txt": lambda: page_text(verdicts.verdict()),
    "pass.html.txt": lambda: page_text(verdicts.passing_verdict()),
    "report.json": lambda: report_json(MEDIA.values(), [verdicts.verdict(), verdicts.passing_verdict()], verdicts.RUN),
    "junit.xml": lambda: junit_xml([verdicts.verdict()], MEDIA, verdicts.RUN),
    "timing.csv": lambda: timing_sheet(verdicts.verdict()),
    "fail.txt": lambda: verdict_text(verdicts.verdict()).encode(),
    "pass.txt": lambda: verdict_text(verdicts.passing_verdict()).encode(),
}


@pytest.mark.parametrize("name", COPIES)
def test_a_report_is_as_it_was(name):
    """A change of any report is seen and meant: whoever reads the reports by machine relies on it."""
    made = COPIES[name]()
    path = KEPT / name
    if os.environ.get("KEEP_COPIES") == "1":
        path.write_bytes(made)
        pytest.fail(f"{name} was written anew; run again without KEEP_COPIES")

    assert made.decode() == path.read_bytes().decode()
