"""Measurements made of numbers: a file's record with the levels and blacks that a test puts there.

Loudness follows from ITU-R BS.1770-5, Annex 1: l = -0.691 + 10 log10(sum of the channels' energies), so
each of two channels holds half the energy of the level asked for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

import numpy as np

from qc.figures.rows import rows_of
from qc.measurement.record import Event, FileIdentity, LumaBins, Measurement, PictureSeries, SoundSeries
from qc.media.facts import FileFacts, OtherStream, PictureStream, SoundStream, TimecodeSource
from qc.meters.picture.level_ladder import CLEAR, LADDER, MATRICES, PAIRS, TESTED
from qc.outlets.load import LoadedProfile
from qc.outlets.schema import Profile
from qc.timing.spans import Span

NTSC = Fraction(30000, 1001)
PAL = Fraction(25)

#: 8-bit luma: single codes up to 64, then steps of 8 (the last edge is 256).
BINS = LumaBins(8, np.array([*range(65), *range(72, 257, 8)], np.int32), False)
BLACK_CODE = 16
BT_709 = [matrix.name for matrix in MATRICES].index("BT.709")
PIXELS = 1000


@dataclass(frozen=True)
class Part:
    """A stretch of the file.

    lufs   loudness of channels 1 and 2 together; None is digital silence
    peak   true peak of both in dBTP
    light  luma code of the picture; BLACK_CODE is black
    """

    frames: int
    lufs: float | None = -24.0
    peak: float = -6.0
    light: int = 120


def black(frames: int, **more: Any) -> Part:
    """Black, and silent unless told otherwise."""
    return Part(frames, **{"lufs": None, "light": BLACK_CODE, **more})


def picture_stream(**more: Any) -> PictureStream:
    """MPEG-2 4:2:2 1080i at 29.97."""
    plain = PictureStream(
        index=0,
        codec="MPEG-2",
        profile="4:2:2",
        level="High",
        fourcc="m2v1",
        bit_rate=50_000_000,
        width=1920,
        height=1080,
        sample_aspect=Fraction(1),
        display_aspect=Fraction(16, 9),
        clean_aperture=None,
        rotation=0,
        frame_rate=NTSC,
        declared_frames=None,
        time_base=Fraction(1001, 30000),
        start=Fraction(0),
        duration=None,
        scan_by_container="interlaced, top first",
        scan_by_stream="interlaced, top first",
        pixel_format="yuv422p",
        chroma="4:2:2",
        bit_depth=8,
        alpha=False,
        colour_range="narrow",
        colour_primaries="BT.709",
        colour_transfer="BT.709",
        colour_matrix="BT.709",
    )
    return replace(plain, **more)


def sound_stream(index: int, channels: int = 1, labels: Sequence[str] | None = None, **more: Any) -> SoundStream:
    """24-bit PCM at 48 kHz."""
    plain = SoundStream(
        index=index,
        codec="PCM",
        channels=channels,
        layout=None,
        labels=tuple(labels or [""] * channels),
        language=None,
        title=None,
        rate=48000,
        sample_format="s24",
        bit_depth=24,
        bit_rate=None,
        start=Fraction(0),
        duration=None,
    )
    return replace(plain, **more)


def facts(**more: Any) -> FileFacts:
    """MXF OP1a, one picture, two mono streams, timecode from 01:00:00;00 drop-frame."""
    plain = FileFacts(
        wrapper="MXF",
        brand=None,
        operational_pattern="OP1a",
        extension_agrees=True,
        duration=None,
        bit_rate=None,
        pictures=(picture_stream(),),
        sounds=(sound_stream(1), sound_stream(2)),
        others=(OtherStream(3, "timecode", "SMPTE", None, None),),
        timecodes=(TimecodeSource("timecode track 3", "01:00:00;00", True),),
    )
    return replace(plain, **more)


def measurement(parts: Sequence[Part], header: FileFacts | None = None, **more: Any) -> Measurement:
    """The record of a file made of parts. Channels 3 and further are digital silence."""
    header = header or facts()
    stream = header.picture
    rate = stream.frame_rate if stream and stream.frame_rate else NTSC
    frames = sum(part.frames for part in parts)
    channels = len(header.channels)
    plain = Measurement(
        identity=FileIdentity("BRLN_0201_CRV_HD_v01.mxf", 1000, "ab" * 32, "cd" * 16),
        facts=header,
        sound=_sound(parts, rate, frames, channels) if channels else None,
        picture=_picture(parts, frames, rate) if stream else None,
        events=(),
        complete=True,
        incomplete_because="",
        tool_version="0",
        meters_version=1,
        libraries={},
    )
    return replace(plain, **more)


def _picture(parts: Sequence[Part], frames: int, rate: Fraction) -> PictureSeries:
    light = np.repeat([part.light for part in parts], [part.frames for part in parts])
    luma = np.zeros((frames, len(BINS.edges) - 1), np.uint32)
    luma[np.arange(frames), np.searchsorted(BINS.edges, light, side="right") - 1] = PIXELS
    return PictureSeries(
        luma=luma,
        bins=BINS,
        counted=np.full(frames, PIXELS, np.uint32),
        darkest=light.astype(np.uint16),
        brightest=light.astype(np.uint16),
        time=np.arange(frames, dtype=np.int64),
        time_base=1 / rate,
        extra=levels_inside(frames) | geometry_as_asked(light, rate),
    )


def levels_inside(frames: int) -> dict[str, np.ndarray]:
    """Picture levels that were measured and lie inside every bound, as the meter hands them over."""
    return {
        "levels.state": np.full(frames, CLEAR, np.uint8),
        "levels.at": np.zeros(0, np.int32),
        "levels.share": np.zeros((0, len(LADDER)), np.uint16),
        "levels.reach": np.zeros((0, len(LADDER)), np.int16),
        "levels.box": np.zeros((0, len(LADDER), 4), np.uint8),
        "levels.alone": np.zeros((0, len(PAIRS)), np.uint16),
        "levels.alone_box": np.zeros((0, len(PAIRS), 4), np.uint8),
        "levels.matrix": np.array([BT_709, 0], np.int8),
    }


def geometry_as_asked(light: np.ndarray, rate: Fraction) -> dict[str, np.ndarray]:
    """Fields that move, upper one first, wherever there is a picture; picture to every edge; no stuck pixel."""
    frames = len(light)
    lit = light > BLACK_CODE
    pairs = np.arange(0, max(0, frames - 1), 7)
    looked = np.arange(4, frames, 8)
    moves = np.where((lit[pairs] & lit[pairs + 1])[:, None], (5.0, 5.0, 15.0, 0.1), 0.0)
    step = max(1, round(rate) - 1)
    return {
        "fields.frame": pairs.astype(np.int32),
        "fields.energy": moves.astype(np.float32).reshape(-1, 4),
        "active.frame": looked.astype(np.int32),
        "active.raster": np.tile(np.array([1920, 1080], np.uint16), (len(looked), 1)),
        "active.blank": np.where(lit[looked, None], 0, 65535).astype(np.uint16) * np.ones((1, 4), np.uint16),
        "active.beside": np.where(lit[looked, None], 100, 0).astype(np.uint8) * np.ones((1, 4), np.uint8),
        "active.within": np.zeros((len(looked), 4), np.uint8),
        "active.afd": np.full(frames, 255, np.uint8),
        "stuck.looks": np.arange(step // 2, frames, step, dtype=np.int32),
        "stuck.raster": np.array([1920, 1080], np.uint16),
        "stuck.place": np.zeros((0, 2), np.uint16),
        "stuck.frames": np.zeros((0, 3), np.int32),
        "stuck.counts": np.zeros((0, 7), np.uint16),
        "stuck.level": np.zeros((0, 3), np.float32),
    }


def put_levels(made: Measurement, span: Span, component: str, percent: int, area: float, reach: float = 0.0) -> None:
    """``area`` percent of every picture of a span beyond a level (and those inside of it), tested, in the middle."""
    assert made.picture is not None
    extra = made.picture.extra
    inner = [level for name, level in LADDER if name == component and abs(level - 50) <= abs(percent - 50)]
    place = [LADDER.index((component, level)) for level in inner if (level > 50) == (percent > 50)]
    rows = span.frames
    share, edge = np.zeros((rows, len(LADDER)), np.uint16), np.zeros((rows, len(LADDER), 4), np.uint8)
    share[:, place], edge[:, place] = round(area / 100 * 65535), (102, 102, 153, 153)
    outer = np.zeros((rows, len(LADDER)), np.int16)
    outer[:, place] = round(100 * reach)
    extra["levels.state"][span.first : span.end] = TESTED
    at = np.concatenate([extra["levels.at"], np.arange(span.first, span.end, dtype=np.int32)])
    order = np.argsort(at, kind="stable")
    assert isinstance(extra, dict)
    extra["levels.at"] = at[order]
    colour = [pair for pair, _ in PAIRS]
    alone = {"levels.alone": share[:, colour], "levels.alone_box": edge[:, colour]}
    for name, more in ({"levels.share": share, "levels.box": edge, "levels.reach": outer} | alone).items():
        extra[name] = np.concatenate([extra[name], more])[order]


def _sound(parts: Sequence[Part], rate: Fraction, frames: int, channels: int) -> SoundSeries:
    rows = rows_of(Span(0, frames), rate).end
    energy, peak = np.zeros((rows, channels), np.float32), np.zeros((rows, channels), np.float32)
    at = 0
    for part in parts:
        span = rows_of(Span(at, at + part.frames), rate)
        at += part.frames
        if part.lufs is not None:
            energy[span.first : span.end, :2] = 10 ** ((part.lufs + 0.691) / 10) / min(2, channels)
            peak[span.first : span.end, :2] = 10 ** (part.peak / 20)
    return SoundSeries(
        energy=energy,
        plain=energy.copy(),
        sample_peak=peak * np.float32(0.9),
        true_peak=peak,
        full_scale_runs=np.zeros((rows, channels), np.uint16),
        extent=np.tile(np.array([0, rows], np.int64), (channels, 1)),
        samples=np.full(channels, round(frames / rate * 48000), np.int64),
        invalid_samples=np.zeros(channels, np.int64),
        used_bits=np.full(channels, 24, np.int16),
    )


def put_peak(made: Measurement, channel: int, row: int, dbtp: float) -> None:
    """One true peak in a channel counted from 1."""
    assert made.sound is not None
    made.sound.true_peak[row, channel - 1] = 10 ** (dbtp / 20)


def put_silence(made: Measurement, channels: Sequence[int], first: int, end: int) -> None:
    """Digital silence over rows in channels counted from 1."""
    assert made.sound is not None
    index = [channel - 1 for channel in channels]
    for series in (made.sound.energy, made.sound.plain, made.sound.sample_peak, made.sound.true_peak):
        series[first:end, index] = 0


def put_light(made: Measurement, frame: int, light: int) -> None:
    """The luma of one frame."""
    assert made.picture is not None
    made.picture.luma[frame] = 0
    made.picture.luma[frame, int(np.searchsorted(BINS.edges, light, side="right")) - 1] = PIXELS
    made.picture.brightest[frame] = made.picture.darkest[frame] = light


def event(kind: str, **more: Any) -> Event:
    plain = {"stream": None, "frame": None, "seconds": None, "count": 1, "detail": ""}
    return Event(kind=kind, **{**plain, **more})


def loaded(**sections: Any) -> LoadedProfile:
    """A profile with the sections given and nothing else."""
    outlet = sections.pop("outlet", {"name": "CORVANE 5", "code": "corvane-5"})
    profile = Profile.model_validate({"outlet": outlet, **sections})
    return LoadedProfile(profile=profile, file="profiles/made.toml", sha256="0" * 64)


#: A tenth of the CORVANE half hour: four acts with 1 s (30 frames) of black, TRT 3866 frames.
ACTS = (1110, 1024, 952, 780)


def four_acts(
    acts: Sequence[int] = ACTS, breaks: Sequence[int] = (30, 30, 30), head: int = 0, tail: int = 0, **part: Any
) -> list[Part]:
    """Acts at -24 LKFS with black and silence between them."""
    parts = [black(head)] if head else []
    for place, frames in enumerate(acts):
        parts.append(Part(frames, **part))
        if place < len(breaks):
            parts.append(black(breaks[place]))
    return [*parts, black(tail)] if tail else parts


FOUR_ACTS = {"acts": {"exact": 4}, "break_length": {"exact": "30 frames"}}
SINGLE = {"parts": {"accept": ["single"]}}
