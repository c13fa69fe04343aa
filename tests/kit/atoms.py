"""Changing atoms of a small MOV or MP4 in memory, for headers that no encoder here writes.

Structure: ISO/IEC 14496-12, 4.2 (a box is a 32-bit size, four letters, content).
"""

from __future__ import annotations

import struct

#: Bytes of a container atom's own fields before its children.
_HEAD = {b"stsd": 8, b"meta": 4}


def find(content: bytes, trail: list[bytes], occurrence: int = 0) -> list[tuple[int, int]]:
    """(start, end) of each atom down a trail such as [b"moov", b"trak"]; ``occurrence`` picks among like traks."""
    places: list[tuple[int, int]] = []
    start, end = 0, len(content)
    for name in trail:
        wanted = occurrence if name == b"trak" else 0
        at = start
        while at + 8 <= end:
            (size,) = struct.unpack_from(">I", content, at)
            if content[at + 4 : at + 8] == name:
                if not wanted:
                    break
                wanted -= 1
            at += size or end - at
        else:
            raise AssertionError(f"no {name!r} in the test file")
        places.append((at, at + size))
        start, end = at + 8 + _HEAD.get(name, 0), at + size
    return places


def insert(content: bytes, trail: list[bytes], atom: bytes, occurrence: int = 0) -> bytes:
    """The file with an atom added at the end of the last atom of the trail. The index must lie after the media."""
    places = find(content, trail, occurrence)
    assert content.find(b"mdat") < places[0][0], "the media would move"
    out = bytearray(content)
    for start, end in places:
        out[start : start + 4] = struct.pack(">I", end - start + len(atom))
    out[places[-1][1] : places[-1][1]] = atom
    return bytes(out)


def clap(width: int, height: int, x: int = 0, y: int = 0) -> bytes:
    """A clean aperture atom: whole pixels, offset of its centre from the picture's (ISO/IEC 14496-12, 12.1.4)."""
    return struct.pack(">I4s8i", 40, b"clap", width, 1, height, 1, x, 1, y, 1)
