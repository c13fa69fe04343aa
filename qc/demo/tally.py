"""The score of a whole season: one row per check."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from qc.demo.truth import Score
from qc.judge.catalogue import CHECKS, check_of


@dataclass(frozen=True)
class CheckTally:
    """One check over all files: faults planted for it, found, missed, and alarms without a fault."""

    check: str
    planted: int
    found: int
    missed: int
    false: int

    @property
    def right(self) -> bool:
        return not self.missed and not self.false


def tally(scores: Sequence[Score]) -> tuple[CheckTally, ...]:
    """Every check that was asked for by an outlet of the season, in the order of a report."""
    found = Counter(check_of(expected.requirement)[0] for score in scores for expected in score.found)
    missed = Counter(check_of(expected.requirement)[0] for score in scores for expected in score.missed)
    false = Counter(alarm.finding.check for score in scores for alarm in score.false)
    asked = {check for score in scores for check in score.checks} | set(found) | set(missed) | set(false)
    order = [*CHECKS, *sorted(asked - set(CHECKS))]
    return tuple(
        CheckTally(check, found[check] + missed[check], found[check], missed[check], false[check])
        for check in order
        if check in asked
    )
