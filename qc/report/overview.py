"""A run as its index shows it: files, verdicts, and where the papers of each lie."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from qc.judge.mix import OneMix
from qc.judge.verdict import Verdict
from qc.report.media_file import MediaFile


@dataclass(frozen=True)
class Link:
    """A paper of the run. ``href`` is relative to the index and percent-encoded; ``label`` says what it is."""

    label: str
    href: str


@dataclass(frozen=True)
class FileRow:
    """One file of the run.

    one_mix   whether one level serves all its outlets; None for a single outlet or without sound
    reports   outlet code -> its papers, the report to read first
    sheets    papers about the file as a whole: mixer's sheet, viewing list, marker lists
    """

    file: MediaFile
    verdicts: tuple[Verdict, ...]
    one_mix: OneMix | None = None
    reports: Mapping[str, tuple[Link, ...]] = field(default_factory=dict)
    sheets: tuple[Link, ...] = ()
