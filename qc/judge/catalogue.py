"""Every check in the words that ``qc explain`` prints: what, how, over which span, by which standard.

A value that a standard does not give is common practice; it differs by outlet and stands in a profile,
never here. Editions are named where a standard is; the outlet's own specification comes first.
"""

from __future__ import annotations

from qc.judge import (
    catalogue_of_flashing,
    catalogue_of_geometry,
    catalogue_of_headers,
    catalogue_of_leader,
    catalogue_of_levels,
    catalogue_of_motion,
    catalogue_of_programme,
    catalogue_of_sound,
)
from qc.judge.check import Check

_ALL = (
    *catalogue_of_headers.CHECKS,
    *catalogue_of_geometry.CHECKS,
    *catalogue_of_motion.CHECKS,
    *catalogue_of_programme.CHECKS,
    *catalogue_of_leader.CHECKS,
    *catalogue_of_levels.CHECKS,
    *catalogue_of_flashing.CHECKS,
    *catalogue_of_sound.CHECKS,
)

#: Name of the check -> check, in the order of a report.
CHECKS: dict[str, Check] = {check.name: check for check in _ALL}

_OF_REQUIREMENT: dict[str, tuple[str, str]] = {
    requirement: (check.name, title) for check in _ALL for requirement, title in check.requirements.items()
}


def kind_of(requirement: str) -> str:
    """The id without the key of a list: "structure.act.3" is a "structure.act"."""
    return ".".join(requirement.split(".")[:2])


def check_of(requirement: str) -> tuple[str, str]:
    """Name of the check that a requirement belongs to, and the title of its findings."""
    return _OF_REQUIREMENT[kind_of(requirement)]


def evidence_of(check: str) -> str:
    """What stands beside the findings of a check: "still", "curve" or ""."""
    return CHECKS[check].evidence if check in CHECKS else ""


CAUTIONS = (
    "Loudness and peaks are measured against the limits of the profile; this is not a statement about any law.",
    "Flashing is screened only, and only where the profile asks for it; this is not a certified test: use the test "
    "that your station requires.",
    "Captions and subtitles are not checked in this version.",
    "Where the station's own specification and this profile differ, the station's specification counts.",
)
