"""Runs the command ``qc`` as a user does: another process, its words and its exit status."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ENTRY = "from qc.cli.app import main; main()"


@dataclass(frozen=True)
class Done:
    status: int
    out: str
    err: str

    @property
    def said(self) -> str:
        """Standard error as one line: where it was wrapped does not matter."""
        return " ".join(self.err.split())

    @property
    def words(self) -> str:
        return self.out + self.err

    @property
    def document(self) -> dict[str, Any]:
        """The JSON document on standard output; NaN and infinity are refused."""

        def refuse(word: str) -> None:
            raise AssertionError(f"{word} in JSON")

        return json.loads(self.out, parse_constant=refuse)


def command(*arguments: object) -> list[str]:
    return [sys.executable, "-c", ENTRY, *map(str, arguments)]


def environment(**more: str) -> dict[str, str]:
    root = str(Path(__file__).resolve().parents[2])
    return {**os.environ, "PYTHONPATH": root, "NO_COLOR": "1", "COLUMNS": "80", **more}


def qc(*arguments: object, cwd: Path, timeout: float = 120, **env: str) -> Done:
    """One run of the command; fails if it says anything like a traceback."""
    done = subprocess.run(
        command(*arguments),
        cwd=cwd,
        env=environment(AIRWORTHY_STORE=str(cwd / "store"), **env),
        capture_output=True,
        timeout=timeout,
        check=False,
    )
    result = Done(done.returncode, done.stdout.decode(errors="replace"), done.stderr.decode(errors="replace"))
    assert "Traceback" not in result.words, result.words
    return result
