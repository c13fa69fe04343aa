"""What an outlet asks of the head before the programme and of the run-out after it: section ``[leader]``."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import Field, StrictInt, model_validator

from qc.outlets.schema_kinds import (
    LENGTH,
    Choice,
    Contradiction,
    DurationLimit,
    DurationText,
    LevelLimit,
    Number,
    NumberLimit,
    Requirement,
    Strict,
    check_forms,
)

Shows = Literal["bars and tone", "bars", "tone", "slate", "countdown", "clock", "still", "black"]
_MILLISECONDS = "milliseconds as a number of 0 or more, such as 20"


class LeaderElement(Strict):
    """One element of the head, in its place of the list."""

    shows: Shows
    exact: DurationText | None = None
    tolerance: DurationText | None = None
    min: DurationText | None = None
    max: DurationText | None = None

    EXPECTED: ClassVar[dict[str, str]] = dict.fromkeys(("exact", "tolerance", "min", "max"), LENGTH)

    @model_validator(mode="after")
    def _one_form(self) -> LeaderElement:
        if (self.exact, self.min, self.max) != (None, None, None):
            check_forms(self.exact, self.min, self.max, "exact", ordered=False)
        if self.exact is None and self.tolerance is not None:
            raise Contradiction(("tolerance",), "a tolerance without exact", "exact beside it")
        return self

    @property
    def length(self) -> DurationLimit | None:
        """Its length as a limit; None if any will do."""
        if self.exact is None and self.min is None and self.max is None:
            return None
        return DurationLimit(exact=self.exact, tolerance=self.tolerance, min=self.min, max=self.max)

    def __str__(self) -> str:
        """ "slate 20 s +/- 1 frame"."""
        if self.exact is not None:
            spread = f" +/- {self.tolerance}" if self.tolerance else ""
            return f"{self.shows} {self.exact}{spread}"
        if self.min is not None and self.max is not None:
            return f"{self.shows} {self.min} to {self.max}"
        if self.min is not None:
            return f"{self.shows} at least {self.min}"
        return f"{self.shows} at most {self.max}" if self.max is not None else str(self.shows)


class LeaderLayout(Requirement):
    """What stands before the programme, from the first frame to SOM, and nothing else."""

    element: Annotated[list[LeaderElement], Field(min_length=1, max_length=20)]

    @property
    def words(self) -> str:
        return ", ".join(str(element) for element in self.element)


class ToneLevel(LevelLimit):
    """Level of the line-up tone.

    convention  "sine peak": a full-scale sine is 0 dBFS; "RMS": it is -3.01 dBFS
    channels    by number from 1; without it those of the groups that carry programme
    """

    convention: Literal["sine peak", "RMS"]
    channels: Annotated[list[Annotated[StrictInt, Field(ge=1, le=64)]], Field(min_length=1)] | None = None

    EXPECTED: ClassVar[dict[str, str]] = {"channels": "channel numbers from 1 to 64, as in [1, 2]"}


class ToneFrequency(NumberLimit):
    """Frequency of the line-up tone."""

    unit: Literal["Hz"]


class Blip(Requirement):
    """The sync blip: one frame of picture and a burst of sound at the same moment.

    before         from the first frame of the flash to SOM; common practice is 2 s
    tolerance      of that
    max_early_ms, max_late_ms   how far the sound may be before and after the picture
    """

    wanted: Literal["required", "forbidden"]
    before: DurationText | None = None
    tolerance: DurationText | None = None
    max_early_ms: Annotated[Number, Field(ge=0)] | None = None
    max_late_ms: Annotated[Number, Field(ge=0)] | None = None

    EXPECTED: ClassVar[dict[str, str]] = {
        "before": LENGTH,
        "tolerance": LENGTH,
        "max_early_ms": _MILLISECONDS,
        "max_late_ms": _MILLISECONDS,
    }

    @model_validator(mode="after")
    def _fits(self) -> Blip:
        limits = ("before", "tolerance", "max_early_ms", "max_late_ms")
        given = tuple(key for key in limits if getattr(self, key) is not None)
        if self.wanted == "forbidden" and given:
            raise Contradiction(given, f'wanted = "forbidden" with {given[0]}', '"required", or no such limit')
        if self.wanted == "required" and self.before is None:
            raise Contradiction(
                ("wanted",), "a blip without its place", 'the time to SOM, such as before = "2 s"', absent=True
            )
        return self

    @property
    def words(self) -> str:
        if self.wanted == "forbidden":
            return "none"
        place = f"{self.before} before SOM" + (f" +/- {self.tolerance}" if self.tolerance else "")
        sides = ((self.max_early_ms, "early"), (self.max_late_ms, "late"))
        offset = " and ".join(f"at most {number:g} ms {side}" for number, side in sides if number is not None)
        return f"{place}; sound {offset}" if offset else place


class RunOut(Requirement):
    """What may stand after the programme; its length is a limit of [structure.tail].

    max_peak_dbfs  highest sample of the programme channels there
    """

    accept: Annotated[list[Literal["black", "hold"]], Field(min_length=1)]
    max_peak_dbfs: Annotated[Number, Field(le=0)] | None = None

    EXPECTED: ClassVar[dict[str, str]] = {
        "accept": 'a list of "black" and "hold"',
        "max_peak_dbfs": "dBFS as a number of 0 or less, such as -60.0",
    }

    @property
    def words(self) -> str:
        shown = " or ".join("the last picture held" if word == "hold" else word for word in self.accept)
        return shown if self.max_peak_dbfs is None else f"{shown}, peaks at most {self.max_peak_dbfs:.1f} dBFS"


class Leader(Strict):
    layout: LeaderLayout | None = None
    bars: Choice | None = None  # patterns by name
    tone_level: ToneLevel | None = None
    tone_frequency: ToneFrequency | None = None
    blip: Blip | None = None
    run_out: RunOut | None = None
