"""Kinds of requirement and of value that the sections of a profile are made of."""

from __future__ import annotations

import math
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictFloat,
    StrictInt,
    StrictStr,
    model_validator,
)

from qc.timing.durations import FORMS, Duration, DurationError

#: What a length of time accepts, as authors of profiles are told.
LENGTH = f"a length of time in quotes: {FORMS}"


class Contradiction(ValueError):
    """Values that are well formed one by one and cannot stand together.

    keys      the keys concerned, the one to point at first
    found     what stands there, in words
    expected  what is accepted, in words
    absent    something is not there, which a base might have given
    """

    def __init__(self, keys: tuple[str, ...], found: str, expected: str, absent: bool = False) -> None:
        super().__init__(f"{found}; {expected}")
        self.keys = keys
        self.found = found
        self.expected = expected
        self.absent = absent


def _finite(value: float) -> float:
    try:
        finite = math.isfinite(value) and abs(value) < 1e12
    except OverflowError:  # a whole number beyond any float
        finite = False
    if not finite:
        raise ValueError("a limit must be a finite number")
    return value


def _pair(value: object) -> object:
    """TOML has lists only: [below, above] becomes the pair that the record holds."""
    return tuple(value) if isinstance(value, list) else value


def _duration(text: str) -> str:
    try:
        Duration(text)
    except DurationError as error:
        raise ValueError(str(error)) from error
    return text


Number = Annotated[StrictFloat | StrictInt, AfterValidator(_finite)]
# +/- value, or [below, above] such as [-4.0, 1.0]
Tolerance = Annotated[Number | tuple[Number, Number], BeforeValidator(_pair)]
DurationText = Annotated[StrictStr, AfterValidator(_duration)]
Level = Literal["must", "should"]


class Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class Requirement(Strict):
    """What every requirement has."""

    level: Level = "must"
    clause: StrictStr = ""
    source: StrictStr = ""
    note: StrictStr = ""


class Choice(Requirement):
    """One of the listed values."""

    accept: Annotated[list[StrictStr], Field(min_length=1)]


class NumberChoice(Requirement):
    """One of the listed whole numbers."""

    accept: Annotated[list[StrictInt], Field(min_length=1)]


class Flag(Requirement):
    """A property that has to hold."""

    required: Literal[True] = True


class Count(Requirement):
    """A whole number: exact, or min and/or max."""

    exact: Annotated[StrictInt, Field(ge=0)] | None = None
    min: Annotated[StrictInt, Field(ge=0)] | None = None
    max: Annotated[StrictInt, Field(ge=0)] | None = None

    @model_validator(mode="after")
    def _one_form(self) -> Count:
        check_forms(self.exact, self.min, self.max, "exact")
        return self


class NumberLimit(Requirement):
    """A number with unit: target and tolerance, or min and/or max.

    A max may carry a tolerance of measurement of its own (EBU R 128: true peak +/-0.3 dB).
    """

    unit: StrictStr
    target: Number | None = None
    tolerance: Tolerance | None = None
    min: Number | None = None
    max: Number | None = None

    @model_validator(mode="after")
    def _one_form(self) -> NumberLimit:
        check_forms(self.target, self.min, self.max, "target")
        if self.target is not None and self.tolerance is None:
            raise Contradiction(
                ("target",),
                f"target {self.target} without a tolerance",
                "a tolerance beside the target (that of a base goes with the base's target)",
                absent=True,
            )
        if isinstance(self.tolerance, tuple):
            below, above = self.tolerance
            if not below <= 0 <= above:
                raise Contradiction(
                    ("tolerance",),
                    f"[{below}, {above}], which leaves out the target",
                    "[below, above] with below at or under 0 and above at or over 0",
                )
        elif self.tolerance is not None and self.tolerance < 0:
            raise Contradiction(("tolerance",), f"{self.tolerance}", "0 or more, or a pair [below, above]")
        return self

    @property
    def lowest(self) -> float | None:
        """Lowest accepted value; None if there is none."""
        if self.target is not None:
            below = self.tolerance[0] if isinstance(self.tolerance, tuple) else -(self.tolerance or 0)
            return self.target + below
        return self.min

    @property
    def highest(self) -> float | None:
        """Highest accepted value before any tolerance of measurement; None if there is none."""
        if self.target is not None:
            above = self.tolerance[1] if isinstance(self.tolerance, tuple) else (self.tolerance or 0)
            return self.target + above
        return self.max


class LoudnessLimit(NumberLimit):
    unit: Literal["LUFS", "LKFS"]


class LoudnessRangeLimit(NumberLimit):
    unit: Literal["LU"]


class TruePeakLimit(NumberLimit):
    unit: Literal["dBTP"]

    @model_validator(mode="after")
    def _below_full_scale(self) -> TruePeakLimit:
        if self.max is None:
            raise Contradiction(
                ("max", "target", "min"), "no max", "a highest true peak, such as max = -2.0", absent=True
            )
        if self.max > 0:
            raise Contradiction(("max",), f"{self.max}", "0 dBTP or less: is the minus sign missing?")
        return self


class LevelLimit(NumberLimit):
    unit: Literal["dBFS"]


class BitRateLimit(NumberLimit):
    unit: Literal["Mb/s"]


class FramesLimit(NumberLimit):
    unit: Literal["frames"]


class DurationLimit(Requirement):
    """A length of time: exact and tolerance, or min and/or max."""

    exact: DurationText | None = None
    tolerance: DurationText | None = None
    min: DurationText | None = None
    max: DurationText | None = None

    @model_validator(mode="after")
    def _one_form(self) -> DurationLimit:
        check_forms(self.exact, self.min, self.max, "exact", ordered=False)
        if self.tolerance is not None and self.exact is None:
            raise Contradiction(
                ("tolerance",), "a tolerance without exact", "exact beside it, or min and max alone", absent=True
            )
        return self


class ActLength(DurationLimit):
    """Length of one act, by number; it takes the place of structure.act_length for that act."""

    number: Annotated[StrictInt, Field(ge=1)]


class ElementLength(DurationLimit):
    """Length of one element that the timing sheet declares by name (opening, credits, bumper)."""

    name: StrictStr


def check_forms(exact: Any, low: Any, high: Any, word: str, ordered: bool = True) -> None:
    """``ordered`` is False for texts, which are compared once the picture rate is known."""
    if exact is None and low is None and high is None:
        raise Contradiction((), "no limit", f"{word}, or min and/or max", absent=True)
    if exact is not None and (low is not None or high is not None):
        other = "min" if low is not None else "max"
        raise Contradiction((word, other), f"{word} and {other} together", f"one form: {word}, or min and/or max")
    if ordered and low is not None and high is not None and low > high:
        raise Contradiction(("min", "max"), f"min {low} over max {high}", "min at or under max")
