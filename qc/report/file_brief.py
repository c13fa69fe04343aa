"""One media file in a few lines, for pages where it stands beside others."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction

from qc.media.facts import FileFacts, PictureStream
from qc.report.file_words import Described
from qc.report.media_file import MediaFile
from qc.report.visible import visible
from qc.timing.timecode import elapsed

_UNITS = ((10**12, "TB"), (10**9, "GB"), (10**6, "MB"), (10**3, "kB"))


def file_brief(file: MediaFile) -> tuple[Described, ...]:
    """Wrapper, picture, sound, duration, timecode, size, checksum; what is not known is said to be so."""
    lines: list[Described] = []
    if not file.complete:
        lines.append(("Not complete", visible(file.incomplete_because) or "no reason recorded"))
    if file.facts is not None:
        lines += _facts(file, file.facts)
    lines.append(("Size", size_words(file.size)))
    lines.append(("SHA-256", visible(file.sha256 or "") or "none: the file could not be read to its end"))
    return tuple(lines)


def size_words(size: int | None) -> str:
    """ "8.12 GB (8123456789 bytes)", in powers of ten."""
    if size is None:
        return "unknown"
    for unit, name in _UNITS:
        if size >= unit:
            return f"{size / unit:.2f} {name} ({size} bytes)"
    return f"{size} bytes"


def _facts(file: MediaFile, facts: FileFacts) -> list[Described]:
    parts = (facts.wrapper, facts.operational_pattern, facts.brand)
    lines = [("Wrapper", ", ".join(visible(part) for part in parts if part))]
    programme = [stream for stream in facts.pictures if not stream.attached]
    pictures = [_picture(stream) for stream in programme[:2]]
    more = len(programme) - len(pictures)
    lines.append(("Picture", "; ".join([*pictures, *([f"{more} more"] if more else [])]) or "none"))
    lines.append(("Sound", _sound(facts)))
    lines.append(("Duration", _duration(file, facts)))
    code = facts.timecodes[0] if facts.timecodes else None
    lines.append(("Timecode of the first frame", visible(code.text) if code else "none in the file"))
    return lines


def _picture(stream: PictureStream) -> str:
    parts = (
        " ".join(part for part in (stream.codec, stream.profile) if part),
        f"{stream.width}x{stream.height}",
        rate_words(stream.frame_rate),
        stream.scan_by_container or stream.scan_by_stream,
        f"{stream.bit_depth} bit" if stream.bit_depth else None,
    )
    return ", ".join(visible(part) for part in parts if part)


def rate_words(rate: Fraction | None) -> str:
    """ "25 frames a second", "29.97 frames a second (30000/1001)"."""
    if rate is None:
        return "picture rate not declared"
    if rate.denominator == 1:
        return f"{rate.numerator} frames a second"
    return f"{float(rate):.2f} frames a second ({rate.numerator}/{rate.denominator})"


def _sound(facts: FileFacts) -> str:
    if not facts.sounds:
        return "none"
    kinds = Counter(
        ", ".join(
            visible(part)
            for part in (
                stream.codec,
                f"{stream.rate} Hz",
                f"{stream.bit_depth} bit" if stream.bit_depth else None,
                "1 channel" if stream.channels == 1 else f"{stream.channels} channels",
            )
            if part
        )
        for stream in facts.sounds
    )
    total = sum(stream.channels for stream in facts.sounds)
    words = [f"{many} {'stream' if many == 1 else 'streams'} of {kind}" for kind, many in kinds.most_common(3)]
    more = len(kinds) - len(words)
    words += [f"{more} more kinds"] if more else []
    return f"{total} {'channel' if total == 1 else 'channels'}: {'; '.join(words)}"


def _duration(file: MediaFile, facts: FileFacts) -> str:
    counted = ((file.figures or {}).get("picture") or {}).get("frames")
    rate = next((stream.frame_rate for stream in facts.pictures if not stream.attached), None)
    if counted and rate:
        return f"{elapsed(counted, rate)}, {counted} frames"
    if facts.duration is not None:
        return f"{elapsed(round(facts.duration * 1000), Fraction(1000))} by the headers"
    return "not declared"
