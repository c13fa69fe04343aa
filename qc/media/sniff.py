"""What a file is by its first bytes, and whether it can be read at all; nothing here opens a decoder.

Signatures: ISO 32000-1 (PDF), APPNOTE.TXT 4.3 (ZIP), W3C PNG, ISO/IEC 10918-1 (JPEG), RFC 1952 (gzip);
the others from memory.
"""

from __future__ import annotations

import codecs
import errno
import os
import stat
from pathlib import Path

from qc.errors import CannotMeasure, NotJudged

#: Enough for every signature here, and for a text to be told from media.
HEAD_BYTES = 4096

_SIGNATURES: tuple[tuple[int, bytes, str], ...] = (
    (0, b"%PDF-", "a PDF document"),
    (0, b"PK\x03\x04", "a ZIP archive or an office document"),
    (0, b"PK\x05\x06", "an empty ZIP archive"),
    (0, b"\x1f\x8b", "a gzip archive"),
    (0, b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (0, b"Rar!\x1a\x07", "a RAR archive"),
    (0, b"\xfd7zXZ\x00", "an xz archive"),
    (257, b"ustar", "a tar archive"),
    (0, b"\x89PNG\r\n\x1a\n", "a PNG picture"),
    (0, b"\xff\xd8\xff", "a JPEG picture"),
    (0, b"GIF87a", "a GIF picture"),
    (0, b"GIF89a", "a GIF picture"),
    (0, b"II*\x00", "a TIFF picture"),
    (0, b"MM\x00*", "a TIFF picture"),
    (0, b"8BPS", "a layered picture document"),
    (0, b"SDPX", "a DPX picture"),
    (0, b"XPDS", "a DPX picture"),
    (0, b"\x7fELF", "a program"),
    (0, b"MZ", "a program"),
    (0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an old office document"),
    (0, b"SQLite format 3\x00", "a database"),
    (0, b"\x00\x05\x16\x07", "a hidden companion file of a desktop (no media in it)"),
)

_PARTLY_COPIED = (".part", ".partial", ".crdownload", ".download", ".filepart", ".tmp", ".!ut")


def readable_file(path: Path) -> int:
    """Size in bytes of a regular, readable, non-empty file.

    Raises CannotMeasure for an empty file, NotJudged for anything else. Never waits: a pipe or device is not opened.
    """
    name, state = _name(path), regular_file(path)
    if state.st_size == 0:
        raise CannotMeasure("the file is empty (0 bytes)", where=name, remedy="export or copy it again")
    try:
        # O_NONBLOCK: should the file be swapped for a pipe meanwhile, opening it must not wait.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as problem:
        raise _unreachable(path, name, problem) from None
    try:
        os.read(handle, 1)
    except OSError as problem:
        raise _unreachable(path, name, problem) from None
    finally:
        os.close(handle)
    return state.st_size


def regular_file(path: Path) -> os.stat_result:
    """Size and times of a regular file, which is not opened. Raises NotJudged for anything else."""
    name = _name(path)
    try:
        state = path.stat()
    except ValueError:
        raise NotJudged("the file name holds a character no file can have", where=name) from None
    except OSError as problem:
        raise _unreachable(path, name, problem) from None
    kind = state.st_mode
    if stat.S_ISDIR(kind):
        raise NotJudged("this is a folder, not a file", where=name, remedy="name the files in it")
    if not stat.S_ISREG(kind):
        what = "pipe" if stat.S_ISFIFO(kind) else "socket" if stat.S_ISSOCK(kind) else "device"
        raise NotJudged(
            f"this is a {what}, not a regular file", where=name, remedy="copy the media to a file on disk first"
        )
    return state


def _name(path: Path) -> str:
    return printable(path.name) or printable(str(path))


def _unreachable(path: Path, name: str, problem: OSError) -> NotJudged:
    if isinstance(problem, PermissionError):
        return NotJudged("no permission to read the file", where=name, remedy="ask for read access to it")
    if problem.errno == errno.ELOOP:
        return NotJudged("a link that leads back to itself", where=name, remedy="name the file itself")
    if isinstance(problem, FileNotFoundError) and path.is_symlink():
        return NotJudged(
            "a link to a file that is not there", where=name, remedy="connect the drive it points to, or name the file"
        )
    if isinstance(problem, (FileNotFoundError, NotADirectoryError)):
        return NotJudged("there is no such file", where=name, remedy="check the name and the folder")
    if problem.errno == errno.ENAMETOOLONG:
        return NotJudged("the file name is too long", where=name[:60] + "...", remedy="shorten the name")
    words = problem.strerror or type(problem).__name__
    return NotJudged(
        f"the file cannot be read ({words.lower()})", where=name, remedy="check the disk or the network share"
    )


def printable(text: str) -> str:
    """A name for a message: control characters and undecodable bytes shown as escapes, on one line."""
    return "".join(mark if mark.isprintable() else mark.encode("unicode_escape").decode("ascii") for mark in text)


def head(path: Path, size: int = HEAD_BYTES) -> bytes:
    with path.open("rb") as stream:
        return stream.read(size)


def looks_like(content: bytes) -> str | None:
    """What the first bytes say if they are known not to be a programme's media; None if they do not say."""
    for offset, signature, kind in _SIGNATURES:
        if content.startswith(signature, offset):
            return kind
    if content and not content.strip(b"\x00"):
        return "nothing but zeros (a copy that was started and never filled?)"
    return _text_kind(content)


def _text_kind(content: bytes) -> str | None:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            content[: len(content) // 2 * 2].decode("utf-16")
        except UnicodeDecodeError:
            return None
        return "text"
    if b"\x00" in content:
        return None
    try:
        # A character cut in two at the end of the excerpt is no objection.
        text = codecs.getincrementaldecoder("utf-8")().decode(content)
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    odd = sum(not (mark.isprintable() or mark in "\r\n\t\f\ufeff") for mark in text)
    if odd * 50 > len(text):
        return None
    start = text.lstrip("\ufeff \r\n\t")[:200].lower()
    if start.startswith(("<!doctype html", "<html")):
        return "a web page (a download that met a log-in page?)"
    if start.startswith(("<?xml", "<tt")):
        return "an XML document"
    return "text"


def partly_copied(path: Path) -> bool:
    """True if the name is one that programs give to a file they are still copying."""
    return path.name.lower().endswith(_PARTLY_COPIED)


# ------------------------------------------------------------------ wrappers

_MXF_KEY = bytes.fromhex("060e2b34020501010d01020101")  # SMPTE ST 377-1, partition pack key
#: A run-in of up to 64 KB may precede an MXF header (SMPTE ST 377-1, 6.5).
MXF_RUN_IN = 65536

_TOP_ATOMS = (b"ftyp", b"moov", b"mdat", b"wide", b"free", b"skip", b"pnot", b"uuid")


def wrapper_of(content: bytes) -> str | None:
    """Wrapper by signature: "MXF", "MOV/MP4", "WAV", "AIFF", ... ; None if the first bytes do not say."""
    if content[4:8] in _TOP_ATOMS:
        return "MOV/MP4"
    if content[:4] in (b"RIFF", b"RF64", b"BW64") and content[8:12] == b"WAVE":
        return "WAV"
    if content[:4] == b"RIFF" and content[8:12] == b"AVI ":
        return "AVI"
    if content[:4] == b"FORM" and content[8:12] in (b"AIFF", b"AIFC"):
        return "AIFF"
    if content[:4] == b"\x1aE\xdf\xa3":
        return "Matroska"
    if content[:4] == b"fLaC":
        return "FLAC"
    if content[:4] == b"OggS":
        return "Ogg"
    if _MXF_KEY in content:
        return "MXF"
    return None
