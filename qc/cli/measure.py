"""``qc measure``: the figures of one file, no station in sight."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from qc.cli.seconds import seconds
from qc.cli.terminal import ProgressLine, Terminal


def register(app: typer.Typer) -> None:
    app.command(name="measure")(measure)


def measure(
    file: Annotated[Path, typer.Argument(metavar="FILE", show_default=False, help="The file to measure.")],
    json: Annotated[
        str, typer.Option(metavar="FILE|-", show_default=False, help="All figures as JSON; - for stdout.")
    ] = "",
    quiet: Annotated[bool, typer.Option("--quiet", help="No progress, no figures on the screen.")] = False,
    fresh: Annotated[bool, typer.Option("--fresh", help="Measure again even if the file is known.")] = False,
    settle: Annotated[
        float, typer.Option(metavar="SECONDS", parser=seconds, help="How long the file must have been left alone.")
    ] = 2.0,
) -> int:
    """Measure one file: loudness, peaks, black, field order, shape, levels, still pictures.

    The figures are those of the whole file; what its headers say is shown by qc probe, and stands in the JSON too.
    Sound is that of the first stream with two or more channels, else of the first two mono streams as left and
    right, else of the one mono channel.
    """
    from qc.delivery.settle import require_settled
    from qc.delivery.status import DELIVERABLE, NOT_MEASURED
    from qc.measurement.child import measure_file
    from qc.measurement.store import Store
    from qc.report.figures_text import figures_text
    from qc.report.files import write_report
    from qc.report.measure_document import measure_document, measure_json
    from qc.report.run import run_block
    from qc.report.visible import visible

    started = datetime.now(UTC)
    terminal = Terminal(to_stderr=json == "-")
    require_settled(file, settle)
    with ProgressLine(wanted=not quiet) as line:
        name = visible(file.name)
        measurement = measure_file(
            file, store=Store(), fresh=fresh, on_progress=lambda progress: line.update(name, progress)
        )
    block = run_block([measurement.libraries], started, {"fresh": fresh})
    if not quiet:
        terminal.say(figures_text(measure_document(measurement, block)), end="")
    if json == "-":
        terminal.document(measure_json(measurement, block))
    elif json:
        write_report(Path(json), measure_json(measurement, block))
    if not measurement.complete:
        terminal.warn(f"{name}: not measured to its end: {visible(measurement.incomplete_because)}.")
    return DELIVERABLE if measurement.complete else NOT_MEASURED
