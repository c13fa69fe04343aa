"""The papers of a run: per file and outlet, per file, and the index over all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from qc.delivery.run import CheckedFile
from qc.judge.verdict import Verdict
from qc.report.document import report_json
from qc.report.edition import Edition
from qc.report.files import ReportNotWritten, write_report
from qc.report.html import report_html
from qc.report.index_page import index_html
from qc.report.junit import junit_xml
from qc.report.mix_page import mix_html
from qc.report.names import ReportNames
from qc.report.overview import FileRow, Link
from qc.report.run import RunBlock
from qc.report.timing_page import timing_html
from qc.report.timing_sheet import timing_sheet
from qc.report.viewing_page import viewing_html

INDEX = "index.html"

#: From the pages of the house, one folder down, to the index. Pages that leave the house lead nowhere.
_BACK = (Link("All files of this run", f"../{INDEX}"),)

#: (label, end of the file name, what makes it). Labels are what links are called.
Papers = tuple[tuple[str, str, Callable[[], bytes]], ...]


@dataclass(frozen=True)
class Written:
    """The papers of one file. report: the outlet reports to read first, one per outlet that could be written."""

    row: FileRow
    reports: tuple[Path, ...]


class Paperwork:
    """Writes the papers of each file as soon as it is checked, so that an interrupted run keeps them.

    A paper that cannot be written is remembered, never raised: the verdict stands without it. Of a file that could not
    be read there is the report for the crew, as page and as data, and nothing to send on.
    """

    def __init__(self, folder: Path, *, markers: bool = False) -> None:
        self._folder = folder
        self._markers = markers
        self._names = ReportNames()
        self._rows: list[FileRow] = []
        self._troubles: list[ReportNotWritten] = []

    def write(self, checked: CheckedFile, run: RunBlock) -> Written:
        """All papers of one file."""
        folder = self._names.folder(checked.file.name)
        # Before the reports, which link to those that could be written.
        sheets = self._write(folder, folder, self._of_file(checked, run))
        reports: dict[str, tuple[Link, ...]] = {}
        first: list[Path] = []
        for verdict in checked.verdicts:
            stem = self._names.stem(folder, verdict.profile.code)
            to_send = self._write(folder, stem, self._to_send(checked, verdict, run))
            report = self._write(folder, stem, self._report(checked, verdict, _beside(to_send + sheets), run))
            data = self._write(folder, stem, self._data(checked, verdict, run))
            reports[verdict.profile.code] = report + to_send + data
            if report:
                first.append(self._folder / folder / f"{stem}.html")
        row = FileRow(checked.file, checked.verdicts, checked.one_mix, reports, sheets)
        self._rows.append(row)
        return Written(row, tuple(first))

    def index(self, run: RunBlock, left: int = 0) -> Path | None:
        """The page over everything written so far; None if it could not be written.

        left  files that an interrupted run did not come to
        """
        path = self._folder / INDEX
        return path if self._put(path, lambda: index_html(self._rows, run, left)) else None

    def troubles(self) -> tuple[ReportNotWritten, ...]:
        """What could not be written."""
        return tuple(self._troubles)

    def _report(self, checked: CheckedFile, verdict: Verdict, links: Sequence[Link], run: RunBlock) -> Papers:
        file, stills = checked.file, checked.stills
        return (("Report", ".html", lambda: report_html(verdict, file, run, stills=stills, links=links)),)

    def _to_send(self, checked: CheckedFile, verdict: Verdict, run: RunBlock) -> Papers:
        file, stills = checked.file, checked.stills
        if checked.trouble:
            return ()
        return (
            (
                "Report to send to the outlet",
                ".for-outlet.html",
                lambda: report_html(verdict, file, run, edition=Edition.OUTLET, stills=stills),
            ),
            ("Timing sheet", ".timing.html", lambda: timing_html(verdict, file, run)),
            ("Timing sheet (CSV)", ".timing.csv", lambda: timing_sheet(verdict)),
        )

    def _data(self, checked: CheckedFile, verdict: Verdict, run: RunBlock) -> Papers:
        file = checked.file
        return (
            ("JSON", ".json", lambda: report_json([file], [verdict], run, {file.name: checked.one_mix})),
            ("JUnit", ".xml", lambda: junit_xml([verdict], {file.name: file}, run)),
        )

    def _of_file(self, checked: CheckedFile, run: RunBlock) -> Papers:
        verdicts, file = checked.verdicts, checked.file
        if checked.trouble:
            return ()
        papers: Papers = (
            ("Mixer's sheet", ".mix.html", lambda: mix_html(verdicts, file, checked.one_mix, run, links=_BACK)),
            ("Viewing list", ".viewing.html", lambda: viewing_html(verdicts, file, checked.stills, run, links=_BACK)),
        )
        return papers + self._marker_lists(checked) if self._markers else papers

    def _marker_lists(self, checked: CheckedFile) -> Papers:
        from qc.report.marker_csv import marker_csv
        from qc.report.marker_edl import marker_edl
        from qc.report.marker_otio import marker_otio
        from qc.report.markers import markers_of

        markers, file = markers_of(checked.verdicts), checked.file
        return (
            ("Markers (CSV)", ".markers.csv", lambda: marker_csv(markers, file)),
            ("Markers (EDL)", ".markers.edl", lambda: marker_edl(markers, file)),
            ("Markers (OTIO)", ".markers.otio", lambda: marker_otio(markers, file)),
        )

    def _write(self, folder: str, stem: str, papers: Papers) -> tuple[Link, ...]:
        """Links to what could be written, relative to the index; after the first trouble the rest is left."""
        links = []
        for label, ending, make in papers:
            if not self._put(self._folder / folder / f"{stem}{ending}", make):
                break
            links.append(Link(label, quote(f"{folder}/{stem}{ending}")))
        return tuple(links)

    def _put(self, path: Path, make: Callable[[], bytes]) -> bool:
        try:
            write_report(path, make())
        except ReportNotWritten as trouble:
            self._troubles.append(trouble)
            return False
        return True


def _beside(links: Sequence[Link]) -> tuple[Link, ...]:
    """Links from a page of the same folder: to the index first, then to its papers."""
    return (*_BACK, *(Link(link.label, link.href.rpartition("/")[2]) for link in links))


def combined_json(results: Sequence[CheckedFile], run: RunBlock) -> bytes:
    """One document of the whole run."""
    one_mixes = {result.file.name: result.one_mix for result in results}
    return report_json([result.file for result in results], _verdicts(results), run, one_mixes)


def combined_junit(results: Sequence[CheckedFile], run: RunBlock) -> bytes:
    return junit_xml(_verdicts(results), {result.file.name: result.file for result in results}, run)


def _verdicts(results: Sequence[CheckedFile]) -> list[Verdict]:
    return [verdict for result in results for verdict in result.verdicts]
