"""The figures of one file as lines for a screen. Formats a measure document; computes nothing."""

from __future__ import annotations

import textwrap
from typing import Any

from qc.report.seen_document import ON_END
from qc.report.visible import visible
from qc.report.wording import number

_ROWS = (
    ("integrated_lufs", "integrated loudness", "LUFS"),
    ("max_short_term_lufs", "maximum short-term", "LUFS"),
    ("max_momentary_lufs", "maximum momentary", "LUFS"),
    ("loudness_range_lu", "loudness range", "LU"),
    ("true_peak_dbtp", "true peak", "dBTP"),
)

WIDTH = 80
_LABEL = 22
NOT = "not measured"
Row = tuple[str, str]

#: Runs of one kind named on the screen; the JSON has them all.
MOST_RUNS = 12


def figures_text(document: dict[str, Any]) -> str:
    """File, sound and picture figures, one a line; what is undefined says why. 80 columns, ends with a newline."""
    file = document["file"]
    rows = [("size", f"{file['size']} bytes"), *_hash(file["sha256"]), *_sound(document["sound"])]
    rows += _picture(document["picture"]) + _seen(document["seen"])
    lines = [visible(file["name"])]
    for label, text in rows:
        first = f"  {label:{_LABEL}}"
        lines += textwrap.wrap(
            text,
            WIDTH,
            initial_indent=first,
            subsequent_indent=" " * len(first),
            break_long_words=False,
            break_on_hyphens=False,
        )
    return "\n".join(lines) + "\n"


def _hash(sha256: str | None) -> list[Row]:
    if sha256 is None:
        return [("sha256", "not read to its end")]
    return [("sha256", sha256[:32]), ("", sha256[32:])]


def _sound(sound: dict[str, Any]) -> list[Row]:
    rows = []
    if sound["group"]:
        channels = ", ".join(map(str, sound["group"]["channels"]))
        rows.append(("sound", f"{visible(sound['group']['name'])} (channels {channels}), whole file"))
    for key, title, unit in _ROWS:
        value = sound[key]
        words = number(float(value), unit) if value is not None else f"not measured: {visible(sound['reasons'][key])}"
        rows.append((title, words))
    return rows


def _picture(picture: dict[str, Any]) -> list[Row]:
    if picture["frames"] is None:
        return [("picture", f"not measured: {visible(picture['reason'])}")]
    rows, runs = [("picture", number(picture["frames"], "frames"))], picture["black"]
    for run in runs[:MOST_RUNS]:
        place = f"from {run['timecode']}, frame {run['first_frame']}, {number(run['frames'], 'frames')}"
        rows.append(("black", place))
    if not runs:
        rows.append(("black", "none"))
    elif len(runs) > MOST_RUNS:
        rows.append(("", f"and {len(runs) - MOST_RUNS} more"))
    return rows


def _seen(seen: dict[str, Any]) -> list[Row]:
    """The picture itself; nothing where no figure could be had, which the rows above say."""
    if seen["reason"]:
        return []
    order, shape, levels, stills = seen["field_order"], seen["shape"], seen["outside_levels"], seen["stills"]
    seen_by = f"{order['answer']} (by {order['votes']} of {order['pairs']} pairs)" if order else NOT
    rows = [("field order seen", seen_by)]
    boxes = [] if shape is None else shape["boxes"]
    for box in boxes[:MOST_RUNS]:
        lines, where = box["lines"], f"from frame {box['first_frame']}, {number(box['frames'], 'frames')}"
        rows.append(("active picture", f"{box['kind']}, {lines[0]} and {lines[1]} lines, {where}"))
    if not boxes:
        rows.append(("active picture", "full raster" if shape else NOT))
    for name, key in (("luma", "luma_percent"), ("RGB", "rgb_percent")):
        value = levels and levels[key]
        title = f"{name} outside {levels['low']}..{levels['high']}" if levels else f"{name} outside"
        rows.append((title, NOT if value is None else _outside(float(value))))
    rows.append(("repeats", NOT if seen["repeats"] is None else number(seen["repeats"], "frames")))
    if not stills:
        return [*rows, ("still pictures", NOT if stills is None else "none")]
    longest = max(stills, key=lambda run: run["frames"])
    words = f"{len(stills)}, the longest {number(longest['frames'], 'frames')} from {longest['timecode']}"
    return [*rows, ("still pictures", words)]


def _outside(area: float) -> str:
    return f"up to {number(area, '%')} of the picture, {ON_END} frames on end" if area else "nothing that lasts"
