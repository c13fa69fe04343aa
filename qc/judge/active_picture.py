"""Active picture: blank edges, letterbox and pillarbox, conform errors by name, active format description."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from qc.figures.active_picture import (
    MOSTLY,
    THROUGHOUT,
    ActivePicture,
    BlankEdge,
    Box,
    Unseen,
    active_picture,
    afd_codes,
    aspect,
    is_two_k,
    measured,
)
from qc.judge.case import Case
from qc.judge.findings import chosen, finding, graded, not_measured
from qc.judge.frames_of_case import in_acts
from qc.judge.headers import Judge
from qc.judge.places import at
from qc.judge.verdict import Finding, Outcome, Place
from qc.outlets.schema_kinds import Choice, Requirement
from qc.outlets.sections_geometry import BlankEdges
from qc.programme.place import Area
from qc.remedy import active_picture as cure
from qc.remedy.exports import one_of
from qc.remedy.fix import Fix
from qc.timing.spans import Span

_NO_SERIES = "this record holds no measurement of the active picture; measure the file again"
_NO_PICTURE = "no frame that was looked at holds a picture"
_CHANGES = "the raster changes in mid-stream"
_DARK = "the picture is too dark beside its edges to tell"
_NO_AFD = "no picture carries one where the decoder shows it; it may travel in ancillary data, which is not read"

#: Shapes that have a name, width over height. Common practice; 1.896 is 2048x1080 by arithmetic.
_NAMED = (0.5625, 1.0, 4 / 3, 1.375, 14 / 9, 1.66, 16 / 9, 1.85, 1.896, 2.0, 2.2, 2.35, 2.39, 2.76)
_AS_NAMED = {0.5625: "9:16", 4 / 3: "4:3", 14 / 9: "14:9", 16 / 9: "16:9"}


def blank_edges(case: Case, key: str, requirement: BlankEdges) -> Iterator[Finding]:
    """Edges that are there throughout are judged; those of a part are for a person to look at. Without an answer for
    every side there is only a no."""
    subject = "edges"
    found, why = _looked_at(case)
    if found is None:
        yield not_measured(key, requirement, why, requirement.words, subject=subject, unit="lines")
        return
    wrong = [edge for edge in found.edges if edge.lines > _tolerated(edge.side, requirement)]
    throughout = [edge for edge in wrong if edge.share >= THROUGHOUT]
    unseen = [side for side in found.unseen if side.lines > _tolerated(side.side, requirement)]
    reasons = [_edge_words(edge) for edge in wrong]
    if unseen and not throughout:
        yield _unknown(case, key, requirement, requirement.words, subject, found, unseen, reasons, unit="lines")
        return
    reasons += [_unseen_words([side]) for side in unseen]
    good = not wrong
    yield finding(
        key,
        requirement,
        graded(requirement, good) if throughout or good else Outcome.ADVISORY,
        max((edge.lines for edge in (wrong or found.edges)), default=0),
        requirement.words,
        subject=subject,
        unit="lines",
        span=_span(case),
        places=tuple(_edge_place(case, edge, found.raster) for edge in wrong),
        reason="; ".join(dict.fromkeys(reasons)),
        fix=None if good else cure.blank_edge(_worst(wrong).side, _worst(wrong).lines),
    )


def shape(case: Case, key: str, requirement: Choice) -> Iterator[Finding]:
    """What the programme as a whole fills of its raster. A bar at one side alone is a blank edge: where the outlet asks
    for those it is told there, and once."""
    limit, subject = one_of(requirement.accept), "programme"
    found, why = _looked_at(case)
    if found is None or len(found.blind) == 4:
        yield not_measured(key, requirement, why or _DARK, limit, subject=subject)
        return
    boxes = [box for box in found.boxes if box.share >= MOSTLY]
    kinds = list(dict.fromkeys(box.kind for box in boxes))
    good = all(kind in requirement.accept for kind in kinds or ["full raster"])
    if good and (unseen := found.bars_unseen):
        yield _unknown(case, key, requirement, limit, subject, found, unseen)
        return
    alone = [] if boxes else [edge for edge in found.edges if found.is_bar(edge)]
    elsewhere = "active_picture.blank_edges" in case.asked
    good = good and (elsewhere or not alone)
    two_k = next((box for box in boxes if is_two_k(found.raster, box)), None)
    window = _window(boxes)
    measured = (
        _window_name(case, window, found) if window else " and ".join(_box_name(case, box, found) for box in boxes)
    )
    if alone:
        measured = " and ".join(f"{_lines(edge.side, edge.lines, 'blank ')} at the {edge.side}" for edge in alone)
        measured = f"full raster but for {measured}"
    places = (_window_place(case, window, found),) if window else tuple(_box_place(case, box, found) for box in boxes)
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        measured or "full raster",
        limit,
        subject=subject,
        span=_span(case),
        places=() if good else places or tuple(_edge_place(case, edge, found.raster) for edge in alone),
        reason=_two_k_words(two_k, found) if two_k else "blank edges are judged apart" if alone and elsewhere else "",
        fix=None if good else _shape_fix(limit, kinds, alone, found, two_k),
    )


def _shape_fix(
    limit: str, kinds: Sequence[str], alone: Sequence[BlankEdge], found: ActivePicture, two_k: Box | None
) -> Fix:
    if two_k:
        return cure.two_k(found.raster)
    return cure.blank_edge(_worst(alone).side, _worst(alone).lines) if alone else cure.other_shape(limit, kinds)


def inserts(case: Case, key: str, requirement: Choice) -> Iterator[Finding]:
    """Parts of another shape than the programme: archive, trailers, what was conformed wrongly."""
    limit, subject = one_of(requirement.accept), "inserts"
    found, why = _looked_at(case)
    if found is None or len(found.blind) == 4:
        yield not_measured(key, requirement, why or _DARK, limit, subject=subject)
        return
    parts = [box for box in found.boxes if box.share < MOSTLY]
    wrong = [box for box in parts if box.kind not in requirement.accept]
    if not wrong and (unseen := found.bars_unseen):
        yield _unknown(case, key, requirement, limit, subject, found, unseen)
        return
    two_k = [box for box in wrong if is_two_k(found.raster, box)]
    yield finding(
        key,
        requirement,
        graded(requirement, not wrong),
        one_of(list(dict.fromkeys(box.kind for box in parts))) if parts else "none",
        limit,
        subject=subject,
        span=_span(case),
        places=tuple(_box_place(case, box, found) for box in wrong),
        reason=_two_k_words(two_k[0], found) if two_k else "",
        fix=cure.insert([box.kind for box in wrong]) if wrong else None,
    )


def afd(case: Case, key: str, requirement: Choice) -> Iterator[Finding]:
    """One code, the same throughout, and an accepted one; codes of SMPTE ST 2016-1."""
    limit, subject = one_of(requirement.accept), "programme"
    if case.no_frames or "active.afd" not in _series(case):
        yield not_measured(key, requirement, case.no_frames or _NO_SERIES, limit, subject=subject)
        return
    runs = afd_codes(_series(case), case.shown)
    codes = list(dict.fromkeys(f"{code:04b}" for code, _ in runs))
    if len(codes) < 2:
        yield chosen(
            key,
            requirement,
            codes[0] if codes else None,
            requirement.accept,
            unknown=_NO_AFD,
            subject=subject,
            fix=cure.afd(requirement.accept),
        )
        return
    wrong = [(code, span) for code, span in runs if f"{code:04b}" not in requirement.accept] or runs[1:]
    yield finding(
        key,
        requirement,
        graded(requirement, False),
        ", ".join(codes),
        limit,
        subject=subject,
        span=_span(case),
        places=tuple(case.places.place(span, note=f"active format {code:04b}") for code, span in wrong),
        reason="the code changes within the programme",
        fix=cure.afd(requirement.accept),
    )


def _series(case: Case) -> Mapping[str, np.ndarray]:
    return case.measurement.picture.extra if case.measurement.picture is not None else {}


def _looked_at(case: Case) -> tuple[ActivePicture | None, str]:
    """What is shown, or why it is not known."""
    series = _series(case)
    why = case.no_frames or ("" if "active.frame" in series else _NO_SERIES)
    if why:
        return None, why
    if not measured(series):
        return None, _NO_PICTURE
    key = ("active picture", case.shown)
    found = case.figures.once(key, lambda: active_picture(series, case.shown))
    if not found.looks:
        return None, _NO_PICTURE
    return (None, _CHANGES) if found.changed else (found, "")


def _span(case: Case) -> str:
    return "programme" if case.structure.acts else "file"


def _tolerated(side: str, requirement: BlankEdges) -> int:
    return requirement.columns if side in ("left", "right") else requirement.rows


def _unknown(
    case: Case,
    key: str,
    requirement: Requirement,
    limit: str,
    subject: str,
    found: ActivePicture,
    unseen: Sequence[Unseen],
    also: Sequence[str] = (),
    unit: str = "",
) -> Finding:
    """Not measured, with the strips that a person has to look at."""
    if len(unseen) == 4:
        return not_measured(key, requirement, _DARK, limit, subject=subject, unit=unit, span=_span(case))
    places = tuple(
        case.places.place(
            Span(side.best, side.best + 1),
            value=float(side.lines),
            note=f"{_lines(side.side, side.lines)} at the {side.side} without a picture",
            area=_strip(side.side, side.lines, found.raster),
        )
        for side in unseen
    )
    return not_measured(
        key,
        requirement,
        "; ".join([_unseen_words(unseen), *also]),
        limit,
        subject=subject,
        unit=unit,
        span=_span(case),
        places=places,
        fix=cure.unseen([side.side for side in unseen], at(places[0])),
    )


def _unseen_words(unseen: Sequence[Unseen]) -> str:
    lines = " and ".join(f"the outer {_lines(side.side, side.lines)} at the {side.side}" for side in unseen)
    verb = "holds" if len(unseen) == 1 and unseen[0].lines == 1 else "hold"
    return f"{lines} {verb} no picture in any frame, and beside them it is too dark, or too uneven, to tell why"


def _worst(edges: Sequence[BlankEdge]) -> BlankEdge:
    return max(edges, key=lambda edge: (edge.share, edge.lines))


def _edge_words(edge: BlankEdge) -> str:
    how = "throughout" if edge.share >= THROUGHOUT else f"in {max(0.1, 100 * edge.share):.1f} % of the pictures"
    return f"{_lines(edge.side, edge.lines, 'blank ')} at the {edge.side} {how}"


def _lines(side: str, count: int, such: str = "") -> str:
    """ "3 blank rows", "1 column"."""
    return f"{count} {such}{'column' if side in ('left', 'right') else 'row'}{'' if count == 1 else 's'}"


def _edge_place(case: Case, edge: BlankEdge, raster: tuple[int, int]) -> Place:
    """The stretch; of an edge that is there throughout the frame that shows it best."""
    span = Span(edge.best, edge.best + 1) if edge.share >= THROUGHOUT else edge.span
    return case.places.place(
        span, value=float(edge.lines), note=_edge_words(edge), area=_strip(edge.side, edge.lines, raster)
    )


def _strip(side: str, lines: int, raster: tuple[int, int]) -> Area:
    across, down = lines / raster[0], lines / raster[1]
    return {
        "left": Area(0.0, 0.0, across, 1.0),
        "right": Area(1.0 - across, 0.0, across, 1.0),
        "top": Area(0.0, 0.0, 1.0, down),
        "bottom": Area(0.0, 1.0 - down, 1.0, down),
    }[side]


def _box_name(case: Case, box: Box, found: ActivePicture) -> str:
    first, second = box.lines
    lines = (0, first, 0, second) if box.kind == "letterbox" else (first, 0, second, 0)
    return f"{box.kind} {_aspect_name(case, found, lines)}"


def _aspect_name(case: Case, found: ActivePicture, lines: Sequence[int]) -> str:
    """Shape of what ``lines`` (left, top, right, bottom) leave, by its name if it has one."""
    pixel = case.picture.sample_aspect if case.picture is not None else None
    ratio = aspect(found.raster, lines) * float(pixel or 1)
    named = min(_NAMED, key=lambda value: abs(value / ratio - 1))
    close = abs(named / ratio - 1) <= 0.01
    return _AS_NAMED.get(named, f"{named:.2f}:1") if close else f"{ratio:.2f}:1"


def _window(boxes: Sequence[Box]) -> tuple[Box, Box] | None:
    """Letterbox and pillarbox at the same time: one window with bars all round."""
    if [box.kind for box in sorted(boxes, key=lambda box: box.kind)] != ["letterbox", "pillarbox"]:
        return None
    first, second = sorted(boxes, key=lambda box: box.kind)
    together = first.span.overlap(second.span) >= THROUGHOUT * max(first.span.frames, second.span.frames)
    return (first, second) if together else None


def _window_name(case: Case, window: tuple[Box, Box], found: ActivePicture) -> str:
    (top, bottom), (left, right) = (box.lines for box in window)
    width, height = found.raster[0] - left - right, found.raster[1] - top - bottom
    name = _aspect_name(case, found, (left, top, right, bottom))
    return f"letterbox and pillarbox at once: {width}x{height}, {name}"


def _window_place(case: Case, window: tuple[Box, Box], found: ActivePicture) -> Place:
    """The window is outlined."""
    (top, bottom), (left, right) = (box.lines for box in window)
    width, height = found.raster
    area = Area(left / width, top / height, (width - left - right) / width, (height - top - bottom) / height)
    longest = max(window, key=lambda box: box.share)
    span = Span(longest.best, longest.best + 1) if longest.share >= THROUGHOUT else longest.span
    note = (
        f"{width - left - right}x{height - top - bottom} of {width}x{height}, {top} and {bottom} rows, "
        f"{left} and {right} columns blank"
    )
    return case.places.place(span, note=note, area=area)


def _box_place(case: Case, box: Box, found: ActivePicture) -> Place:
    """What is left of the picture is outlined."""
    width, height = found.raster
    first, second = box.lines
    if box.kind == "letterbox":
        area = Area(0.0, first / height, 1.0, (height - first - second) / height)
    else:
        area = Area(first / width, 0.0, (width - first - second) / width, 1.0)
    # Looked at every few frames: a span may reach over the end of its act
    span = Span(box.best, box.best + 1) if box.share >= THROUGHOUT else in_acts(case, box.span) or box.span
    lines = "rows" if box.kind == "letterbox" else "columns"
    note = f"{_box_name(case, box, found)}, {first} and {second} {lines} blank"
    return case.places.place(span, value=float(first + second), note=note, area=area)


def _two_k_words(box: Box, found: ActivePicture) -> str:
    width, height = found.raster
    return (
        f"the active height is that of 2048x1080 scaled to a width of {width}: {height * 15 / 16:g} of {height} lines, "
        f"{sum(box.lines)} blank"
    )


JUDGES: dict[str, Judge] = {
    "active_picture.blank_edges": blank_edges,
    "active_picture.shape": shape,
    "active_picture.inserts": inserts,
    "active_picture.afd": afd,
}
