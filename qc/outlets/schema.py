"""The shape of a station profile: every section, requirement, unit and default.

A *requirement* is one table of a profile, ``[section.name]``; its id is ``section.name``. It has a
``level`` (``must`` or ``should``), the outlet's own ``clause`` as free text and, in bases, the
published ``source`` of its value. What an outlet does not ask for is simply absent: nothing is
judged that no line asks for, and no limit has a default.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field, StrictBool, StrictInt, StrictStr, model_validator

from qc.outlets.schema_kinds import (
    ActLength,
    BitRateLimit,
    Choice,
    Contradiction,
    Count,
    DurationLimit,
    DurationText,
    ElementLength,
    Flag,
    FramesLimit,
    LevelLimit,
    LoudnessLimit,
    LoudnessRangeLimit,
    Number,
    NumberChoice,
    Requirement,
    Strict,
    TruePeakLimit,
)
from qc.outlets.sections_flashing import Flashing
from qc.outlets.sections_geometry import ActivePicture, FieldOrderSection, StuckPixelsSection
from qc.outlets.sections_leader import Leader
from qc.outlets.sections_levels import Levels
from qc.outlets.sections_motion import CadenceSection, Frames, Freeze

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


class Outlet(Strict):
    """Who asks. ``not_covered`` lists, in the outlet's words, what it asks for and this tool does not check."""

    name: StrictStr
    code: StrictStr  # short name for files and tables, [a-z0-9-]
    region: StrictStr = ""
    kind: StrictStr = ""
    specification: StrictStr = ""  # title and date of the outlet's own document
    revision: StrictStr = ""
    not_covered: list[StrictStr] = Field(default_factory=list)


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
    """How far a declared timing sheet may be from the picture.

    required  a sheet has to be given; otherwise the requirement is about one that is given
    """

    tolerance: DurationText
    required: bool = False


class Structure(Strict):
    parts: Choice | None = None  # "single", "soft parts", "hard parts"
    acts: Count | None = None
    act_length: DurationLimit | None = None  # each act
    act: list[ActLength] = Field(default_factory=list)  # by number
    break_length: DurationLimit | None = None
    break_content: BreakContent | None = None
    act_ends: ActEnds | None = None
    sheet: SheetAgreement | None = None
    element: list[ElementLength] = Field(default_factory=list)
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

    columns: Annotated[list[StrictStr], Field(min_length=1)] = Field(default_factory=lambda: list(DEFAULT_COLUMNS))

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
    stray_frames: Annotated[StrictInt, Field(ge=0, le=25)] = 5  # so short a black is accepted only as a fade
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
    group: list[Group] = Field(default_factory=list)


class Silence(Strict):
    """Silence inside acts. ``below_dbfs`` is the RMS under which sound counts as silent."""

    below_dbfs: Annotated[Number, Field(le=-20, ge=-120)] = -60.0
    inside_acts: DurationLimit | None = None  # all channels of a judged group
    one_channel: DurationLimit | None = None  # one channel while the others of its group carry sound


class Profile(Strict):
    """One outlet, resolved: bases merged in."""

    outlet: Outlet
    programme: Programme = Programme()
    timing_sheet: TimingSheetForm = TimingSheetForm()
    wrapper: Wrapper = Wrapper()
    integrity: Integrity = Integrity()
    streams: Streams = Streams()
    picture: Picture = Picture()
    field_order: FieldOrderSection = FieldOrderSection()
    active_picture: ActivePicture = ActivePicture()
    stuck_pixels: StuckPixelsSection = StuckPixelsSection()
    cadence: CadenceSection = CadenceSection()
    freeze: Freeze = Freeze()
    frames: Frames = Frames()
    timecode: Timecode = Timecode()
    structure: Structure = Structure()
    leader: Leader = Leader()
    duration: DurationSection = DurationSection()
    black: Black = Black()
    loudness: Loudness = Loudness()
    true_peak: TruePeak = TruePeak()
    audio: Audio = Audio()
    silence: Silence = Silence()
    levels: Levels = Levels()
    flashing: Flashing = Flashing()

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
