"""What to do about blank edges and bars."""

from __future__ import annotations

from collections.abc import Sequence

from qc.remedy.exports import look, one_of, re_export
from qc.remedy.fix import Fix


def blank_edge(side: str, lines: int) -> Fix:
    line = "column" if side in ("left", "right") else "row"
    many = f"{lines} {line}{'' if lines == 1 else 's'}"
    return re_export(f"picture to every edge: {many} at the {side} are blank; scale or move the picture over them")


def unseen(sides: Sequence[str], where: str) -> Fix:
    """A person sees whether it is night, or a bar."""
    return look(
        f"Look beside the {' and the '.join(sides)} edge, at {where} for one: is the picture dark there, or does a bar "
        "cover it that is tilted, soft or has words in it? Straighten or fill the picture and export again if so.",
        "picture",
    )


def two_k(raster: tuple[int, int]) -> Fix:
    width, height = raster
    side = round(height * 2048 / 1080 - width) // 2
    return re_export(
        f"the 2048x1080 master conformed again: crop it to {width}x{height} ({side} pixels a side at this size), or "
        "agree with the outlet on the bands that scaling to the width leaves"
    )


def other_shape(limit: str, kinds: Sequence[str]) -> Fix:
    return re_export(f"a picture of the shape asked for ({limit}); a {one_of(list(kinds))} needs the outlet's consent")


def insert(kinds: Sequence[str]) -> Fix:
    """Archive is often meant to look like this."""
    kind = one_of(list(dict.fromkeys(kinds)))
    return look(
        f"See whether the {kind} is meant (archive, a format of its own) and agreed with the outlet.", "picture"
    )


def afd(codes: Sequence[str]) -> Fix:
    return Fix(
        "re-flag",
        None,
        "",
        "picture",
        f"Re-flag only: set the active format description to {one_of(list(codes))} throughout; no re-encode.",
        no_export=True,
    )
