"""``qc explain``: what a check measures, how, over which span, and by which standard."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from difflib import get_close_matches
from typing import TYPE_CHECKING, Annotated

import typer

from qc.errors import UserError

if TYPE_CHECKING:
    from qc.judge.catalogue import Check

WIDTH = 80
_LABEL = 14


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
    typer.echo("\n".join(lines))


def found(name: str) -> Check:
    """The check of that name, or the one that a requirement's id belongs to. Raises UnknownCheck."""
    from qc.judge.catalogue import CHECKS, kind_of

    wanted = name.strip().casefold().replace(" ", "-").replace("_", "-")
    if wanted in CHECKS:
        return CHECKS[wanted]
    key = kind_of(name.strip().casefold())
    for check in CHECKS.values():
        if key in check.requirements:
            return check
    known = [*CHECKS, *(requirement for check in CHECKS.values() for requirement in check.requirements)]
    near = get_close_matches(wanted, known, n=1, cutoff=0.4) or get_close_matches(key, known, n=1, cutoff=0.4)
    remedy = f"Did you mean {near[0]}? qc explain lists them all" if near else "qc explain lists them all"
    shown = "".join(character if character.isprintable() else "?" for character in name[:40])
    raise UnknownCheck(f"no check is called {shown!r}", remedy=remedy)


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
