"""What a new flag, wrapper or export meets at the other outlets of the run: do they ask for the same?"""

from __future__ import annotations

from dataclasses import replace

from qc.judge.case import Case
from qc.judge.verdict import Finding
from qc.outlets.schema_kinds import Choice, NumberChoice, Requirement
from qc.remedy.exports import one_of
from qc.remedy.fix import Consequence
from qc.timing.timecode import Counting, TimecodeError

#: Changes after which the same file still stands, so that what others ask is told whether they agree or not.
_OF_THE_FILE = ("re-flag", "re-wrap")


def with_what_others_ask(case: Case, requirement: Requirement, found: Finding) -> Finding:
    """The finding, its fix with what the others ask for the same property of the file."""
    fix = found.fix
    if fix is None or fix.consequences or fix.action not in (*_OF_THE_FILE, "re-export"):
        return found
    if not isinstance(requirement, (Choice, NumberChoice)):
        return found
    told = [_told(other, found.requirement, requirement, found.unit) for other in case.others]
    kept = tuple(item for item in told if item is not None and (fix.action in _OF_THE_FILE or item.accepted is False))
    return replace(found, fix=replace(fix, consequences=kept)) if kept else found


def _told(other: Case, key: str, wanted: Choice | NumberChoice, unit: str) -> Consequence | None:
    """None if the other outlet asks nothing of it."""
    asked = other.asked.get(key)
    if not isinstance(asked, (Choice, NumberChoice)):
        return None
    theirs = {str(value).casefold() for value in asked.accept}
    both = [value for value in wanted.accept if str(value).casefold() in theirs]
    outlet = other.profile.outlet
    said = one_of(both or asked.accept) + (f" {unit}" if unit else "")
    words = f"takes {said} too" if both else f"asks for {said}: needs a file of its own"
    return Consequence(outlet.name, outlet.code, bool(both), words)


def start_elsewhere(case: Case, first_label: str) -> tuple[Consequence, ...]:
    """The file's first frame is called ``first_label``: where the programme then starts for the others."""
    return tuple(told for other in case.others if (told := _start(other, first_label)) is not None)


def _start(other: Case, first_label: str) -> Consequence | None:
    wanted = other.profile.timecode.start
    if wanted is None:
        return None
    outlet = other.profile.outlet
    if other.no_programme:
        return Consequence(outlet.name, outlet.code, None, f"cannot be told: {other.no_programme}")
    drop = ";" in first_label
    try:
        counting = Counting(other.clock.counting.base, drop)
        som = counting.label(counting.frame(first_label) + other.structure.acts[0].span.first)
    except TimecodeError as error:
        return Consequence(outlet.name, outlet.code, None, f"cannot be told: {error.what}")
    if som == wanted.at:
        return Consequence(outlet.name, outlet.code, True, f"programme starts at {som}, as asked")
    words = f"asks for {wanted.at} at the start of the programme, which becomes {som}: needs a file of its own"
    return Consequence(outlet.name, outlet.code, False, words)
