"""Making one finding out of a requirement and what was measured."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from qc.judge.catalogue import check_of
from qc.judge.lengths import Lengths
from qc.judge.limits import Bounds, settled, weigh
from qc.judge.verdict import Finding, Outcome
from qc.outlets.schema_kinds import Requirement
from qc.remedy.fix import Fix


def graded(requirement: Requirement, good: bool) -> Outcome:
    """A must fails; a should is looked at."""
    if good:
        return Outcome.PASS
    return Outcome.FAIL if requirement.level == "must" else Outcome.ADVISORY


def finding(
    key: str,
    requirement: Requirement,
    outcome: Outcome,
    measured: float | int | str | None,
    limit: str,
    *,
    subject: str = "file",
    **more: Any,
) -> Finding:
    """A finding with the clause, source, level, check and title of its requirement."""
    check, title = check_of(key)
    return Finding(
        requirement=key,
        check=check,
        title=title,
        subject=subject,
        outcome=outcome,
        level=requirement.level,
        measured=measured,
        limit=limit,
        clause=requirement.clause,
        source=requirement.source,
        **more,
    )


def not_measured(
    key: str, requirement: Requirement, reason: str, limit: str = "", *, subject: str = "file", **more: Any
) -> Finding:
    """Nothing was measured, and why."""
    return finding(key, requirement, Outcome.NOT_MEASURED, None, limit, subject=subject, reason=reason, **more)


def chosen(
    key: str,
    requirement: Requirement,
    measured: str | int | None,
    accept: list[str] | list[int],
    *,
    unknown: str = "the file does not say",
    unit: str = "",
    fix: Fix | None = None,
    reason: str = "",
    subject: str = "file",
) -> Finding:
    """One of the accepted values, compared as text without regard to case."""
    limit = " or ".join(str(value) for value in accept)
    if measured is None:
        return not_measured(key, requirement, unknown, limit, subject=subject, unit=unit)
    good = str(measured).casefold() in {str(value).casefold() for value in accept}
    return finding(
        key,
        requirement,
        graded(requirement, good),
        measured,
        limit,
        subject=subject,
        unit=unit,
        reason=reason,
        fix=None if good else fix,
    )


def weighed(
    key: str,
    requirement: Requirement,
    value: float,
    bounds: Bounds,
    *,
    unit: str,
    meter: bool = False,
    fix: Fix | Callable[[], Fix] | None = None,
    **more: Any,
) -> Finding:
    """A number against bounds; the fix is used, and made, only outside them. A count has no margin."""
    result = weigh(value, bounds, meter=meter)
    return finding(
        key,
        requirement,
        graded(requirement, result.inside),
        value if isinstance(value, int) else settled(value),
        bounds.words,
        unit=unit,
        tolerance=bounds.tolerance,
        margin=None if isinstance(value, int) and unit != "frames" else result.margin,
        at_limit=result.at_limit,
        fix=None if result.inside else fix() if callable(fix) else fix,
        **more,
    )


def silent(
    key: str,
    requirement: Requirement,
    bounds: Bounds,
    unit: str,
    *,
    accepted: bool,
    subject: str,
    span: str,
    reason: str,
    fix: Fix | None = None,
) -> Finding:
    """Sound that is there and silent: no number, so ``accepted`` says whether the limit takes it."""
    return finding(
        key,
        requirement,
        graded(requirement, accepted),
        "silent",
        bounds.words,
        subject=subject,
        unit=unit,
        tolerance=bounds.tolerance,
        span=span,
        reason=reason,
        fix=fix,
    )


def timed(
    key: str, requirement: Requirement, frames: int, wanted: Lengths, *, fix: Fix | None = None, **more: Any
) -> Finding:
    """A length in frames against accepted lengths."""
    good = wanted.accepts(frames)
    return finding(
        key,
        requirement,
        graded(requirement, good),
        frames,
        wanted.words,
        unit="frames",
        tolerance=wanted.tolerance,
        margin=float(wanted.margin(frames)),
        fix=None if good else fix,
        **more,
    )
