"""The run block: who measured, with what, when. The only part of a report that differs between two runs."""

from __future__ import annotations

import platform
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

import qc
from qc.report.visible import visible

Option = str | int | float | bool | None | list[str]


@dataclass(frozen=True)
class RunBlock:
    """One run of the tool.

    libraries  name -> version as the measurement recorded them, sorted by name
    started    ISO 8601 with offset, as ``finished``
    options    what was asked for, by option name; file names without their folders
    """

    version: str
    python: str
    libraries: dict[str, str]
    started: str
    finished: str
    options: dict[str, Option] = field(default_factory=dict)
    tool: str = "airworthy"

    def document(self) -> dict[str, object]:
        return {
            "tool": self.tool,
            "version": self.version,
            "python": self.python,
            "libraries": dict(sorted(self.libraries.items())),
            "started": self.started,
            "finished": self.finished,
            "options": dict(sorted(self.options.items())),
        }


def run_block(
    libraries: Iterable[Mapping[str, str]],
    started: datetime,
    options: Mapping[str, Option] | None = None,
    finished: datetime | None = None,
) -> RunBlock:
    """The block of a run that ends now.

    libraries  one mapping per measurement used; versions that differ between them are all named
    """
    versions: dict[str, set[str]] = {}
    for mapping in libraries:
        for name, version in mapping.items():
            versions.setdefault(visible(name), set()).add(visible(version))
    return RunBlock(
        version=qc.__version__,
        python=platform.python_version(),
        libraries={name: ", ".join(sorted(found)) for name, found in sorted(versions.items())},
        started=_iso(started),
        finished=_iso(finished or datetime.now(UTC)),
        options=dict(options or {}),
    )


def _iso(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="seconds")
