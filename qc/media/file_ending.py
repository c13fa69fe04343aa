"""How the names of media files end, by wrapper. The name is the file's, not its content's: a copy may have another."""

from __future__ import annotations

from pathlib import PurePath

ENDINGS: dict[str, tuple[str, ...]] = {
    "MXF": (".mxf",),
    "MOV": (".mov", ".qt"),
    "MP4": (".mp4", ".m4v", ".m4a"),
    "WAV": (".wav", ".bwf"),
    "Wave64": (".w64",),
    "AIFF": (".aif", ".aiff", ".aifc"),
    "Matroska": (".mkv", ".mka", ".webm"),
    "MPEG-TS": (".ts", ".m2ts", ".mts"),
    "MPEG-PS": (".mpg", ".mpeg", ".vob"),
    "Ogg": (".ogg", ".oga", ".ogv", ".opus"),
}


def ending_agrees(wrapper: str, name: str) -> bool:
    """Whether a name ends as such a wrapper's does; of a wrapper that is not known here anything does."""
    return wrapper not in ENDINGS or PurePath(name).suffix.lower() in ENDINGS[wrapper]
