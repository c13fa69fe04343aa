"""``qc selftest``: the published test signals through the real meters, on this machine."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING, Annotated

import typer

from qc.cli.terminal import Terminal
from qc.errors import UserError

if TYPE_CHECKING:
    from qc.selftest.run import Row

FAILED = 1
#: Where the published peak signals, which are fractions of the sample rate, still lie in the audible band or near.
RATES = (32_000, 44_100, 48_000, 88_200, 96_000)
#: 80 columns: where the signal comes from, what it is, what it must read, what it read.
LINE = "{source:<10} {number:>4}  {what:<23} {figure:<9} {expected:>6} {tolerance:>9} {measured:>8} {ok}"


def register(app: typer.Typer) -> None:
    app.command(name="selftest")(selftest)


def selftest(
    rate: Annotated[int, typer.Option(metavar="HZ", help="Sample rate at which the signals are made.")] = 48_000,
) -> int:
    """Run the published loudness and peak test signals through the meters of this installation.

    The signals are made here from their descriptions and measured as any programme is. Passing them is the least a
    meter must do; it is no certificate.
    """
    # Before numpy is loaded: the products here are small, and a second thread only waits for the first.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from qc.selftest.run import run

    if rate not in RATES:
        raise UserError(
            f"--rate {rate}: the signals are meant for {', '.join(map(str, RATES[:-1]))} or {RATES[-1]} Hz",
            remedy="leave it out for 48000",
        )
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
