"""The command ``qc``: its sub-commands, and the one place where an error becomes a message and a status."""

from __future__ import annotations

import contextlib
import gc
import importlib
import os
import sys
from collections.abc import Sequence
from typing import Annotated, Any

import typer

import qc
from qc.cli.wrapping import width_of, wrapped
from qc.errors import UserError

#: In the order the help shows them. Each is a module of this room with a function ``register(app)``.
COMMANDS = ("check", "measure", "probe", "profiles", "explain", "demo", "selftest")

INTERRUPTED = 130
UNEXPECTED = 3

app = typer.Typer(
    name="qc",
    help="Will every station accept this finished episode, and if not, what exactly must change?",
    epilog="Exit status of check: 0 deliverable everywhere, 1 at least one fail, 2 usage or profile error, "
    "3 something could not be measured, 4 only advisories and --strict, 130 interrupted.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"airworthy {qc.__version__}")
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Say which version this is.")
    ] = False,
) -> None:
    pass


def _register() -> None:
    for name in COMMANDS:
        module = f"qc.cli.{name}"
        try:
            importlib.import_module(module).register(app)
        except ModuleNotFoundError as error:
            if error.name != module:
                raise


_register()


def main(arguments: Sequence[str] | None = None) -> None:
    """Entry point: runs one command and exits with its status. No traceback reaches the user."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    # What other packages plug into pydantic must not change how a profile is read (nor cost a look for it).
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # One command makes many long-lived objects at its start (profiles, templates, tables); looking through them again
    # and again for rubbish costs a sixth of a second check.
    gc.set_threshold(100_000, 20, 20)
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """The exit status of one command."""
    arguments = list(sys.argv[1:] if arguments is None else arguments)
    try:
        status = typer.main.get_command(app).main(arguments, prog_name="qc", standalone_mode=False)
        _flush()
        return status if isinstance(status, int) else 0
    except UserError as error:
        _tell(str(error), error.where)
        return error.exit_status
    except (KeyboardInterrupt, typer.Abort):
        _tell("Interrupted.")
        return INTERRUPTED
    except SystemExit:
        # So the parser ends when the reader of a pipe has gone, with 1, which means "a fail" here. What commands say
        # passes through Terminal, which goes on without a reader; what is left is help, cut short.
        return 0 if {"--help", "-h"} & set(arguments) or not arguments else UNEXPECTED
    except Exception as error:
        if _is_usage(error):
            return _usage(error, arguments)
        return _unexpected(error)


def _flush() -> None:
    """What is still held back goes out; if the reader has gone, nowhere: the interpreter's own flush stays quiet."""
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _is_usage(error: Exception) -> bool:
    """The parser's own errors; typer keeps their class to itself."""
    return hasattr(error, "format_message") and hasattr(error, "exit_code")


def _usage(error: Any, arguments: Sequence[str]) -> int:
    context = getattr(error, "ctx", None)
    if type(error).__name__ == "NoArgsIsHelpError":
        _tell(error.format_message())
        return int(error.exit_code)
    command = context.command_path if context else _command(arguments)
    _tell(f"{_visible(error.format_message())}\nSee: {command} --help")
    return int(error.exit_code)


def _command(arguments: Sequence[str]) -> str:
    """The command whose help helps, where the parser gave up before it told."""
    words, here = ["qc"], typer.main.get_command(app)
    for argument in arguments:
        below = getattr(here, "commands", {}).get(argument)
        if below is None:
            break
        words, here = [*words, argument], below
    return " ".join(words)


def _unexpected(error: Exception) -> int:
    if os.environ.get("AIRWORTHY_DEBUG"):
        raise error
    _tell(
        f"Something went wrong inside the tool ({type(error).__name__}: {_visible(str(error))}). "
        "Nothing may be concluded from this run. AIRWORTHY_DEBUG=1 shows the details."
    )
    return UNEXPECTED


def _visible(text: str) -> str:
    from qc.report.visible import visible

    return "\n".join(visible(line) for line in text.splitlines())


def _tell(text: str, *names: str) -> None:
    with contextlib.suppress(BrokenPipeError):
        sys.stdout.flush()
    typer.echo(wrapped(text, width_of(sys.stderr), names), err=True)
