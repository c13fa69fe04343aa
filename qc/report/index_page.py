"""The index of a run: every file by every outlet, the worst of each in one line, and where its papers lie."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.judge.verdict import Finding, Outcome, Verdict
from qc.report import wording
from qc.report.badge import Badge, badge
from qc.report.file_brief import file_brief
from qc.report.file_words import Described
from qc.report.gravity import gravest_first
from qc.report.overview import FileRow
from qc.report.run import RunBlock
from qc.report.sheet_words import Address, address, count, made_by, whole
from qc.report.tally import MEANS, tally
from qc.report.templating import template
from qc.report.visible import sentence, visible

#: More outlets than this do not stand side by side on any screen: then each file lists its own.
MOST_COLUMNS = 8


@dataclass(frozen=True)
class Cell:
    """One file at one outlet, in a word; ``badge`` is None if the file was not checked for it.

    failed  how many requirements are not met, "" if none
    """

    outlet: str
    badge: Badge | None
    href: str
    failed: str


@dataclass(frozen=True)
class OutletLine:
    """One verdict: its outcome, its worst finding, what to do about it, how many more there are."""

    outlet: str
    badge: Badge
    worst: str
    fix: str
    more: str
    links: tuple[Address, ...]


@dataclass(frozen=True)
class FileCard:
    anchor: str
    name: str
    total: str
    one_mix: str
    lines: tuple[OutletLine, ...]
    sheets: tuple[Address, ...]
    facts: tuple[Described, ...]
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Index:
    """``grid`` is False where a table of files by outlets would say nothing that the files do not."""

    title: str
    headline: str
    sentences: tuple[str, ...]
    counts: tuple[tuple[Badge, str], ...]
    outlets: tuple[str, ...]
    many: bool
    grid: bool
    files: tuple[FileCard, ...]
    made_by: str
    rounding: str


def index_html(rows: Sequence[FileRow], run: RunBlock, left: int = 0) -> bytes:
    """The page as UTF-8; files in the order given, outlets in the order in which they first occur.

    left  files that the run did not come to
    """
    return template("index.html").render(page=index(rows, run, left)).encode()


def index(rows: Sequence[FileRow], run: RunBlock, left: int = 0) -> Index:
    verdicts = [verdict for row in rows for verdict in row.verdicts]
    outlets = {verdict.profile.code: verdict.profile.name for verdict in verdicts}
    size = f"{count(len(rows), 'file')}, {count(len(outlets), 'outlet')}"
    return Index(
        title=f"{size}: {tally(verdicts)}" if verdicts else "No file was checked",
        headline=size if verdicts else "No file was checked",
        sentences=_sentences(rows, verdicts, left),
        counts=tuple(
            (badge(outcome), f"{many} {means if outcome is not Outcome.FAIL else 'not deliverable'}")
            for outcome, means in MEANS
            if (many := sum(verdict.outcome is outcome for verdict in verdicts))
        ),
        outlets=tuple(visible(name) for name in outlets.values()),
        many=len(outlets) > MOST_COLUMNS,
        grid=len(rows) > 1,
        files=tuple(_card(number, row, outlets) for number, row in enumerate(rows, 1)),
        made_by=made_by(run),
        rounding=wording.ROUNDING_RULE,
    )


def _sentences(rows: Sequence[FileRow], verdicts: Sequence[Verdict], left: int) -> tuple[str, ...]:
    if not verdicts:
        return ()
    parts = [f"{count(len(verdicts), 'verdict')}: {tally(verdicts)}."]
    clear = sum(all(verdict.outcome is Outcome.PASS for verdict in row.verdicts) for row in rows)
    stopped = sum(any(verdict.outcome is Outcome.FAIL for verdict in row.verdicts) for row in rows)
    if len(rows) > 1:
        passed = f"{_of_files(clear, len(rows))} pass for all outlets they were checked for"
        parts.append(sentence(f"{passed}; {_of_files(stopped, len(rows))} need work"))
    unread = sum(not row.file.complete for row in rows)
    if unread:
        parts.append(f"{count(unread, 'file')} could not be read to the end.")
    if left:
        parts.append(f"The run was interrupted: {count(left, 'more file')} not checked.")
    return tuple(parts)


def _of_files(some: int, all_of_them: int) -> str:
    return f"all {all_of_them} files" if some == all_of_them else f"{some or 'none'} of {all_of_them} files"


def _card(number: int, row: FileRow, outlets: dict[str, str]) -> FileCard:
    by_code = {verdict.profile.code: verdict for verdict in row.verdicts}
    links = {code: tuple(address(link) for link in row.reports.get(code, ())) for code in by_code}
    cells = tuple(
        Cell(
            visible(name),
            badge(by_code[code].outcome) if code in by_code else None,
            next((link.href for link in links.get(code, ())), ""),
            _failed(by_code.get(code)),
        )
        for code, name in outlets.items()
    )
    return FileCard(
        anchor=f"file-{number}",
        name=visible(row.file.name),
        total=f"{count(len(row.verdicts), 'outlet')}: {tally(row.verdicts)}" if row.verdicts else "no outlet",
        one_mix=whole(row.one_mix.sentence) if row.one_mix else "",
        lines=tuple(_line(verdict, links[verdict.profile.code]) for verdict in row.verdicts),
        sheets=tuple(address(link) for link in row.sheets),
        facts=file_brief(row.file),
        cells=cells,
    )


def _failed(verdict: Verdict | None) -> str:
    failed = len(verdict.of(Outcome.FAIL)) if verdict else 0
    return str(failed) if failed else ""


def _line(verdict: Verdict, links: tuple[Address, ...]) -> OutletLine:
    stops = gravest_first(verdict.findings)
    if not stops or verdict.outcome is Outcome.PASS:
        return OutletLine(
            visible(verdict.profile.name), badge(verdict.outcome), wording.headline(verdict), "", "", links
        )
    worst, rest = stops[0], stops[1:]
    kinds = [finding.outcome for finding in rest]
    more = ", ".join(f"{kinds.count(kind)} {kind.value}" for kind in wording.ORDER if kind in kinds)
    return OutletLine(
        outlet=visible(verdict.profile.name),
        badge=badge(verdict.outcome),
        worst=_what(worst),
        fix=visible(worst.fix.sentence) if worst.fix else "",
        more=f"Besides: {more}." if more else "",
        links=links,
    )


def _what(finding: Finding) -> str:
    """Title, measured and limit; for what was not measured or has no fix, the reason too."""
    if finding.outcome is Outcome.NOT_MEASURED:
        return f"{wording.title(finding)}: not measured. {sentence(finding.remarks)}".strip()
    words = f"{wording.title(finding)}: {wording.measured(finding)}, limit {wording.limit(finding)}."
    return words if finding.fix else f"{words} {sentence(finding.remarks)}".strip()
