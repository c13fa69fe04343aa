"""The format chunk of a WAV file: the used depth that the decoder's interface does not show.

Source: WAVEFORMATEXTENSIBLE (Multimedia Data Standards Update, wValidBitsPerSample); EBU Tech 3306 (RF64).
"""

from __future__ import annotations

import struct
from pathlib import Path

_EXTENSIBLE = 0xFFFE
_MOST_CHUNKS = 64


def used_depth(path: Path) -> int | None:
    """Bits in use per sample as the header says; None if there is no format chunk near the start."""
    with path.open("rb") as stream:
        if len(stream.read(12)) < 12:
            return None
        for _ in range(_MOST_CHUNKS):
            head = stream.read(8)
            if len(head) < 8:
                return None
            kind, size = struct.unpack("<4sI", head)
            if kind == b"fmt ":
                content = stream.read(min(size, 40))
                if len(content) < 16:
                    return None
                tag, bits = struct.unpack_from("<H", content)[0], struct.unpack_from("<H", content, 14)[0]
                if tag == _EXTENSIBLE and len(content) >= 20:
                    valid = struct.unpack_from("<H", content, 18)[0]
                    bits = valid if 0 < valid <= bits else bits
                return bits or None
            if kind == b"data":
                return None
            stream.seek(size + size % 2, 1)
    return None
