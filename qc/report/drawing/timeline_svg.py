"""The programme drawn to scale: parts, black and silence, loudness and true peak, and the places out of limits.

Every lane is inline SVG as wide as the page: places are percentages of the file's length, so the drawing is to
scale on a desk, on paper and on a phone, while letters and lines keep their size.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from markupsafe import Markup

from qc.judge.limits import number
from qc.judge.timeline import STEPS_PER_SECOND, Curve, Timeline
from qc.report.drawing import lanes
from qc.report.drawing.elements import element
from qc.report.drawing.marks import Mark, flag_numbers, flags_svg, guides, key
from qc.report.visible import sentence, visible
from qc.timing.timecode import elapsed

__all__ = ["Mark", "timeline_svg", "timeline_words"]


def timeline_svg(timeline: Timeline, marks: Sequence[Mark], *, ident: str = "timeline") -> Markup:
    """A figure with a lane for each thing; flags link to ``#<anchor>`` and have the id ``at-<anchor>``.

    ident  id of the figure; every other id that it makes begins with it, flags apart
    """
    words = element("p", timeline_words(timeline, marks), id=f"{ident}-words", class_="tl-words")
    # Lines at the edges of parts and at places go down through all lanes: written once, used again.
    name = f"{ident}-guides"
    lines = element("g", lanes.edges(timeline), guides(timeline, marks), id=name)
    again = element("use", href=f"#{name}")
    rows = [_marks_row(timeline, marks), _parts_row(timeline), _runs_row(timeline, ident, "black", lines)]
    rows += [_runs_row(timeline, ident, "silence", again), _loudness_row(timeline, again), _peak_row(timeline, again)]
    rows.append(_row("Timecode", "" if timeline.marks[:1] else "unknown", lanes.axis_lane(timeline)))
    return element(
        "figure", element("figcaption", words), *rows, key(timeline, marks) if flag_numbers(marks) else "",
        id=ident, class_="tl",
    )  # fmt: skip


def _row(name: str, detail: str, drawing: Markup) -> Markup:
    words = [element("strong", name)] if name else []
    words += [Markup(" "), element("span", detail, class_="tl-detail")] if detail else []
    return element(
        "div", element("p", *words, class_="tl-name"), element("div", drawing, class_="tl-plot"), class_="tl-row"
    )


def _marks_row(timeline: Timeline, marks: Sequence[Mark]) -> Markup:
    count = len(flag_numbers(marks))
    if not count:
        return Markup("")
    drawing, height = flags_svg(timeline, marks)
    label = "Places named by findings"
    return _row("Places", "numbered, linked to the finding", lanes.lane(height, drawing, label=label, role="group"))


def _parts_row(timeline: Timeline) -> Markup:
    if not timeline.parts:
        return _row("Programme", sentence(timeline.no_parts or "its parts are not known"), Markup(""))
    return _row("Programme", "", lanes.parts_lane(timeline))


def _runs_row(timeline: Timeline, ident: str, hatch: str, lines: Markup) -> Markup:
    runs = timeline.black if hatch == "black" else timeline.silence
    if hatch == "silence" and timeline.no_curves and not timeline.levels:
        return _row("Silence", sentence(timeline.no_curves), Markup(""))
    label = f"{_counted(len(runs), 'run')} of {hatch}"
    return _row(hatch.capitalize(), "", lanes.runs_lane(timeline, runs, hatch, ident, label, lines))


def _loudness_row(timeline: Timeline, lines: Markup) -> Markup:
    curve = timeline.short_term
    if curve is None:
        why = "" if timeline.true_peak else sentence(timeline.no_curves or "not measured")
        return _row("Short-term loudness", why or "Not defined for these channels.", Markup(""))
    drawing = lanes.loudness_lane(timeline, curve, _loudness_words(timeline, curve), lines)
    return _row("Short-term loudness", f"{curve.unit}, 3 s, {_mix(timeline)}{_asked(curve)}", drawing)


def _peak_row(timeline: Timeline, lines: Markup) -> Markup:
    curve = timeline.true_peak
    if curve is None:
        return _row("True peak", sentence(timeline.no_curves or "not measured"), Markup(""))
    drawing = lanes.peak_lane(timeline, curve, _peak_words(timeline, curve), lines)
    return _row("True peak", f"dBTP, {_mix(timeline)}{_ceiling(curve)}", drawing)


def _mix(timeline: Timeline) -> str:
    return visible(timeline.group) or "sound"


def _asked(curve: Curve) -> str:
    """The band and what it is for: the programme's integrated loudness, which single 3 s may be far from."""
    said = [number(curve.target)] if curve.target is not None else []
    if curve.low is not None and curve.high is not None:
        said.append(f"{number(curve.low)} to {number(curve.high)} accepted")
    elif curve.low is not None:
        said.append(f"at least {number(curve.low)}")
    elif curve.high is not None:
        said.append(f"at most {number(curve.high)}")
    programme = f"; programme {', '.join(said)}" if said else ""
    return programme + (f"; 3 s at most {number(curve.most)}" if curve.most is not None else "")


def _ceiling(curve: Curve) -> str:
    if curve.high is None:
        return "; no ceiling asked for"
    tolerance = curve.most is not None and curve.most != curve.high
    return f"; ceiling {number(curve.high)}" + (
        f", accepted up to {number(curve.most or 0.0)} by the tolerance of measurement" if tolerance else ""
    )


def timeline_words(timeline: Timeline, marks: Sequence[Mark]) -> str:
    """What the drawing shows, for those who do not see it."""
    first, last = (timeline.marks[0][1], timeline.marks[-1][1]) if timeline.marks else ("", "")
    clock = timeline.clock
    length = elapsed(timeline.frames, clock.rate) if clock else f"{timeline.frames / timeline.rate:.3f} s"
    said = [f"The file to scale, {visible(first)} to {visible(last)}, {length} long"]
    kinds = [part.kind for part in timeline.parts]
    if kinds:
        parts = [_counted(kinds.count(kind), kind) for kind in ("act", "break") if kind in kinds]
        ends = [kind for kind in ("head", "tail") if kind in kinds]
        said[0] += f": {_and([*parts, *ends])}"
    runs = [_counted(len(timeline.black), "run") + " of black"]
    if timeline.short_term or timeline.true_peak or timeline.silence:
        runs.append(_counted(len(timeline.silence), "run") + " of silence")
    said.append(f"{_and(runs)}")
    if timeline.short_term:
        said.append(_loudness_words(timeline, timeline.short_term))
    if timeline.true_peak:
        said.append(_peak_words(timeline, timeline.true_peak))
    numbered = flag_numbers(marks)
    if numbered:
        said.append(f"The places of {_counted(len(numbered), 'finding')} are marked by number")
    return " ".join(sentence(words[0].upper() + words[1:]) for words in said)


def _loudness_words(timeline: Timeline, curve: Curve) -> str:
    top = _highest(timeline, curve, 3.0)
    reached = f"goes up to {number(top)} {curve.unit}{_where(timeline)}" if top is not None else _nothing(curve)
    return f"Short-term loudness of the {_mix(timeline)} {reached}{_asked(curve)}"


def _peak_words(timeline: Timeline, curve: Curve) -> str:
    top = _highest(timeline, curve, 0.0)
    reached = f"goes up to {number(top)} dBTP{_where(timeline)}" if top is not None else _nothing(curve)
    return f"True peak of the {_mix(timeline)} {reached}{_ceiling(curve)}"


def _nothing(curve: Curve) -> str:
    return "is not drawn: digital silence" if np.isneginf(curve.values).any() else "is not drawn: the file is too short"


def _where(timeline: Timeline) -> str:
    return " inside the acts" if any(part.kind == "act" for part in timeline.parts) else ""


def _highest(timeline: Timeline, curve: Curve, window: float) -> float | None:
    """The highest value of windows that lie wholly inside the acts, of all where no act is known."""
    acts = [part.span for part in timeline.parts if part.kind == "act"]
    values = curve.values
    if acts:
        step = STEPS_PER_SECOND / timeline.rate
        inside = [
            values[int(np.ceil(act.first * step + window * STEPS_PER_SECOND)) : int(act.end * step)] for act in acts
        ]
        values = np.concatenate(inside)
        values = values if len(values) else curve.values  # acts shorter than a step
    real = values[np.isfinite(values)]
    return float(real.max()) if len(real) else None


def _counted(count: int, word: str) -> str:
    return f"{count or 'no'} {word}{'' if count == 1 else 's'}"


def _and(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
