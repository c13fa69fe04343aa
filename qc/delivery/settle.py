"""Has a file stopped changing? An upload that is still running must not be judged."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from qc.errors import NotJudged
from qc.media.sniff import regular_file

#: How long a file has to be left alone before it is read, in seconds. Choice of this tool: a local
#: export flushes more often than this; a watch folder on a slow line should ask for more.
DEFAULT_SECONDS = 2.0
_LOOKS = 5


@dataclass(frozen=True)
class _Look:
    size: int
    changed: int


def require_settled(
    path: Path,
    seconds: float,
    *,
    now: Callable[[], float] = time.time,
    wait: Callable[[float], None] = time.sleep,
) -> None:
    """Returns once the file has been left alone for ``seconds``; at once if it was already.

    Raises NotJudged if it grows or is written while we look, and if it is no regular file.
    """
    first = _look(path)
    if seconds <= 0:
        return
    age = now() - first.changed / 1e9
    if age >= seconds:
        return
    left = seconds - max(age, 0.0)  # a clock that is ahead gives a negative age: wait the whole time
    for _ in range(_LOOKS):
        wait(left / _LOOKS)
        if _look(path) != first:
            raise NotJudged(
                "the file is still changing",
                where=path.name,
                remedy="wait until the export or upload has finished, then check it again",
            )


def _look(path: Path) -> _Look:
    found = regular_file(path)
    return _Look(found.st_size, found.st_mtime_ns)
