"""Found, missed, false: what was planted against what came out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from qc.demo.episodes import SERIES, TITLES, Expected, Version
from qc.demo.layout import layout
from qc.demo.outlet_forms import FORMS
from qc.demo.render import file_name
from qc.judge.verdict import Finding, Outcome, Verdict

#: Requirements about papers that the demo does not deliver: not measured, and rightly so.
NOT_DELIVERED = ("structure.sheet",)


@dataclass(frozen=True)
class Score:
    """found and missed planted faults; false: findings that nothing was planted for."""

    found: tuple[Expected, ...]
    missed: tuple[Expected, ...]
    false: tuple[Finding, ...]

    @property
    def right(self) -> bool:
        return not self.missed and not self.false


def score(version: Version, verdict: Verdict) -> Score:
    """Every finding that is not a pass needs a planted fault, and the reverse. One fault may answer for several."""
    alarms = [
        finding
        for finding in verdict.findings
        if finding.outcome != Outcome.PASS and finding.requirement not in NOT_DELIVERED
    ]
    found = [expected for expected in version.expected if any(_is(expected, finding) for finding in alarms)]
    return Score(
        found=tuple(found),
        missed=tuple(expected for expected in version.expected if expected not in found),
        false=tuple(finding for finding in alarms if not any(_is(expected, finding) for expected in version.expected)),
    )


def _is(expected: Expected, finding: Finding) -> bool:
    if finding.requirement != expected.requirement or finding.outcome.value != expected.outcome:
        return False
    if expected.subject and finding.subject != expected.subject:
        return False
    if expected.frames and expected.frames not in [(place.span.first, place.span.end) for place in finding.places]:
        return False
    if expected.value is None:
        return True
    measured = finding.measured
    return isinstance(measured, int | float) and abs(measured - expected.value) <= expected.within


def truth_document(versions: Sequence[Version]) -> dict[str, Any]:
    """Everything that was planted, with timecodes, as plain data."""
    return {"series": SERIES, "files": [_version(version) for version in versions]}


def _version(version: Version) -> dict[str, Any]:
    plan = layout(FORMS[version.outlet], version)

    def where(frames: tuple[int, int]) -> dict[str, Any]:
        first, end = frames
        return {"first_frame": first, "frames": end - first, "timecode": plan.clock.at(first)}

    return {
        "file": file_name(version),
        "episode": version.episode,
        "title": TITLES[version.episode],
        "outlet": version.outlet,
        "loudness_lufs": version.lufs,
        "acts": [where((span.first, span.end)) for span, _ in plan.acts],
        "planted": [
            {
                "requirement": expected.requirement,
                "outcome": expected.outcome,
                "subject": expected.subject,
                "place": where(expected.frames) if expected.frames else None,
                "value": expected.value,
            }
            for expected in version.expected
        ],
        "planted_for_later": [{"what": later.what, "place": where(later.frames)} for later in version.later],
        "looks_like_a_fault_and_is_none": list(version.innocent),
    }
