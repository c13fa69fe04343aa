"""Every timecode a file carries, as labels of its first frame.

Order: what the trade reads first comes first: the MOV timecode track that the picture refers to,
the MXF material package; then the others.
"""

from __future__ import annotations

from collections.abc import Iterable

from qc.media.facts import TimecodeSource
from qc.media.mov_atoms import MovHeader
from qc.media.mxf_partition import MxfHeader
from qc.timing.timecode import Counting


def label_of(number: int, base: int, drop: bool) -> str | None:
    """Label of a frame number. A drop flag at a rate that has none is kept (``;``), its numbers counted whole.

    None if no label can be made (no or absurd labels per second).
    """
    if not 1 <= base <= 99:
        return None
    if drop and base in (30, 60):
        return Counting(base, True).label(number)
    text = Counting(base).label(number)
    return f"{text[:-3]};{text[-2:]}" if drop else text


def of_mov(header: MovHeader) -> list[TimecodeSource]:
    pictures = [track for track in header.tracks if track.handler == "vide"]
    preferred = [
        number for track in pictures for kind, numbers in track.refers_to if kind == "tmcd" for number in numbers
    ]
    tracks = [track for track in header.tracks if track.handler == "tmcd"]
    tracks.sort(key=lambda track: track.number not in preferred)
    found = []
    for track in tracks:
        if track.first_label is None or track.drop is None:
            continue
        text = label_of(track.first_label, track.counts, track.drop)
        if text:
            found.append(TimecodeSource(f"timecode track {track.number}", text, track.drop))
    return found


def of_mxf(header: MxfHeader) -> list[TimecodeSource]:
    found, seen = [], dict.fromkeys(("material package", "source package"), 0)
    for source in header.timecodes:
        seen[source.package] += 1
        count = seen[source.package]
        text = label_of(source.start, source.base, bool(source.drop))
        if text:
            found.append(
                TimecodeSource(source.package if count == 1 else f"{source.package} {count}", text, source.drop)
            )
    return found


def of_picture(stamp: tuple[int, int, int, int, bool] | None) -> list[TimecodeSource]:
    """The stream's own stamp. All zero is left out: encoders that set none leave zero there (common practice)."""
    if stamp is None or not any(stamp[:4]):
        return []
    hours, minutes, seconds, frames, drop = stamp
    text = f"{hours:02}:{minutes:02}:{seconds:02}{';' if drop else ':'}{frames:02}"
    return [TimecodeSource("picture stream", text, drop)]


def of_tags(tags: Iterable[tuple[str, dict[str, str]]]) -> list[TimecodeSource]:
    """Timecode in text tags: (where, tags of it). A tag says drop-frame only by its separator."""
    found = []
    for where, pairs in tags:
        text = pairs.get("timecode", "").strip()[:32]
        if text:
            found.append(TimecodeSource(where, text, True if ";" in text else False if text.count(":") == 3 else None))
    return found
