"""Markers as an edit list in the manner of CMX 3600: one event over the whole file with locator comments.

The form is common practice (no standard of it is public): "TITLE:", "FCM:" with the counting of every label below,
an event line of eight fields, "* LOC: timecode colour text". Labels have colons also in drop-frame: FCM says which.
The list holds ASCII only. What is not is written in the nearest letters, else "?"; the CSV and the OTIO file keep it.

CMX 3600 counts up to 30 frames a second. At 50, 59.94 and other faster rates the labels are the file's own (frames
00 to 49, 00 to 59), as edit systems at those rates write them, and a comment says so. A rate whose labels
need three digits (over 100) cannot be listed: the list then has no event and says why.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections.abc import Iterator, Sequence

from qc.report.markers import Counted, Marker, counted
from qc.report.media_file import MediaFile
from qc.report.visible import visible

#: Longest line, and longest title, that readers are known to keep whole (common practice, no source).
LONGEST_LINE = 128
LONGEST_TITLE = 70

#: Frames a second that the format was made for, and that two digits can count.
_OF_THE_FORMAT = 30
_TWO_DIGITS = 100

_PLAIN = {"±": "+/-", "−": "-", "–": "-", "—": "-", "‘": "'", "’": "'", "“": '"', "”": '"', "…": "...", "\u00a0": " "}


def marker_edl(markers: Sequence[Marker], file: MediaFile) -> bytes:
    """ASCII, CRLF. Times of the event are those of the file, in source and record alike."""
    lines = [f"TITLE: {_cut(plain(file.name), LONGEST_TITLE)}"]
    count = counted(file, markers)
    lines += list(_body(count, markers, file)) if count else ["", *_comment("The file could not be read.")]
    return "".join(f"{line}\r\n" for line in lines).encode("ascii")


def plain(text: str) -> str:
    """One line of printable ASCII."""
    text = visible(text)
    for character, instead in _PLAIN.items():
        text = text.replace(character, instead)
    text = "".join(letter for letter in unicodedata.normalize("NFKD", text) if not unicodedata.combining(letter))
    return re.sub(r"[^ -~]", "?", text)


def _body(count: Counted, markers: Sequence[Marker], file: MediaFile) -> Iterator[str]:
    counting = count.clock.counting
    yield f"FCM: {'DROP FRAME' if counting.drop else 'NON-DROP FRAME'}"
    yield ""
    if counting.base > _TWO_DIGITS:
        yield from _comment(f"{count.clock.rate} frames a second cannot be labelled in an edit list; use the CSV.")
        return
    first, end = _label(count, 0), _label(count, max(1, count.frames))
    yield f"001  AX       V     C        {first} {end} {first} {end}"
    yield f"* FROM CLIP NAME:  {_cut(plain(file.name), LONGEST_LINE - 19)}"
    for note in _notes(count, markers):
        yield from _comment(note)
    for number, marker in enumerate(markers, 1):
        yield from _locator(number, marker, count)


def _notes(count: Counted, markers: Sequence[Marker]) -> Iterator[str]:
    base = count.clock.counting.base
    listed = {0: "No place to mark", 1: "1 marker"}.get(len(markers), f"{len(markers)} markers")
    yield f"{listed}, {count.clock.rate} frames per second, {count.words}."
    if base > _OF_THE_FORMAT:
        yield f"Labels count frames 00 to {base - 1}; the format was made for at most {_OF_THE_FORMAT} a second."
    if count.passes_midnight:
        yield "The labels of this file pass midnight and start again at 00:00:00:00."


def _locator(number: int, marker: Marker, count: Counted) -> Iterator[str]:
    head = f"* LOC: {_label(count, marker.span.first)} {marker.colour.upper():7} "
    name = plain(marker.name)
    yield head + _cut(name, LONGEST_LINE - len(head))
    if len(head) + len(name) > LONGEST_LINE:
        yield from _comment(f"{number} {name}")
    if marker.span.frames > 1:
        yield from _comment(f"{number} lasts {marker.span.frames} frames, to {_label(count, marker.span.end)}")
    if marker.note:
        yield from _comment(f"{number} {plain(marker.note)}")


def _label(count: Counted, frame: int) -> str:
    return count.label(frame).replace(";", ":")


def _comment(text: str) -> list[str]:
    """Comment lines; "- " after the star keeps foreign words from being read as a keyword of the format."""
    return textwrap.wrap(text, LONGEST_LINE, initial_indent="* - ", subsequent_indent="* - ")


def _cut(text: str, longest: int) -> str:
    return text if len(text) <= longest else f"{text[: longest - 3]}..."
