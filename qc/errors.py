"""What is told to the user when something is wrong: never a traceback.

Each error carries its parts as fields; ``__str__`` is the one place that makes the sentence.
"""

from __future__ import annotations


def opening(text: str) -> str:
    """The text as it opens a sentence; a first word that is no plain word ("dBFS", "--sheet") stays."""
    first = text.split(" ", 1)[0]
    return text[:1].upper() + text[1:] if first.isalpha() and first.islower() else text


class UserError(Exception):
    """Something the user can put right.

    what    what is wrong, one sentence without a full stop
    where   file, key, line or timecode; empty if the sentence names it
    remedy  what to do, one sentence without a full stop
    """

    exit_status = 2

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        head = f"{self.where}: {self.what}" if self.where else self.what
        return f"{head}. {opening(self.remedy)}." if self.remedy else f"{head}."


class CannotMeasure(UserError):
    """The file is not media, damaged or incomplete; or nothing can be said of it at all, see NotJudged."""

    exit_status = 3


class NotJudged(CannotMeasure):
    """There is no finished file to judge: not there, out of reach, or still changing. Says nothing against the file."""
