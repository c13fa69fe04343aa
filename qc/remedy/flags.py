"""What only a flag says wrongly: set it, and re-encode nothing. And what a flag alone cannot cure."""

from __future__ import annotations

from qc.remedy.fix import Fix


def start_timecode(start_label: str, som_label: str) -> Fix:
    """Set the label of the file's first frame so that the programme starts on the label asked for."""
    return Fix(
        "re-flag",
        None,
        "",
        "timecode",
        f"Re-flag only: set the start timecode of the file to {start_label}, then the programme starts at {som_label}; "
        "no re-encode.",
    )


def counting(name: str, frames_apart: int | None) -> Fix:
    """Set the drop-frame flag; the same frames then read another running time."""
    apart = (
        f" Check the timing sheet again: over this programme the two counts are {frames_apart} frames apart."
        if frames_apart
        else ""
    )
    return Fix("re-flag", None, "", "timecode", f"Re-flag only: set the timecode to {name}; no re-encode.{apart}")


def field_order(scan: str) -> Fix:
    """Set both flags alike, once somebody has seen which field really comes first."""
    return Fix(
        "re-flag",
        None,
        "",
        "picture",
        f"Check the field order in the picture: if it is {scan}, re-flag container and stream to it without a "
        "re-encode; if it is not, re-export.",
    )


def colour(system: str) -> Fix:
    """Set the three tags."""
    return Fix(
        "re-flag",
        None,
        "",
        "picture",
        f"Re-flag only: tag primaries, transfer and matrix as {system} if the picture was graded for it; no re-encode.",
    )


def rotation(degrees: int) -> Fix:
    return Fix("re-flag", None, "", "picture", f"Re-flag only: set the rotation to {degrees} degrees; no re-encode.")


def aperture() -> Fix:
    return Fix(
        "re-flag", None, "", "picture", "Re-flag only: remove the clean aperture so that the full raster is shown."
    )


def valid_label(where: str) -> Fix:
    return Fix(
        "re-flag", None, "", "timecode", f"Re-flag only: write a start label that exists in its counting ({where})."
    )


def agree(label: str) -> Fix:
    return Fix("re-flag", None, "", "timecode", f"Re-flag only: set every timecode of the file to {label}.")
