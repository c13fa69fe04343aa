"""An outcome as it is shown: word, letter, and the name of a shape and colour."""

from __future__ import annotations

from dataclasses import dataclass

from qc.judge.verdict import Outcome
from qc.report import wording


@dataclass(frozen=True)
class Badge:
    """Word, letter and kind (the name of a shape and colour) of an outcome."""

    word: str
    letter: str
    kind: str


def kind_of(outcome: Outcome) -> str:
    """The outcome as a class name and as the id of its group on a page."""
    return outcome.value.replace(" ", "-")


def badge(outcome: Outcome) -> Badge:
    return Badge(wording.WORDS[outcome], wording.LETTERS[outcome], kind_of(outcome))
