"""How a file is known again without reading all of it: its size and samples spread over its content."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path

SAMPLES = 64
SAMPLE_BYTES = 64 << 10


@dataclass(frozen=True)
class FileStamp:
    """What the file system says of one state of a file."""

    size: int
    mtime_ns: int
    inode: int

    @classmethod
    def of(cls, path: Path) -> FileStamp:
        """Raises OSError."""
        stat = os.stat(path)
        return cls(stat.st_size, stat.st_mtime_ns, stat.st_ino)


def fingerprint(path: Path) -> str:
    """Lower-case hex of size, beginning, end and evenly spread samples. Raises OSError.

    It finds a record; whether the file is the same to the last byte is for the full SHA-256 to say.
    """
    with open(path, "rb", buffering=0) as file:
        size = os.fstat(file.fileno()).st_size
        hashed = hashlib.sha256(b"%d:" % size)
        last = max(0, size - SAMPLE_BYTES)
        for at in sorted({last * k // (SAMPLES - 1) for k in range(SAMPLES)}):
            file.seek(at)
            hashed.update(file.read(SAMPLE_BYTES))
    return hashed.hexdigest()


def full_sha256(path: Path) -> str:
    """Lower-case hex SHA-256 of the whole file. Raises OSError."""
    with open(path, "rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
