"""The headers of a file for the terminal: a plain page of 80 columns in the trade's words.

What the file does not say is written "not said", never left out and never guessed.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby

from qc.media.facts import FileFacts, OtherStream, PictureStream, SoundStream, TimecodeSource
from qc.report.visible import visible
from qc.timing.timecode import elapsed

WIDTH = 80
_LABEL = 14
NOT_SAID = "not said"

Row = tuple[str, str]


def facts_text(name: str, facts: FileFacts) -> str:
    """All facts of one file. Ends with a newline."""
    blocks = [(visible(name), _file(facts))]
    blocks += [(_picture_title(stream), _picture(stream)) for stream in facts.pictures]
    if not facts.pictures:
        blocks.append(("Picture", [("none", "")]))
    blocks.append(("Sound", _sounds(facts.sounds)))
    if facts.others:
        blocks.append(("Other streams", [_other(stream) for stream in facts.others]))
    lines: list[str] = []
    for title, rows in blocks:
        lines += ["", *textwrap.wrap(title, WIDTH, break_long_words=True)]
        for label, text in rows:
            first = f"  {label:<{_LABEL - 2}}"
            lines += textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=" " * _LABEL) or [
                first.rstrip()
            ]
    return "\n".join(lines[1:]) + "\n"


def _file(facts: FileFacts) -> list[Row]:
    wrapper = facts.wrapper
    if facts.operational_pattern:
        wrapper += f" {facts.operational_pattern}"
    if facts.brand:
        wrapper += f", brand {visible(facts.brand)}"
    if not facts.extension_agrees:
        wrapper += "; the file name ends otherwise"
    rows = [("Wrapper", wrapper), ("Length", _length(facts.duration)), ("Bit rate", _bit_rate(facts.bit_rate))]
    if facts.index_present is not None:
        part = "footer" if facts.wrapper == "MXF" else "index"
        status = facts.tags.get("header partition")
        words = f"{part} {'present' if facts.index_present else 'missing'}"
        rows.append(("Closed", f"{words}; header {visible(status)}" if status else words))
    if "damage" in facts.tags:
        rows.append(("Damage", visible(facts.tags["damage"])))
    if facts.edit_list:
        rows.append(("Edit list", visible(facts.edit_list)))
    codes = [_timecode(source) for source in facts.timecodes] or ["none"]
    rows += [("Timecode" if place == 0 else "", text) for place, text in enumerate(codes)]
    if len({source.text for source in facts.timecodes}) > 1:
        rows.append(("", "these do not agree; the first is used to name places"))
    return rows


def _timecode(source: TimecodeSource) -> str:
    counting = {True: "drop-frame", False: "non-drop-frame", None: "counting not said"}[source.drop]
    return f"{visible(source.text)}  {counting}  ({visible(source.where)})"


def _length(seconds: Fraction | None) -> str:
    return NOT_SAID if seconds is None else f"{elapsed(round(seconds * 1000), Fraction(1000))} (h:mm:ss.mmm)"


def _bit_rate(rate: int | None) -> str:
    if rate is None:
        return NOT_SAID
    return f"{rate / 1e6:.2f} Mb/s" if rate >= 1_000_000 else f"{rate / 1e3:.1f} kb/s"


def _picture_title(stream: PictureStream) -> str:
    if stream.attached:
        return f"Thumbnail (stream {stream.index}), not programme"
    return f"Picture (stream {stream.index})"


def _picture(stream: PictureStream) -> list[Row]:
    codec = [visible(stream.codec)]
    codec += [f"profile {visible(stream.profile)}"] if stream.profile else []
    codec += [f"level {stream.level}"] if stream.level else []
    codec += [f"code {visible(stream.fourcc)}"] if stream.fourcc else []
    if stream.attached:
        return [("Codec", ", ".join(codec)), ("Raster", f"{stream.width}x{stream.height}")]
    return [
        ("Codec", ", ".join(codec)),
        ("Bit rate", _bit_rate(stream.bit_rate)),
        ("Raster", f"{stream.width}x{stream.height}, {_aspects(stream)}"),
        ("Aperture", _aperture(stream)),
        ("Frame rate", _rate(stream.frame_rate)),
        ("Length", _picture_length(stream)),
        ("Scan", f"{stream.scan_by_container or NOT_SAID} (wrapper); {stream.scan_by_stream or NOT_SAID} (stream)"),
        ("Samples", _samples(stream)),
        ("Colour", _colour(stream)),
    ]


def _aspects(stream: PictureStream) -> str:
    if stream.sample_aspect is None or stream.display_aspect is None:
        words = f"pixel aspect {NOT_SAID}"
    else:
        words = f"pixels {_ratio(stream.sample_aspect)}, picture {_ratio(stream.display_aspect)}"
    return words + (f", to be turned {stream.rotation} degrees clockwise" if stream.rotation else "")


def _ratio(value: Fraction) -> str:
    return f"{value.numerator}:{value.denominator}"


def _aperture(stream: PictureStream) -> str:
    if stream.clean_aperture is None:
        return NOT_SAID
    left, top, width, height = stream.clean_aperture
    if (left, top, width, height) == (0, 0, stream.width, stream.height):
        return "full"
    return f"{width}x{height}, {left} px from the left, {top} px from the top"


def _rate(rate: Fraction | None) -> str:
    if rate is None:
        return NOT_SAID
    if rate.denominator == 1:
        return f"{rate} frames a second"
    return f"{float(rate):.3f} frames a second ({rate})"


def _picture_length(stream: PictureStream) -> str:
    words = _length(stream.duration)
    if stream.declared_frames is not None:
        words += f", {stream.declared_frames} frames"
    if stream.start:
        words += f", first frame at {float(stream.start):+.3f} s"
    return words


def _samples(stream: PictureStream) -> str:
    depth = f"{stream.bit_depth} bits" if stream.bit_depth else f"depth {NOT_SAID}"
    parts = [stream.chroma or f"chroma {NOT_SAID}", depth, *(["with alpha"] if stream.alpha else [])]
    return f"{', '.join(parts)} ({visible(stream.pixel_format)})"


def _colour(stream: PictureStream) -> str:
    tags = (stream.colour_primaries, stream.colour_transfer, stream.colour_matrix)
    own = stream.colour_by_stream
    by_stream = f"; in the stream {_system(own)}" if own and any(own) and own != tags else ""
    return f"{_system(tags)}{by_stream}; range {stream.colour_range or NOT_SAID}"


def _system(tags: Sequence[str | None]) -> str:
    said = [tag or NOT_SAID for tag in tags]
    return said[0] if len(set(said)) == 1 else f"primaries {said[0]}, transfer {said[1]}, matrix {said[2]}"


def _sounds(streams: Sequence[SoundStream]) -> list[Row]:
    """One row per run of like streams, numbered by their channels in the file."""
    if not streams:
        return [("none", "")]
    rows: list[Row] = []
    channel = 1
    for words, run in groupby(streams, key=_sound):
        alike = list(run)
        count = sum(stream.channels for stream in alike)
        last = channel + count - 1
        number = "no channel" if not count else f"Channel {channel}" if count == 1 else f"Ch {channel} to {last}"
        first, end = alike[0].index, alike[-1].index
        place = f"stream {first}" if len(alike) == 1 else f"{len(alike)} streams, {first} to {end}, each"
        rows.append((number, f"{place}: {words}"))
        channel = last + 1
    return rows


def _sound(stream: SoundStream) -> str:
    size = "1 channel" if stream.channels == 1 else f"{stream.channels} channels"
    layout = f"layout {visible(stream.layout)}" if stream.layout else f"layout {NOT_SAID}"
    labels = [visible(label) for label in stream.labels]
    layout += f" ({' '.join(labels)})" if any(labels) and stream.channels > 1 else ""
    parts = [size, layout, f"{visible(stream.codec)} {stream.rate} Hz"]
    parts.append(f"{stream.bit_depth} bits ({stream.sample_format})" if stream.bit_depth else stream.sample_format)
    parts.append(f"language {visible(stream.language)}" if stream.language else f"language {NOT_SAID}")
    parts += [f"title {visible(stream.title)}"] if stream.title else []
    parts.append(_bit_rate(stream.bit_rate))
    if stream.duration is not None:
        parts.append(elapsed(round(stream.duration * 1000), Fraction(1000)))
    parts += [f"starts at {float(stream.start):+.3f} s"] if stream.start else []
    return ", ".join(parts)


def _other(stream: OtherStream) -> Row:
    parts = [stream.kind, visible(stream.codec), *([f"language {visible(stream.language)}"] if stream.language else [])]
    return f"Stream {stream.index}", ", ".join(parts)
