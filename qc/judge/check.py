"""One check as it is explained to a reader."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Check:
    """One check.

    requirements  profile id -> title of its findings
    limits        what a profile can set
    standards     document and edition, one each; empty if it is common practice
    false_alarms  what makes a careless measurement cry wolf, and what is done about it
    cautions      what this check does not say
    evidence      what stands beside a finding that has places: "still" (a frame of the picture), "curve" (a stretch
                  of loudness or peak) or "" (neither would show anything)
    """

    name: str
    title: str
    measures: str
    how: str
    span: str
    requirements: dict[str, str]
    limits: str
    standards: tuple[str, ...] = ()
    false_alarms: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    evidence: str = ""
