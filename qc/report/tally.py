"""How verdicts are counted, the same on the index and on the terminal."""

from __future__ import annotations

from collections.abc import Iterable

from qc.judge.verdict import Outcome, Verdict

#: What a verdict means for the file, in the order in which it is counted.
MEANS = (
    (Outcome.PASS, "deliverable"),
    (Outcome.ADVISORY, "deliverable after a look"),
    (Outcome.FAIL, "not"),
    (Outcome.NOT_MEASURED, "not judged"),
)


def tally(verdicts: Iterable[Verdict]) -> str:
    """ "4 deliverable, 1 deliverable after a look, 2 not"; what is deliverable is always told."""
    listed = [verdict.outcome for verdict in verdicts]
    shown = [pair for pair in MEANS if pair[0] in listed or pair[0] is Outcome.PASS]
    return ", ".join(f"{listed.count(outcome)} {means}" for outcome, means in shown)
