"""What the README promises exists, and what exists is in the README."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
import typer

from qc.cli.app import COMMANDS, app
from qc.delivery import status
from qc.judge.verdict import Outcome
from qc.outlets.lint import lint
from tests.kit.profiles import write_profile

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GROUP = typer.main.get_command(app)


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_and_option_is_in_the_readme(name: str) -> None:
    """A command that nobody is told of is used by nobody."""
    command = GROUP.commands[name]  # type: ignore[attr-defined]
    assert f"qc {name}" in README
    if name in ("check", "measure"):
        options = {option for parameter in command.params for option in parameter.opts if option.startswith("--")}
        assert {option for option in options - {"--help"} if option not in README} == set()


def test_the_readme_names_no_command_or_option_that_does_not_exist() -> None:
    """Lines that start with ``qc`` can be typed."""
    for line in re.findall(r"^    qc (.+?)(?:\s+#.*)?$", README, re.M):
        name, *words = line.split()
        command = GROUP.commands[name]  # type: ignore[attr-defined]
        if hasattr(command, "commands"):
            command = command.commands[words.pop(0)]
        known = {option for parameter in command.params for option in parameter.opts}
        assert {word for word in words if word.startswith("--")} <= known


def test_statuses_and_outcomes_are_in_the_readme() -> None:
    """Every exit status a script can meet, every word a finding can have."""
    for name in ("DELIVERABLE", "FAILED", "USAGE", "NOT_MEASURED", "ADVISORIES", "INTERRUPTED"):
        assert f"| {getattr(status, name)} |" in README
    assert all(f"| {outcome.value.upper()} |" in README for outcome in Outcome)


def test_the_examples_of_the_readme_work(tmp_path: Path) -> None:
    """The profile has no problem, the waiver is TOML."""
    blocks = re.findall(r"(?:^    .*\n|^\n)+", README, re.M)
    profile = next(block for block in blocks if "[outlet]" in block).split("    qc profiles")[0]
    text = "\n".join(line[4:] for line in profile.splitlines())
    assert lint(write_profile(tmp_path, text, "my-station.toml")) is not None
    waiver = next(block for block in blocks if "[[waiver]]" in block)
    assert tomllib.loads("\n".join(line[4:] for line in waiver.splitlines()))["waiver"][0]["who"]


def test_the_job_comes_first() -> None:
    """One paragraph on the job at the very top, then the two commands."""
    title, job, commands = README.split("\n\n")[:3]
    assert title == "# Airworthy" and "what exactly must" in job
    assert [line.split("#")[0].strip() for line in commands.splitlines()] == ["make demo", "make test"]
