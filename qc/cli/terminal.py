"""Where a command's words go: screen or pipe, coloured or not, and progress only where somebody watches."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, TextIO

import typer

from qc.cli.wrapping import width_of, wrapped

if TYPE_CHECKING:
    from qc.measurement.child import Progress


class Terminal:
    """The words of one command.

    to_stderr  keeps stdout free for a document (``--json -``)
    """

    def __init__(self, *, to_stderr: bool = False) -> None:
        self._stream: TextIO = sys.stderr if to_stderr else sys.stdout
        self.colour = coloured(self._stream)

    def say(self, text: str = "", end: str = "\n") -> None:
        """Prints text whose foreign parts are already visible.

        What standard output cannot take (a full disk behind it) is said on standard error: a verdict is not lost. If
        the reader of a pipe has gone, nobody is told any more, and the command goes on to its reports and its status.
        """
        try:
            typer.echo(text + end, file=self._stream, color=self.colour, nl=False)
        except BrokenPipeError:
            self._hush()
        except OSError as error:
            self._divert(error, "the rest is said here", sys.stderr.fileno())

    def warn(self, text: str, *names: str) -> None:
        """Says it on standard error, at the terminal's width; ``names`` are paths in it that must stay whole."""
        with contextlib.suppress(OSError):
            typer.echo(wrapped(text, width_of(sys.stderr), names), err=True)

    def document(self, content: bytes) -> None:
        """Bytes as they are, to stdout; if it cannot take them that is said, and changes nothing else."""
        try:
            sys.stdout.flush()
            sys.stdout.buffer.write(content)
            sys.stdout.buffer.flush()
        except BrokenPipeError:
            self._hush(sys.stdout)
        except OSError as error:
            self._divert(error, "the document is not whole", None)

    def _hush(self, stream: TextIO | None = None) -> None:
        """Points a stream nowhere, so that what it still holds does not fail again."""
        os.dup2(os.open(os.devnull, os.O_WRONLY), (stream or self._stream).fileno())

    def _divert(self, error: OSError, instead: str, target: int | None) -> None:
        """Points standard output elsewhere, so that what it still holds does not fail again; None is nowhere."""
        self.warn(f"Standard output cannot be written ({error.strerror or error}): {instead}.")
        for descriptor in (target, os.open(os.devnull, os.O_WRONLY)):
            if descriptor is None:
                continue
            os.dup2(descriptor, sys.stdout.fileno())
            try:
                sys.stdout.flush()
            except OSError:
                continue
            return


def shown(path: Path) -> str:
    """A path with control and direction characters made visible."""
    from qc.report.visible import visible

    return visible(str(path))


def coloured(stream: TextIO) -> bool:
    """Colour only on a terminal that did not decline it (NO_COLOR, whatever its value)."""
    return stream.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


class ProgressLine:
    """Percentage, speed and time left of the long pass, on stderr if that is a terminal, else nothing."""

    def __init__(self, *, wanted: bool = True) -> None:
        self._wanted = wanted and sys.stderr.isatty() and os.environ.get("TERM") != "dumb"
        self._bar: Any = None
        self._task: Any = None

    def __enter__(self) -> ProgressLine:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def update(self, name: str, progress: Progress) -> None:
        if not self._wanted:
            return
        if self._bar is None:
            self._start(name)
        self._bar.update(
            self._task,
            completed=progress.fraction if progress.fraction is not None else 0.0,
            total=1.0 if progress.fraction is not None else None,
            facts=_facts(progress),
        )

    def stop(self) -> None:
        if self._bar is not None:
            self._bar.stop()
        self._bar = self._task = None

    def _start(self, name: str) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn

        self._bar = Progress(
            TextColumn("{task.description}", markup=False),
            BarColumn(bar_width=24),
            TextColumn("{task.fields[facts]}", markup=False),
            console=Console(stderr=True, markup=False, highlight=False, emoji=False),
            transient=True,
        )
        self._task = self._bar.add_task(name, total=1.0, facts="")
        self._bar.start()


def _facts(progress: Progress) -> str:
    parts = [] if progress.fraction is None else [f"{100 * progress.fraction:3.0f} %"]
    parts.append(f"{progress.fps:.0f} frames/s")
    if progress.seconds_left is not None:
        minutes, seconds = divmod(round(progress.seconds_left), 60)
        parts.append(f"{minutes}:{seconds:02} left")
    return ", ".join(parts)
