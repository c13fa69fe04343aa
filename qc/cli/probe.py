"""``qc probe``: what the headers of a file say."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from qc.cli.terminal import Terminal


def register(app: typer.Typer) -> None:
    app.command(name="probe")(probe)


def probe(
    file: Annotated[Path, typer.Argument(metavar="FILE", show_default=False, help="The file to look at.")],
    json: Annotated[
        str, typer.Option(metavar="FILE|-", show_default=False, help="All facts as JSON; - for stdout.")
    ] = "",
    quiet: Annotated[bool, typer.Option("--quiet", help="No facts on the screen.")] = False,
) -> int:
    """Say what the headers of one file say: wrapper, picture, sound, timecode. Decodes nothing of the programme."""
    from qc.measurement.child import probe_file
    from qc.report.facts_text import facts_text
    from qc.report.files import write_report
    from qc.report.probe_document import probe_json
    from qc.report.run import run_block

    started = datetime.now(UTC)
    facts = probe_file(file)
    content = probe_json(file.name, facts, run_block([], started))
    if not quiet and json != "-":
        Terminal().say(facts_text(file.name, facts), end="")
    if json == "-":
        Terminal().document(content)
    elif json:
        write_report(Path(json), content)
    return 0
