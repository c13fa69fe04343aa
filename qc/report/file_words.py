"""The headers and events of a file in words, for the HTML report."""

from __future__ import annotations

from dataclasses import dataclass

from qc.measurement.record import Event
from qc.media.facts import FileFacts, PictureStream, SoundStream
from qc.report.media_file import MediaFile
from qc.report.visible import visible

Described = tuple[str, str]

#: Streams, events and tags written out; the rest is counted.
MOST_STREAMS = 64
MOST_EVENTS = 20
MOST_TAGS = 20


@dataclass(frozen=True)
class FileWords:
    lines: tuple[Described, ...]
    events: tuple[tuple[str, ...], ...]


def file_words(file: MediaFile) -> FileWords:
    """Label and text per line; one row per event: what, stream, frame, time, count, detail."""
    lines: list[Described] = []
    if not file.complete:
        lines.append(("Not complete", visible(file.incomplete_because) or "no reason recorded"))
    if file.facts:
        lines += _facts(file.facts)
    events = tuple(_event(event) for event in file.events[:MOST_EVENTS])
    if len(file.events) > MOST_EVENTS:
        events += ((f"{len(file.events) - MOST_EVENTS} more", "", "", "", "", ""),)
    return FileWords(tuple(lines), events)


def _facts(facts: FileFacts) -> list[Described]:
    lines: list[Described] = [("Wrapper", _joined(facts.wrapper, facts.operational_pattern, facts.brand))]
    if facts.duration is not None:
        lines.append(("Duration by the headers", f"{float(facts.duration):.3f} s"))
    lines += [(f"Picture, stream {stream.index}", _picture(stream)) for stream in facts.pictures[:MOST_STREAMS]]
    lines += [(f"Sound, stream {stream.index}", _sound(stream)) for stream in facts.sounds[:MOST_STREAMS]]
    lines += [
        (f"Other, stream {stream.index}", _joined(stream.kind, stream.codec, stream.language))
        for stream in facts.others[:MOST_STREAMS]
    ]
    for code in facts.timecodes[:MOST_STREAMS]:
        counting = {True: "drop-frame", False: "non-drop-frame", None: "counting not declared"}[code.drop]
        lines.append((f"Timecode, {visible(code.where)}", _joined(code.text, counting)))
    if not facts.timecodes:
        lines.append(("Timecode", "none in the file: places are named by elapsed time"))
    if facts.edit_list:
        lines.append(("Edit list", visible(facts.edit_list)))
    tags = sorted(facts.tags.items())
    lines += [(f"Tag {visible(name, 60)}", visible(value)) for name, value in tags[:MOST_TAGS]]
    if len(tags) > MOST_TAGS:
        lines.append(("Tags", f"{len(tags) - MOST_TAGS} more"))
    return lines


def _picture(stream: PictureStream) -> str:
    return _joined(
        stream.codec,
        stream.profile,
        f"{stream.width}x{stream.height}",
        None if stream.frame_rate is None else f"{stream.frame_rate} frames a second",
        stream.scan_by_container or stream.scan_by_stream,
        stream.chroma,
        None if stream.bit_depth is None else f"{stream.bit_depth} bit",
        _mega(stream.bit_rate),
        stream.colour_primaries,
        f"rotated {stream.rotation} degrees" if stream.rotation else None,
        "attached picture, not programme" if stream.attached else None,
    )


def _sound(stream: SoundStream) -> str:
    return _joined(
        stream.codec,
        f"{stream.channels} {'channel' if stream.channels == 1 else 'channels'}",
        stream.layout or "layout not flagged",
        f"{stream.rate} Hz",
        None if stream.bit_depth is None else f"{stream.bit_depth} bit",
        stream.language,
        stream.title,
    )


def _event(event: Event) -> tuple[str, ...]:
    return (
        visible(event.kind),
        "file" if event.stream is None else str(event.stream),
        "none" if event.frame is None else str(event.frame),
        "unknown" if event.seconds is None else f"{float(event.seconds):.3f} s",
        str(event.count),
        visible(event.detail),
    )


def _mega(bit_rate: int | None) -> str | None:
    return None if bit_rate is None else f"{bit_rate / 1e6:.2f} Mb/s"


def _joined(*parts: str | None) -> str:
    return ", ".join(visible(part) for part in parts if part)
