"""Writing a report so that it is there whole or not at all."""

from __future__ import annotations

import os
import secrets
import stat
from pathlib import Path

from qc.errors import UserError
from qc.report.visible import visible


class ReportNotWritten(UserError):
    """A report could not be written. The verdict stands: callers print it and keep its exit status."""


def write_report(path: Path, content: bytes) -> Path:
    """Write to a temporary name in the same folder, then rename; an older report stays until then.

    Makes the folder if it is not there. A pipe or a device that stands there already (/dev/null, /dev/fd/63) is
    written to and stays. Raises ReportNotWritten (read-only or full folder, a folder of that name in the way); no
    part of the report is left behind then, nor after Ctrl-C.
    """
    if _passes_on(path):
        return _passed_on(path, content)
    part = path.with_name(f".{secrets.token_hex(8)}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        try:
            with os.fdopen(descriptor, "wb") as stream:
                stream.write(content)
            os.replace(part, path)
        except BaseException:
            part.unlink(missing_ok=True)
            raise
    except OSError as error:
        raise _not_written(path, error) from error
    return path


def _passes_on(path: Path) -> bool:
    """Neither a file nor a folder, itself or behind a link: renaming over it would put a file in its place."""
    try:
        kind = path.stat().st_mode
    except (OSError, ValueError):
        return False
    return not (stat.S_ISREG(kind) or stat.S_ISDIR(kind))


def _passed_on(path: Path, content: bytes) -> Path:
    try:
        with path.open("wb", buffering=0) as stream:
            left = memoryview(content)
            while left:
                left = left[stream.write(left) or 0 :]
    except OSError as error:
        raise _not_written(path, error) from error
    return path


def _not_written(path: Path, error: OSError) -> ReportNotWritten:
    return ReportNotWritten(
        f"the report could not be written ({error.strerror or error})",
        where=visible(str(path)),
        remedy="give another folder with --out, or make room there",
    )
