"""What an outlet asks of picture levels: section ``[levels]``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, ClassVar, Literal

from pydantic import AfterValidator, Field, StrictInt, model_validator

from qc.outlets.schema_kinds import Contradiction, Number, Requirement, Strict


def _one_of(*accepted: int) -> Callable[[float], int]:
    def check(value: float) -> int:
        if value not in accepted:
            raise ValueError(_words_of(accepted))
        return int(value)

    return check


def _words_of(accepted: tuple[int, ...]) -> str:
    *others, last = (str(value) for value in accepted)
    return f"{', '.join(others)} or {last} percent" if others else f"{last} percent"


# Levels that the measurement counts.
_LUMA_MIN, _LUMA_MAX, _RGB_MIN, _RGB_MAX = (-5, -1, 0), (100, 103, 105), (-5,), (105,)
#: Limits that nothing keeps to the code, since noise and coding scatter round black and white: what they are judged at.
_GRANTED = {0: -1, 100: 101}


class LevelsRange(Requirement):
    """Bounds of luma and of R, G and B in percent of the nominal range, each judged only if it is there.

    Luma of 0 and 100 % is judged at -1 and 101 %. Outside counts after the filter of EBU R 103, from more than
    ``area_percent`` of the picture on, for ``at_least`` frames on end.
    """

    luma_min: Annotated[Number, AfterValidator(_one_of(*_LUMA_MIN))] | None = None
    luma_max: Annotated[Number, AfterValidator(_one_of(*_LUMA_MAX))] | None = None
    rgb_min: Annotated[Number, AfterValidator(_one_of(*_RGB_MIN))] | None = None
    rgb_max: Annotated[Number, AfterValidator(_one_of(*_RGB_MAX))] | None = None
    area_percent: Annotated[Number, Field(ge=0.1, lt=100)]
    at_least: Annotated[StrictInt, Field(ge=3, le=250)] = 5  # frames

    EXPECTED: ClassVar[dict[str, str]] = {
        "luma_min": _words_of(_LUMA_MIN),
        "luma_max": _words_of(_LUMA_MAX),
        "rgb_min": _words_of(_RGB_MIN),
        "rgb_max": _words_of(_RGB_MAX),
        "area_percent": "percent of the picture, from 0.1 to under 100",
        "at_least": "frames, from 3 to 250",
    }

    @model_validator(mode="after")
    def _some_bound(self) -> LevelsRange:
        if (self.luma_min, self.luma_max, self.rgb_min, self.rgb_max) == (None,) * 4:
            raise Contradiction((), "no limit", "luma_min, luma_max, rgb_min or rgb_max", absent=True)
        return self

    @property
    def luma(self) -> tuple[int | None, int | None]:
        """Lowest and highest luma as judged."""
        return self._judged(self.luma_min), self._judged(self.luma_max)

    @property
    def rgb(self) -> tuple[int | None, int | None]:
        """Lowest and highest R, G and B as judged."""
        return self._judged(self.rgb_min), self._judged(self.rgb_max)

    @property
    def granted(self) -> str:
        """What is granted to noise, in words; "" if nothing is."""
        judged = [self._judged(limit) for limit in (self.luma_min, self.luma_max) if limit in _GRANTED]
        return f"judged at {' and '.join(str(limit) for limit in judged)} %" if judged else ""

    @property
    def words(self) -> str:
        luma, rgb = (self.luma_min, self.luma_max), (self.rgb_min, self.rgb_max)
        if luma == rgb:
            bounds = [f"luma and RGB {_range_words(*luma)}"]
        else:
            named = (("luma", luma), ("RGB", rgb))
            bounds = [f"{name} {_range_words(*pair)}" for name, pair in named if pair != (None, None)]
        return f"{', '.join(bounds)}, at most {self.area_percent:g} % of the picture outside"

    @staticmethod
    def _judged(limit: float | None) -> int | None:
        return None if limit is None else _GRANTED.get(int(limit), int(limit))


class LevelsScaling(Requirement):
    """Black and white of the programme where the signal has them, not scaled twice or for another range."""

    level: Literal["should"] = "should"
    required: Literal[True] = True

    @property
    def words(self) -> str:
        return "black and white at their nominal levels"


class LevelsBlack(Requirement):
    """Blacks that are lifted or crushed over much of the programme: for a person to look at.

    lifted_percent   of the nominal range that the darkest 0.1 % of a picture have to reach ...
    seconds          ... somewhere in so long a stretch
    crushed_percent  of a picture that may be piled up at reference black
    """

    level: Literal["should"] = "should"
    lifted_percent: Annotated[Number, Field(ge=1, le=40)]
    seconds: Annotated[Number, Field(ge=10, le=3600)]
    crushed_percent: Annotated[Number, Field(ge=0.5, lt=100)]

    EXPECTED: ClassVar[dict[str, str]] = {
        "lifted_percent": "percent of the nominal range, from 1 to 40",
        "seconds": "seconds, from 10 to 3600",
        "crushed_percent": "percent of the picture, from 0.5 to under 100",
    }

    @property
    def words(self) -> str:
        return (
            f"something at or under {self.lifted_percent:g} % within {self.seconds:g} s, at most "
            f"{self.crushed_percent:g} % of the picture piled up at black"
        )


class LevelsClipping(Requirement):
    """Highlights that run into a ceiling, over so much of the picture and for so long: for a person to look at."""

    level: Literal["should"] = "should"
    area_percent: Annotated[Number, Field(ge=1, lt=100)]
    seconds: Annotated[Number, Field(ge=1, le=3600)]

    EXPECTED: ClassVar[dict[str, str]] = {
        "area_percent": "percent of the picture, from 1 to under 100",
        "seconds": "seconds, from 1 to 3600",
    }

    @property
    def words(self) -> str:
        return f"at most {self.area_percent:g} % of the picture at one code for {self.seconds:g} s"


class Levels(Strict):
    range: LevelsRange | None = None
    scaling: LevelsScaling | None = None
    black: LevelsBlack | None = None
    clipping: LevelsClipping | None = None


def _range_words(low: float | None, high: float | None) -> str:
    if low is None:
        return f"at most {high} %"
    return f"at least {low} %" if high is None else f"{low} to {high} %"
