"""What ``qc measure`` says of the picture itself: field order, shape, levels, repeats, still pictures. Whole file."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

import numpy as np

from qc.figures.active_picture import active_picture
from qc.figures.active_picture import measured as shape_measured
from qc.figures.black import black_frames
from qc.figures.cadence import repeat_cadences, signs
from qc.figures.field_order import LEAST_VOTES, field_order
from qc.figures.field_order import measured as fields_measured
from qc.figures.frame_series import FrameSeries
from qc.figures.freezes import still_runs
from qc.figures.levels import LevelBounds, has_levels, lasting_area, matrix_used
from qc.figures.repeats import repeated_frames
from qc.measurement.record import Measurement
from qc.outlets.schema import Black
from qc.timing.spans import Span

#: Bounds of EBU R 103 v3.0 (2020), in percent, and for how many frames on end an area counts.
LOW, HIGH, ON_END = -5, 105, 5
#: Seconds. Common practice, no source: shorter ones are drawings on twos and threes.
_SHORTEST_STILL = Fraction(1, 4)

Series = Mapping[str, np.ndarray]
_NOTHING: dict[str, Any] = dict.fromkeys(("field_order", "shape", "outside_levels", "repeats", "stills"))


def seen_document(measurement: Measurement) -> dict[str, Any]:
    """Figures as plain data; null is not measured, and "reason" says why if nothing is."""
    picture = measurement.picture
    if picture is None or not picture.counted.any():
        return {**_NOTHING, "reason": "the file has no picture that could be measured"}
    if not measurement.complete:
        return {**_NOTHING, "reason": "the file was not measured to its end"}
    series, whole = picture.extra, Span(0, picture.frames)
    return {
        "field_order": _field_order(series, whole),
        "shape": _shape(series, whole),
        "outside_levels": _levels(series, whole),
        **_motion(measurement, series),
        "reason": "",
    }


def _field_order(series: Series, whole: Span) -> dict[str, Any] | None:
    if not fields_measured(series):
        return None
    found = field_order(series, [whole], LEAST_VOTES)
    return {"answer": found.answer, "votes": found.votes, "pairs": found.pairs}


def _shape(series: Series, whole: Span) -> dict[str, Any] | None:
    found = active_picture(series, [whole]) if shape_measured(series) else None
    if found is None or not found.looks or len(found.blind) == 4 or found.bars_unseen:
        return None
    boxes = [
        {
            "kind": box.kind,
            "lines": list(box.lines),
            "first_frame": box.span.first,
            "frames": box.span.frames,
        }
        for box in found.boxes
    ]
    return {"raster": list(found.raster), "boxes": boxes}


def _levels(series: Series, whole: Span) -> dict[str, Any] | None:
    if not has_levels(series):
        return None
    luma, rgb = LevelBounds((LOW, HIGH), (None, None)), LevelBounds((None, None), (LOW, HIGH))
    area = {"luma_percent": luma, "rgb_percent": rgb if matrix_used(series)[0] else None}
    return {
        "low": LOW,
        "high": HIGH,
        **{
            name: None if bounds is None else round(lasting_area(series, bounds, ON_END, [whole]), 2)
            for name, bounds in area.items()
        },
    }


def _motion(measurement: Measurement, series: Series) -> dict[str, Any]:
    frames, picture, rate = FrameSeries.of(series), measurement.picture, measurement.rate
    if frames is None or picture is None or rate is None:
        return {"repeats": None, "stills": None}
    found, rule, clock = signs(frames), Black(), measurement.clock
    black = black_frames(picture, rule.pixel_percent, rule.picture_percent)
    repeats = repeated_frames(frames, found, repeat_cadences(found))
    stills = still_runs(frames, black, max(2, round(rate * _SHORTEST_STILL)))
    return {
        "repeats": sum(repeat.count for repeat in repeats),
        "stills": [
            {"first_frame": run.span.first, "frames": run.span.frames, "timecode": clock.at(run.span.first)}
            for run in stills
        ],
    }
