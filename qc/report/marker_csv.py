"""Markers as CSV: one row per place, for a spreadsheet or an edit system that reads a table.

CSV by RFC 4180: CRLF, UTF-8. Text that a spreadsheet would take for a formula gets a leading apostrophe.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence

from qc.report.markers import Marker, counted
from qc.report.media_file import MediaFile
from qc.report.timing_sheet import Cell, guarded

COLUMNS = (
    "timecode",
    "until",
    "frame",
    "frames",
    "elapsed",
    "outcome",
    "colour",
    "name",
    "to do",
    "where",
    "outlets",
    "file",
    "frames per second",
    "counting",
)


def marker_csv(markers: Sequence[Marker], file: MediaFile) -> bytes:
    """Every marker of one file; ``frame`` counts from the file's first, ``until`` is the frame after the last."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in _rows(markers, file):
        writer.writerow([guarded(cell) for cell in row])
    return stream.getvalue().encode()


def _rows(markers: Sequence[Marker], file: MediaFile) -> Iterator[list[Cell]]:
    count = counted(file, markers)
    if count is None:
        return
    for marker in markers:
        yield [
            count.label(marker.span.first),
            count.label(marker.span.end),
            marker.span.first,
            marker.span.frames,
            marker.offset,
            marker.kind,
            marker.colour,
            marker.name,
            marker.note,
            marker.within,
            ", ".join(marker.outlets),
            file.name,
            str(count.clock.rate),
            count.words,
        ]
