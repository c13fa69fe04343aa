"""A file that is hashed while the demuxer reads it, so that its bytes come off the disk once."""

from __future__ import annotations

import hashlib
import io
import os
from pathlib import Path

#: Forward jumps up to this many bytes are read along for the hash; longer ones wait for the end.
_READ_ALONG = 4 << 20
_BLOCK = 1 << 20


class HashedFile:
    """What av.open needs of a file object; ``digest`` gives the SHA-256 of the whole file.

    Only the contiguous beginning is hashed as it passes; ``digest`` reads what the demuxer
    skipped or never asked for. Raises OSError as the system does.
    """

    def __init__(self, path: Path) -> None:
        self.name = os.fspath(path)
        self._file = open(path, "rb", buffering=0)  # noqa: SIM115 -- closed by close()
        self._hash = hashlib.sha256()
        self._hashed = 0
        self._at = 0
        self.stat = os.fstat(self._file.fileno())

    @property
    def hashed(self) -> int:
        """Bytes from the beginning that have been read and hashed."""
        return self._hashed

    def read(self, size: int = -1) -> bytes:
        data = self._file.read(size if size >= 0 else _BLOCK)
        end = self._at + len(data)
        if end > self._hashed >= self._at:
            self._hash.update(memoryview(data)[self._hashed - self._at :])
            self._hashed = end
        elif 0 < self._at - self._hashed <= _READ_ALONG and data:
            self._hash_until(self._at)
            if self._hashed == self._at:
                self._hash.update(data)
                self._hashed = end
            self._file.seek(end)
        self._at = end
        return data

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        self._at = self._file.seek(offset, whence)
        return self._at

    def tell(self) -> int:
        return self._at

    def seekable(self) -> bool:
        return True

    def digest(self, on_block: object = None) -> str:
        """Lower-case hex SHA-256 of the whole file; ``on_block`` is called after every block read."""
        while self._hash_until(self._hashed + _BLOCK):
            if callable(on_block):
                on_block()
        return self._hash.hexdigest()

    def close(self) -> None:
        self._file.close()

    def _hash_until(self, end: int) -> bool:
        """Hash on up to ``end``; False at the end of the file."""
        self._file.seek(self._hashed)
        while self._hashed < end:
            block = self._file.read(min(_BLOCK, end - self._hashed))
            if not block:
                return False
            self._hash.update(block)
            self._hashed += len(block)
        return True
