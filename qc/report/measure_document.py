"""The figures of a whole file, no station in sight: what ``qc measure`` gives.

Default channel group and default black rule; an undefined figure is null with its reason beside it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from qc.figures.black import black_runs
from qc.figures.groups import default_group, why_no_group
from qc.figures.loudness import integrated, loudness_range, max_momentary, max_short_term
from qc.figures.peaks import true_peak
from qc.measurement.record import Measurement
from qc.outlets.schema import Black
from qc.report.document import as_json
from qc.report.facts_document import event_document, facts_document
from qc.report.run import RunBlock
from qc.report.seen_document import seen_document
from qc.timing.spans import Span

SCHEMA_NAME = "airworthy-measure/1"
SCHEMA_FILE = Path(__file__).parent / "schema" / "airworthy-measure-1.json"

#: Figure in the document -> the function of qc.figures that gives it.
SOUND_FIGURES = {
    "integrated_lufs": integrated,
    "loudness_range_lu": loudness_range,
    "max_momentary_lufs": max_momentary,
    "max_short_term_lufs": max_short_term,
    "true_peak_dbtp": true_peak,
}

NO_SOUND = "the file has no sound that could be measured"
NO_PICTURE = "the file has no picture that could be measured"


def measure_document(measurement: Measurement, run: RunBlock) -> dict[str, Any]:
    """Facts, figures and events of one file, as plain data."""
    identity = measurement.identity
    return {
        "schema": SCHEMA_NAME,
        "file": {"name": identity.name, "size": identity.size, "sha256": identity.sha256},
        "complete": measurement.complete,
        "incomplete_because": measurement.incomplete_because,
        **figures(measurement),
        "seen": seen_document(measurement),
        "facts": facts_document(measurement.facts),
        "events": [event_document(event) for event in measurement.events],
        "run": run.document(),
    }


def measure_json(measurement: Measurement, run: RunBlock) -> bytes:
    return as_json(measure_document(measurement, run))


def figures(measurement: Measurement) -> dict[str, Any]:
    """{"sound": {...}, "picture": {...}} of the whole file."""
    return {"sound": _sound(measurement), "picture": _picture(measurement)}


def _sound(measurement: Measurement) -> dict[str, Any]:
    sound = measurement.sound
    group = default_group(measurement.facts) if sound is not None else None
    if sound is None or group is None:
        reason = NO_SOUND if sound is None else why_no_group(measurement.facts)
        return {
            "group": None,
            **dict.fromkeys(SOUND_FIGURES),
            "reasons": dict.fromkeys(SOUND_FIGURES, reason),
        }
    whole = (Span(0, sound.rows),)
    readings = {name: figure(sound, group, whole) for name, figure in SOUND_FIGURES.items()}
    return {
        "group": {"name": group.name, "channels": [channel + 1 for channel in group.channels]},
        **{name: reading.value for name, reading in readings.items()},
        "reasons": {name: reading.reason for name, reading in readings.items() if reading.value is None},
    }


def _picture(measurement: Measurement) -> dict[str, Any]:
    picture = measurement.picture
    if picture is None:
        return {"frames": None, "black": None, "reason": NO_PICTURE}
    rule = Black()
    clock = measurement.clock
    runs = black_runs(picture, rule.pixel_percent, rule.picture_percent)
    return {
        "frames": picture.frames,
        "black": [{"first_frame": run.first, "frames": run.frames, "timecode": clock.at(run.first)} for run in runs],
        "black_rule": {"pixel_percent": rule.pixel_percent, "picture_percent": rule.picture_percent},
    }
