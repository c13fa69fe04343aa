"""The mixer's sheet, and one mix for all outlets, as plain data for the JSON document."""

from __future__ import annotations

from typing import Any

from qc.judge.mix import MixRow, MixSheet, OneMix
from qc.report.fix_document import place_document


def mix_document(sheet: MixSheet) -> dict[str, Any]:
    window = sheet.window
    return {
        "group": sheet.group,
        "channels": list(sheet.channels),
        "meter": sheet.meter,
        "unit": sheet.unit,
        "ceiling_dbtp": sheet.ceiling,
        "rows": [_row(row) for row in sheet.rows],
        "gain": sheet.gain,
        "window": None if window is None else {"low": window[0], "high": window[1]},
        "peaks": [place_document(place) for place in sheet.peaks],
        "more_peaks": sheet.more_peaks,
        "words": sheet.words,
    }


def _row(row: MixRow) -> dict[str, Any]:
    return {
        "span": row.span,
        "som": row.som,
        "eom": row.eom,
        "integrated": row.integrated,
        "max_short_term": row.max_short_term,
        "max_momentary": row.max_momentary,
        "loudness_range": row.loudness_range,
        "true_peak_dbtp": row.true_peak_dbtp,
        "low": row.low,
        "target": row.target,
        "high": row.high,
        "gain": row.gain,
        "accepted": row.accepted,
        "note": row.note,
    }


def one_mix_document(mix: OneMix) -> dict[str, Any]:
    return {
        "channels": list(mix.group),
        "outlets": list(mix.outlets),
        "serves": mix.serves,
        "low": mix.low,
        "high": mix.high,
        "gain": mix.gain,
        "loudness": mix.loudness,
        "ceiling_dbtp": mix.ceiling,
        "peaks": mix.peaks,
        "conflicts": list(mix.conflicts),
        "sentence": mix.sentence,
    }
