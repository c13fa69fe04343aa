"""What an outlet asks of fields, edges and pixels: ``[field_order]``, ``[active_picture]``, ``[stuck_pixels]``."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field, StrictInt

from qc.outlets.schema_kinds import Choice, Requirement, Strict

_LINES = "a whole number from 0 to 100"


class MeasuredOrder(Choice):
    """Which field order the picture itself may show: "top first", "bottom first", "progressive content" (PsF).

    least_votes  compared pairs of frames with motion, below which no answer is given; one frame in seven is compared
    """

    least_votes: Annotated[StrictInt, Field(ge=5, le=1000)] = 12

    EXPECTED: ClassVar[dict[str, str]] = {"least_votes": "a whole number from 5 to 1000, such as 12"}


class FieldOrderSection(Strict):
    measured: MeasuredOrder | None = None


class BlankEdges(Requirement):
    """Blank lines that are tolerated at each side: ``columns`` left and right, ``rows`` at the top and the bottom."""

    columns: Annotated[StrictInt, Field(ge=0, le=100)]
    rows: Annotated[StrictInt, Field(ge=0, le=100)]

    EXPECTED: ClassVar[dict[str, str]] = {"columns": _LINES, "rows": _LINES}

    @property
    def words(self) -> str:
        if not self.columns and not self.rows:
            return "picture to every edge of the raster"
        columns = f"{self.columns} blank column{'' if self.columns == 1 else 's'}"
        rows = f"{self.rows} blank row{'' if self.rows == 1 else 's'}"
        return f"at most {columns} left and right, {rows} at the top and the bottom"


class ActivePicture(Strict):
    """``shape`` is that of the programme as a whole, ``inserts`` are parts of it with another."""

    blank_edges: BlankEdges | None = None
    shape: Choice | None = None  # "full raster", "letterbox", "pillarbox"
    inserts: Choice | None = None  # "none", "letterbox", "pillarbox"
    afd: Choice | None = None  # four bits, such as "1010"


class StuckPixels(Requirement):
    """Pixels that stand still while the picture changes.

    most      that are let through
    pictures  different pictures in which one must be seen to count
    """

    most: Annotated[StrictInt, Field(ge=0, le=100)] = 0
    pictures: Annotated[StrictInt, Field(ge=3, le=8)] = 3

    EXPECTED: ClassVar[dict[str, str]] = {"most": _LINES, "pictures": "a whole number from 3 to 8, such as 3"}

    @property
    def words(self) -> str:
        return f"at most {self.most}" if self.most else "none"


class StuckPixelsSection(Strict):
    programme: StuckPixels | None = None
