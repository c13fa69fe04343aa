"""Where something is, named every way a reader may need."""

from __future__ import annotations

from dataclasses import dataclass

from qc.timing.spans import Span


@dataclass(frozen=True)
class Area:
    """A rectangle of the picture in parts of its width and height, 0.0 to 1.0, from the upper left corner."""

    left: float
    top: float
    width: float
    height: float


@dataclass(frozen=True)
class Place:
    """A moment or stretch of the file.

    span      frames from the first frame of the file
    timecode  of the first frame, as in the file; elapsed time if the file has none
    until     timecode of the frame after the last
    offset    elapsed time from the file's first frame
    within    "act 2 +00:02:41;03", "break 1", "head", "tail" or ""
    channel   number in the flat list, counted from 1; None if it does not apply
    value     worst value here, in the finding's unit; None if it does not apply
    note      what is there, a few words
    area      where in the picture; None if it is the whole of it, or if there is nothing to see
    """

    span: Span
    timecode: str
    until: str
    offset: str
    within: str = ""
    channel: int | None = None
    value: float | None = None
    note: str = ""
    area: Area | None = None
