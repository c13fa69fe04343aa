"""The declared timing sheet against the picture, and the lengths of elements that it declares."""

from __future__ import annotations

from collections.abc import Iterator

from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured, timed
from qc.judge.headers import Judge
from qc.judge.lengths import frames_of, frames_text, lengths
from qc.judge.limits import signed
from qc.judge.verdict import Finding
from qc.outlets.schema import SheetAgreement
from qc.outlets.schema_kinds import ElementLength
from qc.programme.sheet import TimingSheet
from qc.programme.sheet_structure import ActDifference, compare_sheet
from qc.remedy.fix import Fix

NO_SHEET = "no timing sheet was given; give one with --sheet"


def sheet(case: Case, key: str, requirement: SheetAgreement) -> Iterator[Finding]:
    """Declared and found SOM and EOM of each act; a constant offset is one finding.

    Unless the outlet requires a sheet, the requirement is about one that is given: where none is, this is told as
    not measured and does not stand in the way of the file.
    """
    tolerance = frames_of(requirement.tolerance, case.clock.rate)
    limit = f"within {requirement.tolerance} of the picture" if tolerance else "equal to the picture to the frame"
    declared = case.sheet
    if declared is None:
        stands = requirement if requirement.required else requirement.model_copy(update={"level": "should"})
        yield not_measured(key, stands, NO_SHEET, limit, subject="timing sheet")
        return
    if case.no_programme or case.structure.found_by == "sheet":
        reason = case.no_programme or f"{case.structure.note}: the sheet cannot be checked against itself"
        yield not_measured(key, requirement, reason, limit, subject="timing sheet")
        return
    found = compare_sheet(declared, case.structure, case.clock)
    how = f"EOM {declared.eom}, {declared.counting.name}"
    wrong = [item for item in found.differences if max(abs(item.som), abs(item.eom)) > tolerance]
    if abs(found.offset) > tolerance:
        yield _offset(case, key, requirement, found.offset, limit, how)
    for item in wrong:
        yield _act(case, key, requirement, item, tolerance, limit, how)
    for numbers, where in ((found.only_sheet, "picture"), (found.only_picture, "sheet")):
        for number in numbers:
            yield finding(
                key,
                requirement,
                graded(requirement, False),
                f"act {number} is not in the {where}",
                limit,
                subject=f"act {number}",
                reason=how,
                fix=_correct("timing sheet"),
            )
    if not wrong and not found.only_sheet and not found.only_picture and abs(found.offset) <= tolerance:
        off = max((max(abs(item.som), abs(item.eom)) for item in found.differences), default=0)
        measured = f"{frames_text(off)} off at most" if off else "equal to the frame"
        yield finding(key, requirement, graded(requirement, True), measured, limit, subject="timing sheet", reason=how)


def _offset(case: Case, key: str, requirement: SheetAgreement, offset: int, limit: str, how: str) -> Finding:
    counting = case.clock.counting
    side = "later" if offset > 0 else "earlier"
    return finding(
        key,
        requirement,
        graded(requirement, False),
        f"all labels {counting.duration(abs(offset))} ({frames_text(abs(offset))}) {side} than the picture",
        limit,
        subject="timing sheet",
        reason=f"a constant offset over all acts; {how}",
        fix=Fix(
            "move",
            float(-offset),
            "frames",
            "timing sheet",
            f"Move all labels of the timing sheet by {-offset:+d} frames ({counting.duration(abs(offset))}), "
            "or set the start timecode of the file to match.",
        ),
    )


def _act(
    case: Case, key: str, requirement: SheetAgreement, item: ActDifference, tolerance: int, limit: str, how: str
) -> Finding:
    parts = [f"{name} {signed(off, 0)} frames" for name, off in (("SOM", item.som), ("EOM", item.eom)) if off]
    worst = max(abs(item.som), abs(item.eom))
    return finding(
        key,
        requirement,
        graded(requirement, False),
        ", ".join(parts),
        limit,
        subject=f"act {item.number}",
        unit="frames",
        margin=float(tolerance - worst),
        places=(case.places.place(item.found),),
        reason=f"sheet minus picture; {how}",
        fix=_correct(f"act {item.number}"),
    )


def _correct(where: str) -> Fix:
    return Fix("replace", None, "", where, "Use the timing sheet that is made from the picture with this report.")


def element(case: Case, key: str, requirement: ElementLength) -> Iterator[Finding]:
    """A declared element by name; its length is the sheet's."""
    wanted = lengths(requirement, case.clock.rate)
    name = requirement.name
    if case.sheet is None:
        yield not_measured(key, requirement, f"{NO_SHEET} (elements are known by it alone)", wanted.words, subject=name)
        return
    rows = [row for row in case.sheet.elements if row.name.strip().casefold() == name.strip().casefold()]
    if not rows:
        yield not_measured(key, requirement, f"the timing sheet names no {name}", wanted.words, subject=name)
    for row in rows:
        over = wanted.amiss(row.frames)
        yield timed(
            key,
            requirement,
            row.frames,
            wanted,
            subject=name,
            span=f"declared in line {row.line} of the timing sheet",
            reason=_declared(case.sheet),
            fix=_change(name, row.frames, over) if over else None,
        )


def _declared(declared: TimingSheet) -> str:
    return f"as declared in {declared.file}; the element is not recognised in the picture"


def _change(name: str, frames: int, over: int) -> Fix:
    verb = "Shorten" if over > 0 else "Lengthen"
    sentence = f"{verb} {name} by {frames_text(abs(over))}, from {frames} to {frames - over}."
    return Fix(verb.lower(), float(-over), "frames", name, sentence)


JUDGES: dict[str, Judge] = {"structure.sheet": sheet, "structure.element": element}
