"""What a requirement asks, in words, where nothing of the file is known that would say more."""

from __future__ import annotations

from qc.judge.limits import count_bounds, number, number_bounds
from qc.outlets.schema import ActEnds, BreakContent, SheetAgreement, Slot, TimecodeStart
from qc.outlets.schema_kinds import Choice, Count, DurationLimit, NumberChoice, NumberLimit, Requirement
from qc.remedy.exports import one_of


def asked(requirement: Requirement) -> str:
    """The limit without the frames that only a picture rate gives; "required" for a plain yes."""
    if words := getattr(requirement, "words", ""):
        return str(words)
    match requirement:
        case Choice() | NumberChoice():
            return one_of(requirement.accept)
        case NumberLimit():
            return number_bounds(requirement).words
        case Count():
            return count_bounds(requirement).words
        case DurationLimit():
            return _length(requirement)
        case Slot():
            return f"{requirement.exact} exactly"
        case TimecodeStart():
            return requirement.at
        case SheetAgreement():
            return f"within {requirement.tolerance} of the picture"
        case BreakContent():
            luma, peak = number(requirement.max_luma_percent), number(requirement.max_peak_dbfs)
            return f"at most {luma} % luma, at most {peak} dBFS"
        case ActEnds():
            return f"at most {number(requirement.max_level_dbfs)} dBFS RMS"
        case _:
            return "required"


def _length(limit: DurationLimit) -> str:
    if limit.exact is not None:
        return f"{limit.exact} +/- {limit.tolerance}" if limit.tolerance is not None else f"{limit.exact} exactly"
    if limit.min is None:
        return f"at most {limit.max}"
    return f"at least {limit.min}" if limit.max is None else f"{limit.min} to {limit.max}"
