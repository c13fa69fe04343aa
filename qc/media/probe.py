"""What the headers of a file say: one FileFacts, in well under two seconds however long the programme.

The decoder library finds the streams; our own header readers add what its interface does not show;
the first packets of a picture stream say what the stream itself claims of its scan. Nothing of the
programme is decoded beyond what the library needs to name a pixel format.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
from av.audio.stream import AudioStream
from av.container import InputContainer
from av.stream import Disposition, Stream
from av.video.format import VideoFormat
from av.video.stream import VideoStream

from qc.errors import CannotMeasure
from qc.media import timecode_sources as timecodes
from qc.media import trade_names as names
from qc.media.edit_words import edit_words
from qc.media.facts import FileFacts, OtherStream, PictureStream, SoundStream, TimecodeSource
from qc.media.file_ending import ending_agrees
from qc.media.mov_atoms import MovHeader, Track, aperture_box, scan_of_fields
from qc.media.mxf_partition import MxfHeader, MxfPicture
from qc.media.opening import check_readable, last_words, open_media, read_header
from qc.media.sniff import printable
from qc.media.stream_scan import StreamSays, first_packets, mixed_scan, stream_says
from qc.media.wav_format import used_depth

_WRAPPERS = {
    "mxf": "MXF",
    "mxf_opatom": "MXF",
    "wav": "WAV",
    "w64": "Wave64",
    "aiff": "AIFF",
    "matroska,webm": "Matroska",
    "avi": "AVI",
    "mpegts": "MPEG-TS",
    "mpeg": "MPEG-PS",
    "flac": "FLAC",
    "ogg": "Ogg",
    "caf": "CAF",
    "gxf": "GXF",
    "asf": "ASF",
}
_STILL_CODECS = frozenset(("mjpeg", "png", "bmp", "tiff", "webp"))
#: Every tag that is kept; more than a real file has.
_MOST_TAGS = 64


def probe(path: Path) -> FileFacts:
    """Facts of one file. Raises CannotMeasure in the user's words."""
    path = Path(path)
    check_readable(path)
    header = read_header(path)
    with open_media(path) as container:
        try:
            return _facts(path, container, header)
        except CannotMeasure:
            raise
        except Exception as problem:
            # Whatever a hostile header makes the library or the arithmetic do, the user gets a sentence.
            raise CannotMeasure(
                f"its headers make no sense ({last_words(problem, [])})",
                where=printable(path.name),
                remedy="export it again, or copy it again if the original is whole",
            ) from None


def _facts(path: Path, container: InputContainer, header: MovHeader | MxfHeader | str | None) -> FileFacts:
    mov = header if isinstance(header, MovHeader) else None
    mxf = header if isinstance(header, MxfHeader) else None
    videos = [stream for stream in container.streams if isinstance(stream, VideoStream)]
    audios = [stream for stream in container.streams if isinstance(stream, AudioStream)]
    if not videos and not audios:
        raise CannotMeasure(
            "there is neither picture nor sound in it",
            where=printable(path.name),
            remedy="deliver the exported programme itself",
        )
    packets = first_packets(container, videos)
    says = {
        stream.index: stream_says(stream.codec_context.name, packets[stream.index])
        if stream.codec_context
        else StreamSays()
        for stream in videos
    }
    tracks = {track.number: track for track in mov.tracks} if mov else {}
    described = mxf.pictures if mxf and len(mxf.pictures) == len(videos) else (None,) * len(videos)
    pictures = tuple(
        _picture(stream, says[stream.index], tracks.get(stream.id), mxf_picture, mov is not None or mxf is not None)
        for stream, mxf_picture in zip(videos, described, strict=True)
    )
    pictures = _mark_thumbnails(pictures)
    sounds = _sounds(path, audios, tracks, mxf, container.format.name)
    others = tuple(
        _other(stream, tracks.get(stream.id))
        for stream in container.streams
        if not isinstance(stream, (VideoStream, AudioStream))
    )
    wrapper, brand = _wrapper(container, mov)
    tags = _tags(container.metadata)
    if mxf and mxf.status:
        tags["header partition"] = mxf.status
    damage = header if isinstance(header, str) else _cut_short(mov, mxf)
    if damage:
        tags["damage"] = damage
    return FileFacts(
        wrapper=wrapper,
        brand=brand,
        operational_pattern=mxf.pattern if mxf else None,
        extension_agrees=ending_agrees(wrapper, path.name),
        duration=_file_duration(container, pictures, sounds),
        bit_rate=container.bit_rate or None,
        pictures=pictures,
        sounds=sounds,
        others=others,
        timecodes=_timecodes(container, mov, mxf, says, pictures),
        edit_list=edit_words(mov) if mov else None,
        index_present=mov.index if mov else mxf.footer if mxf else None,
        tags=tags,
    )


def _wrapper(container: InputContainer, mov: MovHeader | None) -> tuple[str, str | None]:
    name = container.format.name
    if name.startswith("mov,"):
        brand = mov.brand if mov else printable(container.metadata.get("major_brand", "")).strip() or None
        return ("MOV" if brand in (None, "qt") else "MP4"), brand
    return _WRAPPERS.get(name, name.split(",")[0].upper()), None


def _cut_short(mov: MovHeader | None, mxf: MxfHeader | None) -> str | None:
    """What the headers alone show of a file that ends too early; None if nothing."""
    if mov and mov.media_cut:
        return "the file ends before its media does"
    if mxf and mxf.footer_named and not mxf.footer:
        return "the footer that the header names is not there: the file ends too early"
    return None


def _tags(metadata: dict[str, str]) -> dict[str, str]:
    kept = sorted(metadata.items())[:_MOST_TAGS]
    return {printable(str(key))[:64]: printable(str(value))[:512] for key, value in kept}


def _file_duration(
    container: InputContainer, pictures: tuple[PictureStream, ...], sounds: tuple[SoundStream, ...]
) -> Fraction | None:
    """The longest stream, exact; the wrapper's own figure where no stream has one."""
    lengths = [stream.duration for stream in pictures if not stream.attached and stream.duration is not None]
    lengths += [stream.duration for stream in sounds if stream.duration is not None]
    if lengths:
        return max(lengths)
    return Fraction(container.duration, av.time_base) if container.duration and container.duration > 0 else None


# ------------------------------------------------------------------ picture


def _picture(
    stream: VideoStream, says: StreamSays, track: Track | None, described: MxfPicture | None, own_header: bool
) -> PictureStream:
    context: Any = stream.codec_context
    library = context.name if context else ""
    fourcc = _fourcc(context, track)
    profile = names.profile_name(library, context.profile if context else None, fourcc)
    if library == "dnxhd" and profile is None and says.compression:
        profile = f"compression id {says.compression}"
    width, height = (context.width, context.height) if context else (0, 0)
    if not (width and height) and track:
        width, height = track.coded
    sample_aspect = _positive(stream.sample_aspect_ratio) if context else None
    pixels = _pixels(context.pix_fmt if context else None, width, height)
    colour = _colour(context, says, pixels["name"])
    scan_by_stream = says.scan
    if scan_by_stream is None and context and not own_header:
        scan_by_stream = mixed_scan(context.field_order)
    rate = _positive(stream.average_rate) or _positive(stream.base_rate)
    return PictureStream(
        index=stream.index,
        codec=names.codec_name(library or None, fourcc),
        profile=profile,
        level=names.level_name(library, context.level if context else None, profile),
        fourcc=fourcc,
        bit_rate=(context.bit_rate or None) if context else None,
        width=width,
        height=height,
        sample_aspect=sample_aspect,
        display_aspect=sample_aspect * Fraction(width, height) if sample_aspect and width and height else None,
        clean_aperture=_aperture(track, described),
        rotation=track.rotation if track else 0,
        frame_rate=rate,
        declared_frames=_declared_frames(stream, rate, track),
        time_base=stream.time_base or Fraction(1, av.time_base),
        start=_seconds(stream, stream.start_time),
        duration=_seconds(stream, stream.duration) or (track.seconds if track else None),
        scan_by_container=scan_of_fields(track.fields) if track else described.scan if described else None,
        scan_by_stream=scan_by_stream,
        pixel_format=pixels["name"],
        chroma=pixels["chroma"],
        bit_depth=pixels["depth"] or (described.depth if described else None),
        alpha=pixels["alpha"] or bool(says.alpha),
        colour_range=colour[0],
        colour_primaries=colour[1],
        colour_transfer=colour[2],
        colour_matrix=colour[3],
        colour_by_stream=_names_of_colour(says.colour) if says.colour else (),
        attached=bool(stream.disposition & (Disposition.attached_pic | Disposition.timed_thumbnails)),
    )


def _fourcc(context: Any, track: Track | None) -> str | None:
    if track and track.fourcc:
        return track.fourcc
    tag = str(context.codec_tag) if context else ""
    return tag if len(tag) == 4 and tag.isprintable() and tag.isascii() and tag.strip() else None


def _positive(value: Fraction | None) -> Fraction | None:
    return Fraction(value) if value is not None and value > 0 else None


def _seconds(stream: Stream, ticks: int | None) -> Fraction | None:
    return ticks * stream.time_base if ticks is not None and stream.time_base else None


def _declared_frames(stream: VideoStream, rate: Fraction | None, track: Track | None) -> int | None:
    if track and track.seconds and rate:
        shown = sum((edit.seconds for edit in track.edits if edit.media is not None), Fraction(0))
        if shown and track.seconds - shown > 1 / (2 * rate):
            return round(shown * rate)  # the edit list leaves frames out
    if stream.frames > 0:
        return int(stream.frames)
    if track and track.samples:
        return track.samples
    # Where the time base is one frame, the declared duration is a count of frames.
    if rate and stream.time_base and stream.time_base * rate == 1 and stream.duration and stream.duration > 0:
        return int(stream.duration)
    return None


def _pixels(name: str | None, width: int, height: int) -> dict[str, Any]:
    """Name, chroma, depth and alpha of a pixel format."""
    if not name:
        return {"name": "unknown", "chroma": None, "depth": None, "alpha": False}
    shape = VideoFormat(name, 64, 64)
    parts = shape.components
    chroma: str | None
    if shape.has_palette:
        chroma = "RGB"
    elif len([part for part in parts if not part.is_alpha]) == 1:
        chroma = "4:0:0"
    elif shape.is_rgb:
        chroma = "RGB"
    else:
        across, down = 64 // max(parts[1].width, 1), 64 // max(parts[1].height, 1)
        ratios = {(1, 1): "4:4:4", (2, 1): "4:2:2", (2, 2): "4:2:0", (4, 1): "4:1:1", (4, 4): "4:1:0", (1, 2): "4:4:0"}
        chroma = ratios.get((across, down))
    return {
        "name": name,
        "chroma": chroma,
        "depth": max((part.bits for part in parts), default=0) or None,
        "alpha": any(part.is_alpha for part in parts),
    }


def _colour(context: Any, says: StreamSays, pixels: str) -> tuple[str | None, str | None, str | None, str | None]:
    """Range, primaries, transfer, matrix as tagged; the stream's own header speaks where the wrapper does not."""
    if not context:
        return None, None, None, None
    code = {1: "narrow", 2: "full"}.get(int(context.color_range or 0))
    if pixels.startswith("yuvj"):
        code = "full"
    own = says.colour or (2, 2, 2)
    tagged = zip((context.color_primaries, context.color_trc, context.colorspace), own, strict=True)
    primaries, transfer, matrix = (int(wrapper if wrapper not in (None, 2) else stream) for wrapper, stream in tagged)
    return code, *_names_of_colour((primaries, transfer, matrix))


def _names_of_colour(codes: tuple[int, int, int]) -> tuple[str | None, str | None, str | None]:
    primaries, transfer, matrix = codes
    return names.primaries_name(primaries), names.transfer_name(transfer), names.matrix_name(matrix)


def _aperture(track: Track | None, described: MxfPicture | None) -> tuple[int, int, int, int] | None:
    if track:
        return aperture_box(track)
    if described and described.display:
        left, top, width, height = described.display
        lines = 2 if described.frame_layout == 1 else 1  # separate fields count lines of one field
        return left, top * lines, width, height * lines
    return None


def _mark_thumbnails(pictures: tuple[PictureStream, ...]) -> tuple[PictureStream, ...]:
    """A still of one frame beside a moving picture is a thumbnail, whatever the wrapper calls it."""
    moving = any(not stream.attached and (stream.declared_frames or 2) > 1 for stream in pictures)
    stills = {names.codec_name(codec) for codec in _STILL_CODECS}
    return tuple(
        replace(stream, attached=True)
        if moving and not stream.attached and stream.declared_frames == 1 and stream.codec in stills
        else stream
        for stream in pictures
    )


# ------------------------------------------------------------------ sound and the rest


def _sounds(
    path: Path, audios: list[AudioStream], tracks: dict[int, Track], mxf: MxfHeader | None, form: str
) -> tuple[SoundStream, ...]:
    bits: list[int | None] = [None] * len(audios)
    if mxf and len(mxf.sounds) == len(audios):
        bits = [sound.bits for sound in mxf.sounds]
    elif form == "wav" and len(audios) == 1:
        bits = [used_depth(path)]
    return tuple(_sound(stream, tracks.get(stream.id), used) for stream, used in zip(audios, bits, strict=True))


def _sound(stream: AudioStream, track: Track | None, used: int | None) -> SoundStream:
    context: Any = stream.codec_context
    tags = stream.metadata
    title = tags.get("title") or tags.get("name")
    if context is None:
        return SoundStream(
            index=stream.index,
            codec=names.codec_name(None, track.fourcc if track else None),
            channels=0,
            layout=None,
            labels=(),
            language=_language(tags, track),
            title=_short(title),
            rate=0,
            sample_format="unknown",
            bit_depth=None,
            bit_rate=None,
            start=_seconds(stream, stream.start_time),
            duration=_seconds(stream, stream.duration),
        )
    channels = int(context.channels)
    channel_names = [channel.name for channel in context.layout.channels]
    flagged = len(channel_names) == channels and all(name not in ("NONE", "UNK", "UNSD") for name in channel_names)
    form, depth = _sample_format(context.name, context.format.name if context.format else "unknown")
    if used and depth and used <= depth and not form.startswith(("flt", "dbl")):
        depth = used
    return SoundStream(
        index=stream.index,
        codec=names.codec_name(context.name, _fourcc(context, track)),
        channels=channels,
        layout=context.layout.name if flagged else None,
        labels=names.channel_labels(channel_names) if flagged else ("",) * channels,
        language=_language(tags, track),
        title=_short(title),
        rate=int(context.sample_rate or 0),
        sample_format=form,
        bit_depth=depth,
        bit_rate=context.bit_rate or None,
        start=_seconds(stream, stream.start_time),
        duration=_seconds(stream, stream.duration) or (track.seconds if track else None),
    )


def _sample_format(codec: str, decoded: str) -> tuple[str, int | None]:
    """("s24", 24) and the like: of the file for PCM, of the decoder's output for coded sound (no depth)."""
    if codec.startswith("pcm_"):
        kind = codec.removeprefix("pcm_").removesuffix("_planar")
        for form, name, bits in (("f32", "flt", 32), ("f64", "dbl", 64), ("s8", "s8", 8), ("u8", "u8", 8)):
            if kind.startswith(form):
                return name, bits
        for count in (16, 20, 24, 32, 64):
            if kind.startswith((f"s{count}", f"u{count}")):
                return f"s{count}", count
    return decoded.removesuffix("p"), None


def _language(tags: dict[str, str], track: Track | None) -> str | None:
    said = tags.get("language") or (track.language if track else None)
    return printable(said)[:32] if said and said != "und" else None


def _short(text: str | None) -> str | None:
    return printable(text)[:128] if text else None


def _other(stream: Stream, track: Track | None) -> OtherStream:
    context: Any = getattr(stream, "codec_context", None)
    library = context.name if context else None
    handler = track.handler if track else ""
    fourcc = track.fourcc if track else ""
    if handler == "tmcd" or fourcc == "tmcd":
        kind = "timecode"
    elif handler == "clcp" or library == "eia_608" or fourcc in ("c608", "c708"):
        kind = "captions"
    elif stream.type == "subtitle":
        kind = "subtitles"
    elif stream.type == "attachment":
        kind = "attachment"
    else:
        kind = "data"
    return OtherStream(
        index=stream.index,
        kind=kind,
        codec=names.codec_name(library, fourcc or None) if library or not fourcc else fourcc,
        language=_language(stream.metadata, track) if kind != "timecode" else None,
        duration=_seconds(stream, stream.duration),
    )


def _timecodes(
    container: InputContainer,
    mov: MovHeader | None,
    mxf: MxfHeader | None,
    says: dict[int, StreamSays],
    pictures: tuple[PictureStream, ...],
) -> tuple[TimecodeSource, ...]:
    found = timecodes.of_mov(mov) if mov else timecodes.of_mxf(mxf) if mxf else []
    if not found:
        # Copies of a track's timecode in tags say nothing new; they count only where there is no track.
        places = [(f"tag of stream {stream.index}", stream.metadata) for stream in container.streams]
        found = timecodes.of_tags([("tag of the file", container.metadata), *places])
    first = next((stream for stream in pictures if not stream.attached), None)
    if first is not None:
        found += timecodes.of_picture(says[first.index].timecode)
    return tuple(found)
