"""Where in a still a finding points: laid over the picture by the page, so that one still serves every finding."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from qc.programme.place import Area
from qc.report.drawing.elements import element, percent

#: A white line within a black one is seen on any picture: colour and width in pixels.
_LINES = (("#000", 3), ("#fff", 1))

#: Outlines in one still; more would hide it.
MOST = 8


def outlines(areas: Iterable[Area | None]) -> Markup:
    """A drawing that covers the still it stands behind; "" if there is nothing to outline."""
    shown = [area for area in dict.fromkeys(areas) if area is not None][:MOST]
    boxes = [_box(area, colour, width) for area in shown for colour, width in _LINES]
    if not boxes:
        return Markup("")
    return element("svg", *boxes, class_="outline", aria_hidden="true", focusable="false")


def _box(area: Area, colour: str, width: int) -> Markup:
    left, top = _part(area.left), _part(area.top)
    right, bottom = _part(area.left + area.width), _part(area.top + area.height)
    return element(
        "rect",
        x=percent(left, 1),
        y=percent(top, 1),
        width=percent(max(0.0, right - left), 1),
        height=percent(max(0.0, bottom - top), 1),
        fill="none",
        stroke=colour,
        stroke_width=width,
    )


def _part(along: float) -> float:
    """Within the picture; what is no number lies at its edge."""
    return min(max(along, 0.0), 1.0) if along == along else 0.0
