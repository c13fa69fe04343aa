"""The figures of one file as lines for a screen. Formats a measure document; computes nothing."""

from __future__ import annotations

from typing import Any

from qc.report.visible import visible
from qc.report.wording import number

_ROWS = (
    ("integrated_lufs", "integrated loudness", "LUFS"),
    ("max_short_term_lufs", "maximum short-term", "LUFS"),
    ("max_momentary_lufs", "maximum momentary", "LUFS"),
    ("loudness_range_lu", "loudness range", "LU"),
    ("true_peak_dbtp", "true peak", "dBTP"),
)

#: Black runs named on the screen; the JSON has them all.
MOST_RUNS = 12


def figures_text(document: dict[str, Any]) -> str:
    """File, sound and picture figures, one a line; what is undefined says why. Ends with a newline."""
    file, sound, picture = document["file"], document["sound"], document["picture"]
    lines = [
        visible(file["name"]),
        f"  {'size':22}{file['size']} bytes",
        f"  {'sha256':22}{file['sha256'] or 'not read to its end'}",
    ]
    if sound["group"]:
        channels = ", ".join(map(str, sound["group"]["channels"]))
        lines.append(f"  {'sound':22}{visible(sound['group']['name'])} (channels {channels}), whole file")
    for key, title, unit in _ROWS:
        value = sound[key]
        words = number(float(value), unit) if value is not None else f"not measured: {visible(sound['reasons'][key])}"
        lines.append(f"  {title:22}{words}")
    if picture["frames"] is None:
        lines.append(f"  {'picture':22}not measured: {visible(picture['reason'])}")
        return "\n".join(lines) + "\n"
    lines.append(f"  {'picture':22}{number(picture['frames'], 'frames')}")
    runs = picture["black"]
    for run in runs[:MOST_RUNS]:
        lines.append(
            f"  {'black':22}from {run['timecode']}, frame {run['first_frame']}, {number(run['frames'], 'frames')}"
        )
    if not runs:
        lines.append(f"  {'black':22}none")
    elif len(runs) > MOST_RUNS:
        lines.append(f"  {'':22}and {len(runs) - MOST_RUNS} more")
    return "\n".join(lines) + "\n"
