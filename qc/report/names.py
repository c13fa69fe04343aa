"""Names of the papers of a run, made safe from names that come from outside.

A media file's name may hold 255 bytes of anything but a slash: newlines, a leading dash, right-to-left
overrides. Letters and digits of any script stay (normalised to NFC); the rest becomes "_". A name that had
to be changed carries eight digits of a hash of its own bytes, so two of them never share a report.
"""

from __future__ import annotations

import hashlib
import os
import unicodedata

#: Most bytes of the media name and of the outlet code in a report's name; 255 is the usual limit of a folder.
MOST_BYTES = 140
MOST_CODE_BYTES = 40

#: Names that one common file system keeps for devices, whatever follows the first dot.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10))}


def safe(name: str, most_bytes: int = MOST_BYTES) -> str:
    """A file name of at most ``most_bytes`` bytes (and eight more with a hash) made from any text."""
    kept = "".join(_kept(character) for character in unicodedata.normalize("NFC", name))
    kept = kept.lstrip(".-_ ").rstrip(". ")
    kept = kept.encode()[:most_bytes].decode(errors="ignore")
    if kept.split(".")[0].casefold() in _DEVICES:
        kept = f"file-{kept}"
    if kept and kept == name:
        return kept
    digest = hashlib.sha256(os.fsencode(name)).hexdigest()[:8]
    return f"{kept}-{digest}" if kept else digest


def _kept(character: str) -> str:
    if character in "._-" or (unicodedata.category(character)[0] in "LNM" and character.isprintable()):
        return character
    return "_"


class ReportNames:
    """Names of the papers of one run: a folder per media file, in it a paper per outlet and kind; none twice.

    Two files of the same name from two folders, or names that differ in case only, get "-2", "-3" in the
    order they come; so do two outlets of the same code.
    """

    def __init__(self) -> None:
        self._taken = {"index.html"}

    def folder(self, file: str) -> str:
        """Folder of one media file, "BRLN_0206_v01.mxf"; to be asked for once a file."""
        return self._free(safe(file))

    def stem(self, folder: str, code: str) -> str:
        """Start of the names of one outlet's papers in that folder, "BRLN_0206_v01.mxf.corvane-5"."""
        return self._free(f"{folder}.{safe(code, MOST_CODE_BYTES)}")

    def _free(self, wanted: str) -> str:
        name, count = wanted, 1
        while name.casefold() in self._taken:
            count += 1
            name = f"{wanted}-{count}"
        self._taken.add(name.casefold())
        return name
