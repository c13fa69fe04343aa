"""The report files of a run: per file and outlet HTML, JSON, JUnit and timing sheet."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from qc.delivery.run import CheckedFile
from qc.judge.verdict import Verdict
from qc.report.document import report_json
from qc.report.files import ReportNotWritten, write_report
from qc.report.html import report_html
from qc.report.junit import junit_xml
from qc.report.media_file import MediaFile
from qc.report.names import ReportNames
from qc.report.run import RunBlock
from qc.report.timing_sheet import timing_sheet


class Paperwork:
    """Writes the reports of each file as soon as it is checked, so that an interrupted run keeps them."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._names = ReportNames()
        self._troubles: list[ReportNotWritten] = []

    def write(self, checked: CheckedFile, run: RunBlock) -> tuple[Path, ...]:
        """The HTML reports of one file, one per outlet. A report that cannot be written is remembered, not raised."""
        pages: list[Path] = []
        for verdict in checked.verdicts:
            pages += self._write(verdict, checked.file, run)[:1]
        return tuple(pages)

    def troubles(self) -> tuple[ReportNotWritten, ...]:
        """What could not be written."""
        return tuple(self._troubles)

    def _write(self, verdict: Verdict, file: MediaFile, run: RunBlock) -> tuple[Path, ...]:
        contents = {
            "html": report_html(verdict, file, run),
            "json": report_json([file], [verdict], run),
            "xml": junit_xml([verdict], {file.name: file}, run),
            "csv": timing_sheet(verdict),
        }
        paths = []
        for ending, content in contents.items():
            path = self._folder / self._names.name(verdict.file, verdict.profile.code, ending)
            try:
                paths.append(write_report(path, content))
            except ReportNotWritten as trouble:
                self._troubles.append(trouble)
                break
        return tuple(paths)


def combined_json(results: Sequence[CheckedFile], run: RunBlock) -> bytes:
    """One document of the whole run."""
    return report_json([result.file for result in results], _verdicts(results), run)


def combined_junit(results: Sequence[CheckedFile], run: RunBlock) -> bytes:
    return junit_xml(_verdicts(results), {result.file.name: result.file for result in results}, run)


def _verdicts(results: Sequence[CheckedFile]) -> list[Verdict]:
    return [verdict for result in results for verdict in result.verdicts]
