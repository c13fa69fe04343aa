"""Found, missed, false: what was planted against what came out, frame for frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from qc.demo.episodes import SERIES, TITLES
from qc.demo.layout import Layout, layout
from qc.demo.outlet_forms import FORMS
from qc.demo.render import file_name
from qc.demo.version import Expected, Noted, Version, Where
from qc.judge.catalogue import check_of
from qc.judge.verdict import Finding, Outcome, Place, Verdict

#: Requirements about papers that the demo does not deliver: not measured, and rightly so.
NOT_DELIVERED = ("structure.sheet",)

#: A finding about one of these may name no place: it holds for all of it.
_WHOLES = ("programme", "file")


@dataclass(frozen=True)
class FalseAlarm:
    """What nothing was planted for.

    places  of the finding at which nothing was planted; empty if it names none, or if more of them are not told
    """

    finding: Finding
    places: tuple[Place, ...] = ()


@dataclass(frozen=True)
class Score:
    """found and missed planted faults, false alarms, and the names of all checks that had something to say."""

    found: tuple[Expected, ...]
    missed: tuple[Expected, ...]
    false: tuple[FalseAlarm, ...]
    checks: frozenset[str] = frozenset()

    @property
    def right(self) -> bool:
        return not self.missed and not self.false


def score(version: Version, verdict: Verdict) -> Score:
    """Every finding that is not a pass needs a planted fault, at its own frames, and the reverse.

    One planted fault answers for one finding, or for one place of one.
    """
    plan = layout(FORMS[version.outlet], version)
    left = list(version.expected)
    false: list[FalseAlarm] = []
    for finding in verdict.findings:
        if finding.outcome != Outcome.PASS and finding.requirement not in NOT_DELIVERED:
            false += _unplanned(finding, left, plan)
    return Score(
        found=tuple(expected for expected in version.expected if expected not in left),
        missed=tuple(left),
        false=tuple(false),
        checks=frozenset(finding.check for finding in verdict.findings),
    )


def _unplanned(finding: Finding, left: list[Expected], plan: Layout) -> list[FalseAlarm]:
    """Takes what the finding finds from ``left``; returns the alarm that remains, if one does."""
    if not finding.places:
        hit = next((one for one in left if _about(one, finding) and _value(one, finding.measured)), None)
        if hit is None or hit.at not in _WHOLES:
            return [FalseAlarm(finding)]
        left.remove(hit)
        return []
    strays = []
    for place in finding.places:
        measured = finding.measured if place.value is None else place.value
        hit = next(
            (one for one in left if _about(one, finding) and _at(one, place, plan) and _value(one, measured)),
            None,
        )
        if hit is None:
            strays.append(place)
        else:
            left.remove(hit)
    return [FalseAlarm(finding, tuple(strays))] if strays or finding.more_places else []


def _about(expected: Expected, finding: Finding) -> bool:
    return (
        finding.requirement == expected.requirement
        and finding.outcome.value == expected.outcome
        and expected.subject in ("", finding.subject)
    )


def _at(expected: Expected, place: Place, plan: Layout) -> bool:
    """By default the very frames."""
    span, found = plan.span(expected.at), place.span
    if expected.says not in place.note:
        return False
    if expected.anywhere:
        return span.first <= found.first and found.end <= span.end
    return abs(found.first - span.first) <= expected.slack and abs(found.end - span.end) <= expected.slack


def _value(expected: Expected, measured: float | int | str | None) -> bool:
    if expected.value is None or isinstance(expected.value, str) or isinstance(measured, str):
        return expected.value in (None, measured)
    return measured is not None and abs(measured - expected.value) <= expected.within


def truth_document(versions: Sequence[Version]) -> dict[str, Any]:
    """Everything that was planted, with frames and timecodes, as plain data."""
    return {"series": SERIES, "files": [_version(version) for version in versions]}


def _version(version: Version) -> dict[str, Any]:
    plan = layout(FORMS[version.outlet], version)
    return {
        "file": file_name(version),
        "episode": version.episode,
        "title": TITLES[version.episode],
        "outlet": version.outlet,
        "loudness_lufs": version.lufs,
        "acts": [_where(f"act {number}", plan) for number in range(1, len(plan.acts) + 1)],
        "planted": [
            {
                "check": check_of(expected.requirement)[0],
                "requirement": expected.requirement,
                "outcome": expected.outcome,
                "subject": expected.subject,
                "at": _where(expected.at, plan),
                "value": expected.value,
                "within": expected.within,
                "frames_of_slack": expected.slack,
                "shown_anywhere_in_it": expected.anywhere,
            }
            for expected in version.expected
        ],
        "planted_for_later": [_noted(noted, plan) for noted in version.later],
        "looks_like_a_fault_and_is_none": [_noted(noted, plan) for noted in version.innocent],
    }


def _noted(noted: Noted, plan: Layout) -> dict[str, Any]:
    return {"what": noted.what, "at": _where(noted.at, plan)}


def _where(at: Where, plan: Layout) -> dict[str, Any]:
    """Frames from the file's first, and the labels of the first frame and of the one after the last."""
    span = plan.span(at)
    return {
        "first_frame": span.first,
        "frames": span.frames,
        "timecode": plan.clock.at(span.first),
        "until": plan.clock.at(span.end),
    }
