"""What ``qc check`` says while it works: headers first, progress, verdicts, where the reports are."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import TracebackType
from typing import TYPE_CHECKING

from qc.cli.terminal import ProgressLine, Terminal, shown
from qc.delivery.paperwork import Paperwork
from qc.delivery.run import CheckedFile, Listener
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.report import wording
from qc.report.run import RunBlock
from qc.report.text import cautions_text, header_text, one_mix_text, overview_text, verdict_text
from qc.report.visible import sentence, visible

if TYPE_CHECKING:
    from qc.measurement.child import Progress
    from qc.outlets.load import LoadedProfile


class Narrator(Listener):
    """Prints what happens and writes the reports of each file as soon as it is done.

    Entered around the run: an interrupted run then says which files were finished.
    """

    def __init__(
        self,
        terminal: Terminal,
        paperwork: Paperwork,
        block: Callable[[CheckedFile], RunBlock],
        *,
        total: int,
        quiet: bool,
    ) -> None:
        self._terminal = terminal
        self._paperwork = paperwork
        self._block = block
        self._total = total
        self._quiet = quiet
        self._line = ProgressLine(wanted=not quiet)
        self._name = ""
        self._done = 0
        self._held: list[str] = []  # what the headers say, until there is time to read it
        self._run: RunBlock | None = None  # of the latest file

    def __enter__(self) -> Narrator:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._line.stop()
        if kind is KeyboardInterrupt and self._run is not None:
            self._paperwork.index(self._run, self._total - self._done)  # the reports lead to it
        if kind is KeyboardInterrupt and self._total > 1:
            self._terminal.warn(f"{self._done} of {self._total} files were finished; their reports are kept.")

    def begins(self, name: str, number: int, total: int) -> None:
        self._name = visible(name)
        if not self._quiet:
            count = f"[{number}/{total}] " if total > 1 else ""
            self._terminal.say(f"{count}{self._name}")

    def headers(self, profile: LoadedProfile, findings: tuple[Finding, ...]) -> None:
        if self._quiet:
            return
        words = header_text(findings, colour=self._terminal.colour)
        outlet = visible(profile.profile.outlet.name)
        self._held.append(f"  headers, {outlet}:\n{words}" if words else f"  headers, {outlet}: as asked\n")

    def progress(self, progress: Progress) -> None:
        self._tell_headers()
        self._line.update(self._name, progress)

    def note(self, text: str) -> None:
        if not self._quiet:
            self._terminal.warn(sentence(text))

    def ends(self, checked: CheckedFile) -> None:
        self._line.stop()
        if checked.trouble:
            self._tell_headers()
        self._held.clear()
        self._run = self._block(checked)
        written = self._paperwork.write(checked, self._run)
        self._done += 1
        if checked.trouble:
            self._terminal.warn(visible(checked.trouble), visible(checked.file.name))
        for verdict in checked.verdicts:
            self._terminal.say(
                one_line(verdict) if self._quiet else verdict_text(verdict, colour=self._terminal.colour)
            )
        if not self._quiet:
            self._terminal.say(one_mix_text(checked.one_mix), end="")
            for page in written.reports:
                self._terminal.say(f"  report: {shown(page)}")
            self._terminal.say()

    def _tell_headers(self) -> None:
        """Once there is a pass to wait for, or no verdict that has them; a file that is known is judged at once."""
        for words in self._held:
            self._terminal.say(words, end="")
        self._held.clear()

    def closing(self, results: Sequence[CheckedFile], run: RunBlock) -> None:
        """The end of a run: overview of several verdicts, cautions, the index, what could not be written."""
        index = self._paperwork.index(run)
        if not self._quiet:
            verdicts = [verdict for result in results for verdict in result.verdicts]
            self._terminal.say(overview_text(verdicts, colour=self._terminal.colour), end="")
            self._terminal.say(cautions_text(verdicts), end="")
            if index:
                self._terminal.say(f"All papers: {shown(index)}")
        for trouble in self._paperwork.troubles()[:1]:
            self._terminal.warn(str(trouble), trouble.where)


def one_line(verdict: Verdict) -> str:
    """Outcome, file, outlet and what matters, for a log."""
    parts = (
        wording.WORDS[verdict.outcome],
        visible(verdict.file),
        visible(verdict.profile.name),
        wording.counted(verdict),
    )
    named = (("failed", verdict.of(Outcome.FAIL)), ("not measured", verdict.of(Outcome.NOT_MEASURED)))
    titles = [f"{word}: {'; '.join(map(wording.title, found))}" for word, found in named if found]
    return "  ".join((*parts, *titles))
