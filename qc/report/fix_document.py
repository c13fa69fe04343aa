"""A place and a fix as plain data, for the JSON document."""

from __future__ import annotations

from typing import Any

from qc.judge.verdict import Place
from qc.remedy.fix import Consequence, Fix


def place_document(place: Place) -> dict[str, Any]:
    area = place.area
    return {
        "first_frame": place.span.first,
        "frames": place.span.frames,
        "timecode": place.timecode,
        "until": place.until,
        "offset": place.offset,
        "within": place.within,
        "channel": place.channel,
        "value": place.value,
        "note": place.note,
        "area": None
        if area is None
        else {"left": area.left, "top": area.top, "width": area.width, "height": area.height},
    }


def fix_document(fix: Fix) -> dict[str, Any]:
    window = fix.window
    return {
        "action": fix.action,
        "amount": fix.amount,
        "unit": fix.unit,
        "where": fix.where,
        "sentence": fix.sentence,
        "after": dict(sorted(fix.after.items())),
        "limits": dict(sorted(fix.limits.items())),
        "window": None if window is None else {"low": window.low, "high": window.high},
        "peaks": [place_document(place) for place in fix.peaks],
        "more_peaks": fix.more_peaks,
        "room": [{"where": room.where, "frames": room.frames} for room in fix.room],
        "no_export": fix.no_export,
        "consequences": [_consequence(item) for item in fix.consequences],
    }


def _consequence(item: Consequence) -> dict[str, Any]:
    return {
        "outlet": item.outlet,
        "code": item.code,
        "accepted": item.accepted,
        "words": item.words,
        "after": dict(sorted(item.after.items())),
    }
