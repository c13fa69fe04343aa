"""What the HTML report shows, as strings ready to print: the template only loops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.judge.verdict import Outcome, Verdict
from qc.report import wording
from qc.report.badge import Badge, badge, kind_of
from qc.report.drawing.marks import marks_of
from qc.report.drawing.timeline_svg import timeline_svg
from qc.report.edition import Edition
from qc.report.file_words import Described, file_words
from qc.report.for_outlet import outlet_copy
from qc.report.media_file import MediaFile
from qc.report.overview import Link
from qc.report.page_evidence import EvidenceDesk
from qc.report.page_findings import Group, Task, finding_groups, of_kind, tasks
from qc.report.page_labels import Labels, labels_of
from qc.report.page_made import checksum, provenance
from qc.report.page_programme import ProgrammeWords, programme_words
from qc.report.page_table import Table
from qc.report.run import RunBlock
from qc.report.sheet_words import Address, address
from qc.report.still import Stills
from qc.report.visible import visible


@dataclass(frozen=True)
class Page:
    """One page. ``document`` is the outlet's own, with its revision; ``links`` lead to papers of the same run."""

    labels: Labels
    badge: Badge
    outlet: str
    file: str
    checksum: str
    document: str
    headline: str
    counts: tuple[tuple[Badge, int, str], ...]
    links: tuple[Address, ...]
    fixes: tuple[Task, ...]
    unmeasured: tuple[Task, ...]
    to_look_at: tuple[Task, ...]
    programme: ProgrammeWords
    groups: tuple[Group, ...]
    about_file: tuple[Described, ...]
    events: Table | None
    not_covered: tuple[str, ...]
    cautions: tuple[str, ...]
    rounding: str
    provenance: tuple[Described, ...]


def page(
    verdict: Verdict,
    file: MediaFile,
    run: RunBlock,
    edition: Edition = Edition.INTERNAL,
    stills: Stills | None = None,
    links: Sequence[Link] = (),
) -> Page:
    """Everything of one verdict that this edition may show."""
    if edition is Edition.OUTLET:
        copy = outlet_copy(verdict, file, run)
        verdict, file, run, links = copy.verdict, copy.file, copy.run, ()
    groups = finding_groups(verdict, EvidenceDesk(verdict, file, stills or {}))
    described = file_words(file)
    drawing = timeline_svg(verdict.timeline, marks_of(verdict)) if verdict.timeline else None
    return Page(
        labels=labels_of(edition),
        badge=badge(verdict.outcome),
        outlet=visible(verdict.profile.name),
        file=visible(verdict.file),
        checksum=checksum(file),
        document=_document(verdict),
        headline=wording.headline(verdict),
        counts=tuple((badge(outcome), count, kind_of(outcome)) for outcome, count in wording.counts(verdict.findings)),
        links=tuple(address(link) for link in links),
        fixes=tasks(of_kind(groups, Outcome.FAIL)),
        unmeasured=tasks(of_kind(groups, Outcome.NOT_MEASURED)),
        to_look_at=tasks(of_kind(groups, Outcome.ADVISORY)),
        programme=programme_words(verdict, edition, drawing),
        groups=groups,
        about_file=described.lines,
        events=_events(described.events) if described.events else None,
        not_covered=tuple(visible(line) for line in verdict.not_covered),
        cautions=tuple(visible(line) for line in verdict.cautions),
        rounding=wording.ROUNDING_RULE,
        provenance=provenance(verdict, file, run, edition),
    )


def _document(verdict: Verdict) -> str:
    profile = verdict.profile
    revision = f"revision {visible(profile.revision)}" if profile.revision else ""
    return ", ".join(part for part in (visible(profile.specification), revision) if part)


def _events(rows: tuple[tuple[str, ...], ...]) -> Table:
    return Table("What reading the file met", ("What", "Stream", "Frame", "Time", "Count", "Detail"), rows)
