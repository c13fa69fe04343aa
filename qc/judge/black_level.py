"""Blacks that are lifted or crushed over much of the programme. Advice only."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from qc.figures.black_level import LASTING, BlackLevel, black_level
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.over_limit import over_limit
from qc.judge.verdict import Finding
from qc.outlets.sections_levels import LevelsBlack
from qc.remedy.exports import look

_LIFTED_FIX = "Compare the blacks with the grade, and set them down if nobody meant them so"
_CRUSHED_FIX = "Compare the blacks with the grade: the export may have cut them, or they are meant so"


def black(case: Case, key: str, requirement: LevelsBlack) -> Iterator[Finding]:
    """Lifted and crushed, each told with its figure; one pass with both if it is neither."""
    picture, why = case.measurement.picture, case.no_programme
    if why or picture is None:
        why = why or "no picture could be decoded"
        yield not_measured(key, requirement, why, requirement.words, subject="programme")
        return
    spans = [act.span for act in case.structure.acts]
    lifted_percent, area = float(requirement.lifted_percent), float(requirement.crushed_percent)
    wanted = -(-Fraction(str(requirement.seconds)) * case.clock.rate // 1)
    found = black_level(picture, spans, lifted_percent, area)
    if found.pictures < wanted:
        why = f"{found.pictures} pictures are too few to tell: at least {requirement.seconds:g} s are needed"
        yield not_measured(key, requirement, why, requirement.words, subject="programme")
        return
    lifted = found.bright_pictures >= max(wanted, LASTING * found.pictures)
    crushed = found.piled > LASTING
    if lifted:
        yield _lifted(case, key, requirement, found)
    if crushed:
        yield _crushed(case, key, requirement, found)
    if not lifted and not crushed:
        yield finding(
            key,
            requirement,
            graded(requirement, True),
            f"the darkest pictures reach {round(found.darkest)} %; "
            f"black piled up in {100 * found.piled:.0f} % of the pictures that are no nights",
            requirement.words,
            subject="programme",
            span="programme",
        )


def _lifted(case: Case, key: str, requirement: LevelsBlack, found: BlackLevel) -> Finding:
    shown = over_limit(found.lowest, float(requirement.lifted_percent), 1)
    length = float(found.bright_pictures / case.clock.rate)
    return finding(
        key,
        requirement,
        graded(requirement, False),
        f"lifted: nothing darker than {shown:.1f} %",
        requirement.words,
        subject="programme",
        span="programme",
        places=tuple(case.places.place(span, note=f"nothing darker than {shown:.1f} %") for span in found.bright),
        reason=f"for {length:.0f} s on end no picture has 0.1 % of its pixels at or under "
        f"{requirement.lifted_percent:g} % of the nominal range",
        fix=look(f"{_LIFTED_FIX}: for {length:.0f} s nothing is darker than {shown:.1f} %.", "programme"),
    )


def _crushed(case: Case, key: str, requirement: LevelsBlack, found: BlackLevel) -> Finding:
    at, most = case.clock.at(found.worst), 100 * found.worst_share
    return finding(
        key,
        requirement,
        graded(requirement, False),
        f"crushed: black piled up in {100 * found.piled:.0f} % of the pictures",
        requirement.words,
        subject="programme",
        span="programme",
        places=tuple(case.places.place(span, note="black piled up") for span in found.piles),
        reason=f"of the pictures that are no nights; up to {most:.1f} % of the picture, at {at}",
        fix=look(f"{_CRUSHED_FIX}: up to {most:.1f} % of the picture stands at reference black, at {at}.", "programme"),
    )


JUDGES: dict[str, Judge] = {"levels.black": black}
