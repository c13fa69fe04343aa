"""What a command costs: CPU of itself and all it started, wall clock, peak memory of its largest process."""

from __future__ import annotations

import os
import subprocess
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True)
class Cost:
    """Seconds and megabytes."""

    cpu: float
    wall: float
    peak: float


@dataclass(frozen=True)
class Line:
    """Cost from two lengths: what a start costs, and what a minute of programme costs."""

    fixed: float
    per_minute: float


#: As on a user's machine: modules are compiled once and kept.
COMPILED_ONCE = {"PYTHONDONTWRITEBYTECODE": ""}


def cost_of(command: Sequence[str], accept: Sequence[int] = (0,), env: Mapping[str, str] | None = None) -> Cost:
    """Run once. Raises RuntimeError for an exit status that is not accepted."""
    began = time.monotonic()
    child = subprocess.Popen(
        command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, env={**os.environ, **COMPILED_ONCE, **(env or {})}
    )
    assert child.stderr is not None
    said = child.stderr.read().decode(errors="replace")
    _, status, usage = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in accept:
        raise RuntimeError(f"{' '.join(command)} ended with {child.returncode}\n{said[-1000:]}")
    return Cost(usage.ru_utime + usage.ru_stime, time.monotonic() - began, usage.ru_maxrss / 1024)


def least_of(times: int, command: Sequence[str], **how: object) -> Cost:
    """The cheapest of several runs: what else the machine does only ever adds."""
    costs = [cost_of(command, **how) for _ in range(times)]  # type: ignore[arg-type]
    return Cost(min(c.cpu for c in costs), min(c.wall for c in costs), max(c.peak for c in costs))


def line_through(short: float, long: float, short_seconds: int, long_seconds: int) -> Line:
    per_minute = (long - short) / (long_seconds - short_seconds) * 60
    return Line(fixed=short - per_minute * short_seconds / 60, per_minute=per_minute)


def warm(path: Path) -> None:
    """Read a file once, so that its bytes come from memory in every run that follows."""
    with path.open("rb") as file:
        while file.read(1 << 24):
            pass
