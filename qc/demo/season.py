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
from qc.delivery.run import Ask, CheckedFile, Listener, check_files
from qc.demo.episodes import VERSIONS
from qc.demo.render import file_name, render, stems_of
from qc.demo.sound import Stems
from qc.demo.truth import Score, score, truth_document
from qc.demo.version import Version
from qc.errors import UserError
from qc.measurement.child import Progress
from qc.outlets.load import load_profile
from qc.report.files import ReportNotWritten, write_report
from qc.report.run import run_block

#: Versions at work at the same time, each rendered, then checked.
SIDE_BY_SIDE = 2
EPISODES_FOLDER = "demo-episodes"
TRUTH_FILE = "demo-truth.json"


class Stopped(UserError):
    """Work that nobody waits for any more."""


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
        with ThreadPoolExecutor(SIDE_BY_SIDE) as workers:
            pending = [workers.submit(self._checked, version) for version in self._versions]
            try:
                for version, checking in zip(self._versions, pending, strict=True):
                    yield self._shown(version, checking.result())
            finally:
                self._stop.set()
                for checking in pending:
                    checking.cancel()

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

    def _checked(self, version: Version) -> CheckedFile:
        path = self._render(version)
        ask = Ask(profiles=(load_profile(version.outlet),), settle=0)
        checked = check_files([path], ask, _Stoppable(self._stop))[0]
        if not self._keep:
            path.unlink(missing_ok=True)
        return checked

    def _render(self, version: Version) -> Path:
        with self._lock:
            stems = self._stems.setdefault(version.episode, stems_of(version.episode))
            _ = stems.speech, stems.music
        return render(version, self._folder, stems, on_frame=lambda done, total: _go_on(self._stop))

    def _shown(self, version: Version, checked: CheckedFile) -> Shown:
        self._libraries.append(checked.libraries)
        run = run_block([checked.libraries], self._started, {"demo": True})
        reports = self._paperwork.write(checked, run).reports
        return Shown(version, checked, score(version, checked.verdicts[0]), reports[0] if reports else None)


class _Stoppable(Listener):
    """Ends a check that nobody waits for any more."""

    def __init__(self, stop: Event) -> None:
        self._stop = stop

    def progress(self, progress: Progress) -> None:
        _go_on(self._stop)


def _go_on(stop: Event) -> None:
    if stop.is_set():
        raise Stopped("the demo was stopped")
