"""One place's evidence: the curve that a check is about, a few seconds round the place, with the limit on it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from markupsafe import Markup

from qc.judge.limits import number, on_meter
from qc.judge.timeline import STEPS_PER_SECOND, Curve, GroupCurves, Timeline
from qc.judge.verdict import Finding, Place
from qc.report import wording
from qc.report.drawing.columns import Columns, Scale, bars_over, columns_of, outline
from qc.report.drawing.elements import element, percent, plain, together
from qc.report.drawing.lanes import ceiling_for_bars, framed, path_of
from qc.report.drawing.stretch_axis import AXIS, axis
from qc.report.visible import visible

#: Seconds shown on each side of the place, and of the whole stretch at least.
BESIDE, LEAST = 3.0, 10.0

HEIGHT, _MOST_COLUMNS = 96, 300


class Kind(StrEnum):
    """What a stretch shows."""

    TRUE_PEAK = "true peak"
    SHORT_TERM = "short-term loudness"
    MOMENTARY = "momentary loudness"
    SILENCE = "level"
    LEVEL = "level up to the cut"


#: Requirement -> what its places look like as a curve. Places of other requirements are seen, not heard.
KINDS = {
    "true_peak.programme": Kind.TRUE_PEAK,
    "loudness.max_short_term": Kind.SHORT_TERM,
    "loudness.max_momentary": Kind.MOMENTARY,
    "silence.inside_acts": Kind.SILENCE,
    "silence.one_channel": Kind.SILENCE,
    "structure.act_ends": Kind.LEVEL,
}

_LEVELS = (Kind.SILENCE, Kind.LEVEL)


def stretch_of(finding: Finding, timeline: Timeline, place: Place, *, ident: str) -> Markup | None:
    """The stretch that shows a place of a finding; None if it is nothing that has a curve."""
    kind = KINDS.get(finding.requirement)
    if kind is None:
        return None
    value = wording.number(place.value, finding.unit) if place.value is not None and kind is not Kind.SILENCE else ""
    group, limit = _group_of(finding, timeline), None
    if kind is Kind.LEVEL and isinstance(finding.measured, float) and finding.margin is not None:
        limit = on_meter(on_meter(finding.measured) + finding.margin)
    return stretch_svg(timeline, place, kind, group=group, value=value, limit=limit, ident=ident)


def _group_of(finding: Finding, timeline: Timeline) -> str:
    """Where several groups are judged, a subject ends with the name of its group: "programme, M&E"."""
    named = [group.name for group in timeline.groups if finding.subject.endswith(f", {group.name}")]
    return max(named, key=len, default="")


def stretch_svg(
    timeline: Timeline,
    place: Place,
    kind: Kind,
    *,
    group: str = "",
    value: str = "",
    limit: float | None = None,
    ident: str,
) -> Markup | None:
    """A figure of about 10 s: the curve, its limit, the place, timecodes at both ends.

    group  whose curve; "" is the first judged group
    value  what was measured there, in words; "" leaves it to the place's note
    limit  to draw instead of the curve's own
    None if there is no such curve, or it has no value here.
    """
    curve = _curve(timeline, place, kind, group)
    if curve is None:
        return None
    view = _view(timeline, place)
    values = curve.values[view.step : view.end_step]
    if not len(values) or np.isnan(values).all():
        return None
    columns = columns_of(values, _MOST_COLUMNS)
    limit = _limit(curve, kind) if limit is None else limit
    scale = _scale(columns, limit, kind)
    over = ceiling_for_bars(curve) if kind is Kind.TRUE_PEAK else None
    words = _words(place, kind, curve, limit, value)
    drawing = element(
        "svg",
        _event(place, view, timeline),
        _path(columns, values, scale, kind, over, view),
        _limit_line(limit, scale, kind),
        _reading(values, place, timeline, view, scale, kind, value),
        axis(timeline, view.start, view.end, HEIGHT),
        class_="tl-lane",
        width="100%",
        height=HEIGHT + AXIS,
        role="img",
        aria_labelledby=f"{ident}-words",
    )
    caption = element("figcaption", words, id=f"{ident}-words")
    return element("figure", element("div", drawing, class_="tl-plot"), caption, id=ident, class_="st")


@dataclass(frozen=True)
class _View:
    """What is shown: seconds of the file, on the steps of a curve."""

    start: float
    end: float

    @property
    def step(self) -> int:
        return round(self.start * STEPS_PER_SECOND)

    @property
    def end_step(self) -> int:
        return int(np.ceil(round(self.end * STEPS_PER_SECOND, 3)))

    def x(self, seconds: float) -> str:
        return percent(min(max(seconds, self.start), self.end) - self.start, self.end - self.start)


def _view(timeline: Timeline, place: Place) -> _View:
    """The place and ``BESIDE`` on each side, ``LEAST`` in all where the file is that long."""
    whole = timeline.frames / timeline.rate
    first, end = (min(max(at / timeline.rate, 0.0), whole) for at in (place.span.first, place.span.end))
    wide = max(end - first + 2 * BESIDE, LEAST)
    middle = (first + end) / 2
    start = int(max(0.0, min(middle - wide / 2, whole - wide)) * STEPS_PER_SECOND)
    steps = int(np.ceil(wide * STEPS_PER_SECOND)) + 1
    return _View(start / STEPS_PER_SECOND, min(whole, (start + steps) / STEPS_PER_SECOND))


def _curve(timeline: Timeline, place: Place, kind: Kind, name: str) -> Curve | None:
    groups = timeline.groups or (GroupCurves("", (), timeline.short_term, timeline.momentary, timeline.true_peak),)
    group = next((group for group in groups if group.name == name), groups[0])
    if kind is Kind.TRUE_PEAK:
        return group.true_peak
    if kind is Kind.SHORT_TERM:
        return group.short_term
    if kind is Kind.MOMENTARY:
        return group.momentary
    channels = group.channels if place.channel is None else (place.channel,)
    levels = [timeline.levels[channel] for channel in channels if channel in timeline.levels]
    if not levels:
        return None
    loudest = np.maximum.reduce([level.values for level in levels])
    return Curve("level", loudest, "dBFS", low=levels[0].low)


def _limit(curve: Curve, kind: Kind) -> float | None:
    """The line that matters here: ceiling, highest accepted value, or floor of silence."""
    if kind is Kind.TRUE_PEAK:
        return curve.high
    return curve.low if kind is Kind.SILENCE else None if kind is Kind.LEVEL else curve.most


def _scale(columns: Columns, limit: float | None, kind: Kind) -> Scale:
    """The values and the limit, with air; what is far below is of no interest."""
    top = max(value for value in (columns.top, limit, -90.0) if value is not None)
    low = min(value for value in (columns.bottom, limit, top) if value is not None)
    under = {Kind.TRUE_PEAK: 18.0, Kind.SILENCE: 60.0, Kind.LEVEL: 60.0}.get(kind, 24.0)
    reach = limit - 12 if kind in _LEVELS and limit is not None else low
    return Scale(max(min(low, reach), top - under) - 2, top + 4, HEIGHT)


def _path(columns: Columns, values: np.ndarray, scale: Scale, kind: Kind, over: float | None, view: _View) -> Markup:
    upper = scale.of(columns.high)
    bars = kind is Kind.TRUE_PEAK or kind in _LEVELS
    lower = upper * 0 + scale.height if bars else scale.of(columns.low)
    drawn = [path_of(outline(upper, lower), "tl-peaks" if bars else "tl-curve")]
    standing_out = bars_over(columns.high, over, scale) if over is not None else ""
    if standing_out:
        drawn.append(path_of(standing_out, "tl-over"))
    start, end = view.step / STEPS_PER_SECOND, (view.step + len(values)) / STEPS_PER_SECOND
    long = view.end - view.start
    x, width = percent(start - view.start, long), percent(end - start, long)
    return framed(together(*drawn), x, width, columns.count, HEIGHT)


def _event(place: Place, view: _View, timeline: Timeline) -> Markup:
    """The place itself: a ground between two lines."""
    first, end = place.span.first / timeline.rate, max(place.span.end, place.span.first + 1) / timeline.rate
    left, right = view.x(first), view.x(end)
    wide = percent(min(end, view.end) - max(first, view.start), view.end - view.start)
    edges = [element("line", class_="st-edge", x1=x, x2=x, y1="0", y2=HEIGHT) for x in (left, right)]
    return together(element("rect", class_="st-event", x=left, width=wide, y="0", height=HEIGHT), *edges)


def _limit_line(limit: float | None, scale: Scale, kind: Kind) -> Markup:
    if limit is None:
        return Markup("")
    y = plain(scale.y(limit))
    line = element("line", class_="tl-ceiling" if kind not in _LEVELS else "tl-target", x1="0", x2="100%", y1=y, y2=y)
    return together(
        line, element("text", number(limit), x=-6, y=plain(scale.y(limit) + 4), text_anchor="end", class_="tl-value")
    )


def _reading(
    values: np.ndarray, place: Place, timeline: Timeline, view: _View, scale: Scale, kind: Kind, value: str
) -> Markup:
    """A ring round the highest value of the place, and the reading beside it. Silence has its length instead."""
    first = int(place.span.first / timeline.rate * STEPS_PER_SECOND) - view.step
    end = int(np.ceil(max(place.span.end, place.span.first + 1) / timeline.rate * STEPS_PER_SECOND)) - view.step
    inside = values[max(first, 0) : max(end, 1)]
    if kind in _LEVELS:
        said = value or f"{place.span.frames / timeline.rate:.2f} s"
        middle = (place.span.first + place.span.end) / 2 / timeline.rate
        return _beside(said, middle, view, 14.0, 4)
    if not np.isfinite(inside).any():
        return Markup("")
    # The step that reads what the finding says; a neighbour that the frame touches may be higher.
    off = np.abs(inside - place.value) if place.value is not None else -inside
    at = int(np.nanargmin(np.where(np.isfinite(inside), off, np.nan))) + max(first, 0)
    seconds = (view.step + at + 0.5) / STEPS_PER_SECOND
    y = scale.y(float(values[at]))
    ring = element("circle", class_="st-ring", cx=view.x(seconds), cy=plain(y), r=5)
    if not value:
        return ring
    return together(ring, _beside(value, seconds, view, max(12.0, y - 3), 9))


def _beside(words: str, seconds: float, view: _View, y: float, away: int) -> Markup:
    """Words beside a moment, on the side that has room; a drawing of its own, so that the distance is in pixels."""
    right = (seconds - view.start) / (view.end - view.start) > 0.6
    text = element(
        "text",
        words,
        x=-away if right else away,
        y="0",
        text_anchor="end" if right else "start",
        class_="tl-value st-value",
    )
    return element("svg", text, x=view.x(seconds), y=plain(y), overflow="visible")


def _words(place: Place, kind: Kind, curve: Curve, limit: float | None, value: str) -> str:
    """What the drawing says: figure, place, value, limit."""
    name = kind.value if kind not in _LEVELS else "level (RMS of 10 ms)"
    if place.channel is not None and kind in _LEVELS:
        name += f", channel {place.channel}"
    said = [f"{name[0].upper()}{name[1:]} at {wording.place_range(place)}"]
    if value:
        said[0] += f": {visible(value)}"
    if place.channel is not None and kind is Kind.TRUE_PEAK:
        said[0] += f" in channel {place.channel}"
    if place.note:
        said.append(visible(place.note))
    if limit is not None:
        named = {Kind.TRUE_PEAK: "ceiling", Kind.SILENCE: "silent below"}.get(kind, "at most")
        said.append(f"{named} {number(limit)} {curve.unit}")
    return "; ".join(said) + "."
