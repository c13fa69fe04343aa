"""What an outlet asks of flashing pictures and stripes: section ``[flashing]``. Screening, never a certificate."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StrictInt

from qc.outlets.schema_kinds import Number, Requirement, Strict

_PERCENT = "percent of the screen, from 5 to under 100"
_SHOULD = '"should" (a person looks), or "off" to take an inherited requirement away'


class FlashLimit(Requirement):
    """So many ``changes`` within any second over more than ``area_percent`` of the screen are too many."""

    area_percent: Annotated[Number, Field(ge=5, lt=100)]
    changes: Annotated[StrictInt, Field(ge=5, le=12)]

    EXPECTED: ClassVar[dict[str, str]] = {
        "area_percent": _PERCENT,
        "changes": "a whole number from 5 to 12, such as 7 (more than three flashes)",
    }

    @property
    def words(self) -> str:
        return f"fewer than {self.changes} changes in any second over more than {self.area_percent:g} % of the screen"


class GeneralFlashes(FlashLimit):
    """Of luminance. ``variant`` is the published reading of the picture as cd/m2 on a screen."""

    variant: Literal["BT.1702-3", "Ofcom"]

    @property
    def words(self) -> str:
        return f"{super().words}, {self.variant}"


class LongFlashing(Requirement):
    """Sequences within the limits that go on for longer: for a person to look at."""

    level: Literal["should"] = "should"
    seconds: Annotated[Number, Field(ge=2, le=60)]

    EXPECTED: ClassVar[dict[str, str]] = {"seconds": "seconds from 2 to 60, such as 5", "level": _SHOULD}

    @property
    def words(self) -> str:
        return f"at most {self.seconds:g} s near the limits"


class StripePatterns(Requirement):
    """Regular stripes of more than five pairs over more of the screen than this: for a person to look at."""

    level: Literal["should"] = "should"
    still_percent: Annotated[Number, Field(ge=25, lt=100)]
    changing_percent: Annotated[Number, Field(ge=20, lt=100)]

    EXPECTED: ClassVar[dict[str, str]] = {
        "still_percent": "percent of the screen, from 25 to under 100",
        "changing_percent": "percent of the screen, from 20 to under 100",
        "level": _SHOULD,
    }

    @property
    def words(self) -> str:
        return (
            f"no regular stripes over more than {self.still_percent:g} % of the screen at rest, "
            f"{self.changing_percent:g} % changing"
        )


class Flashing(Strict):
    flashes: GeneralFlashes | None = None
    red: FlashLimit | None = None
    long_sequences: LongFlashing | None = None
    patterns: StripePatterns | None = None
