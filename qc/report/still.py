"""Pictures beside findings, as they come from a short seek after the judging."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Still:
    """One frame of the file, small, its timecode burnt in.

    frame          from the first frame of the file
    jpeg           None if it could not be decoded
    width, height  of the still, square pixels
    reason         why there is none, "" if there is one
    """

    frame: int
    jpeg: bytes | None
    width: int = 0
    height: int = 0
    reason: str = ""


#: Stills of one file by their frame.
Stills = Mapping[int, Still]
