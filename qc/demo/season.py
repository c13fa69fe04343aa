"""The demo run: render each version, check it, keep its reports, compare with the truth."""

from __future__ import annotations

import contextlib
import json
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from threading import Event, Lock

from qc.delivery.paperwork import Paperwork
from qc.delivery.run import Ask, CheckedFile, check_files
from qc.demo.episodes import VERSIONS
from qc.demo.render import file_name, render, stems_of
from qc.demo.sound import Stems
from qc.demo.truth import Score, score, truth_document
from qc.demo.version import Version
from qc.errors import UserError
from qc.outlets.load import load_profile
from qc.report.files import ReportNotWritten, write_report
from qc.report.run import run_block

#: Files rendered at the same time; one more is being checked meanwhile.
RENDERERS = 2
EPISODES_FOLDER = "demo-episodes"
TRUTH_FILE = "demo-truth.json"


class Stopped(UserError):
    """A rendering that nobody waits for any more."""


@dataclass(frozen=True)
class Shown:
    """One version, done.

    page  its HTML report, None if it could not be written
    """

    version: Version
    checked: CheckedFile
    score: Score
    page: Path | None


class Season:
    """Stems are made once an episode; a version is forgotten once it is checked, unless it is to be kept."""

    def __init__(self, out: Path, *, keep: bool = False, versions: Sequence[Version] = VERSIONS) -> None:
        self._out = out
        self._keep = keep
        self._versions = tuple(versions)
        self._folder = out / EPISODES_FOLDER
        self._paperwork = Paperwork(out, markers=True)
        self._started = datetime.now(UTC)
        self._libraries: list[dict[str, str]] = []
        self._stems: dict[int, Stems] = {}
        self._lock = Lock()
        self._stop = Event()

    def run(self) -> Iterator[Shown]:
        """Versions in their order. Raises UserError if one cannot be rendered."""
        try:
            yield from self._each()
        finally:
            if not self._keep:
                self._forget()

    def _each(self) -> Iterator[Shown]:
        with ThreadPoolExecutor(RENDERERS) as renderers:
            pending = [renderers.submit(self._render, version) for version in self._versions]
            try:
                for version, rendering in zip(self._versions, pending, strict=True):
                    path = rendering.result()
                    yield self._check(version, path)
                    if not self._keep:
                        path.unlink(missing_ok=True)
            finally:
                self._stop.set()
                for rendering in pending:
                    rendering.cancel()

    def _forget(self) -> None:
        """Removes what was rendered, also what an interrupted run did not come to check."""
        for version in self._versions:
            (self._folder / file_name(version)).unlink(missing_ok=True)
        with contextlib.suppress(OSError):
            self._folder.rmdir()

    def index(self) -> Path | None:
        """Writes the page over all files that were checked; None if the folder does not allow it."""
        return self._paperwork.index(run_block(self._libraries, self._started, {"demo": True}))

    def truth(self) -> Path | None:
        """Writes what was planted; None if the folder does not allow it."""
        document = json.dumps(truth_document(self._versions), indent=2) + "\n"
        try:
            return write_report(self._out / TRUTH_FILE, document.encode())
        except ReportNotWritten:
            return None

    def _render(self, version: Version) -> Path:
        with self._lock:
            stems = self._stems.setdefault(version.episode, stems_of(version.episode))
            _ = stems.speech, stems.music
        return render(version, self._folder, stems, on_frame=self._go_on)

    def _go_on(self, done: int, total: int) -> None:
        if self._stop.is_set():
            raise Stopped("the demo was stopped")

    def _check(self, version: Version, path: Path) -> Shown:
        ask = Ask(profiles=(load_profile(version.outlet),), settle=0)
        checked = check_files([path], ask)[0]
        self._libraries.append(checked.libraries)
        run = run_block([checked.libraries], self._started, {"demo": True})
        reports = self._paperwork.write(checked, run).reports
        return Shown(version, checked, score(version, checked.verdicts[0]), reports[0] if reports else None)
