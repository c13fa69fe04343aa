"""A run's folder made from made verdicts by the same paperwork that a run does: every page, every paper it links to."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from urllib.parse import unquote

from qc.delivery.paperwork import INDEX, Paperwork
from qc.delivery.run import CheckedFile
from qc.judge.mix import OneMix
from qc.judge.verdict import Outcome, Verdict
from qc.report.media_file import MediaFile, unreadable_file
from qc.report.still import Stills
from tests.kit import verdicts
from tests.kit.whole_verdict import stills, whole_verdict

#: Pages of one verdict and of one file, by the label of their links.
OF_VERDICT = ("Report", "Report to send to the outlet", "Timing sheet")
OF_FILE = ("Mixer's sheet", "Viewing list")


@dataclass(frozen=True)
class MadePage:
    """One page of the made run. says: a word that its first screen and first printed page must hold."""

    label: str
    case: str
    outlet: int
    says: str

    @property
    def alike(self) -> bool:
        return self.outlet > 0 or self.label in ALIKE.get(self.case, ())

    def __str__(self) -> str:
        return f"{self.label}, {self.case}" + (f" {self.outlet}" if self.outlet else "")


#: Labels of pages that look like another one in these cases: opened and followed, but not examined again.
ALIKE = {
    "all passed": ("Report to send to the outlet", "Timing sheet"),
    "no findings": ("Report to send to the outlet",),
    "unreadable": ("Report to send to the outlet", "Timing sheet", "Mixer's sheet", "Viewing list"),
}

INDEX_PAGE = MadePage("Index", "the run", 0, "FAIL")


def one_mix(outlets: tuple[str, ...]) -> OneMix:
    """No level serves both."""
    return OneMix(
        group=(1, 2),
        outlets=outlets,
        serves=False,
        low=None,
        high=None,
        gain=None,
        loudness=None,
        ceiling=-3.0,
        peaks=0,
        conflicts=("VELMARK KANAL asks for -23.5 to -22.5 LUFS, CORVANE 5 for act 3 at most 2.0 LU above -24.0.",),
        sentence="No one level of this mix serves all outlets.",
    )


def cases() -> dict[str, CheckedFile]:
    """Files of the run: every outcome for two outlets, all passed, hostile text, nothing found, not readable."""
    velmark = replace(verdicts.PROFILE, name="VELMARK KANAL", code="velmark-kanal", file="velmark-kanal.toml")
    look = tuple(item for item in verdicts.FINDINGS if item.outcome in (Outcome.PASS, Outcome.ADVISORY))
    advisory = verdicts.verdict(profile=velmark, outcome=Outcome.ADVISORY, measurable=True, findings=look)
    nothing = verdicts.nothing_found
    hostile = verdicts.media(name=verdicts.HOSTILE, facts=verdicts.facts(verdicts.HOSTILE))
    passed, empty, bad = (f"BRLN_02{number}_CRV_HD_v01.mxf" for number in ("01", "12", "13"))
    return {
        "every outcome": _checked(
            verdicts.media(), (whole_verdict(), advisory), one_mix(("CORVANE 5", "VELMARK KANAL")), stills()
        ),
        "all passed": _checked(verdicts.media(name=passed), (verdicts.passing_verdict(file=passed),)),
        "hostile": _checked(hostile, (verdicts.hostile_verdict(),)),
        "no findings": _checked(
            verdicts.media(name=empty),
            (verdicts.verdict(file=empty, findings=(), programme=nothing(), not_covered=(), cautions=()),),
        ),
        "unreadable": _checked(
            unreadable_file(bad, "it looks like a PDF, not media", 1234),
            (verdicts.verdict(file=bad, findings=(verdicts.FINDINGS[6],), programme=nothing("not media")),),
        ),
    }


def _checked(
    file: MediaFile, judged: tuple[Verdict, ...], mixed: OneMix | None = None, pictures: Stills | None = None
) -> CheckedFile:
    return CheckedFile(Path(file.name), file, judged, {}, 1, "", mixed, pictures or {})


def made_pages() -> tuple[MadePage, ...]:
    """Every page of the made run, the index first."""
    pages = [INDEX_PAGE]
    for case, checked in cases().items():
        for number, verdict in enumerate(checked.verdicts):
            word = verdict.outcome.value.upper()
            pages += [MadePage(label, case, number, "" if "iming" in label else word) for label in OF_VERDICT]
        pages += [MadePage(label, case, 0, "") for label in OF_FILE]
    return tuple(pages)


def write_run(folder: Path) -> dict[MadePage, Path]:
    """Writes the whole folder; where each page lies."""
    paperwork = Paperwork(folder, markers=True)
    where = {INDEX_PAGE: folder / INDEX}
    for case, checked in cases().items():
        row = paperwork.write(checked, verdicts.RUN).row
        papers = [(link, 0) for link in row.sheets]
        for number, verdict in enumerate(checked.verdicts):
            papers += [(link, number) for link in row.reports[verdict.profile.code]]
        found = {(link.label, number): folder / unquote(link.href) for link, number in papers}
        where |= {page: found[page.label, page.outlet] for page in made_pages() if page.case == case}
    paperwork.index(verdicts.RUN)
    assert not paperwork.troubles()
    return where
