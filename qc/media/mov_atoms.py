"""The atoms of a MOV or MP4 file that say what the decoder's interface does not.

Clean aperture, field order as flagged, rotation, edit list, timecode tracks with their flags,
whether there is an index. Reads headers only: it skips over the media, however large.

Sources: ISO/IEC 14496-12 (box structure, 4.2; tkhd 8.3.2; elst 8.6.6; clap and pasp 12.1.4);
QuickTime File Format Specification (tmcd, chan, fiel); field order codes of ``fiel`` as in Apple TN2162.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

#: More atoms than any real file has; a hostile one stops here.
MOST_ATOMS = 20_000
MOST_TRACKS = 256
MOST_EDITS = 1_000
#: Atoms that are read whole are small; a larger claim is not believed.
LARGEST_LEAF = 1 << 20

_HOLDERS = frozenset(b"moov trak mdia minf stbl edts tref gmhd udta".split())


class BrokenAtoms(ValueError):
    """The atom structure contradicts itself; the message says how."""


@dataclass(frozen=True)
class Edit:
    """One entry of an edit list; ``media`` is None for an empty edit (nothing is shown)."""

    seconds: Fraction
    media: Fraction | None
    speed: Fraction


@dataclass(frozen=True)
class Track:
    """One track. ``handler`` is "vide", "soun", "tmcd", "clcp", "text", "sbtl", ..."""

    number: int
    handler: str = ""
    fourcc: str = ""
    language: str | None = None
    rotation: int = 0
    seconds: Fraction | None = None
    scale: int = 0
    edits: tuple[Edit, ...] = ()
    first_composition: Fraction = Fraction(0)  # seconds by which the first sample is shown after its decoding
    samples: int | None = None
    fields: tuple[int, int] | None = None  # fiel: number of fields, order code
    clean_aperture: tuple[Fraction, Fraction, Fraction, Fraction] | None = None  # width, height, x, y from centre
    coded: tuple[int, int] = (0, 0)
    depth: int | None = None
    refers_to: tuple[tuple[str, tuple[int, ...]], ...] = ()
    drop: bool | None = None
    counts: int = 0  # labels per second of a timecode track
    first_label: int | None = None
    first_offset: int | None = None


@dataclass(frozen=True)
class MovHeader:
    brand: str | None
    compatible: tuple[str, ...]
    index: bool  # moov found and read
    media_cut: bool  # an mdat claims more bytes than the file has
    fragments: bool
    scale: int
    tracks: tuple[Track, ...]


def read_mov(path: Path) -> MovHeader:
    """Headers of a MOV or MP4 file.

    Raises BrokenAtoms if the index contradicts itself, OSError if the file cannot be read.
    """
    with path.open("rb") as stream:
        size = stream.seek(0, 2)
        brand, index, cut, fragments, scale = None, False, False, False, 0
        compatible: tuple[str, ...] = ()
        tracks: tuple[Track, ...] = ()
        for kind, start, end, whole in _atoms(stream, 0, size, _Budget()):
            if kind == b"ftyp":
                content = _leaf(stream, start, min(end, start + 4096))
                brand = _text(content[:4])
                compatible = tuple(_text(content[i : i + 4]) for i in range(8, len(content) - 3, 4))
            elif kind == b"moov" and whole and not index:
                index, (scale, tracks) = True, _movie(stream, start, end)
            elif kind == b"mdat" and not whole:
                cut = True
            elif kind == b"moof":
                fragments = True
        return MovHeader(brand, compatible, index, cut, fragments, scale, tracks)


class _Budget:
    def __init__(self) -> None:
        self.left = MOST_ATOMS

    def spend(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise BrokenAtoms("more atoms than a file can have")


def _atoms(stream: BinaryIO, start: int, end: int, budget: _Budget) -> Iterator[tuple[bytes, int, int, bool]]:
    """(kind, start of content, end, whole) of each atom in a stretch; ``whole`` is False if it claims too much."""
    at = start
    while at + 8 <= end:
        budget.spend()
        stream.seek(at)
        size, kind = struct.unpack(">I4s", _exactly(stream, 8))
        body = at + 8
        if size == 1:
            if at + 16 > end:
                return
            (size,) = struct.unpack(">Q", _exactly(stream, 8))
            body = at + 16
        elif size == 0:
            size = end - at
        if size < body - at:
            return
        yield kind, body, min(at + size, end), at + size <= end
        at += size


def _exactly(stream: BinaryIO, size: int) -> bytes:
    content = stream.read(size)
    if len(content) != size:
        raise BrokenAtoms("an atom ends before its time")
    return content


def _leaf(stream: BinaryIO, start: int, end: int) -> bytes:
    if end - start > LARGEST_LEAF:
        raise BrokenAtoms("an atom is far larger than it can be")
    stream.seek(start)
    return stream.read(end - start)


def _text(content: bytes) -> str:
    return "".join(mark if mark.isprintable() else "?" for mark in content.decode("latin-1")).rstrip()


def _movie(stream: BinaryIO, start: int, end: int) -> tuple[int, tuple[Track, ...]]:
    budget, scale = _Budget(), 0
    tracks: list[Track] = []
    places = [(kind, a, b) for kind, a, b, _ in _atoms(stream, start, end, budget)]
    for kind, a, b in places:
        if kind == b"mvhd":
            content = _leaf(stream, a, b)
            scale = _number(content, ">I", 20 if content[:1] == b"\x01" else 12)
    for kind, a, b in places:
        if kind == b"trak":
            if len(tracks) == MOST_TRACKS:
                raise BrokenAtoms("more tracks than a file can have")
            tracks.append(_track(stream, a, b, scale, budget))
    return scale, tuple(tracks)


def _number(content: bytes, form: str, at: int) -> int:
    if at + struct.calcsize(form) > len(content):
        raise BrokenAtoms("an atom is too short for what it should hold")
    return int(struct.unpack_from(form, content, at)[0])


def _track(stream: BinaryIO, start: int, end: int, movie_scale: int, budget: _Budget) -> Track:
    leaves: dict[bytes, bytes] = {}
    references: list[tuple[str, tuple[int, ...]]] = []
    heads: dict[bytes, tuple[int, int]] = {}

    def walk(a: int, b: int, holder: bytes, depth: int) -> None:
        for kind, body, stop, _ in _atoms(stream, a, b, budget):
            if holder == b"tref":
                content = _leaf(stream, body, min(stop, body + 1024))
                numbers = struct.unpack(f">{len(content) // 4}I", content[: len(content) // 4 * 4])
                references.append((_text(kind), numbers))
            elif kind in _HOLDERS and depth < 6:
                walk(body, stop, kind, depth + 1)
            elif kind in (b"tkhd", b"mdhd", b"hdlr", b"elst", b"stsd") and (holder, kind) != (b"minf", b"hdlr"):
                leaves.setdefault(kind, _leaf(stream, body, stop))
            elif kind in (b"stsz", b"stco", b"co64", b"ctts"):
                heads.setdefault(kind, (body, stop))

    walk(start, end, b"trak", 0)
    track = Track(number=0, refers_to=tuple(references))
    if b"tkhd" in leaves:
        track = _track_head(track, leaves[b"tkhd"])
    if b"mdhd" in leaves:
        track = _media_head(track, leaves[b"mdhd"])
    if b"hdlr" in leaves:
        track = replace(track, handler=_text(leaves[b"hdlr"][8:12]))
    if b"elst" in leaves and movie_scale and track.scale:
        track = replace(track, edits=_edits(leaves[b"elst"], movie_scale, track.scale))
    if b"stsz" in heads:
        track = replace(track, samples=_number(_leaf(stream, *_first(heads[b"stsz"], 12)), ">I", 8))
    if b"ctts" in heads and track.scale and heads[b"ctts"][1] - heads[b"ctts"][0] >= 16:
        offset = _number(_leaf(stream, *_first(heads[b"ctts"], 16)), ">i", 12)
        track = replace(track, first_composition=Fraction(offset, track.scale))
    for kind, form, width in ((b"stco", ">I", 4), (b"co64", ">Q", 8)):
        if kind in heads and heads[kind][1] - heads[kind][0] >= 8 + width:
            track = replace(track, first_offset=_number(_leaf(stream, *_first(heads[kind], 8 + width)), form, 8))
    if b"stsd" in leaves:
        track = _description(track, leaves[b"stsd"])
    if track.handler == "tmcd" and track.first_offset is not None and track.samples:
        stream.seek(track.first_offset)
        content = stream.read(4)
        if len(content) == 4:
            track = replace(track, first_label=struct.unpack(">I", content)[0])
    return track


def _first(place: tuple[int, int], size: int) -> tuple[int, int]:
    return place[0], min(place[1], place[0] + size)


def _track_head(track: Track, content: bytes) -> Track:
    long = content[:1] == b"\x01"
    number = _number(content, ">I", 20 if long else 12)
    at = 52 if long else 40
    if len(content) < at + 36:
        return replace(track, number=number)
    a, b, _, c, d = struct.unpack_from(">5i", content, at)
    # Matrix rows (a b u)(c d v): a picture turned clockwise by t has a = cos t, b = sin t.
    turn = round(math.degrees(math.atan2(b, a))) % 360 if (a or b or c or d) else 0
    return replace(track, number=number, rotation=turn)


def _media_head(track: Track, content: bytes) -> Track:
    long = content[:1] == b"\x01"
    scale = _number(content, ">I", 20 if long else 12)
    length = _number(content, ">Q" if long else ">I", 24 if long else 16)
    code = _number(content, ">H", 32 if long else 20)
    unknown = (1 << (64 if long else 32)) - 1
    seconds = Fraction(length, scale) if scale and length not in (0, unknown) else None
    letters = "".join(chr(0x60 + (code >> shift & 31)) for shift in (10, 5, 0))
    language = letters if code >= 0x400 and code != 0x7FFF and letters.isalpha() and letters != "und" else None
    return replace(track, scale=scale, seconds=seconds, language=language)


def _edits(content: bytes, movie_scale: int, media_scale: int) -> tuple[Edit, ...]:
    long = content[:1] == b"\x01"
    form, width = (">QqhH", 20) if long else (">IihH", 12)
    count = min(_number(content, ">I", 4), (len(content) - 8) // width, MOST_EDITS)
    edits = []
    for place in range(count):
        length, media, whole, part = struct.unpack_from(form, content, 8 + place * width)
        start = None if media < 0 else Fraction(media, media_scale)
        edits.append(Edit(Fraction(length, movie_scale), start, Fraction(whole) + Fraction(part, 65536)))
    return tuple(edits)


def _description(track: Track, content: bytes) -> Track:
    """The first sample description; only its own fields and the small atoms at its end."""
    if len(content) < 16:
        return track
    size = min(_number(content, ">I", 8), len(content) - 8)
    entry = content[8 : 8 + size]
    track = replace(track, fourcc=_text(entry[4:8]))
    if track.handler == "tmcd" and len(entry) >= 34:
        flags, _, _, counts = struct.unpack_from(">IIIB", entry, 20)
        counter = bool(flags & 8)  # counts tape or film frames, not time
        return replace(track, drop=bool(flags & 1), counts=0 if counter else counts)
    if track.handler != "vide" or len(entry) < 86:
        return track
    width, height = struct.unpack_from(">HH", entry, 32)
    (depth,) = struct.unpack_from(">H", entry, 82)
    track = replace(track, coded=(width, height), depth=depth)
    at = 86
    while at + 8 <= len(entry):
        (length,) = struct.unpack_from(">I", entry, at)
        kind, body = entry[at + 4 : at + 8], entry[at + 8 : at + length]
        if length < 8:
            break
        if kind == b"fiel" and len(body) >= 2:
            track = replace(track, fields=(body[0], body[1]))
        elif kind == b"clap" and len(body) >= 32:
            values = struct.unpack_from(">IIIIiIiI", body)
            if all(values[1::2]):
                parts = [Fraction(top, bottom) for top, bottom in zip(values[::2], values[1::2], strict=True)]
                track = replace(track, clean_aperture=(parts[0], parts[1], parts[2], parts[3]))
        at += length
    return track


def scan_of_fields(fields: tuple[int, int] | None) -> str | None:
    """``fiel`` in words: one field is progressive; 1 and 9 show the top field first, 6 and 14 the bottom field."""
    if fields is None:
        return None
    if fields[0] == 1:
        return "progressive"
    if fields[0] == 2 and fields[1] in (1, 9):
        return "interlaced, top first"
    if fields[0] == 2 and fields[1] in (6, 14):
        return "interlaced, bottom first"
    return None


def aperture_box(track: Track) -> tuple[int, int, int, int] | None:
    """Left, top, width, height of the clean aperture in whole pixels; None if there is none or it lies outside."""
    if track.clean_aperture is None or not all(track.coded):
        return None
    width, height, x, y = track.clean_aperture
    left = (track.coded[0] - width) / 2 + x
    top = (track.coded[1] - height) / 2 + y
    box = (math.floor(left + Fraction(1, 2)), math.floor(top + Fraction(1, 2)), round(width), round(height))
    inside = min(box[:2]) >= 0 and box[0] + box[2] <= track.coded[0] and box[1] + box[3] <= track.coded[1]
    return box if inside and box[2] > 0 and box[3] > 0 else None
