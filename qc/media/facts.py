"""What the headers of a file say, as records. Read by qc.media.probe; imports no decoder."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction


@dataclass(frozen=True)
class TimecodeSource:
    """One timecode found in the file.

    where  "timecode track 3", "material package", "source package", "picture stream", ...
    text   label of the first frame as the file says it
    drop   True or False as declared; None if the source does not say
    """

    where: str
    text: str
    drop: bool | None


@dataclass(frozen=True)
class PictureStream:
    """One picture stream. Unknown is None; nothing is guessed from another field."""

    index: int
    codec: str  # trade name: "MPEG-2", "ProRes", "AVC", "HEVC", "VC-3", ...
    profile: str | None
    level: str | None
    fourcc: str | None
    bit_rate: int | None  # bit/s as declared, else computed from packets, else None
    width: int
    height: int
    sample_aspect: Fraction | None
    display_aspect: Fraction | None
    clean_aperture: tuple[int, int, int, int] | None  # left, top, width, height; None if not exposed
    rotation: int  # degrees clockwise
    frame_rate: Fraction | None
    declared_frames: int | None
    time_base: Fraction
    start: Fraction | None  # seconds
    duration: Fraction | None  # seconds
    scan_by_container: str | None  # "progressive", "interlaced, top first", "interlaced, bottom first"
    scan_by_stream: str | None
    pixel_format: str
    chroma: str | None  # "4:2:2", "4:2:0", "4:4:4", "4:0:0", "RGB"
    bit_depth: int | None
    alpha: bool
    colour_range: str | None  # "narrow", "full"
    colour_primaries: str | None
    colour_transfer: str | None
    colour_matrix: str | None
    attached: bool = False  # thumbnail or cover, not programme
    # primaries, transfer, matrix as the picture stream itself says; those above are the wrapper's where it has any
    colour_by_stream: tuple[str | None, ...] = ()


@dataclass(frozen=True)
class SoundStream:
    """One sound stream."""

    index: int
    codec: str
    channels: int
    layout: str | None  # "mono", "stereo", "5.1(side)" ... as flagged; None if not flagged
    labels: tuple[str, ...]  # one per channel: "L", "R", "C", "LFE", "Ls", "Rs", ...; "" if unknown
    language: str | None
    title: str | None
    rate: int
    sample_format: str  # "s16", "s24", "s32", "flt", "dbl"
    bit_depth: int | None  # used depth
    bit_rate: int | None
    start: Fraction | None
    duration: Fraction | None


@dataclass(frozen=True)
class OtherStream:
    """Timecode, caption, subtitle, data."""

    index: int
    kind: str  # "timecode", "captions", "subtitles", "data", "attachment"
    codec: str
    language: str | None
    duration: Fraction | None


@dataclass(frozen=True)
class FileFacts:
    """Everything the headers say of one file."""

    wrapper: str  # "MXF", "MOV", "MP4", "WAV", ... by content, not by extension
    brand: str | None  # major brand of MOV/MP4 ("qt", "isom")
    operational_pattern: str | None  # "OP1a", "OPAtom", ... for MXF
    extension_agrees: bool
    duration: Fraction | None
    bit_rate: int | None
    pictures: tuple[PictureStream, ...]
    sounds: tuple[SoundStream, ...]
    others: tuple[OtherStream, ...]
    timecodes: tuple[TimecodeSource, ...]
    edit_list: str | None = None  # in words, if one trims or shifts a stream
    index_present: bool | None = None  # MOV/MP4 index, MXF footer; None if it does not apply
    tags: dict[str, str] = field(default_factory=dict)

    @property
    def picture(self) -> PictureStream | None:
        """The programme's picture: the first that is not a thumbnail."""
        return next((stream for stream in self.pictures if not stream.attached), None)

    @property
    def channels(self) -> tuple[Channel, ...]:
        """All channels of all sound streams in file order, as one flat list."""
        return tuple(
            Channel(stream=stream.index, position=position, label=label, rate=stream.rate)
            for stream in self.sounds
            for position, label in enumerate(stream.labels)
        )


@dataclass(frozen=True)
class Channel:
    """One channel of the flat list; its number is its place in that list, counted from 1."""

    stream: int
    position: int
    label: str
    rate: int
