"""Headers and events of a file as plain data for the JSON documents. Unknown is null."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from qc.measurement.record import Event
from qc.media.facts import FileFacts, OtherStream, PictureStream, SoundStream
from qc.report.visible import visible

#: Most tags that a report repeats; a file may carry thousands.
MOST_TAGS = 100


def facts_document(facts: FileFacts) -> dict[str, Any]:
    """The headers; rates and aspects as exact fractions in text, times in seconds."""
    tags = sorted(facts.tags.items())[:MOST_TAGS]
    return {
        "wrapper": facts.wrapper,
        "brand": facts.brand,
        "operational_pattern": facts.operational_pattern,
        "extension_agrees": facts.extension_agrees,
        "index_present": facts.index_present,
        "edit_list": facts.edit_list,
        "duration_seconds": seconds(facts.duration),
        "bit_rate": facts.bit_rate,
        "pictures": [_picture(stream) for stream in facts.pictures],
        "sounds": [_sound(stream) for stream in facts.sounds],
        "others": [_other(stream) for stream in facts.others],
        "timecodes": [{"where": code.where, "text": code.text, "drop": code.drop} for code in facts.timecodes],
        "tags": {visible(name, 80): visible(value) for name, value in tags},
    }


def _picture(stream: PictureStream) -> dict[str, Any]:
    return {
        "stream": stream.index,
        "attached": stream.attached,
        "codec": stream.codec,
        "profile": stream.profile,
        "level": stream.level,
        "fourcc": stream.fourcc,
        "bit_rate": stream.bit_rate,
        "width": stream.width,
        "height": stream.height,
        "sample_aspect": ratio(stream.sample_aspect),
        "display_aspect": ratio(stream.display_aspect),
        "clean_aperture": list(stream.clean_aperture) if stream.clean_aperture else None,
        "rotation": stream.rotation,
        "frame_rate": fraction(stream.frame_rate),
        "declared_frames": stream.declared_frames,
        "start_seconds": seconds(stream.start),
        "duration_seconds": seconds(stream.duration),
        "scan_by_container": stream.scan_by_container,
        "scan_by_stream": stream.scan_by_stream,
        "pixel_format": stream.pixel_format,
        "chroma": stream.chroma,
        "bit_depth": stream.bit_depth,
        "alpha": stream.alpha,
        "colour_range": stream.colour_range,
        "colour_primaries": stream.colour_primaries,
        "colour_transfer": stream.colour_transfer,
        "colour_matrix": stream.colour_matrix,
        "colour_by_stream": list(stream.colour_by_stream) or None,
    }


def _sound(stream: SoundStream) -> dict[str, Any]:
    return {
        "stream": stream.index,
        "codec": stream.codec,
        "channels": stream.channels,
        "layout": stream.layout,
        "labels": list(stream.labels),
        "language": stream.language,
        "title": stream.title,
        "rate": stream.rate,
        "sample_format": stream.sample_format,
        "bit_depth": stream.bit_depth,
        "bit_rate": stream.bit_rate,
        "start_seconds": seconds(stream.start),
        "duration_seconds": seconds(stream.duration),
    }


def _other(stream: OtherStream) -> dict[str, Any]:
    return {
        "stream": stream.index,
        "kind": stream.kind,
        "codec": stream.codec,
        "language": stream.language,
        "duration_seconds": seconds(stream.duration),
    }


def event_document(event: Event) -> dict[str, Any]:
    return {
        "kind": event.kind,
        "stream": event.stream,
        "frame": event.frame,
        "seconds": seconds(event.seconds),
        "count": event.count,
        "detail": visible(event.detail),
    }


def seconds(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def fraction(value: Fraction | None) -> str | None:
    """A rate as people write it: "30000/1001", "25"."""
    return None if value is None else str(value)


def ratio(value: Fraction | None) -> str | None:
    """An aspect as people write it: "16:9"."""
    return None if value is None else f"{value.numerator}:{value.denominator}"
