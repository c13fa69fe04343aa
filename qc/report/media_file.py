"""One media file as a report names it: which bytes, what its headers say, its whole-file figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from qc.measurement.record import Event, Measurement
from qc.media.facts import FileFacts


@dataclass(frozen=True)
class MediaFile:
    """What reports need beside the verdicts.

    figures  {"sound": {...}, "picture": {...}} as qc.report.measure_document makes them; None if nothing
             could be measured
    incomplete_because  why the record is not whole, or why there is none; "" if complete
    """

    name: str
    size: int | None
    sha256: str | None
    facts: FileFacts | None
    figures: dict[str, Any] | None
    events: tuple[Event, ...]
    complete: bool
    incomplete_because: str


def media_file(measurement: Measurement) -> MediaFile:
    """The file of a measurement with its figures; computed once, used for every outlet."""
    from qc.report.measure_document import figures

    return MediaFile(
        name=measurement.identity.name,
        size=measurement.identity.size,
        sha256=measurement.identity.sha256,
        facts=measurement.facts,
        figures=figures(measurement),
        events=measurement.events,
        complete=measurement.complete,
        incomplete_because=measurement.incomplete_because,
    )


def unreadable_file(name: str, reason: str, size: int | None = None) -> MediaFile:
    """A file that could not be measured at all: its name and why."""
    return MediaFile(
        name=name,
        size=size,
        sha256=None,
        facts=None,
        figures=None,
        events=(),
        complete=False,
        incomplete_because=reason,
    )
