"""``qc selftest``: the published test signals through the real meters, on this machine."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from qc.cli.terminal import Terminal

if TYPE_CHECKING:
    from qc.selftest.run import Row

FAILED = 1
#: Where the published peak signals, which are fractions of the sample rate, still lie in the audible band or near.
RATES = (32_000, 44_100, 48_000, 88_200, 96_000)
#: 80 columns: where the signal comes from, what it is, what it must read, what it read.
LINE = "{source:<10} {number:>4}  {what:<24} {figure:<9} {expected:>5} {tolerance:>9} {measured:>8} {ok}"


def hertz(text: str | int) -> int:
    """One of the rates that the signals are meant for; a default comes as a number."""
    if str(text) not in map(str, RATES):
        known = f"{', '.join(map(str, RATES[:-1]))} or {RATES[-1]} Hz"
        raise typer.BadParameter(f"{text!r}; the signals are meant for {known}, leave it out for 48000.")
    return int(text)


def register(app: typer.Typer) -> None:
    app.command(name="selftest")(selftest)


def selftest(
    rate: Annotated[
        int, typer.Option(metavar="HZ", parser=hertz, help="Sample rate at which the signals are made.")
    ] = 48_000,
) -> int:
    """Run the published loudness and peak test signals through the meters of this installation.

    The signals are made here from their descriptions and measured as any programme is. Passing them is the least a
    meter must do; it is no certificate.
    """
    # Before numpy is loaded: the products here are small, and a second thread only waits for the first.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from qc.selftest.run import run

    terminal = Terminal()
    terminal.say(f"Published test signals, made at {rate} Hz.")
    terminal.say("I, M, S in LUFS, LRA in LU, TP in dBTP; of many readings the worst.")
    terminal.say()
    terminal.say(
        LINE.format(
            source="source",
            number="no.",
            what="signal",
            figure="reading",
            expected="is",
            tolerance="tolerance",
            measured="measured",
            ok="",
        ).rstrip()
    )
    count = failed = 0
    for row in run(rate):
        terminal.say(line(row))
        count += 1
        failed += not row.ok
    terminal.say()
    if failed:
        terminal.say(f"{failed} of {count} readings lie outside their tolerance.")
        terminal.say("Do not rely on this installation.")
        return FAILED
    terminal.say("This installation passes the listed test signals:")
    terminal.say(f"{count} readings, all within tolerance.")
    return 0


def line(row: Row) -> str:
    """One reading as one line of at most 80 characters."""
    tolerance = f"±{row.over:g}" if row.over == row.under else f"+{row.over:g}/-{row.under:g}"
    return LINE.format(
        source=row.source.removeprefix("EBU ").removeprefix("ITU-R "),
        number=row.number,
        what=row.what,
        figure=row.figure,
        expected=f"{row.expected:.1f}" if row.under >= 0.1 else f"{row.expected:.2f}",
        tolerance=tolerance,
        measured="none" if row.measured is None else f"{row.measured:.3f}",
        ok="ok" if row.ok else "OUT",
    ).rstrip()
