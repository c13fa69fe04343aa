"""The command as a whole: light to start, a clean message for every error. Contract of this tool, no outside source."""

from __future__ import annotations

import subprocess
import sys

import pytest

import qc
from qc.cli import app
from qc.errors import CannotMeasure, UserError
from tests.kit.command import command, environment
from tests.kit.command import qc as run_qc

HEAVY = ("av", "cv2", "numpy", "scipy", "pyloudnorm", "pydantic", "jinja2", "rich")


def test_help_loads_nothing_heavy() -> None:
    """``qc --help`` starts fast because no decoder, number library, schema or template is loaded for it."""
    code = (
        "import sys; from qc.cli.app import run; run(['--help']);"
        f"print('heavy:', [name for name in {HEAVY!r} if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment(), check=True)
    assert done.stdout.splitlines()[-1] == "heavy: []"


@pytest.mark.parametrize("name", app.COMMANDS)
def test_every_command_has_help(name: str, tmp_path) -> None:
    """Each command exists and says in one sentence what it does."""
    done = run_qc(name, "--help", cwd=tmp_path)
    assert done.status == 0
    assert f"Usage: qc {name}" in done.out and "--help" in done.out


def test_version(tmp_path) -> None:
    """One line, for scripts that record what they ran."""
    done = run_qc("--version", cwd=tmp_path)
    assert (done.status, done.out.strip()) == (0, f"airworthy {qc.__version__}")


@pytest.mark.parametrize(
    ("error", "status", "words"),
    [
        (UserError("it is wrong", where="a.toml", remedy="put it right"), 2, "a.toml: it is wrong. Put it right."),
        (CannotMeasure("it is broken"), 3, "it is broken."),
        (KeyboardInterrupt(), 130, "Interrupted."),
        (RuntimeError("line\x1b[31m"), 3, "RuntimeError: line<U+001B>[31m"),
    ],
    ids=["user", "measure", "interrupt", "unexpected"],
)
def test_errors_become_one_message_and_a_status(
    error: BaseException, status: int, words: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """No traceback, nothing on stdout; what nobody foresaw is not called a verdict and says how to see more."""

    def raises(*_args: object, **_more: object) -> None:
        raise error

    monkeypatch.setattr(app.typer.main, "get_command", raises)
    monkeypatch.delenv("AIRWORTHY_DEBUG", raising=False)
    assert app.run([]) == status
    said = capsys.readouterr()
    assert said.out == "" and words in said.err and "Traceback" not in said.err
    assert ("AIRWORTHY_DEBUG=1" in said.err) == isinstance(error, RuntimeError)


@pytest.mark.parametrize("arguments", [("explain",), ("profiles", "list"), ("--help",), ()], ids=" ".join)
def test_a_closed_pipe_is_quiet(arguments: tuple[str, ...]) -> None:
    """``qc explain | head -1`` ends without a word on stderr; 1 would be "a fail"."""
    child = subprocess.Popen(
        command(*arguments), stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment(PYTHONUNBUFFERED="1")
    )
    assert child.stdout and child.stderr
    child.stdout.close()
    said = child.stderr.read()
    status = child.wait(30)
    assert (status, said) == (0, b"") if arguments else status in (0, 2)
