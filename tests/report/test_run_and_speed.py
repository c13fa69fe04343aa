"""The run block, and what reports may cost."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import qc
from qc.report.document import report_json
from qc.report.html import report_html
from qc.report.junit import junit_xml
from qc.report.run import run_block
from qc.report.timing_sheet import timing_sheet
from tests.kit import verdicts


def test_the_run_block_names_tool_libraries_and_times_in_utc():
    """ISO 8601 with an offset; a library in two versions (an older record used again) is named with both."""
    started = datetime(2026, 3, 1, 12, 0, tzinfo=timezone(timedelta(hours=2)))

    block = run_block([{"numpy": "2.0", "av": "14"}, {"numpy": "2.1", "av": "14"}], started, {"strict": True})

    assert block.version == qc.__version__
    assert block.libraries == {"av": "14", "numpy": "2.0, 2.1"}
    assert block.started == "2026-03-01T10:00:00+00:00"
    assert datetime.fromisoformat(block.finished) <= datetime.now(UTC)


def test_six_outlets_cost_less_than_a_quarter_of_a_second():
    """HTML, JSON, JUnit and sheet of six outlets with 60 findings each: CPU time after imports, best of three.

    The bound is the project's own share of its fixed cost of a check; no published source.
    """
    findings = verdicts.FINDINGS * 5
    judged = [
        verdicts.verdict(findings=findings, profile=replace(verdicts.PROFILE, code=f"outlet-{number}"))
        for number in range(6)
    ]
    media = verdicts.media()

    def all_reports() -> float:
        begun = time.process_time()
        for verdict in judged:
            report_html(verdict, media, verdicts.RUN)
            timing_sheet(verdict)
        report_json([media], judged, verdicts.RUN)
        junit_xml(judged, {media.name: media}, verdicts.RUN)
        return time.process_time() - begun

    assert min(all_reports() for _ in range(3)) < 0.25
