"""What the HTML report shows, as strings ready to print: the template only loops."""

from __future__ import annotations

from dataclasses import dataclass

from qc.judge.verdict import ActRow, Finding, Outcome, Place, Verdict
from qc.report import wording
from qc.report.file_words import Described, file_words
from qc.report.media_file import MediaFile
from qc.report.run import RunBlock
from qc.report.visible import sentence, visible
from qc.timing.spans import Span

#: Places written out for one finding; the rest is counted.
MOST_PLACES = 12

#: Findings written out under one instruction; more of them are named in one paragraph.
MOST_WRITTEN_OUT = 4


@dataclass(frozen=True)
class Badge:
    """Word, letter and kind (the name of a shape and colour) of an outcome."""

    word: str
    letter: str
    kind: str


@dataclass(frozen=True)
class PlaceWords:
    labels: str
    details: str


@dataclass(frozen=True)
class FindingWords:
    """One finding; ``anchor`` is its id on the page."""

    anchor: str
    badge: Badge
    title: str
    requirement: str
    check: str
    level: str
    measured: str
    limit: str
    tolerance: str
    margin: str
    at_limit: bool
    span: str
    clause: str
    source: str
    reason: str
    action: str
    fix: str
    after: str
    waiver: str
    places: tuple[PlaceWords, ...]
    more_places: int


@dataclass(frozen=True)
class Task:
    """One thing to do or to know, said once for all findings that ask for it; ``many`` of them are only named."""

    words: str
    findings: tuple[FindingWords, ...]
    many: bool


@dataclass(frozen=True)
class Group:
    """Findings of one outcome."""

    badge: Badge
    anchor: str
    caption: str
    findings: tuple[FindingWords, ...]


@dataclass(frozen=True)
class Table:
    """A plain table: the first cell of each row is its header."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Page:
    badge: Badge
    outlet: str
    file: str
    headline: str
    counts: tuple[tuple[Badge, int, str], ...]
    fixes: tuple[Task, ...]
    unmeasured: tuple[Task, ...]
    to_look_at: tuple[Task, ...]
    groups: tuple[Group, ...]
    acts: Table | None
    breaks: Table | None
    timing: tuple[Described, ...]
    no_structure: str
    about_file: tuple[Described, ...]
    events: Table | None
    not_covered: tuple[str, ...]
    cautions: tuple[str, ...]
    rounding: str
    provenance: tuple[Described, ...]


def page(verdict: Verdict, file: MediaFile, run: RunBlock) -> Page:
    """Everything of one verdict."""
    findings = [_finding(number, finding) for number, finding in enumerate(verdict.findings, 1)]
    of = {
        outcome: tuple(
            words for words, finding in zip(findings, verdict.findings, strict=True) if finding.outcome == outcome
        )
        for outcome in wording.ORDER
    }
    described = file_words(file)
    table = verdict.programme
    return Page(
        badge=badge(verdict.outcome),
        outlet=visible(verdict.profile.name),
        file=visible(verdict.file),
        headline=wording.headline(verdict),
        counts=tuple((badge(outcome), count, _anchor(outcome)) for outcome, count in wording.counts(verdict.findings)),
        fixes=_tasks(of[Outcome.FAIL]),
        unmeasured=_tasks(of[Outcome.NOT_MEASURED]),
        to_look_at=_tasks(of[Outcome.ADVISORY]),
        groups=tuple(
            Group(badge(outcome), _anchor(outcome), _caption(outcome, len(of[outcome])), of[outcome])
            for outcome in wording.ORDER
            if of[outcome]
        ),
        acts=_acts(table.acts, table.eom, table.loudness_unit) if table.acts else None,
        breaks=_breaks(verdict) if table.breaks else None,
        timing=_timing(verdict),
        no_structure="" if table.acts else sentence(table.note or "no programme structure was found"),
        about_file=described.lines,
        events=_events(described.events) if described.events else None,
        not_covered=tuple(visible(line) for line in verdict.not_covered),
        cautions=tuple(visible(line) for line in verdict.cautions),
        rounding=wording.ROUNDING_RULE,
        provenance=_provenance(verdict, file, run),
    )


def _tasks(findings: tuple[FindingWords, ...]) -> tuple[Task, ...]:
    """Findings by what they ask for; the same kind of work stands together, in the order it is first asked for."""
    otherwise = {
        "fail": "No instruction can be given in numbers; see the finding.",
        "not-measured": "No reason was recorded.",
        "advisory": "Look at it before the file is sent.",
    }
    together: dict[str, list[FindingWords]] = {}
    actions = list(dict.fromkeys(finding.action for finding in findings))
    for finding in sorted(findings, key=lambda finding: actions.index(finding.action)):
        kind = finding.badge.kind
        words = finding.reason if kind == "not-measured" else finding.fix or finding.reason
        together.setdefault(words or otherwise[kind], []).append(finding)
    return tuple(Task(words, tuple(group), len(group) > MOST_WRITTEN_OUT) for words, group in together.items())


def badge(outcome: Outcome) -> Badge:
    return Badge(wording.WORDS[outcome], wording.LETTERS[outcome], _anchor(outcome))


def _anchor(outcome: Outcome) -> str:
    return outcome.value.replace(" ", "-")


def _caption(outcome: Outcome, count: int) -> str:
    return f"{count} {outcome.value}"


def _finding(number: int, finding: Finding) -> FindingWords:
    shown = finding.places[:MOST_PLACES]
    fix = finding.fix
    return FindingWords(
        anchor=f"finding-{number}",
        badge=badge(finding.outcome),
        title=wording.title(finding),
        requirement=visible(finding.requirement),
        check=visible(finding.check),
        level=visible(finding.level),
        measured=wording.measured(finding),
        limit=_plus_minus(wording.limit(finding)),
        tolerance=_plus_minus(visible(finding.tolerance)) or "none",
        margin=wording.margin(finding) or "does not apply",
        at_limit=finding.at_limit,
        span=visible(finding.span),
        clause=visible(finding.clause) or "none given",
        source=visible(finding.source),
        reason=sentence(finding.reason),
        action=visible(fix.action) if fix else "",
        fix=visible(fix.sentence) if fix else "",
        after=wording.after(fix.after, finding.unit) if fix else "",
        waiver=wording.waiver_words(finding),
        places=tuple(_place(place, finding.unit) for place in shown),
        more_places=len(finding.places) - len(shown) + finding.more_places,
    )


def _plus_minus(text: str) -> str:
    """The sign of a tolerance, kept on one line with its number."""
    return text.replace("+/- ", "±\u00a0").replace("+/-", "±")


def _place(place: Place, unit: str) -> PlaceWords:
    return PlaceWords(wording.place_range(place), ", ".join(wording.place_details(place, unit)))


def _acts(acts: tuple[ActRow, ...], eom: str, loudness_unit: str) -> Table:
    def level(value: float | None, unit: str) -> str:
        return "not measured" if value is None else wording.number(float(value), unit)

    return Table(
        caption="Acts as measured",
        head=(
            "Act",
            "SOM",
            f"EOM ({visible(eom)})",
            "Duration",
            "Frames",
            "First frame",
            "Integrated",
            "Max short-term",
            "Loudness range",
            "True peak",
        ),
        rows=tuple(
            (
                str(act.number),
                visible(act.som),
                visible(act.eom),
                visible(act.duration),
                str(act.frames),
                str(act.span.first),
                level(act.integrated, loudness_unit),
                level(act.max_short_term, loudness_unit),
                level(act.loudness_range, "LU"),
                level(act.true_peak_dbtp, "dBTP"),
            )
            for act in acts
        ),
    )


def _breaks(verdict: Verdict) -> Table:
    return Table(
        caption="Breaks as measured",
        head=("After act", "Start", "Duration", "Frames", "First frame"),
        rows=tuple(
            (str(row.number), visible(row.start), visible(row.duration), str(row.frames), str(row.span.first))
            for row in verdict.programme.breaks
        ),
    )


def _timing(verdict: Verdict) -> tuple[Described, ...]:
    table = verdict.programme
    lines = []
    if table.acts:
        lines += [
            ("Running time (TRT)", f"{visible(table.trt)}, {wording.frames(table.trt_frames)}"),
            ("TRT by the other accounting", visible(table.trt_other_accounting) or "the same"),
            ("Found by", visible(table.found_by)),
            ("Before the programme", _stretch(table.head)),
            ("After the programme", _stretch(table.tail)),
        ]
        lines += [("Note", visible(table.note))] if table.note else []
    lines += [
        ("Counting", visible(table.counting)),
        ("Accounting", visible(table.accounting)),
        ("End of an act (EOM)", visible(table.eom)),
    ]
    return tuple(lines)


def _stretch(span: Span) -> str:
    return f"{wording.frames(span.frames)} from frame {span.first}" if span.frames else "nothing"


def _events(rows: tuple[tuple[str, ...], ...]) -> Table:
    return Table("What reading the file met", ("What", "Stream", "Frame", "Time", "Count", "Detail"), rows)


def _provenance(verdict: Verdict, file: MediaFile, run: RunBlock) -> tuple[Described, ...]:
    profile = verdict.profile
    libraries = ", ".join(f"{visible(name)} {visible(version)}" for name, version in sorted(run.libraries.items()))
    return (
        ("File", visible(file.name)),
        ("Size", "unknown" if file.size is None else f"{file.size} bytes"),
        ("SHA-256 of the file", visible(file.sha256 or "") or "none: the file could not be read to its end"),
        ("Outlet", visible(profile.name)),
        ("Outlet's document", visible(profile.specification) or "none named"),
        ("Revision", visible(profile.revision) or "none named"),
        ("Profile", visible(profile.file)),
        ("SHA-256 of the profile", visible(profile.sha256)),
        ("Tool", f"{run.tool} {run.version}, Python {run.python}"),
        ("Libraries", libraries or "none recorded"),
        ("Run", f"{run.started} to {run.finished}"),
    )
