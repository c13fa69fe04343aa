"""The container: kind by content, and the ending of the name."""

from __future__ import annotations

from collections.abc import Iterator

from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Headers, Judge
from qc.judge.verdict import Finding, Outcome
from qc.outlets.schema_kinds import Choice, Flag
from qc.remedy.exports import look, one_of, re_wrap, replace


def kind(case: Headers, key: str, requirement: Choice) -> Iterator[Finding]:
    """Wrapper, with operational pattern where the outlet names one."""
    facts, limit = case.facts, one_of(requirement.accept)
    wanted = [value.casefold() for value in requirement.accept]
    measured = f"{facts.wrapper} {facts.operational_pattern}" if facts.operational_pattern else facts.wrapper
    if measured.casefold() in wanted or facts.wrapper.casefold() in wanted:
        foreign = facts.wrapper == "MOV" and facts.brand is not None and facts.brand.strip() != "qt"
        yield (
            _brand(key, requirement, facts.brand or "", limit)
            if foreign
            else finding(key, requirement, Outcome.PASS, measured, limit)
        )
        return
    patterns = [value for value in wanted if value.startswith(facts.wrapper.casefold() + " ")]
    if facts.operational_pattern is None and patterns:
        yield not_measured(
            key, requirement, f"the file is {facts.wrapper}, its operational pattern cannot be read", limit
        )
    elif facts.wrapper == "MP4" and "mov" in wanted and (not case.name or case.name.casefold().endswith(".mov")):
        yield _brand(key, requirement, facts.brand or "MP4", limit)
    else:
        yield finding(
            key, requirement, graded(requirement, False), measured, limit, fix=re_wrap(one_of(requirement.accept))
        )


def _brand(key: str, requirement: Choice, brand: str, limit: str) -> Finding:
    return finding(
        key,
        requirement,
        Outcome.ADVISORY,
        f"MOV with brand {brand.strip()}",
        limit,
        reason=f"the brand is {brand.strip()}, not qt: legal in a .mov file, but some systems refuse it",
        fix=look("Ask the station whether it takes this brand, or re-wrap as MOV with brand qt.", "file"),
    )


def extension(case: Headers, key: str, requirement: Flag) -> Iterator[Finding]:
    """The name ends as the content is."""
    agrees = case.facts.extension_agrees
    yield finding(
        key,
        requirement,
        graded(requirement, agrees),
        "agrees" if agrees else f"the content is {case.facts.wrapper}, the name says otherwise",
        "ending agrees with the content",
        fix=None if agrees else replace(f"Rename the file to end as {case.facts.wrapper} does, or re-wrap it."),
    )


HEADER_JUDGES: dict[str, Judge] = {"wrapper.kind": kind, "wrapper.extension": extension}
