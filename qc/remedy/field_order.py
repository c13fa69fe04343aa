"""What to do about a field order, once the picture itself has said what it is."""

from __future__ import annotations

from qc.remedy.exports import look, re_export
from qc.remedy.fix import Fix

#: What the picture itself can say; anything else is no order.
ORDERS = ("top first", "bottom first", "progressive content")

_UPPER = {"top first": "upper", "bottom first": "lower"}


def wanted_order(scan: str) -> str:
    """ "top first" of "interlaced, top first"; "progressive content" of "progressive"; "" of neither."""
    if scan == "progressive":
        return "progressive content"
    return scan.removeprefix("interlaced, ") if scan.startswith("interlaced, ") else ""


def flags_follow(measured: str, scan: str) -> Fix:
    """The picture is what the outlet asks for, and a flag says something else."""
    return Fix(
        "re-flag",
        None,
        "",
        "picture",
        f"The picture itself is {measured}: re-flag only, set container and stream to {scan}; no re-encode.",
        no_export=True,
    )


def picture_differs(measured: str, scan: str) -> Fix:
    """The picture is not what the outlet asks for: no flag cures that."""
    if measured == "progressive content":
        return re_export(f"{scan} scan: the picture itself is progressive, so decide first how it is to be scanned")
    if scan == "progressive":
        return re_export(f"{scan} scan: the picture itself is interlaced, {measured}, and has to be deinterlaced")
    field = _UPPER.get(wanted_order(scan), "asked for")
    return re_export(f"the {field} field first: the picture itself is {measured}, so a new flag does not cure it")


def other_order(measured: str, wanted: str) -> Fix:
    """The picture as a whole has an order that is not accepted. ``wanted`` is an accepted answer."""
    return picture_differs(measured, "progressive" if wanted == "progressive content" else f"interlaced, {wanted}")


def reversed_shots(at: str, measured: str, wanted: str) -> Fix:
    """Parts of the picture differ from the rest."""
    if wanted == "progressive content":
        return re_export(f"progressive pictures from {at} on: what is there is interlaced, {measured}", "picture")
    field = _UPPER.get(wanted, "asked for")
    return re_export(
        f"the {field} field first from {at} on: what is there is {measured}; set its field order where it was cut in",
        "picture",
    )


def too_little_to_say(at: str) -> Fix:
    return look(
        f"Step through the fields at {at}: too little moves in this file for the measurement to say.", "picture"
    )


def nothing_to_say(at: str, flagged: str) -> Fix:
    """The file is flagged interlaced and nothing in it has shown whether that is true."""
    where = f" at {at}, where most moves" if at else ", at a title that moves if there is one"
    return look(
        f"Step through the fields{where}: the file is flagged {flagged}, and too little moves in it for the "
        "measurement to say whether it is. A file without any motion plays alike in either order.",
        "picture",
    )
