"""Exit statuses and which of them is the most serious."""

from __future__ import annotations

from collections.abc import Iterable

from qc.judge.verdict import Outcome, Verdict

DELIVERABLE = 0
FAILED = 1
USAGE = 2
NOT_MEASURED = 3
ADVISORIES = 4
INTERRUPTED = 130

#: Most serious first: a wrong profile makes every verdict worthless, a file nobody could measure may
#: hide anything, a known fault is at least known.
_ORDER = (USAGE, NOT_MEASURED, FAILED, ADVISORIES, DELIVERABLE)


def most_serious(statuses: Iterable[int]) -> int:
    """The status of a whole run; deliverable if there is none."""
    return min(statuses, key=_ORDER.index, default=DELIVERABLE)


def status_of(verdict: Verdict, strict: bool) -> int:
    """The status of one verdict; ``strict`` makes advisories count."""
    found = {finding.outcome for finding in verdict.findings if finding.level == "must"}
    statuses = [DELIVERABLE]
    if not verdict.measurable:
        statuses.append(NOT_MEASURED)
    if Outcome.FAIL in found or (verdict.outcome == Outcome.FAIL and verdict.measurable):
        statuses.append(FAILED)
    if strict and (
        verdict.outcome == Outcome.ADVISORY or any(finding.outcome == Outcome.ADVISORY for finding in verdict.findings)
    ):
        statuses.append(ADVISORIES)
    return most_serious(statuses)
