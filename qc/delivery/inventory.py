"""Which files a run is about: names as given, folders opened into their media files, strays named once."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

#: Endings that programme files carry in delivery folders (common practice, no source).
MEDIA_ENDINGS = frozenset(
    {".mxf", ".mov", ".mp4", ".m4v", ".mkv", ".avi", ".mpg", ".mpeg", ".m2t", ".m2ts", ".ts", ".wav"}
)

#: Endings and marks of files that something is still writing (common practice, no source).
_PARTIAL_ENDINGS = frozenset(
    {".part", ".partial", ".tmp", ".temp", ".crdownload", ".download", ".filepart", ".lock", ".lck"}
)


@dataclass(frozen=True)
class Stray:
    """A file in a given folder that is left alone, and why."""

    path: Path
    why: str


@dataclass(frozen=True)
class Inventory:
    """What will be checked, in the order given (folders sorted by name), each file once."""

    files: tuple[Path, ...]
    strays: tuple[Stray, ...]
    empty: tuple[Path, ...]  # folders without any media file


def take_inventory(given: Iterable[Path]) -> Inventory:
    """A named file is always taken, whatever its name; a folder gives its media files."""
    files: dict[Path, None] = {}
    strays: list[Stray] = []
    empty: list[Path] = []
    for path in given:
        if not path.is_dir():
            files.setdefault(path)
            continue
        before = len(files)
        for inside in _walk(path):
            why = _stray(inside)
            if why:
                strays.append(Stray(inside, why))
            else:
                files.setdefault(inside)
        if len(files) == before:
            empty.append(path)
    return Inventory(tuple(files), tuple(strays), tuple(empty))


def _walk(folder: Path) -> Iterator[Path]:
    """All files below a folder, sorted; links to folders are not followed, so there are no loops."""
    for base, folders, names in os.walk(folder):
        folders.sort()
        for name in sorted(names):
            yield Path(base, name)


def _stray(path: Path) -> str:
    name = path.name
    if any(part.startswith(".") for part in path.parts[-2:] if part not in (".", "..")) or name in (
        "Thumbs.db",
        "desktop.ini",
    ):
        return "hidden file"
    ending = path.suffix.lower()
    if ending in _PARTIAL_ENDINGS or name.startswith("~") or name.endswith("~"):
        return "temporary or partial file"
    if ending not in MEDIA_ENDINGS:
        return "not a media file by its name"
    return ""
