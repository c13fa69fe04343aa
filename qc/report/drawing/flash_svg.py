"""A flash, frame by frame: how bright the whole picture is on average, and how much of the screen changes together."""

from __future__ import annotations

import numpy as np
from markupsafe import Markup

from qc.judge.timeline import Curve, Timeline
from qc.judge.verdict import Finding, Place
from qc.report import wording
from qc.report.drawing.columns import Scale, bars_over, outline
from qc.report.drawing.elements import element, percent, plain, together
from qc.report.drawing.lanes import framed, path_of
from qc.report.drawing.stretch_axis import AXIS, axis
from qc.report.visible import visible

#: Requirements whose places are flashes.
FLASHES = ("flashing.flashes", "flashing.red", "flashing.long_sequences")
#: Seconds shown on each side of the place, and in all at the most: a frame has to stay visible.
BESIDE, MOST = 1.0, 8.0
#: The scale reaches this far at least, cd/m2: what is dark throughout stays low on it.
LEAST_TOP = 20.0

HEIGHT, GAP, AREA_HEIGHT = 72, 10, 34
_HANGING = f"matrix(1 0 0 -1 0 {2 * AREA_HEIGHT})"


def flash_of(finding: Finding, timeline: Timeline, place: Place, *, ident: str) -> Markup | None:
    """A figure of the frames round a place of a finding on flashes; None for other findings, or without the light."""
    curve, areas = timeline.light, timeline.flash_areas.get(finding.requirement)
    if curve is None or finding.requirement not in FLASHES:
        return None
    first, end = _frames(timeline, place, len(curve.values))
    values = curve.values[first:end].astype(np.float64)
    if not np.isfinite(values).any():
        return None
    scale = Scale(0.0, max(LEAST_TOP, float(np.nanmax(values)) * 1.15), HEIGHT)
    height = HEIGHT if areas is None else HEIGHT + GAP + 2 * AREA_HEIGHT
    drawing = element(
        "svg",
        _place(place, first, end, height),
        framed(_path(values, scale), "0", "100%", len(values), HEIGHT),
        _top(values, scale),
        Markup("") if areas is None else _area(*areas, first, end),
        axis(timeline, first / timeline.rate, end / timeline.rate, height),
        class_="tl-lane",
        width="100%",
        height=height + AXIS,
        role="img",
        aria_labelledby=f"{ident}-words",
    )
    words = _words(finding, curve, place, values, first) + ("" if areas is None else _area_words(areas[0].most))
    caption = element("figcaption", words, id=f"{ident}-words")
    return element("figure", element("div", drawing, class_="tl-plot"), caption, id=ident, class_="st")


def _frames(timeline: Timeline, place: Place, count: int) -> tuple[int, int]:
    """First frame and end of what is shown."""
    beside = round(BESIDE * timeline.rate)
    first = max(0, place.span.first - beside)
    return first, min(count, place.span.end + beside, first + round(MOST * timeline.rate))


def _path(values: np.ndarray, scale: Scale) -> Markup:
    upper = scale.of(values)
    return path_of(outline(upper, upper * 0 + scale.height), "tl-peaks")


def _area(up: Curve, down: Curve, first: int, end: int) -> Markup:
    """What rises stands on a middle line, what falls hangs from it; what is over the limit stands out."""
    highest = max(float(curve.values[first:end].max(initial=0.0)) for curve in (up, down))
    scale = Scale(0.0, min(100.0, 1.2 * max(highest, up.most or 0.0, 1.0)), AREA_HEIGHT)
    drawn = [_bars(up, first, end, scale), element("g", _bars(down, first, end, scale), transform=_HANGING)]
    drawn.append(element("line", class_="tl-axis", x1="0", x2="100%", y1=AREA_HEIGHT, y2=AREA_HEIGHT))
    if up.most is not None:
        y = scale.y(up.most)
        for at in (y, 2 * AREA_HEIGHT - y):
            drawn.append(element("line", class_="tl-ceiling", x1="0", x2="100%", y1=plain(at), y2=plain(at)))
        drawn.append(element("text", f"{up.most:g} %", x=-6, y=plain(y + 4), text_anchor="end", class_="tl-value"))
    return element("svg", *drawn, y=HEIGHT + GAP, width="100%", height=2 * AREA_HEIGHT, overflow="visible")


def _bars(curve: Curve, first: int, end: int, scale: Scale) -> Markup:
    values = curve.values[first:end].astype(np.float64)
    bars = _path(values, scale)
    if curve.most is not None:
        bars = together(bars, path_of(bars_over(values, curve.most, scale), "tl-over"))
    return framed(bars, "0", "100%", len(values), AREA_HEIGHT)


def _area_words(most: float | None) -> str:
    limit = "" if most is None else f"; the lines are the limit of {most:g} %"
    return f" Below: the share of the screen that changes together, up and down, frame by frame{limit}."


def _place(place: Place, first: int, end: int, height: int) -> Markup:
    """The ground of the place, between two lines; one that goes on beyond the drawing has no second line."""
    long = max(1, end - first)
    left, right = percent(place.span.first - first, long), min(place.span.end, end) - first
    wide = percent(max(0, right - (place.span.first - first)), long)
    edges = [left, *([percent(right, long)] if place.span.end <= end else [])]
    lines = [element("line", class_="st-edge", x1=x, x2=x, y1="0", y2=height) for x in edges]
    return together(element("rect", class_="st-event", x=left, width=wide, y="0", height=height), *lines)


def _top(values: np.ndarray, scale: Scale) -> Markup:
    """A line at the brightest frame, with its light beside the drawing."""
    most = float(np.nanmax(values))
    y = scale.y(most)
    return together(
        element("line", class_="st-edge", x1="0", x2="100%", y1=plain(y), y2=plain(y)),
        element("text", f"{most:.0f}", x=-6, y=plain(y + 4), text_anchor="end", class_="tl-value"),
    )


def _words(finding: Finding, curve: Curve, place: Place, values: np.ndarray, first: int) -> str:
    inside = values[max(0, place.span.first - first) : place.span.end - first]
    inside = inside[np.isfinite(inside)]
    reach = f": {inside.min():.0f} to {inside.max():.0f} {curve.unit}" if len(inside) else ""
    cut = "; it goes on beyond the drawing" if place.span.end - first > len(values) else ""
    changes = f"{place.value:g} {finding.unit} " if place.value is not None and finding.unit == "changes" else ""
    return (
        f"Light of the whole picture, frame by frame, at {wording.place_range(place)}{reach}{cut}. "
        f"The rule counts the parts of the screen that change: {changes}{visible(place.note)}."
    )
