"""``qc profiles``: list the station profiles, show one resolved, look for mistakes, compare two."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from qc.cli.terminal import Terminal

profiles = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="The station profiles: list, show, lint, diff."
)


def register(app: typer.Typer) -> None:
    app.add_typer(profiles, name="profiles")


@profiles.command(name="list")
def list_() -> int:
    """The outlets that come with the tool, and the bases that a profile can inherit from."""
    from qc.outlets.load import list_bases, list_profiles, load_profile
    from qc.report.profile_text import list_text

    loaded = [(path, load_profile(path)) for path in list_profiles()]
    full = [profile for path, profile in loaded if path.parent.name != "mini"]
    short = [profile for path, profile in loaded if path.parent.name == "mini"]
    Terminal().say(list_text(full, short, [(path.stem, _title(path)) for path in list_bases()]), end="")
    return 0


def _title(base: Path) -> str:
    """The first comment line of a base: its document and edition."""
    with base.open(encoding="utf-8") as stream:
        return stream.readline().lstrip("# ").rstrip(" .:\n")


@profiles.command()
def show(
    name: Annotated[str, typer.Argument(metavar="NAME|FILE", show_default=False, help="An outlet, a base, or a file.")],
) -> int:
    """One profile with its bases merged in: every value with the file that it came from."""
    from qc.outlets.load import find_profile, load_base, load_profile
    from qc.report.profile_text import show_text

    path = find_profile(name, bases=True)
    base = path.parent.name == "base"
    loaded = load_base(path) if base else load_profile(name if "/" in name or name.endswith(".toml") else path)
    Terminal().say(show_text(loaded, base=base), end="")
    return 0


@profiles.command(name="lint")
def lint_(
    files: Annotated[
        list[str], typer.Argument(metavar="FILE|NAME...", show_default=False, help="Profiles to look through.")
    ],
) -> int:
    """Every problem of each profile, and what is allowed but odd. Status 2 if any has a problem."""
    from qc.outlets.lint import lint
    from qc.outlets.load import ProfileError, find_profile
    from qc.report.profile_text import lint_text

    status, terminal = 0, Terminal()
    for place, name in enumerate(files):
        if place:
            terminal.say()
        try:
            path = find_profile(name, bases=True)
            _, warnings = lint(path)
            terminal.say(lint_text(name, warnings), end="")
        except ProfileError as error:
            status = error.exit_status
            terminal.say(str(error))
    return status


@profiles.command()
def diff(
    one: Annotated[str, typer.Argument(metavar="A", show_default=False, help="An outlet, or a profile's file.")],
    other: Annotated[str, typer.Argument(metavar="B", show_default=False, help="Another one.")],
) -> int:
    """What two outlets ask differently, limit by limit."""
    from qc.outlets.diff import differences
    from qc.outlets.load import load_profile
    from qc.report.profile_text import diff_text

    left, right = load_profile(one), load_profile(other)
    Terminal().say(diff_text(left, right, differences(left.profile, right.profile)), end="")
    return 0
