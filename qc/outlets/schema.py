"""The shape of a station profile: every section, requirement, unit and default.

A *requirement* is one table of a profile, ``[section.name]``; its id is ``section.name``. It has a
``level`` (``must`` or ``should``), the outlet's own ``clause`` as free text and, in bases, the
published ``source`` of its value. What an outlet does not ask for is simply absent: nothing is
judged that no line asks for, and no limit has a default.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    StrictBool,
    StrictFloat,
    StrictInt,
    StrictStr,
    model_validator,
)

from qc.timing.durations import Duration, DurationError


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


#: Columns of a timing sheet where the outlet names none.
DEFAULT_COLUMNS = (
    "part",
    "act",
    "SOM",
    "EOM",
    "duration",
    "frames",
    "first frame",
    "counting",
    "accounting",
    "EOM is",
    "file",
    "outlet",
    "note",
)


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
        _check_forms(self.exact, self.min, self.max, "exact")
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
        _check_forms(self.target, self.min, self.max, "target")
        if self.target is not None and self.tolerance is None:
            raise Contradiction(
                ("target",), f"target {self.target} without a tolerance", "a tolerance beside the target", absent=True
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
        _check_forms(self.exact, self.min, self.max, "exact", ordered=False)
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


def _check_forms(exact: Any, low: Any, high: Any, word: str, ordered: bool = True) -> None:
    """``ordered`` is False for texts, which are compared once the picture rate is known."""
    if exact is None and low is None and high is None:
        raise Contradiction((), "no limit", f"{word}, or min and/or max", absent=True)
    if exact is not None and (low is not None or high is not None):
        other = "min" if low is not None else "max"
        raise Contradiction((word, other), f"{word} and {other} together", f"one form: {word}, or min and/or max")
    if ordered and low is not None and high is not None and low > high:
        raise Contradiction(("min", "max"), f"min {low} over max {high}", "min at or under max")


class Outlet(Strict):
    """Who asks. ``not_covered`` lists, in the outlet's words, what it asks for and this tool does not check."""

    name: StrictStr
    code: StrictStr  # short name for files and tables, [a-z0-9-]
    region: StrictStr = ""
    kind: StrictStr = ""
    specification: StrictStr = ""  # title and date of the outlet's own document
    revision: StrictStr = ""
    not_covered: list[StrictStr] = []


class Wrapper(Strict):
    kind: Choice | None = None  # "MXF OP1a", "MXF", "MOV", "MP4", "WAV"
    extension: Flag | None = None  # file name ending agrees with the content


class Integrity(Strict):
    decodable: Flag | None = None
    stream_lengths: FramesLimit | None = None  # largest difference between picture, sound, timecode
    constant_rate: Flag | None = None


class Streams(Strict):
    pictures: Count | None = None
    timecode_tracks: Count | None = None
    other: Choice | None = None  # kinds of further streams that are accepted ("none" for none at all)


class Picture(Strict):
    codec: Choice | None = None
    codec_profile: Choice | None = None
    chroma: Choice | None = None
    bit_depth: NumberChoice | None = None
    bit_rate: BitRateLimit | None = None
    raster: Choice | None = None  # "1920x1080"
    frame_rate: Choice | None = None  # "30000/1001", "25"
    scan: Choice | None = None  # "progressive", "interlaced, top first", "interlaced, bottom first"
    sample_aspect: Choice | None = None  # "1:1"
    clean_aperture: Choice | None = None  # "full"
    rotation: NumberChoice | None = None  # degrees
    alpha: Choice | None = None  # "none"
    colour: Choice | None = None  # "BT.709"


class Timecode(Strict):
    start: TimecodeStart | None = None
    counting: Choice | None = None  # "drop-frame", "non-drop-frame"
    valid_labels: Flag | None = None
    agreement: Flag | None = None


class TimecodeStart(Requirement):
    """Label of the first frame of the programme (SOM), as the outlet writes it."""

    at: StrictStr


class BreakContent(Requirement):
    """What a break may hold: highest luma in percent of nominal white, highest sample peak."""

    max_luma_percent: Annotated[Number, Field(ge=0, le=20)]
    max_peak_dbfs: Annotated[Number, Field(le=0)]


class ActEnds(Requirement):
    """Sound that is cut at an act's edge: advisory above this level in the last two frames."""

    max_level_dbfs: Annotated[Number, Field(le=0)]


class SheetAgreement(Requirement):
    """How far a declared timing sheet may be from the picture."""

    tolerance: DurationText


class Structure(Strict):
    parts: Choice | None = None  # "single", "soft parts", "hard parts"
    acts: Count | None = None
    act_length: DurationLimit | None = None  # each act
    act: list[ActLength] = []  # by number
    break_length: DurationLimit | None = None
    break_content: BreakContent | None = None
    act_ends: ActEnds | None = None
    sheet: SheetAgreement | None = None
    element: list[ElementLength] = []
    act_starts: Choice | None = None  # "whole second", "whole minute"
    head: DurationLimit | None = None  # everything before the programme
    tail: DurationLimit | None = None  # everything after it


class Programme(Strict):
    """Settings, not requirements: how this outlet counts."""

    accounting: Literal["frame-exact", "whole-second outward"] = "frame-exact"
    eom: Literal["exclusive", "inclusive"] = "exclusive"


class TimingSheetForm(Strict):
    """Setting: columns of the timing sheet that is made for this outlet, from left to right.

    Each once, from the words of qc.outlets.vocabulary; SOM, EOM and one of part and act are needed for the sheet
    to be read back. Without it the order is ``DEFAULT_COLUMNS``.
    """

    columns: Annotated[list[StrictStr], Field(min_length=1)] = list(DEFAULT_COLUMNS)

    @model_validator(mode="after")
    def _readable(self) -> TimingSheetForm:
        missing = [f'"{name}"' for name in ("SOM", "EOM") if name not in self.columns]
        if not {"part", "act"} & set(self.columns):
            missing.append('"part" or "act"')
        if missing:
            raise Contradiction(
                ("columns",), f"no {' and no '.join(missing)}", '"SOM", "EOM" and "part" or "act" among the columns'
            )
        return self


class Slot(Requirement):
    """TRT and breaks together."""

    exact: DurationText


class DurationSection(Strict):
    trt: DurationLimit | None = None
    slot: Slot | None = None
    file: DurationLimit | None = None  # whole file; also stops the long pass early when far over


class Black(Strict):
    """Black inside acts, and the rule for black that breaks are found with."""

    pixel_percent: Annotated[Number, Field(gt=0, le=20)] = 10.0  # a pixel is black up to this share of nominal white
    picture_percent: Annotated[Number, Field(ge=75, le=100)] = 98.0  # a frame is black from this share of pixels
    inside_acts: DurationLimit | None = None


class Loudness(Strict):
    programme: LoudnessLimit | None = None
    act: LoudnessLimit | None = None  # each act on its own
    max_short_term: LoudnessLimit | None = None
    max_momentary: LoudnessLimit | None = None
    range: LoudnessRangeLimit | None = None
    anchor: Literal["full programme", "dialogue"] = "full programme"


class TruePeak(Strict):
    programme: TruePeakLimit | None = None  # places name the act


class Group(Strict):
    """Channels that belong together, by number in the flat channel list, counted from 1."""

    name: StrictStr
    channels: Annotated[list[Annotated[StrictInt, Field(ge=1, le=64)]], Field(min_length=1)]
    layout: Literal["mono", "stereo", "5.1", "discrete"]
    carries: Literal["programme", "silence", "anything"] = "programme"
    judged: StrictBool = True  # loudness and peak limits apply to this group

    @model_validator(mode="after")
    def _fits(self) -> Group:
        wanted = {"mono": 1, "stereo": 2, "5.1": 6}.get(self.layout)
        if wanted and len(self.channels) != wanted:
            raise Contradiction(
                ("channels", "layout"),
                f"{len(self.channels)} channels laid out as {self.layout}",
                f"{wanted} channels for {self.layout}, or another layout",
            )
        if len(set(self.channels)) != len(self.channels):
            raise Contradiction(("channels",), "the same channel twice", "each channel once")
        return self


class Audio(Strict):
    arrangement: Choice | None = None  # "mono streams", "stereo streams", "one stream"
    channels: Count | None = None
    sample_rate: NumberChoice | None = None  # Hz
    bit_depth: NumberChoice | None = None
    must_carry: LevelLimit | None = None  # a group that carries programme reaches min
    must_be_silent: LevelLimit | None = None  # a group that carries silence stays under max
    group: list[Group] = []


class Silence(Strict):
    """Silence inside acts. ``below_dbfs`` is the RMS under which sound counts as silent."""

    below_dbfs: Annotated[Number, Field(le=-20, ge=-120)] = -60.0
    inside_acts: DurationLimit | None = None  # all channels of a judged group
    one_channel: DurationLimit | None = None  # one channel while the others of its group carry sound


class LevelsRange(Requirement):
    """Picture levels, luma and RGB, in percent of the nominal range."""

    min_percent: Number
    max_percent: Number
    area_percent: Number


class Levels(Strict):
    range: LevelsRange | None = None


class Profile(Strict):
    """One outlet, resolved: bases merged in."""

    outlet: Outlet
    programme: Programme = Programme()
    timing_sheet: TimingSheetForm = TimingSheetForm()
    wrapper: Wrapper = Wrapper()
    integrity: Integrity = Integrity()
    streams: Streams = Streams()
    picture: Picture = Picture()
    timecode: Timecode = Timecode()
    structure: Structure = Structure()
    duration: DurationSection = DurationSection()
    black: Black = Black()
    loudness: Loudness = Loudness()
    true_peak: TruePeak = TruePeak()
    audio: Audio = Audio()
    silence: Silence = Silence()
    levels: Levels = Levels()

    def requirements(self) -> Iterator[tuple[str, Requirement]]:
        """Every requirement that is present, as (id, requirement), in schema order."""
        for section in type(self).model_fields:
            for name, value in getattr(self, section):
                if isinstance(value, Requirement):
                    yield f"{section}.{name}", value
                elif isinstance(value, list):
                    for item in value:
                        if isinstance(item, Requirement):
                            key = getattr(item, "number", None) or getattr(item, "name", "")
                            yield f"{section}.{name}.{key}", item


Timecode.model_rebuild()
