"""Of which bytes, against which document, by which tool a page speaks."""

from __future__ import annotations

from qc.judge.verdict import Verdict
from qc.report.edition import Edition
from qc.report.file_words import Described
from qc.report.media_file import MediaFile
from qc.report.run import RunBlock
from qc.report.visible import visible


def provenance(verdict: Verdict, file: MediaFile, run: RunBlock, edition: Edition) -> tuple[Described, ...]:
    """Label and text per line. The outlet reads the hash of the limits, not the name of the house's own file."""
    profile = verdict.profile
    libraries = ", ".join(f"{visible(name)} {visible(version)}" for name, version in sorted(run.libraries.items()))
    own = [("Profile", visible(profile.file))] if edition is Edition.INTERNAL else []
    return (
        ("File", visible(file.name)),
        ("Size", "unknown" if file.size is None else f"{file.size} bytes"),
        ("SHA-256 of the file", checksum(file)),
        ("Outlet", visible(profile.name)),
        ("Outlet's document", visible(profile.specification) or "none named"),
        ("Revision", visible(profile.revision) or "none named"),
        *own,
        ("SHA-256 of the limits applied", visible(profile.sha256)),
        ("Tool", f"{run.tool} {run.version}, Python {run.python}"),
        ("Libraries", libraries or "none recorded"),
        ("Run", f"{run.started} to {run.finished}"),
    )


def checksum(file: MediaFile) -> str:
    return visible(file.sha256 or "") or "none: the file could not be read to its end"
