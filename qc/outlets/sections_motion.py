"""What an outlet asks of pictures in time: ``[freeze]``, ``[cadence]``, ``[frames]``."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import Field, StrictInt

from qc.outlets.schema_kinds import LENGTH, Choice, DurationLimit, DurationText, Flag, Number, Requirement, Strict


class Freeze(Strict):
    """Longest accepted. Without ``stills`` a picture that is still from cut to cut is judged as any other."""

    inside_acts: DurationLimit | None = None  # a picture that stops, or starts, within its shot
    stills: DurationLimit | None = None  # titles, cards, photographs: still from their first frame to their last


class AcceptedCadence(Choice):
    """Cadences that the picture may have; "none" is every frame a new one.

    least  shorter stretches than that are not told: graphics on twos, an insert
    """

    least: DurationText = "5 s"

    EXPECTED: ClassVar[dict[str, str]] = {"least": LENGTH}


class CadenceSection(Strict):
    accepted: AcceptedCadence | None = None
    unbroken: Flag | None = None  # a cadence keeps step from its first frame to its last


class FrameFaults(Requirement):
    """How many are let through."""

    most: Annotated[StrictInt, Field(ge=0, le=1000)] = 0

    EXPECTED: ClassVar[dict[str, str]] = {"most": "a whole number from 0 to 1000"}

    @property
    def words(self) -> str:
        return f"at most {self.most}" if self.most else "none"


class ShortestShot(Requirement):
    """The shortest shot that can be meant, in frames."""

    shortest: Annotated[StrictInt, Field(ge=2, le=4)] = 4

    EXPECTED: ClassVar[dict[str, str]] = {"shortest": "frames: 2, 3 or 4"}

    @property
    def words(self) -> str:
        return f"no shot of fewer than {self.shortest} frames"


class SolidPicture(Requirement):
    """A picture of one colour, other than black: ``percent`` of it within 2 codes; longest that is accepted."""

    percent: Annotated[Number, Field(ge=80, le=100)] = 95.0
    longest: DurationText = "0 frames"

    EXPECTED: ClassVar[dict[str, str]] = {
        "percent": "percent of the picture from 80 to 100, such as 95.0",
        "longest": LENGTH,
    }

    @property
    def words(self) -> str:
        what = (
            "picture of one colour"
            if self.percent == 100
            else f"picture with {self.percent:g} % or more of it in one colour"
        )
        if _nothing(self.longest):
            return f"no {what}"
        return f"no {what} for longer than {self.longest}"


class BarsInside(Requirement):
    """Colour bars among the pictures of the programme; longest that is accepted."""

    longest: DurationText = "0 frames"

    EXPECTED: ClassVar[dict[str, str]] = {"longest": LENGTH}

    @property
    def words(self) -> str:
        return "no colour bars" if _nothing(self.longest) else f"no colour bars for longer than {self.longest}"


def _nothing(length: str) -> bool:
    return not length.split(" ")[0].strip("0.:;")


class Frames(Strict):
    repeats: FrameFaults | None = None  # frames shown twice in motion
    drops: FrameFaults | None = None  # frames missing in motion
    strays: ShortestShot | None = None
    hits: FrameFaults | None = None  # digital damage for one frame
    solid: SolidPicture | None = None
    bars: BarsInside | None = None
