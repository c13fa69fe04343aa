"""Everything that is wrong with a timing sheet, said at once: line, column, found, expected, what to do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.errors import UserError

MOST_SHOWN = 20
LONGEST = 60


@dataclass(frozen=True)
class SheetProblem:
    """One thing wrong in one cell, row (column empty) or sheet (line 0)."""

    line: int
    column: str
    found: str
    expected: str
    remedy: str = ""

    def __str__(self) -> str:
        place = f"line {self.line}" if self.line else "sheet"
        head = f"  {place}{', ' + plain(self.column) if self.column else ''}"
        rows = [("found", self.found), ("expected", self.expected), ("remedy", self.remedy)]
        return "\n".join([head, *(f"      {word:<10}{plain(text, 300)}" for word, text in rows if text)])


class SheetError(UserError):
    """A timing sheet that cannot be used; nothing of it is."""

    def __init__(self, file: str, problems: Sequence[SheetProblem]) -> None:
        self.file = file
        self.problems = tuple(problems)
        super().__init__(f"the timing sheet has {_count(problems)}", where=plain(file), remedy="correct the sheet")

    def __str__(self) -> str:
        more = len(self.problems) - MOST_SHOWN
        lines = [f"{plain(self.file)} has {_count(self.problems)}; the sheet was not used.", ""]
        lines += [str(problem) for problem in self.problems[:MOST_SHOWN]]
        return "\n".join(lines + ([f"  and {more} more"] if more > 0 else []))


def plain(text: str, longest: int = LONGEST) -> str:
    """Foreign text for one line of a message: bounded, nothing in it that moves a cursor or hides."""
    text = text if len(text) <= longest else text[:longest] + "..."
    return "".join(char if char.isprintable() else ascii(char)[1:-1] for char in text)


def _count(problems: Sequence[SheetProblem]) -> str:
    return f"{len(problems)} problem{'' if len(problems) == 1 else 's'}"
