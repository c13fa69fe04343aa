"""The lanes of a timeline, each a small drawing as wide as the page: parts, runs, a curve, the axis."""

from __future__ import annotations

from collections.abc import Sequence

from markupsafe import Markup

from qc.judge.limits import AT_LIMIT, number
from qc.judge.timeline import STEPS_PER_SECOND, Curve, Part, Timeline
from qc.report.drawing.columns import MOST_COLUMNS, Columns, Scale, bars_over, columns_of, outline, strip_over
from qc.report.drawing.elements import element, percent, plain, together
from qc.report.drawing.widths import Wanted, in_line, in_room
from qc.timing.spans import Span

PARTS_HEIGHT, RUNS_HEIGHT, AXIS_HEIGHT = 62, 18, 26
LOUDNESS_HEIGHT, PEAK_HEIGHT = 140, 108

#: Runs of one kind that are drawn one by one.
MOST_RUNS = 400

#: Pixels that a label on the scale keeps free above and below.
_LINE = 14

#: What a loudness lane shows at least: LU under and over the target; dB under the ceiling of a peak lane.
_UNDER, _OVER, _UNDER_CEILING = 21, 11, 15


def lane(height: int, *inside: Markup, label: str | None = None, role: str | None = "img") -> Markup:
    """A drawing over the whole width; its letters keep their size. Without a label it is left to the eye alone."""
    return element(
        "svg",
        *inside,
        class_="tl-lane",
        width="100%",
        height=height,
        role=role if label else None,
        aria_label=label,
        aria_hidden=None if label else "true",
    )


def parts_lane(timeline: Timeline) -> Markup:
    """Head, acts, breaks and tail by name and length; what is too short for its name has it above."""
    frames, top, height = timeline.frames, 18, PARTS_HEIGHT - 20
    drawn: list[Markup] = []
    above: list[tuple[Part, Wanted]] = []
    for part in timeline.parts:
        share, middle = part.span.frames / frames, (part.span.first + part.span.end) / 2 / frames
        x, width = percent(part.span.first, frames), percent(part.span.frames, frames)
        drawn.append(
            element(
                "rect",
                element("title", _said(part)),
                class_=f"tl-part tl-{part.kind}",
                x=x,
                y=top,
                width=width,
                height=height,
            )
        )
        names = in_room(_names(part), share)
        lengths = in_room(_lengths(part), share)
        drawn += [_text(words, middle, top + 18, f"tl-name-of {classes}") for words, classes in names.items()]
        drawn += [_text(words, middle, top + 34, f"tl-length {classes}") for words, classes in lengths.items()]
        if not all(width_class in " ".join(names.values()) for width_class in ("tl-at-s", "tl-at-m", "tl-at-l")):
            above.append((part, Wanted(middle, _names(part))))
    shown = in_line([wanted for _, wanted in above])
    inside = {
        (part.name, cls)
        for part, _ in above
        for cls in " ".join(in_room(_names(part), _share(part, timeline)).values()).split()
    }
    for (index, words), classes in shown.items():
        part, wanted = above[index]
        kept = [cls for cls in classes.split() if (part.name, cls) not in inside]
        if kept:
            drawn.append(_text(words, wanted.at, 12, f"tl-above {' '.join(kept)}"))
    return lane(PARTS_HEIGHT, *drawn, label="; ".join(_said(part) for part in timeline.parts))


def _share(part: Part, timeline: Timeline) -> float:
    return part.span.frames / timeline.frames


def _said(part: Part) -> str:
    length = f", {part.length} long" if part.length else ""
    return f"{part.name} from {part.timecode}{length}"


def _names(part: Part) -> tuple[str, ...]:
    """ "act 2", or "2" where there is little room."""
    short = part.name.rsplit(" ", 1)[-1]
    return (part.name, short) if short.isdigit() else (part.name,)


def _lengths(part: Part) -> tuple[str, ...]:
    """The length as a label, without its hours where they are none."""
    hours = part.length[:3]
    return (part.length, part.length[3:]) if hours == "00:" else (part.length,) if part.length else ()


def runs_lane(timeline: Timeline, runs: Sequence[Span], hatch: str, ident: str, label: str, lines: Markup) -> Markup:
    """Runs of one kind, hatched: ``hatch`` is "black" (crossed) or "silence" (level strokes)."""
    name = f"{ident}-{hatch}"
    drawn = [
        element(
            "rect",
            x=percent(run.first, timeline.frames),
            width=percent(run.frames, timeline.frames),
            y=2,
            height=RUNS_HEIGHT - 4,
        )
        for run in _merged(runs, timeline.frames / MOST_COLUMNS)
    ]
    cloth = element("g", *drawn, class_=f"tl-run tl-{hatch}", fill=f"url(#{name})")
    empty = element("line", class_="tl-floor", x1="0", x2="100%", y1=RUNS_HEIGHT / 2, y2=RUNS_HEIGHT / 2)
    return lane(RUNS_HEIGHT, pattern(name, hatch), empty, lines, cloth, label=label)


def pattern(name: str, hatch: str) -> Markup:
    """Black: strokes both ways. Silence: level strokes."""
    strokes = "M0,0L6,6M6,0L0,6" if hatch == "black" else "M0,1.5H6M0,4.5H6"
    ground = element("rect", width=6, height=6, class_="tl-ground")
    cloth = element("path", d=strokes, class_="tl-hatch")
    size = {"width": 6, "height": 6, "patternUnits": "userSpaceOnUse"}
    return element("defs", element("pattern", ground, cloth, id=name, **size))


def _merged(runs: Sequence[Span], column: float) -> list[Span]:
    """Runs closer than a column are one; closer than two, four ... where there would still be too many to draw."""
    merged = list(runs)
    while True:
        kept: list[Span] = []
        for run in merged:
            if kept and run.first - kept[-1].end < column:
                kept[-1] = Span(kept[-1].first, max(kept[-1].end, run.end))
            else:
                kept.append(run)
        if len(kept) <= MOST_RUNS:
            return kept
        merged, column = kept, 2 * column


def loudness_scale(curve: Curve, columns: Columns, height: float = LOUDNESS_HEIGHT) -> Scale:
    """Far enough round the target for its band to be seen, and up to the highest value."""
    limits = [limit for limit in (curve.low, curve.target, curve.high, curve.most) if limit is not None]
    middle = next((limit for limit in (curve.target, curve.high, curve.low, columns.top) if limit is not None), -23.0)
    top = max([middle + _OVER, *(limit + 2 for limit in limits), (columns.top or middle) + 1])
    bottom = min([middle - _UNDER, *(limit - 2 for limit in limits), (columns.top or middle) - 6])
    return Scale(bottom, top, height)


def peak_scale(curve: Curve, columns: Columns, height: float = PEAK_HEIGHT) -> Scale:
    """From full scale, or above it where peaks go over it, down to where ceilings are never set."""
    top = max(1.0, (columns.top if columns.top is not None else 0.0) + 1)
    bottom = min((curve.high if curve.high is not None else 0.0) - _UNDER_CEILING, (columns.top or 0.0) - 6)
    return Scale(bottom, top, height)


def loudness_lane(timeline: Timeline, curve: Curve, label: str, lines: Markup) -> Markup:
    """Lowest and highest short-term loudness of each column, on the band and target of the programme."""
    columns = columns_of(curve.values)
    scale = loudness_scale(curve, columns)
    band: list[Markup] = []
    if curve.low is not None or curve.high is not None:
        top = scale.y(curve.high if curve.high is not None else scale.top)
        bottom = scale.y(curve.low if curve.low is not None else scale.bottom)
        band.append(element("rect", class_="tl-band", x="0", width="100%", y=plain(top), height=plain(bottom - top)))
    path = outline(scale.of(columns.high), scale.of(columns.low))
    drawn = [
        *band,
        _grid(curve, scale),
        lines,
        _curve(timeline, curve, columns, scale, path, "tl-curve"),
        _lines(curve, scale),
    ]
    return lane(int(scale.height), *drawn, label=label)


def peak_lane(timeline: Timeline, curve: Curve, label: str, lines: Markup) -> Markup:
    """The highest true peak of each column as a bar; what is over the ceiling stands out of it."""
    columns = columns_of(curve.values)
    scale = peak_scale(curve, columns)
    drawn = [_grid(curve, scale), lines, _curve(timeline, curve, columns, scale, _peaks(columns, scale), "tl-peaks")]
    over = ceiling_for_bars(curve)
    if over is not None:
        bars = bars_over(columns.high, over, scale) + strip_over(columns.high, over)
        if bars:
            drawn.append(_curve(timeline, curve, columns, scale, bars, "tl-over"))
    return lane(int(scale.height), *drawn, _lines(curve, scale), label=label)


def _peaks(columns: Columns, scale: Scale) -> str:
    upper = scale.of(columns.high)
    lower = upper * 0 + scale.height
    return outline(upper, lower)


def ceiling_for_bars(curve: Curve) -> float | None:
    """Above this a meter's reading is over what is accepted."""
    limit = curve.most if curve.most is not None else curve.high
    return None if limit is None else limit + AT_LIMIT


def _curve(timeline: Timeline, curve: Curve, columns: Columns, scale: Scale, path: str, kind: str) -> Markup:
    """The path in a frame of its own, as wide as its values last: steps of a tenth of a second, not frames."""
    if not columns.count:
        return Markup("")
    seconds = timeline.frames / timeline.rate
    width = percent(len(curve.values) / STEPS_PER_SECOND, seconds)
    return framed(path_of(path, kind), "0%", width, columns.count, scale.height)


def path_of(d: str, kind: str) -> Markup:
    return element("path", d=d, class_=kind, vector_effect="non-scaling-stroke")


def framed(paths: Markup, x: str, width: str, columns: int, height: float) -> Markup:
    """Paths in units of columns and pixels, stretched to their place; the last step may go beyond the file's end,
    where it is cut off."""
    inner = element(
        "svg",
        paths,
        x=x,
        y="0",
        width=width,
        height=plain(height),
        viewBox=f"0 0 {columns} {plain(height)}",
        preserveAspectRatio="none",
    )
    return element("svg", inner, width="100%", height=plain(height))


def _lines(curve: Curve, scale: Scale) -> Markup:
    """Target and limits over the curve, each with its value in the margin."""
    loudness = curve.unit != "dBTP"
    wanted = [
        (curve.target, "tl-target"),
        (curve.high, "tl-edge" if loudness else "tl-ceiling"),
        (curve.low, "tl-edge"),
    ]
    wanted.append((curve.most if curve.most != curve.high else None, "tl-ceiling"))
    drawn: list[Markup] = []
    taken: list[float] = []
    for value, kind in wanted:
        if value is None:
            continue
        y = scale.y(value)
        drawn.append(element("line", class_=kind, x1="0", x2="100%", y1=plain(y), y2=plain(y)))
        if all(abs(y - other) >= _LINE for other in taken):
            taken.append(y)
            drawn.append(element("text", number(value), x=-6, y=plain(y + 4), text_anchor="end", class_="tl-value"))
    return together(*drawn)


def _grid(curve: Curve, scale: Scale) -> Markup:
    """A faint line each ten, its value in the margin where no limit stands."""
    limits = [scale.y(limit) for limit in (curve.low, curve.target, curve.high, curve.most) if limit is not None]
    drawn = []
    value = int(scale.top // 10) * 10
    while value >= scale.bottom:
        y = scale.y(value)
        drawn.append(element("line", class_="tl-grid", x1="0", x2="100%", y1=plain(y), y2=plain(y)))
        if all(abs(y - limit) >= _LINE for limit in limits) and 4 <= y <= scale.height - 2:
            drawn.append(element("text", str(value), x=-6, y=plain(y + 4), text_anchor="end", class_="tl-tick"))
        value -= 10
    return together(*drawn)


def edges(timeline: Timeline) -> Markup:
    """Faint lines where parts meet, through a lane."""
    at = sorted({part.span.first for part in timeline.parts if part.span.first})
    places = [percent(frame, timeline.frames) for frame in at]
    return element("g", *(element("line", x1=x, x2=x, y1=0, y2="100%") for x in places), class_="tl-grid")


def axis_lane(timeline: Timeline) -> Markup:
    """Timecodes: the first frame and the last for certain, others where they fit."""
    last = len(timeline.marks) - 1
    anchors = {0: "start", last: "end" if last else "start"}
    wanted = [
        Wanted(frame / timeline.frames if index < last or not last else 1.0, (label,), anchors.get(index, "middle"))
        for index, (frame, label) in enumerate(timeline.marks)
    ]
    drawn = [element("line", class_="tl-axis", x1="0", x2="100%", y1=1, y2=1)]
    for index, mark in enumerate(wanted):
        frame = timeline.marks[index][0]
        x = percent(frame, timeline.frames) if mark.anchor != "end" else "100%"
        drawn.append(element("line", class_="tl-axis", x1=x, x2=x, y1=1, y2=7))
    drawn += [
        _text(words, wanted[index].at, 20, f"tl-time {classes}", wanted[index].anchor)
        for (index, words), classes in in_line(wanted, first=(0, last)).items()
    ]
    ends = f"from {timeline.marks[0][1]} to {timeline.marks[-1][1]}" if timeline.marks else "unknown"
    return lane(AXIS_HEIGHT, *drawn, label=f"Timecodes {ends}")


def _text(words: str, at: float, y: float, kind: str, anchor: str = "middle") -> Markup:
    return element("text", words, x=percent(at, 1), y=y, text_anchor=anchor, class_=kind)
