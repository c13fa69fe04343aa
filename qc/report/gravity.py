"""Which finding is told first where there is room for one: by what it does to the viewer and to the delivery.

The order of kinds is our own (no source): what may harm or cannot be shown, then what is broken or missing in
picture and sound, lengths, the form of the file, levels, and what stands before and after the programme.
"""

from __future__ import annotations

from collections.abc import Iterable

from qc.judge.verdict import Finding, Outcome

#: Names of checks, gravest first; those of one group weigh alike.
GRAVEST_FIRST: tuple[tuple[str, ...], ...] = (
    ("integrity",),
    ("flashing",),
    (
        "black", "freeze", "solid", "hits", "strays", "drops", "repeats", "cadence", "field-order", "silence",
        "channels", "act-ends", "stuck-pixels",
    ),
    (
        "parts", "acts", "trt", "slot", "act-length", "element-length", "break-length", "break-content",
        "timing-sheet", "file-length", "stream-lengths",
    ),
    (
        "wrapper", "codec", "raster", "frame-rate", "constant-rate", "scan", "sampling", "aspect", "alpha",
        "colour-tags", "bit-rate", "streams", "audio-layout", "audio-format", "start-timecode", "timecode-counting",
        "timecode-labels", "timecode-agreement", "act-starts",
    ),
    (
        "loudness", "true-peak", "picture-levels", "short-term", "loudness-range", "active-picture", "range-use",
        "black-level",
    ),
    ("leader", "head-and-tail", "colour-bars", "line-up-tone", "sync-blip", "run-out"),
)  # fmt: skip

_WEIGHT = {check: weight for weight, group in enumerate(GRAVEST_FIRST) for check in group}
_STOPS = (Outcome.FAIL, Outcome.NOT_MEASURED, Outcome.ADVISORY)


def gravest_first(findings: Iterable[Finding]) -> list[Finding]:
    """What stands in the way of a clean pass: failures, not measured, advice; musts before shoulds; by kind."""
    return sorted((finding for finding in findings if finding.outcome in _STOPS), key=_weight)


def _weight(finding: Finding) -> tuple[int, bool, int]:
    kind = _WEIGHT.get(finding.check, len(GRAVEST_FIRST))
    return _STOPS.index(finding.outcome), finding.level != "must", kind
