"""The partitions and header metadata of an MXF file that the decoder's interface does not show.

Operational pattern, whether the file is closed and complete, whether its footer is there, every
timecode component, and the picture and sound descriptors.

Source: SMPTE ST 377-1:2011 (partition pack 7.1; operational pattern label 8.3.3 and ST 378, ST 390;
local sets 9.3; tags of Annexes A to G, from memory); reading of FieldDominance and VideoLineMap as
in ST 377-1 G.2.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

from qc.media.sniff import MXF_RUN_IN

_PARTITION = bytes.fromhex("060e2b34020501010d01020101")
_RANDOM_INDEX = bytes.fromhex("060e2b34020501010d01020101110100")
_LOCAL_SET = bytes.fromhex("060e2b34025301010d01010101")

#: Header metadata of a long episode is well under this.
MOST_METADATA = 8 << 20
MOST_SETS = 20_000

_STATUS = {1: "open, incomplete", 2: "closed, incomplete", 3: "open, complete", 4: "closed, complete"}

_MATERIAL, _SOURCE, _TRACKS, _TIMECODE = 0x36, 0x37, (0x3A, 0x3B, 0x39), 0x14
_PICTURE_SETS, _SOUND_SETS = (0x27, 0x28, 0x29, 0x51), (0x42, 0x47, 0x48)


class BrokenMxf(ValueError):
    """The partition structure contradicts itself; the message says how."""


@dataclass(frozen=True)
class MxfTimecode:
    """A timecode component: label number of its first frame, labels per second, drop as declared."""

    package: str  # "material package", "source package"
    start: int
    base: int
    drop: bool | None


@dataclass(frozen=True)
class MxfPicture:
    frame_layout: int | None
    line_map: tuple[int, ...]
    field_dominance: int | None
    sampled: tuple[int, int] | None
    display: tuple[int, int, int, int] | None  # left, top, width, height
    aspect: Fraction | None
    depth: int | None

    @property
    def scan(self) -> str | None:
        """Scan as the descriptor declares it. Layouts: 0 full frame, 1 separate fields, 3 mixed fields, 4 segmented."""
        if self.frame_layout in (0, 4):
            return "progressive"
        if self.frame_layout not in (1, 3):
            return None
        # An even sum of the two first lines means that field one holds the bottom lines.
        bottom = len(self.line_map) == 2 and all(self.line_map) and sum(self.line_map) % 2 == 0
        if self.field_dominance == 2:
            bottom = not bottom
        return "interlaced, bottom first" if bottom else "interlaced, top first"


@dataclass(frozen=True)
class MxfSound:
    channels: int | None
    bits: int | None


@dataclass(frozen=True)
class MxfHeader:
    pattern: str | None
    status: str | None
    footer: bool
    footer_named: bool  # the header says where the footer is
    timecodes: tuple[MxfTimecode, ...]
    pictures: tuple[MxfPicture, ...]
    sounds: tuple[MxfSound, ...]
    descriptors_of_data: int


@dataclass(frozen=True)
class _Partition:
    kind: int
    status: int
    footer: int
    metadata_bytes: int
    pattern: bytes
    after: int


def read_mxf(path: Path) -> MxfHeader:
    """Header facts of an MXF file. Raises BrokenMxf, OSError."""
    with path.open("rb") as stream:
        size = stream.seek(0, 2)
        stream.seek(0)
        run_in = stream.read(MXF_RUN_IN + 16).find(_PARTITION)
        if run_in < 0:
            raise BrokenMxf("there is no header partition")
        header = _partition(stream, run_in)
        footer = _footer(stream, size, run_in, header)
        sets: list[tuple[int, dict[int, bytes]]] = []
        # The footer repeats the metadata with final values where the header was left open.
        best = footer if footer and footer.metadata_bytes and header.status in (1, 2, 3) else header
        for partition in (best, header):
            sets = list(_sets(stream, partition, size))
            if sets:
                break
    return MxfHeader(
        pattern=_pattern(header.pattern),
        status=_STATUS.get(header.status),
        footer=footer is not None,
        footer_named=header.footer > 0,
        timecodes=tuple(_timecodes(sets)),
        pictures=tuple(_picture(items) for kind, items in sets if kind in _PICTURE_SETS),
        sounds=tuple(
            MxfSound(_integer(items.get(0x3D07)), _integer(items.get(0x3D01)))
            for kind, items in sets
            if kind in _SOUND_SETS
        ),
        descriptors_of_data=sum(kind in (0x43, 0x5B, 0x5C) for kind, _ in sets),
    )


def _partition(stream: BinaryIO, at: int) -> _Partition:
    stream.seek(at)
    key, length = _key_and_length(stream)
    if not key.startswith(_PARTITION) or key[13] not in (2, 3, 4):
        raise BrokenMxf("a partition is not where the file says")
    if not 88 <= length <= 1 << 16:
        raise BrokenMxf("a partition pack has an impossible length")
    content = stream.read(length)
    if len(content) != length:
        raise BrokenMxf("the file ends inside a partition pack")
    _, _, _, _, _, footer, metadata, _, _, _, _ = struct.unpack_from(">HHIQQQQQIQI", content)
    return _Partition(key[13], key[14], footer, metadata, content[64:80], stream.tell())


def _key_and_length(stream: BinaryIO) -> tuple[bytes, int]:
    key, first = stream.read(16), stream.read(1)
    if len(key) < 16 or not first:
        raise BrokenMxf("the file ends inside a key")
    if first[0] < 0x80:
        return key, first[0]
    rest = stream.read(first[0] & 0x7F)
    if not 1 <= first[0] & 0x7F <= 8 or len(rest) != first[0] & 0x7F:
        raise BrokenMxf("a length is not written as BER")
    return key, int.from_bytes(rest, "big")


def _footer(stream: BinaryIO, size: int, run_in: int, header: _Partition) -> _Partition | None:
    """The footer partition, from the header's pointer or the random index pack at the end of the file."""
    places = [header.footer] if header.footer else []
    stream.seek(max(0, size - 4))
    length = int.from_bytes(stream.read(4), "big")
    if 16 < length <= min(size, 1 << 20):
        stream.seek(size - length)
        pack = stream.read(length)
        if pack.startswith(_RANDOM_INDEX) and length >= 33:
            places.append(int.from_bytes(pack[-12:-4], "big"))
    for place in places:
        try:
            if 0 < place + run_in < size and (found := _partition(stream, place + run_in)).kind == 4:
                return found
        except BrokenMxf:
            continue
    return None


def _sets(stream: BinaryIO, partition: _Partition, size: int) -> Iterator[tuple[int, dict[int, bytes]]]:
    """(kind, tag -> value) of each local set in the header metadata of a partition."""
    end = min(partition.after + min(partition.metadata_bytes, MOST_METADATA) + (1 << 16), size)
    at, left = partition.after, MOST_SETS
    while at + 17 < end and left:
        left -= 1
        stream.seek(at)
        try:
            key, length = _key_and_length(stream)
        except BrokenMxf:
            return
        at = stream.tell() + length
        if key[:4] != _PARTITION[:4] or length > MOST_METADATA:
            return
        if key[:7] == _LOCAL_SET[:7] and key[8:13] == _LOCAL_SET[8:13]:
            yield key[14], _items(stream.read(length))
        elif key[4:6] == b"\x01\x02":
            return  # essence begins


def _items(content: bytes) -> dict[int, bytes]:
    items, at = {}, 0
    while at + 4 <= len(content):
        tag, length = struct.unpack_from(">HH", content, at)
        items[tag] = content[at + 4 : at + 4 + length]
        at += 4 + length
    return items


def _integer(value: bytes | None) -> int | None:
    return int.from_bytes(value, "big") if value and len(value) <= 8 else None


def _references(value: bytes | None) -> list[bytes]:
    if not value or len(value) < 8 or value[4:8] != b"\x00\x00\x00\x10":
        return []
    return [value[at : at + 16] for at in range(8, min(len(value) - 15, 8 + 16 * 1024), 16)]


def _timecodes(sets: list[tuple[int, dict[int, bytes]]]) -> Iterator[MxfTimecode]:
    by_name = {items[0x3C0A]: (kind, items) for kind, items in sets if 0x3C0A in items}

    def of(name: bytes | None) -> tuple[int, dict[int, bytes]]:
        return by_name.get(name or b"", (0, {}))

    for wanted, word in ((_MATERIAL, "material package"), (_SOURCE, "source package")):
        for kind, package in sets:
            if kind != wanted:
                continue
            for track in _references(package.get(0x4403)):
                sequence = of(of(track)[1].get(0x4803))
                names = _references(sequence[1].get(0x1001))
                components = [of(name) for name in names[:1]] if names else [sequence]
                for component, items in components:
                    start, base = _integer(items.get(0x1501)), _integer(items.get(0x1502))
                    if component == _TIMECODE and start is not None and base is not None:
                        drop = items.get(0x1503)
                        yield MxfTimecode(word, start, base, bool(drop[0]) if drop else None)


def _picture(items: dict[int, bytes]) -> MxfPicture:
    lines = items.get(0x320D, b"")
    line_map = struct.unpack(">2i", lines[8:16]) if lines[:8] == bytes.fromhex("0000000200000004") else ()
    if len(line_map) == 2 and len(lines) < 16:
        line_map = ()
    aspect = items.get(0x320E, b"")
    ratio = None
    if len(aspect) == 8:
        top, bottom = struct.unpack(">ii", aspect)
        ratio = Fraction(top, bottom) if top > 0 and bottom > 0 else None
    sampled = (_integer(items.get(0x3205)), _integer(items.get(0x3204)))
    display = tuple(_integer(items.get(tag)) for tag in (0x320A, 0x320B, 0x3209, 0x3208))
    width, height = display[2], display[3]
    return MxfPicture(
        frame_layout=_integer(items.get(0x320C)),
        line_map=line_map,
        field_dominance=_integer(items.get(0x3212)),
        sampled=(sampled[0], sampled[1]) if sampled[0] and sampled[1] else None,
        display=(display[0] or 0, display[1] or 0, width, height) if width and height else None,
        aspect=ratio,
        depth=_integer(items.get(0x3301)),
    )


def _pattern(label: bytes) -> str | None:
    """Name of an operational pattern: SMPTE ST 378 (1a) and its kin, ST 390 (Atom)."""
    if len(label) < 16 or label[8:12] != bytes.fromhex("0d010201"):
        return None
    if label[12] == 0x10:
        return "OPAtom"
    if label[12] in (1, 2, 3) and label[13] in (1, 2, 3):
        return f"OP{label[12]}{'abc'[label[13] - 1]}"
    return None
