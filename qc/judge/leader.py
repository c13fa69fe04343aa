"""The head: what stands before the programme, element by element, and whether bars are the bars that are asked for."""

from __future__ import annotations

from collections.abc import Iterator

from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.lengths import Lengths, frames_text, lengths
from qc.judge.verdict import Finding
from qc.outlets.schema_kinds import Choice
from qc.outlets.sections_leader import LeaderElement, LeaderLayout
from qc.programme.leader import Element, Kind, Leader, read_leader
from qc.programme.leader_order import Fit, Placed, place_elements
from qc.remedy.exports import look, one_of, replace
from qc.remedy.fix import Fix
from qc.timing.spans import Span

NO_CARDS = "this record holds no small pictures of the file: measure it again with --fresh"
NOTHING = "the programme begins with the first frame of the file"
_MATRIX = {"SMPTE 170M": "BT.601", "BT.470 BG": "BT.601", "BT.2020": "BT.2020", "BT.2020 constant luminance": "BT.2020"}
#: Pictures of fewer lines are coded by BT.601 where the file does not say.
_HD_LINES = 700
#: Elements of so few frames between two others are a cut that took its time.
_A_CUT = 2


def head_of(case: Case) -> Leader | None:
    """What stands before the programme; None if the record does not hold it."""
    return stretch_of(case, case.structure.head)


def stretch_of(case: Case, span: Span) -> Leader | None:
    """What a stretch outside the programme holds, shared by the outlets of a run that ask alike."""
    picture, black = case.measurement.picture, case.profile.black
    if picture is None:
        return None
    channels = tuple(case.programme_channels)
    key = ("leader", span, channels, black.pixel_percent, black.picture_percent)
    return case.figures.once(
        key,
        lambda: read_leader(
            picture,
            case.sound,
            channels,
            span,
            case.clock.rate,
            pixel_percent=black.pixel_percent,
            picture_percent=black.picture_percent,
            matrix=matrix_of(case),
        ),
    )


def matrix_of(case: Case) -> str:
    """The matrix that the file is tagged with, else that of its raster."""
    picture = case.picture
    tagged = picture.colour_matrix if picture else None
    if tagged is None:
        return "BT.709" if picture is None or picture.height >= _HD_LINES else "BT.601"
    return _MATRIX.get(tagged, "BT.709")


def why_no_head(case: Case, head: Leader | None) -> str:
    """Why nothing can be said of the head; "" if it can."""
    if case.no_programme:
        return case.no_programme
    return NO_CARDS if head is None else ""


def layout(case: Case, key: str, requirement: LeaderLayout) -> Iterator[Finding]:
    """Each element of the outlet's list: there, in its place, of its length."""
    head = None if case.no_programme else head_of(case)
    reason = why_no_head(case, head)
    if reason or head is None:
        yield not_measured(key, requirement, reason, requirement.words, subject="head")
        return
    if not head.elements:
        fix = replace(f"Put the head before the programme: {requirement.words}.", "head")
        yield finding(
            key, requirement, graded(requirement, False), "nothing", requirement.words, subject="head", reason=NOTHING,
            span="head", fix=fix,
        )  # fmt: skip
        return
    shown = [element for element in head.elements if element.span.frames > _A_CUT] or list(head.elements)
    for placed in place_elements([element.shows for element in requirement.element], shown):
        yield _element(case, key, requirement, placed, head)


def _element(case: Case, key: str, requirement: LeaderLayout, placed: Placed, head: Leader) -> Finding:
    asked = requirement.element[placed.number]
    subject, limit = _subject(requirement, placed.number), str(asked)
    if placed.found is None:
        stray = _strays(case, (*placed.before, *placed.after))
        reason = f"in its place: {stray}" if stray else "nothing stands in its place"
        fix = replace(f"Put in {limit}{_after(requirement, placed.number)}.", "head")
        return finding(
            key, requirement, graded(requirement, False), "missing", limit, subject=subject, reason=reason,
            span="head", fix=fix,
        )  # fmt: skip
    found = placed.found
    places = (case.places.place(found.span, note=_described(found)),)
    if placed.fit is Fit.UNKNOWN:
        damage = f"; {frames_text(head.damaged)} of the head are damaged" if head.damaged else ""
        reason = f"{_described(found)} stands here, which is not recognised as {asked.shows}{damage}"
        return not_measured(key, requirement, reason, limit, subject=subject, span=subject, places=places)
    wanted = lengths(asked.length, case.clock.rate) if asked.length else None
    wrong = list(_wrong(case, placed, wanted))
    return finding(
        key,
        requirement,
        graded(requirement, not wrong),
        found.span.frames if placed.fit is Fit.AS_ASKED else found.name,
        f"{asked.shows}, {wanted.words}" if wanted else asked.shows,
        subject=subject,
        unit="frames" if placed.fit is Fit.AS_ASKED else "",
        tolerance=wanted.tolerance if wanted else "",
        margin=float(wanted.margin(found.span.frames)) if wanted and placed.fit is Fit.AS_ASKED else None,
        span=subject,
        places=places,
        reason="; ".join(wrong) or _to_compare(case, asked, found),
        fix=_fix(requirement, placed, wanted) if wrong else None,
    )


def _subject(requirement: LeaderLayout, number: int) -> str:
    """ "slate"; "black 2" where there are more of one name."""
    names = [element.shows for element in requirement.element]
    if names.count(names[number]) == 1:
        return names[number]
    return f"{names[number]} {names[: number + 1].count(names[number])}"


def _wrong(case: Case, placed: Placed, wanted: Lengths | None) -> Iterator[str]:
    """Everything amiss with an element that is there, in words."""
    found = placed.found
    assert found is not None
    if placed.fit is Fit.NO_TONE:
        yield "no line-up tone sounds for most of it"
    elif placed.fit is Fit.OTHER:
        yield f"{found.name} stands here instead"
    if wanted is not None and not wanted.accepts(found.span.frames):
        over = wanted.amiss(found.span.frames)
        yield f"{frames_text(abs(over))} too {'long' if over > 0 else 'short'}"
    if placed.before:
        yield f"before it stands {_strays(case, placed.before)}"
    if placed.after:
        yield f"after it stands {_strays(case, placed.after)}"


def _strays(case: Case, elements: tuple[Element, ...]) -> str:
    shown = [f"{_described(element)} ({frames_text(element.span.frames)})" for element in elements[:3]]
    more = len(elements) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")


def _described(element: Element) -> str:
    if element.kind is Kind.BARS and element.bars is not None:
        return f"{element.name}, {element.bars.words}"
    return element.name if element.kind is not Kind.STILL else f"{element.name} picture"


def _to_compare(case: Case, asked: LeaderElement, found: Element) -> str:
    """A slate is shown, not read: what should be on it stands beside it."""
    if asked.shows != "slate":
        return _described(found) if found.kind is Kind.BARS else ""
    acts = case.structure.acts
    total = sum(act.span.frames for act in acts)
    words = f"SOM {case.clock.at(acts[0].span.first)}, {case.clock.counting.duration(total)} long"
    if len(acts) > 1:
        words += f", {len(acts)} acts"
    return f"what it says is not read: compare it with the file {case.name}, {words}"


def _after(requirement: LeaderLayout, number: int) -> str:
    return f" after the {requirement.element[number - 1].shows}" if number else " as the first of the head"


def _fix(requirement: LeaderLayout, placed: Placed, wanted: Lengths | None) -> Fix:
    asked, found = requirement.element[placed.number], placed.found
    assert found is not None
    subject = _subject(requirement, placed.number)
    if placed.fit is Fit.NO_TONE:
        return replace("Put line-up tone under the bars, from their first frame to their last.", subject)
    if placed.fit is Fit.OTHER:
        return replace(f"Put {asked} where {found.name} stands.", subject)
    over = wanted.amiss(found.span.frames) if wanted is not None else 0
    if over:
        action, becomes = ("shorten", found.span.frames - over) if over > 0 else ("lengthen", found.span.frames - over)
        sentence = f"{action.capitalize()} the {subject} by {frames_text(abs(over))}, to {becomes}."
        return Fix(action, float(-over), "frames", subject, sentence)
    extra = (*placed.before, *placed.after)
    return replace(f"Take {', '.join(element.name for element in extra[:3])} out of the head.", "head")


def bars(case: Case, key: str, requirement: Choice) -> Iterator[Finding]:
    """The pattern of the bars, by its published levels, in the matrix that the file is tagged with."""
    limit = one_of(requirement.accept)
    head = None if case.no_programme else head_of(case)
    reason = why_no_head(case, head)
    if reason or head is None:
        yield not_measured(key, requirement, reason, limit, subject="bars", span="head")
        return
    shown = [element for element in head.elements if element.bars is not None]
    for element in shown:
        yield _bars(case, key, requirement, element, limit)
    if not shown:
        yield _no_bars(key, requirement, head, limit)


def _no_bars(key: str, requirement: Choice, head: Leader, limit: str) -> Finding:
    """Black, a slate or a clock are no bars; what is not recognised may be bars of another pattern."""
    if any(element.kind in (Kind.MOVING, Kind.SLATE, Kind.STILL) for element in head.elements):
        reason = "no colour bars of a known pattern are recognised in the head"
        return not_measured(key, requirement, reason, limit, subject="bars", span="head")
    names = ", ".join(element.name for element in head.elements[:5])
    return finding(
        key,
        requirement,
        graded(requirement, False),
        "none",
        limit,
        subject="bars",
        span="head",
        reason=f"the head shows {names}" if names else NOTHING,
        fix=replace(f"Put {limit} bars into the head.", "head"),
    )


def _bars(case: Case, key: str, requirement: Choice, element: Element, limit: str) -> Finding:
    shown, tagged = element.bars, matrix_of(case)
    assert shown is not None
    fix, wrong = None, []
    if shown.name not in requirement.accept:
        wrong.append("another pattern than is asked for")
        fix = replace(f"Put {limit} bars into the head.", "bars")
    if not shown.exact:
        wrong.append("the shape is there, the levels are not: what moved them may have moved the picture too")
    elif shown.matrix != tagged:
        wrong.append(f"the codes are those of {shown.matrix}, the picture is {tagged}: colours come out wrong")
    if not shown.exact or shown.matrix != tagged:
        fix = look("Find where levels or matrix were changed, and whether the programme was changed with them.", "bars")
    return finding(
        key,
        requirement,
        graded(requirement, not wrong),
        shown.words,
        limit,
        subject="bars",
        span="bars",
        places=(case.places.place(element.span, note=shown.words),),
        reason="; ".join(wrong),
        fix=fix,
    )


JUDGES: dict[str, Judge] = {"leader.layout": layout, "leader.bars": bars}
