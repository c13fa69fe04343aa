"""Opening a file with the decoder library: files only, known wrappers only, errors in the user's words."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import av
import av.logging
from av.container import InputContainer

from qc.errors import CannotMeasure
from qc.media.mov_atoms import BrokenAtoms, MovHeader, read_mov
from qc.media.mxf_partition import BrokenMxf, MxfHeader, read_mxf
from qc.media.sniff import head, looks_like, partly_copied, printable, readable_file, wrapper_of

#: Wrappers of programme media. No play lists, no picture sequences, no devices: those lead to other files.
WRAPPERS = (
    "mov,mp4,m4a,3gp,3g2,mj2",
    "mxf,mxf_opatom",
    "wav,w64,aiff,caf,au,flac,ogg,mp3,aac,ac3,eac3",
    "matroska,webm,avi,mpegts,mpeg,mpegvideo,h264,hevc,dv,gxf,asf,flv,nut",
)
#: How much the library may read to find out what the streams are; it stops as soon as it knows.
PROBE_BYTES = 8_000_000
PROBE_MICROSECONDS = 5_000_000
#: With these a crafted file leads to no other file and no network address.
SAFE_OPTIONS = {
    "format_whitelist": ",".join(WRAPPERS),
    "protocol_whitelist": "file",
    "probesize": str(PROBE_BYTES),
    "analyzeduration": str(PROBE_MICROSECONDS),
}

_STILL_BRANDS = frozenset(("heic", "heix", "heim", "mif1", "msf1", "avif", "jp2"))


@contextmanager
def quiet() -> Iterator[list[tuple[int, str, str]]]:
    """Nothing of the library reaches the terminal; its messages of this thread are collected instead."""
    with av.logging.Capture() as words:
        yield words


def last_words(problem: Exception, words: list[tuple[int, str, str]]) -> str:
    """The library's own account of what went wrong, on one line, without the file's place on disk."""
    said = [text.strip() for level, _, text in words if level <= av.logging.ERROR and text.strip()]
    reason = getattr(problem, "strerror", None) or type(problem).__name__
    return printable("; ".join([reason, *said[-1:]]))[:300]


def check_readable(path: Path) -> int:
    """Size in bytes. Raises CannotMeasure if there is nothing here that could be media."""
    size = readable_file(path)
    try:
        kind = looks_like(head(path))
    except OSError as problem:
        raise CannotMeasure(
            f"the file cannot be read ({printable(problem.strerror or 'read error')})",
            where=printable(path.name),
            remedy="check the disk or the network share",
        ) from None
    if kind is not None:
        raise CannotMeasure(
            f"this is not a media file: its content looks like {kind}",
            where=printable(path.name),
            remedy="deliver the exported programme itself",
        )
    return size


def read_header(path: Path) -> MovHeader | MxfHeader | str | None:
    """Our own reading of a MOV, MP4 or MXF header; None for other wrappers, text if it is damaged.

    Raises CannotMeasure if a MOV or MP4 has no index, or an MXF ends inside its header: then no
    programme can be found in it.
    """
    try:
        wrapper = wrapper_of(head(path, 65536 + 16))
        if wrapper == "MOV/MP4":
            header = read_mov(path)
            if header.brand in _STILL_BRANDS:
                raise CannotMeasure(
                    "this is a still picture, not a programme",
                    where=printable(path.name),
                    remedy="deliver the exported programme itself",
                )
            if not header.index:
                raise CannotMeasure("incomplete: no index", where=printable(path.name), remedy=_again(path))
            return header
        if wrapper == "MXF":
            return read_mxf(path)
    except (BrokenAtoms, BrokenMxf) as damage:
        return str(damage)
    except OSError as problem:
        raise CannotMeasure(
            f"the file cannot be read ({printable(problem.strerror or 'read error')})",
            where=printable(path.name),
            remedy="check the disk or the network share",
        ) from None
    return None


def open_media(path: Path) -> InputContainer:
    """The file, opened for reading by the decoder library. Raises CannotMeasure."""
    with quiet() as words:
        try:
            # "file:" keeps a name such as "concat:a" or "http:b" from being taken for an address.
            container = av.open(
                f"file:{path.absolute()}", "r", container_options=dict(SAFE_OPTIONS), metadata_errors="replace"
            )
        except MemoryError:
            raise CannotMeasure(
                "its headers ask for more memory than there is", where=printable(path.name), remedy=_again(path)
            ) from None
        except Exception as problem:
            raise CannotMeasure(
                "cannot be opened as media: its headers are damaged or of a kind that is not read here"
                f" ({last_words(problem, words)})",
                where=printable(path.name),
                remedy=_again(path),
            ) from None
    return container


def _again(path: Path) -> str:
    if partly_copied(path):
        return "its name says that it is still being copied: wait until the copy is finished"
    return "export it again, or copy it again if the original is whole"
