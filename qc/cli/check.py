"""``qc check``: episodes against outlets, with reports and an exit status that a script can trust."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from qc.cli.seconds import seconds
from qc.cli.terminal import Terminal, shown
from qc.errors import UserError

if TYPE_CHECKING:
    from qc.delivery.run import CheckedFile
    from qc.report.run import RunBlock


def register(app: typer.Typer) -> None:
    app.command(name="check")(check)


def check(
    files: Annotated[
        list[Path], typer.Argument(metavar="FILE", show_default=False, help="Episodes, or folders of them.")
    ],
    outlet: Annotated[
        list[str],
        typer.Option(
            metavar="NAME|PROFILE.toml",
            show_default=False,
            help="An outlet by name, or a profile file. May be repeated.",
        ),
    ],
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder for the reports.")] = Path("reports"),
    json: Annotated[
        str,
        typer.Option(metavar="FILE|-", show_default=False, help="One JSON document of the whole run; - for stdout."),
    ] = "",
    junit: Annotated[
        str,
        typer.Option(metavar="FILE|-", show_default=False, help="One JUnit XML of the whole run; - for stdout."),
    ] = "",
    sheet: Annotated[
        Path | None,
        typer.Option(metavar="CSV", show_default=False, help="Declared timing sheet of the one file that is checked."),
    ] = None,
    waivers: Annotated[
        Path | None,
        typer.Option(metavar="TOML", show_default=False, help="Findings that were agreed to be let through."),
    ] = None,
    markers: Annotated[
        bool, typer.Option("--markers", help="Also write marker lists for the edit: CSV, EDL and OTIO.")
    ] = False,
    strict: Annotated[bool, typer.Option("--strict", help="Exit 4 if there are advisories.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="One line per file and outlet.")] = False,
    fresh: Annotated[bool, typer.Option("--fresh", help="Measure again even if the file is known.")] = False,
    settle: Annotated[
        float, typer.Option(metavar="SECONDS", parser=seconds, help="How long a file must have been left alone.")
    ] = 2.0,
) -> int:
    """Check finished episodes for one or more outlets.

    Headers are judged and shown first; then each file is decoded once, whatever the number of outlets.
    """
    from qc.cli.narrator import Narrator
    from qc.delivery.paperwork import Paperwork, combined_json, combined_junit
    from qc.delivery.prepare import prepare
    from qc.delivery.run import check_files, run_status
    from qc.report.run import Option, run_block

    if json and json == junit:
        where = "standard output" if json == "-" else "one file"
        raise UserError(f"--json and --junit both go to {where}", remedy="give one of them a file of its own")
    started = datetime.now(UTC)
    inventory, ask = prepare(files, outlet, sheet=sheet, waivers=waivers, strict=strict, fresh=fresh, settle=settle)
    options: dict[str, Option] = {
        "outlets": [Path(name).name for name in outlet],
        "strict": strict,
        "fresh": fresh,
        "sheet": sheet.name if sheet else None,
    }

    def block(*results: CheckedFile) -> RunBlock:
        return run_block([result.libraries for result in results], started, options)

    terminal = Terminal(to_stderr="-" in (json, junit))
    for stray in inventory.strays:
        terminal.warn(f"Ignored: {shown(stray.path)} ({stray.why})", shown(stray.path))
    checked = {profile.profile.outlet.code for profile in ask.profiles}
    for rule in ask.waivers:
        if rule.outlet not in checked:
            terminal.warn(f"{rule.origin} is for {rule.outlet}, which is not checked here", rule.outlet)
    for folder in inventory.empty:
        terminal.warn(f"No media file in {shown(folder)}", shown(folder))
    narrator = Narrator(terminal, Paperwork(out, markers=markers), block, total=len(inventory.files), quiet=quiet)
    with narrator:
        results = check_files(inventory.files, ask, narrator)
    narrator.closing(results, block(*results))
    if json:
        _deliver(terminal, json, combined_json(results, block(*results)))
    if junit:
        _deliver(terminal, junit, combined_junit(results, block(*results)))
    return run_status(results)


def _deliver(terminal: Terminal, target: str, document: bytes) -> None:
    """A document to stdout or a file; a file that cannot be written changes no verdict and no status."""
    from qc.report.files import ReportNotWritten, write_report

    if target == "-":
        terminal.document(document)
        return
    try:
        write_report(Path(target), document)
    except ReportNotWritten as trouble:
        terminal.warn(str(trouble), trouble.where)
