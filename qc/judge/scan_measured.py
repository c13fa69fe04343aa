"""The field order of the picture itself, whatever its flags say."""

from __future__ import annotations

from collections.abc import Iterator

from qc.figures.field_order import (
    BOTTOM_FIRST,
    MIXED,
    PROGRESSIVE_CONTENT,
    TOO_STILL,
    TOP_FIRST,
    FieldOrder,
    field_order,
    measured,
)
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.places import at
from qc.judge.verdict import Finding, Outcome, Place
from qc.meters.picture.geometry_series import FIELDS_EVERY
from qc.outlets.sections_geometry import MeasuredOrder
from qc.remedy import field_order as cure
from qc.remedy.exports import one_of
from qc.remedy.fix import Fix
from qc.timing.spans import Span

_NO_SERIES = "this record holds no measurement of field order; measure the file again"
_NO_PAIRS = "no two pictures that follow each other could be compared"


def order(case: Case, key: str, requirement: MeasuredOrder) -> Iterator[Finding]:
    """Motion against what the outlet accepts. Too little motion is an answer, and no reason to refuse; but a person
    looks where the flags say interlaced, for then the order matters and nothing has vouched for it."""
    limit, subject = one_of(requirement.accept), "picture"
    series = case.measurement.picture.extra if case.measurement.picture is not None else {}
    why = case.no_frames or ("" if "fields.frame" in series else _NO_SERIES)
    if not why and not measured(series):
        why = _NO_PAIRS
    if why:
        yield not_measured(key, requirement, why, limit, subject=subject)
        return
    found = field_order(series, case.shown, requirement.least_votes)
    wrong = _wrong_runs(found, requirement.accept)
    whole = found.answer not in (*requirement.accept, TOO_STILL, MIXED)
    flag = _contradicted_flag(case, found)
    good = not wrong and not whole and not flag
    outcome = graded(requirement, good)
    if found.answer == TOO_STILL and not good:
        outcome = Outcome.ADVISORY  # a few pairs are a reason to look, no ground for an answer
    if flagged := good and found.answer == TOO_STILL and _order_matters(case, requirement.accept):
        yield _still_and_interlaced(case, key, requirement, found, limit, subject, flagged)
        return
    alone = whole and not (found.top_runs and found.bottom_runs)
    yield finding(
        key,
        requirement,
        outcome,
        found.answer,
        limit,
        subject=subject,
        span="programme" if case.structure.acts else "file",
        places=() if alone else tuple(_place(case, span, answer) for span, answer in wrong),
        reason="; ".join(part for part in (flag, _grounds(found)) if part),
        fix=None if good else _fix(case, requirement, found, wrong),
    )


def _order_matters(case: Case, accept: list[str]) -> str:
    """What the file is flagged as, if that is interlaced and not every order is taken; "" if not."""
    if case.picture is None or set(cure.ORDERS) <= set(accept):
        return ""
    flags = (case.picture.scan_by_container, case.picture.scan_by_stream)
    return next((flag for flag in flags if flag and flag.startswith("interlaced")), "")


def _still_and_interlaced(
    case: Case, key: str, requirement: MeasuredOrder, found: FieldOrder, limit: str, subject: str, flagged: str
) -> Finding:
    """Nobody has seen the order: where most moves a person may."""
    places = () if found.liveliest is None else (_liveliest(case, found.liveliest),)
    return finding(
        key,
        requirement,
        Outcome.ADVISORY,
        found.answer,
        limit,
        subject=subject,
        span="programme" if case.structure.acts else "file",
        places=places,
        reason=f"the file is flagged {flagged}; {_grounds(found)}",
        fix=cure.nothing_to_say(at(places[0]) if places else "", flagged),
    )


def _liveliest(case: Case, frame: int) -> Place:
    return case.places.place(Span(frame, frame + 2), note="more moves here than elsewhere, and too little to tell")


def _wrong_runs(found: FieldOrder, accept: list[str]) -> list[tuple[Span, str]]:
    """Stretches with an order that is not accepted, in the order of the file."""
    runs = [(span, TOP_FIRST) for span in found.top_runs] + [(span, BOTTOM_FIRST) for span in found.bottom_runs]
    return sorted((span, answer) for span, answer in runs if answer not in accept)


def _contradicted_flag(case: Case, found: FieldOrder) -> str:
    """How flag and picture differ where the outlet asks for no flag, so that nothing else would tell; "" if not."""
    if "picture.scan" in case.asked or case.picture is None:
        return ""
    flagged = case.picture.scan_by_container or case.picture.scan_by_stream
    if flagged is None or found.answer not in (TOP_FIRST, BOTTOM_FIRST) or cure.wanted_order(flagged) == found.answer:
        return ""
    return f"the file is flagged {flagged}"


def _grounds(found: FieldOrder) -> str:
    if found.answer == TOO_STILL:
        return (
            f"too little moves to tell ({found.votes} of {found.pairs} compared pairs): an order that is wrong could "
            "not be seen here either"
        )
    count = {TOP_FIRST: found.top, BOTTOM_FIRST: found.bottom, PROGRESSIVE_CONTENT: found.progressive}
    said = [f"{votes} {answer}" for answer, votes in count.items() if votes]
    return f"{found.votes} pairs of frames with clear motion: {', '.join(said)}"


def _place(case: Case, span: Span, answer: str) -> Place:
    return case.places.place(span, note=f"{answer}, each end to within {FIELDS_EVERY} frames")


def _fix(case: Case, requirement: MeasuredOrder, found: FieldOrder, wrong: list[tuple[Span, str]]) -> Fix:
    wanted = found.answer if found.answer in requirement.accept else requirement.accept[0]
    if not wrong and found.answer in requirement.accept:
        return cure.flags_follow(found.answer, f"interlaced, {found.answer}")
    if not wrong or (found.answer not in (*requirement.accept, MIXED, TOO_STILL)):
        return cure.other_order(found.answer, wanted)
    span, answer = wrong[0]
    place = _place(case, span, answer)
    where = at(place)
    return cure.too_little_to_say(where) if found.answer == TOO_STILL else cure.reversed_shots(where, answer, wanted)


JUDGES: dict[str, Judge] = {"field_order.measured": order}
