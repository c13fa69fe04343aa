"""Writing a report so that it is there whole or not at all."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from qc.errors import UserError
from qc.report.visible import visible


class ReportNotWritten(UserError):
    """A report could not be written. The verdict stands: callers print it and keep its exit status."""


def write_report(path: Path, content: bytes) -> Path:
    """Write to a temporary name in the same folder, then rename; an older report stays until then.

    Makes the folder if it is not there. Raises ReportNotWritten (read-only or full folder, a folder of that
    name in the way); no part of the report is left behind then, nor after Ctrl-C.
    """
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
        raise ReportNotWritten(
            f"the report could not be written ({error.strerror or error})",
            where=visible(str(path)),
            remedy="give another folder with --out, or make room there",
        ) from error
    return path
