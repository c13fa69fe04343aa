"""Everything that is wrong with a profile, said at once and in the author's words."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass

from qc.errors import UserError

_WIDTH = 80


@dataclass(frozen=True)
class Problem:
    """One thing wrong in one place.

    file      the file it stands in, as the user knows it
    line      line in that file, counted from 1; None if there is none (a missing table)
    section   table it belongs to, "loudness.programme"; "" for the top of the file
    key       key in that table; "" if the table itself is meant
    found     what stands there, with its kind
    expected  what is accepted; "" if ``meant`` says it all
    meant     nearest valid name; "" if none is near
    chain     files that led here, for a base that is missing or loops
    inherited the file is a base of the profile that was asked for
    absent    something is not there, which a base might have given
    """

    file: str
    line: int | None
    section: str
    key: str
    found: str
    expected: str = ""
    meant: str = ""
    chain: tuple[str, ...] = ()
    inherited: bool = False
    absent: bool = False

    @property
    def rows(self) -> tuple[tuple[str, str], ...]:
        """What is said of it, as (word, text)."""
        rows = [("found", self.found)]
        if self.expected:
            rows.append(("expected", self.expected))
        if self.meant:
            rows.append(("meant", f"{self.meant}?"))
        if self.chain:
            rows.append(("chain", " > ".join(self.chain)))
        return tuple(rows)

    def __str__(self) -> str:
        place = f"[{self.section}] {self.key}".rstrip() if self.section else self.key
        line = f"line {self.line}" if self.line else "file"
        head = f"  {line:<9}{place}".rstrip()
        if self.inherited:
            head += f"   (inherited from {self.file})"
        return "\n".join([plain(head), *(_row(word, text) for word, text in self.rows)])


def plain(text: str) -> str:
    """Text of a stranger, safe on a terminal: what does not print is written as an escape."""
    return "".join(char if char.isprintable() else char.encode("unicode_escape").decode() for char in text)


def _row(word: str, text: str) -> str:
    text = plain(text)
    lead = f"{'':11}{word:<10}"
    lines = textwrap.wrap(text, _WIDTH - len(lead), break_long_words=False, break_on_hyphens=False) or [""]
    return f"\n{'':21}".join([lead + lines[0], *lines[1:]])


class ProfileError(UserError):
    """A profile that cannot be used: what, where and what is accepted, for every problem in it."""

    def __init__(self, file: str, problems: Iterable[Problem]) -> None:
        self.file = file
        self.problems = tuple(problems)
        count = len(self.problems)
        super().__init__(
            f"{count} problem{'s' if count != 1 else ''}; nothing was checked",
            where=file,
            remedy="put the profile right",
        )

    def __str__(self) -> str:
        count = len(self.problems)
        head = f"{plain(self.file)} has {count} problem{'s' if count != 1 else ''}; nothing was checked."
        return "\n".join([head, "", *(str(problem) for problem in self.problems)])


class UnknownProfile(ProfileError):
    """A name that no profile has, or a path where no file is."""

    def __init__(self, asked: str, what: str, remedy: str) -> None:
        super().__init__(asked, ())
        self.what = what
        self.remedy = remedy

    def __str__(self) -> str:
        end = "" if self.remedy.endswith("?") else "."
        return f"{self.what}. {self.remedy}{end}"
