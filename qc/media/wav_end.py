"""Whether the samples that a WAV file declares are all there: the decoder's library trims without a word.

Source: RIFF chunks (Multimedia Programming Interface and Data Specifications 1.0); 64-bit sizes in
EBU Tech 3306 (ds64 of RF64).
"""

from __future__ import annotations

import os
import struct
from pathlib import Path

_MOST_CHUNKS = 64
#: A size that says "unknown": written while streaming, or kept in ds64.
_UNKNOWN = (0, 0xFFFFFFFF)


def missing_bytes(path: Path) -> int:
    """Bytes of sound that the data chunk declares and the file does not hold; 0 if none or unknown. Raises OSError."""
    wide = None
    with path.open("rb") as file:
        size = os.fstat(file.fileno()).st_size
        file.seek(12)
        for _ in range(_MOST_CHUNKS):
            head = file.read(8)
            if len(head) < 8:
                return 0
            kind, length = struct.unpack("<4sI", head)
            if kind == b"data":
                if length in _UNKNOWN:
                    length = wide or 0
                return max(0, file.tell() + length - size)
            if kind == b"ds64":
                content = file.read(16)
                wide = struct.unpack_from("<Q", content, 8)[0] if len(content) == 16 else None
                file.seek(length - len(content), 1)
            else:
                file.seek(length, 1)
            file.seek(length % 2, 1)
    return 0
