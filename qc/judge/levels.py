"""Picture levels and gamut: not measured in this version, and said so."""

from __future__ import annotations

from collections.abc import Iterator

from qc.judge.findings import not_measured
from qc.judge.headers import Headers, Judge
from qc.judge.limits import number
from qc.judge.verdict import Finding
from qc.outlets.schema import LevelsRange


def level_range(case: Headers, key: str, requirement: LevelsRange) -> Iterator[Finding]:
    limit = (
        f"{number(requirement.min_percent)} to {number(requirement.max_percent)} %, "
        f"outside on at most {number(requirement.area_percent)} % of the picture"
    )
    yield not_measured(
        key, requirement, "picture levels are not measured in this version", limit, subject="programme", unit="%"
    )


JUDGES: dict[str, Judge] = {"levels.range": level_range}
