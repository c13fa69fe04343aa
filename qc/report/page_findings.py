"""Every finding: its figures in one row, where it is, what proves it, and what it asks for."""

from __future__ import annotations

from dataclasses import dataclass

from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.report import wording
from qc.report.badge import Badge, badge, kind_of
from qc.report.drawing.marks import flag_id, flag_numbers, marks_of
from qc.report.page_evidence import Evidence, EvidenceDesk
from qc.report.page_fixes import FixWords, elsewhere_in_short, fix_words, in_one_export, is_export
from qc.report.visible import sentence, visible

#: Places written out for one finding; the rest is counted.
MOST_PLACES = 12

#: Findings written out under one instruction; more of them are named in one paragraph.
MOST_WRITTEN_OUT = 4

_OTHERWISE = {
    "fail": "No instruction can be given in numbers; see the finding.",
    "not-measured": "No reason was recorded.",
    "advisory": "Look at it before the file is sent.",
}


@dataclass(frozen=True)
class PlaceWords:
    """labels  timecodes or elapsed times; details  frame, offset, act-relative time, channel, value, note"""

    labels: str
    details: str


@dataclass(frozen=True)
class FindingWords:
    """One finding; ``anchor`` is its id on the page. Text is "" where there is nothing to say.

    flag  id and number of its flag on the drawing of the programme, None if it has none there
    """

    anchor: str
    badge: Badge
    title: str
    requirement: str
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
    waiver: str
    fix: FixWords | None
    places: tuple[PlaceWords, ...]
    more_places: int
    evidence: Evidence
    flag: tuple[str, int] | None

    @property
    def first_place(self) -> str:
        """Where to go first, for one line."""
        if not self.places:
            return ""
        several = self.more_places or len(self.places) > 1
        return f"{'first at' if several else 'at'} {self.places[0].labels}"


@dataclass(frozen=True)
class Task:
    """One thing to do or to know, said once for all findings that ask for it; ``many`` of them are only named."""

    words: str
    findings: tuple[FindingWords, ...]
    many: bool
    elsewhere: str


@dataclass(frozen=True)
class Group:
    """Findings of one outcome: ``cards`` have what a row of a table cannot hold, ``rows`` stand in one."""

    badge: Badge
    anchor: str
    caption: str
    cards: tuple[FindingWords, ...]
    rows: tuple[FindingWords, ...]


def finding_groups(verdict: Verdict, desk: EvidenceDesk) -> tuple[Group, ...]:
    """Most serious first. A finding's anchor counts in the order of the verdict."""
    numbered = [(anchor_of(number), finding) for number, finding in enumerate(verdict.findings, 1)]
    flags = flag_numbers(marks_of(verdict)) if verdict.timeline else {}
    groups = []
    for outcome in wording.ORDER:
        found = tuple(
            _finding(anchor, finding, desk, flags.get(anchor))
            for anchor, finding in numbered
            if finding.outcome == outcome
        )
        if found:
            cards = tuple(each for each in found if _has_a_card(outcome, each))
            rows = tuple(each for each in found if not _has_a_card(outcome, each))
            caption = f"{len(found)} {outcome.value}"
            groups.append(Group(badge(outcome), kind_of(outcome), caption, cards, rows))
    return tuple(groups)


def _has_a_card(outcome: Outcome, finding: FindingWords) -> bool:
    """What was not measured often comes by the dozen for one reason: a row each, unless there is something to see."""
    return outcome is not Outcome.PASS and (outcome is not Outcome.NOT_MEASURED or bool(finding.evidence))


def anchor_of(number: int) -> str:
    """Id of the finding with this number, counted from 1 in the order of the verdict."""
    return f"finding-{number}"


def of_kind(groups: tuple[Group, ...], outcome: Outcome) -> tuple[FindingWords, ...]:
    """Findings of one outcome, cards first."""
    return next((group.cards + group.rows for group in groups if group.anchor == kind_of(outcome)), ())


def tasks(findings: tuple[FindingWords, ...]) -> tuple[Task, ...]:
    """Findings by what they ask for; the same kind of work stands together, in the order it is first asked for.

    One export does everything that asks for one, and comes first.
    """
    together: dict[str, list[FindingWords]] = {}
    actions = list(dict.fromkeys(_action(finding) for finding in findings))
    for finding in sorted(findings, key=lambda finding: actions.index(_action(finding))):
        words = finding.fix.sentence if finding.fix and finding.badge.kind != "not-measured" else finding.reason
        together.setdefault(words or _OTHERWISE[finding.badge.kind], []).append(finding)
    exports = [words for words in together if is_export(words)]
    if len(exports) > 1:
        once = {in_one_export(exports): [finding for words in exports for finding in together.pop(words)]}
        together = once | together
    return tuple(_task(words, tuple(group)) for words, group in together.items())


def _action(finding: FindingWords) -> str:
    return finding.fix.action if finding.fix else ""


def _task(words: str, findings: tuple[FindingWords, ...]) -> Task:
    fixes = [finding.fix for finding in findings if finding.fix]
    return Task(
        words=words,
        findings=findings,
        many=len(findings) > MOST_WRITTEN_OUT,
        elsewhere=elsewhere_in_short(fixes),
    )


def _finding(anchor: str, finding: Finding, desk: EvidenceDesk, flag: int | None) -> FindingWords:
    shown = finding.places[:MOST_PLACES]
    return FindingWords(
        anchor=anchor,
        badge=badge(finding.outcome),
        title=wording.title(finding),
        requirement=visible(finding.requirement),
        level=visible(finding.level),
        measured=wording.measured(finding),
        limit=_plus_minus(wording.limit(finding)),
        tolerance=_plus_minus(visible(finding.tolerance)),
        margin=wording.margin(finding),
        at_limit=finding.at_limit,
        span=visible(finding.span),
        clause=visible(finding.clause),
        source=visible(finding.source),
        reason=sentence(finding.remarks),
        waiver=_waiver(finding),
        fix=fix_words(finding.fix, finding.unit) if finding.fix else None,
        places=tuple(_place(place, finding.unit) for place in shown),
        more_places=len(finding.places) - len(shown) + finding.more_places,
        evidence=desk.of(finding, anchor),
        flag=None if flag is None else (flag_id(anchor), flag),
    )


def _waiver(finding: Finding) -> str:
    """Who and why are not in the outlet's copy."""
    if finding.waiver is not None and not finding.waiver.who:
        return f"Waived until {visible(finding.waiver.until)}, as recorded by the sender."
    return wording.waiver_words(finding)


def _plus_minus(text: str) -> str:
    """The sign of a tolerance, kept on one line with its number."""
    return text.replace("+/- ", "±\u00a0").replace("+/-", "±")


def _place(place: Place, unit: str) -> PlaceWords:
    return PlaceWords(wording.place_range(place), ", ".join(wording.place_details(place, unit)))
