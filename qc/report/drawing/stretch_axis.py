"""The axis under a stretch of the programme, with the labels of both its ends."""

from __future__ import annotations

from markupsafe import Markup

from qc.judge.timeline import Timeline
from qc.report.drawing.elements import element, together

#: Pixels under the drawing that the axis takes.
AXIS = 22


def axis(timeline: Timeline, start: float, end: float, height: int) -> Markup:
    """From ``start`` to ``end`` in seconds of the file, under a drawing of ``height`` pixels."""
    y = height + 15
    return together(
        element("line", class_="tl-axis", x1="0", x2="100%", y1=height, y2=height),
        element("text", _label(timeline, start), x="0", y=y, class_="tl-time"),
        element("text", _label(timeline, end), x="100%", y=y, text_anchor="end", class_="tl-time"),
    )


def _label(timeline: Timeline, seconds: float) -> str:
    if timeline.clock is None:
        return f"{seconds:.2f} s"
    return timeline.clock.at(min(round(seconds * timeline.rate), timeline.frames))
