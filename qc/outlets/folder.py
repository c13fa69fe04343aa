"""Where profiles are: those that come with the tool, and a name's way to a file.

No name leads out of its folder: names are plain, and a link that points elsewhere is refused.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import qc

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]*(?:/[A-Za-z0-9][A-Za-z0-9_-]*)?(?:\.toml)?", re.ASCII)


@cache
def shipped() -> Path:
    """The folder of the profiles that come with the tool: inside the package, or beside it in a checkout."""
    package = Path(qc.__file__).resolve().parent
    inside = package / "outlets" / "station_profiles"
    return inside if (inside / "base").is_dir() else package.parent / "profiles"


def shipped_outlets() -> list[Path]:
    """Outlet profiles, the full ones first, then the short ones of the demo; bases are not among them."""
    folder = shipped()
    return [*sorted(folder.glob("*.toml")), *sorted((folder / "mini").glob("*.toml"))]


def shipped_bases() -> list[Path]:
    return sorted((shipped() / "base").glob("*.toml"))


def label_of(path: Path, top: Path | None = None) -> str:
    """How a file is named to the user and in reports, the same on every machine.

    A shipped file is ``profiles/...``; another is named from the folder ``top`` of the profile asked for.
    """
    resolved = path.resolve()
    for root, prefix in ((shipped().resolve(), "profiles/"), (top.resolve() if top else None, "")):
        if root and resolved.is_relative_to(root):
            return prefix + resolved.relative_to(root).as_posix()
    return path.name


def is_plain_name(name: str) -> bool:
    """A base's name: letters, digits, - and _, at most one folder, no way upwards."""
    return len(name) <= 100 and _NAME.fullmatch(name) is not None


def find_base(name: str, beside: Path) -> Path | None:
    """The file of a base: beside the profile, in its base/ folder, then among the shipped bases and outlets."""
    stem = name.removesuffix(".toml") + ".toml"
    for folder in (beside, beside / "base", shipped() / "base", shipped(), shipped() / "mini"):
        path = folder / stem
        root = shipped() if folder.is_relative_to(shipped()) else beside
        if path.is_file() and path.resolve().is_relative_to(root.resolve()):
            return path
    return None


def names_near(beside: Path) -> list[str]:
    """Every base name that would be found from a folder."""
    folders = (beside, beside / "base", shipped() / "base", shipped(), shipped() / "mini")
    return sorted({path.stem for folder in folders if folder.is_dir() for path in folder.glob("*.toml")})
