"""What only a flag says wrongly: set it, and re-encode nothing. And what a flag alone cannot cure."""

from __future__ import annotations

from qc.remedy.fix import Fix


def start_timecode(start_label: str, som_label: str) -> Fix:
    """Set the label of the file's first frame so that the programme starts on the label asked for."""
    return _flag(
        "timecode",
        f"set the start timecode of the file to {start_label}, in every source of it: then the programme starts at "
        f"{som_label}; no re-encode.",
    )


def counting(name: str, frames_apart: int | None) -> Fix:
    """Set the drop-frame flag; the same frames then read another running time."""
    apart = (
        f" Check the timing sheet again: over this programme the two counts are {frames_apart} frames apart."
        if frames_apart
        else ""
    )
    return _flag("timecode", f"set the timecode to {name}; no re-encode.{apart}")


def field_order(scan: str) -> Fix:
    """Set both flags alike, once somebody has seen which field really comes first: it may take an export after all."""
    return Fix(
        "re-flag",
        None,
        "",
        "picture",
        f"Check the field order in the picture: if it is {scan}, re-flag container and stream to it without a "
        "re-encode; if it is not, re-export.",
    )


def colour(system: str, in_stream: bool = False) -> Fix:
    """Set the three tags; ``in_stream``: in the headers of the picture stream as well."""
    where = " in the wrapper and in the headers of the picture stream" if in_stream else ""
    instruction = f"tag primaries, transfer and matrix as {system}{where} if the picture was graded for it"
    return _flag("picture", f"{instruction}; no re-encode.")


def rotation(degrees: int) -> Fix:
    return _flag("picture", f"set the rotation to {degrees} degrees; no re-encode.")


def aperture() -> Fix:
    return _flag("picture", "remove the clean aperture so that the full raster is shown.")


def valid_label(where: str) -> Fix:
    return _flag("timecode", f"write a start label that exists in its counting ({where}).")


def agree(label: str) -> Fix:
    return _flag("timecode", f"set every timecode of the file to {label}.")


def _flag(where: str, instruction: str) -> Fix:
    """Nothing is exported again."""
    return Fix("re-flag", None, "", where, f"Re-flag only: {instruction}", no_export=True)
