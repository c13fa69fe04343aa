"""The finding that is told first is the gravest; the order is ours and stated in the module."""

from __future__ import annotations

from qc.judge.catalogue import CHECKS
from qc.judge.verdict import Outcome
from qc.report.gravity import GRAVEST_FIRST, gravest_first
from tests.kit import verdicts


def test_every_check_has_its_weight_once():
    """A new check must be given its place."""
    named = [check for group in GRAVEST_FIRST for check in group]
    assert sorted(named) == sorted(CHECKS)


def test_flashing_comes_before_tone_and_a_must_before_a_should():
    """Outcome, then must or should, then what it does; what is alike keeps the order of the verdict."""

    def made(check: str, outcome: Outcome = Outcome.FAIL, level: str = "must"):
        return verdicts.finding(check=check, outcome=outcome, level=level)

    order = [
        made("integrity"), made("flashing"), made("black"), made("freeze"), made("trt"), made("codec"),
        made("loudness"), made("line-up-tone"), made("flashing", level="should"),
        made("trt", Outcome.NOT_MEASURED), made("flashing", Outcome.ADVISORY),
    ]  # fmt: skip
    kept_order = [order[number] for number in (7, 10, 2, 6, 9, 3, 5, 8, 0, 4, 1)]
    assert gravest_first([*kept_order, made("loudness", Outcome.PASS), made("black", Outcome.WAIVED)]) == order
