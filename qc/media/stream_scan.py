"""Scan, field order and a few facts as the picture stream itself says them, from its first packets.

The decoder's interface mixes what the wrapper says with what the stream says; this reads the stream
alone. ProRes, VC-3 and MPEG-2 say it in their headers; AVC and HEVC are handed to the library again as bare
elementary streams, so that no wrapper can speak for them.

Sources: SMPTE RDD 36:2015, 5.1 and 6.1 (ProRes frame header); SMPTE ST 2019-1 (VC-3 header, offsets
from memory).
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import av
from av.bitstream import BitStreamFilterContext
from av.container import InputContainer
from av.video.codeccontext import VideoCodecContext
from av.video.stream import VideoStream

from qc.media.mpeg_headers import AvcSays, avc_says, mpeg2_colour, mpeg2_scan, mpeg2_timecode
from qc.media.opening import quiet

#: Bounds of the look at the stream: never the programme.
MOST_PACKETS = 400
MOST_BYTES = 48 << 20
PICTURE_PACKETS = 4
ELEMENTARY_BYTES = 8 << 20

#: libavutil's field order: progressive; top coded, top shown; bottom, bottom; top, bottom; bottom, top.
_FIELD_ORDER = {
    1: "progressive",
    2: "interlaced, top first",
    3: "interlaced, bottom first",
    4: "interlaced, bottom first",
    5: "interlaced, top first",
}

#: H.273 codes of colour that is not described.
_NOT_DESCRIBED = (2, 2, 2)


@dataclass(frozen=True)
class StreamSays:
    """What the first packets of one picture stream say; None where they do not."""

    scan: str | None = None
    alpha: bool | None = None
    colour: tuple[int, int, int] | None = None  # H.273 codes: primaries, transfer, matrix
    compression: int | None = None  # VC-3 compression id
    timecode: tuple[int, int, int, int, bool] | None = None  # hours, minutes, seconds, frames, drop


def first_packets(container: InputContainer, streams: list[VideoStream]) -> dict[int, list[bytes]]:
    """Up to four packets of each picture stream, as the wrapper holds them; empty where none comes early."""
    wanted: dict[int, list[bytes]] = {stream.index: [] for stream in streams}
    if not wanted:
        return wanted
    filters = {stream.index: _annex_b(stream) for stream in streams}
    seen = size = 0
    with quiet():
        try:
            for packet in container.demux():
                seen += 1
                size += packet.size
                found = wanted.get(packet.stream_index)
                if found is not None and packet.size and len(found) < PICTURE_PACKETS:
                    change = filters[packet.stream_index]
                    pieces = change.filter(packet) if change else [packet]
                    found.append(b"".join(bytes(piece) for piece in pieces))
                done = all(len(packets) == PICTURE_PACKETS for packets in wanted.values())
                if done or seen >= MOST_PACKETS or size >= MOST_BYTES:
                    break
        except (av.error.FFmpegError, ValueError, EOFError):
            pass  # damaged media is met, and told, by the pass over the whole file
    return wanted


def _annex_b(stream: VideoStream) -> BitStreamFilterContext | None:
    name = stream.codec_context.name if stream.codec_context else ""
    if name not in ("h264", "hevc"):
        return None
    try:
        with quiet():
            return BitStreamFilterContext(f"{name}_mp4toannexb", stream)
    except (av.error.FFmpegError, ValueError):
        return None


def stream_says(codec: str, packets: list[bytes]) -> StreamSays:
    """What the first packets of a stream say, by the library's codec name."""
    if not packets:
        return StreamSays()
    if codec == "prores":
        return _prores(packets[0])
    if codec == "dnxhd":
        return _vc3(packets[0])
    if codec == "mpeg2video":
        first = packets[0]
        return StreamSays(scan=mpeg2_scan(first), colour=mpeg2_colour(first), timecode=mpeg2_timecode(first))
    if codec == "h264":
        content = b"".join(packets)[:ELEMENTARY_BYTES]
        says = avc_says(content)
        return StreamSays(scan=_avc_scan(content, says), colour=says.colour if says else None)
    if codec == "hevc":
        return StreamSays(colour=_hevc_colour(b"".join(packets)[:ELEMENTARY_BYTES]))
    return StreamSays()


def _prores(frame: bytes) -> StreamSays:
    if len(frame) < 28 or frame[4:8] != b"icpf":
        return StreamSays()
    scan = {0: "progressive", 1: "interlaced, top first", 2: "interlaced, bottom first"}.get(frame[20] >> 2 & 3)
    return StreamSays(scan=scan, alpha=bool(frame[25] & 15), colour=(frame[22], frame[23], frame[24]))


def _vc3(frame: bytes) -> StreamSays:
    if len(frame) < 0x2C or frame[:2] != b"\x00\x00":
        return StreamSays()
    compression = int.from_bytes(frame[0x28:0x2C], "big")
    if not frame[5] & 2:
        return StreamSays(scan="progressive", compression=compression)
    order = "bottom" if frame[5] & 1 else "top"
    return StreamSays(scan=f"interlaced, {order} first", compression=compression)


def _avc_scan(content: bytes, says: AvcSays | None) -> str | None:
    """Scan of AVC: by the parameter set; the order of fields by the picture order counts, as the library reads them.

    None where fields are allowed but no order is said (both fields of a frame with the same count).
    """
    if says is None or says.frames_only:
        return "progressive" if says else None
    picture = _bare(content, "h264")
    order = _FIELD_ORDER.get(picture.field_order) if picture else None
    return None if order == "progressive" else order


def _hevc_colour(content: bytes) -> tuple[int, int, int] | None:
    picture = _bare(content, "hevc")
    colour = (picture.color_primaries, picture.color_trc, picture.colorspace) if picture else _NOT_DESCRIBED
    return None if colour == _NOT_DESCRIBED else colour


def _bare(content: bytes, form: str) -> VideoCodecContext | None:
    """What the library reads of an elementary stream. None of one that cannot be read bare: it says nothing, and the
    long pass tells what is wrong with it."""
    with quiet():
        try:
            with av.open(io.BytesIO(content), "r", format=form) as bare:
                picture = bare.streams.video[0].codec_context if bare.streams.video else None
                return picture if picture and picture.width else None
        except Exception:
            return None


def mixed_scan(field_order: int) -> str | None:
    """The library's own field order in words, for wrappers that say nothing of scan themselves."""
    return _FIELD_ORDER.get(field_order)
