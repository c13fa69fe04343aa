"""``qc explain``: what a check measures, how, over which span, and by which standard."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from difflib import get_close_matches
from typing import TYPE_CHECKING, Annotated

import typer

from qc.cli.terminal import Terminal
from qc.errors import UserError

if TYPE_CHECKING:
    from qc.judge.catalogue import Check

WIDTH = 80
_LABEL = 14
#: How alike a name has to be to be offered: one or two letters in ten may be wrong.
_NEAR = 0.75


class UnknownCheck(UserError):
    """There is no check of that name."""


def register(app: typer.Typer) -> None:
    app.command(name="explain")(explain)


def explain(
    check: Annotated[
        str,
        typer.Argument(
            metavar="CHECK", show_default=False, help="A check or a finding by name; without one all are listed."
        ),
    ] = "",
) -> None:
    """Say what a check measures, how, over which span, and by which standard."""
    lines = listed() if not check else explained(found(check))
    Terminal().say("\n".join(lines))


def found(name: str) -> Check:
    """The check of that name or title, or the one that a requirement, by id or title, belongs to.

    A finding may say after its title what it is about, as in "Picture levels, blue, high". Raises UnknownCheck.
    """
    from qc.judge.catalogue import kind_of

    known = _names()
    wanted = _folded(name)
    for asked in (wanted, kind_of(wanted), wanted.split(",")[0]):
        if asked in known:
            return known[asked]
    begun = [full for full in known if len(wanted) > 2 and full.startswith(wanted)]
    near = get_close_matches(wanted, list(known), n=1, cutoff=_NEAR) or begun
    listed = "see them all with qc explain"
    remedy = f"did you mean {known[near[0]].name}? Or {listed}" if near else listed
    shown = "".join(character if character.isprintable() else "?" for character in name[:40])
    raise UnknownCheck(f"no check is called {shown!r}", remedy=remedy)


def _names() -> dict[str, Check]:
    """Everything that a check is known by, folded: its name and title before the ids and titles of requirements."""
    from qc.judge.catalogue import CHECKS

    names = {_folded(name): check for check in CHECKS.values() for name in (check.name, check.title)}
    for check in CHECKS.values():
        for key, title in check.requirements.items():
            names.setdefault(_folded(key), check)
            names.setdefault(_folded(title), check)
    return names


def _folded(name: str) -> str:
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").strip("[] ").split())


def listed() -> Iterator[str]:
    """One line a check."""
    from qc.judge.catalogue import CHECKS

    column = max(len(name) for name in CHECKS) + 2
    yield "Checks; qc explain CHECK says more:"
    yield ""
    for check in CHECKS.values():
        yield from textwrap.wrap(
            check.title, WIDTH, initial_indent=f"  {check.name:<{column}}", subsequent_indent=" " * (column + 2)
        )


def explained(check: Check) -> Iterator[str]:
    """Everything about one check at 80 columns."""
    from qc.judge.limits import ROUNDING

    yield f"{check.title} ({check.name})"
    yield ""
    yield from _part("Measures", (check.measures,))
    yield from _part("How", (check.how,))
    yield from _part("Span", (check.span,))
    yield from _part("Limits", (check.limits,))
    yield from _part("In a profile", tuple(f"[{requirement}]" for requirement in check.requirements))
    standards = check.standards or ("none: common practice, so the value is always the outlet's own",)
    yield from _part("Standard", standards)
    if check.name in ("loudness", "short-term", "loudness-range", "true-peak", "channels"):
        yield from _part("Rounding", (ROUNDING,))
    yield from _part("False alarms", check.false_alarms)
    yield from _part("Caution", (*check.cautions, "Where the station's own specification differs, it counts."))


def _part(label: str, texts: tuple[str, ...]) -> Iterator[str]:
    for place, text in enumerate(texts):
        first = f"  {label if not place else '':<{_LABEL}}"
        yield from textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * (_LABEL + 2))
