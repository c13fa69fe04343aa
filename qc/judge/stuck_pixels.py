"""Pixels that stand still while the picture changes: dead, hot or stuck elements of a camera."""

from __future__ import annotations

from collections.abc import Iterator

from qc.figures.stuck_pixels import StuckPixel, looks, measured, raster, stuck_pixels
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.verdict import Finding, Place
from qc.outlets.sections_geometry import StuckPixels
from qc.programme.place import Area
from qc.remedy.exports import look
from qc.remedy.fix import Fix
from qc.timing.spans import Span

_NO_SERIES = "this record holds no measurement of stuck pixels; measure the file again"
_NO_LOOKS = "no picture was neither too dark nor too bright to look at, or the raster is too small"
#: Pixels round it that are outlined.
_ROUND = 4


def stuck(case: Case, key: str, requirement: StuckPixels) -> Iterator[Finding]:
    """How many, each at its column and row in the frame that shows it most."""
    subject = "picture"
    series = case.measurement.picture.extra if case.measurement.picture is not None else {}
    why = case.no_frames or ("" if "stuck.looks" in series else _NO_SERIES)
    if not why and not measured(series):
        why = _NO_LOOKS
    if why:
        yield not_measured(key, requirement, why, requirement.words, subject=subject, unit="pixels")
        return
    found = [one for one in stuck_pixels(series, requirement.pictures) if _shown(case, one)]
    good = len(found) <= requirement.most
    yield finding(
        key,
        requirement,
        graded(requirement, good),
        len(found),
        requirement.words,
        subject=subject,
        unit="pixels",
        span="programme" if case.structure.acts else "file",
        places=tuple(_place(case, one, raster(series)) for one in found),
        reason=f"{looks(series)} pictures compared, about one in two seconds" if found else "",
        fix=None if good else _fix(found),
    )


def _shown(case: Case, one: StuckPixel) -> bool:
    """Where it shows most lies in the programme, not in what is before or after it."""
    return any(span.contains(one.best) for span in case.shown)


def _place(case: Case, one: StuckPixel, size: tuple[int, int]) -> Place:
    width, height = size
    pixels = "1 pixel" if one.size == 1 else f"{one.size} pixels"
    stands_out = f"{one.kind} by {abs(one.difference):.0f} codes"
    note = (
        f"{stands_out}, {pixels} at column {one.column}, row {one.row}; seen in {one.seen} of {one.could} pictures in "
        f"which it could be, {case.clock.at(one.first)} to {case.clock.at(one.last)}"
    )
    left, top = max(0, one.column - _ROUND), max(0, one.row - _ROUND)
    right, below = min(width, one.column + _ROUND + 1), min(height, one.row + _ROUND + 1)
    area = Area(left / width, top / height, (right - left) / width, (below - top) / height)
    return case.places.place(Span(one.best, one.best + 1), note=note, area=area)


def _fix(found: list[StuckPixel]) -> Fix:
    places = ", ".join(f"column {one.column}, row {one.row}" for one in found[:3])
    more = f" and {len(found) - 3} more" if len(found) > 3 else ""
    return look(
        f"Look at {places}{more} in dark shots; paint it out from its neighbours in every shot of that camera, and "
        "look for it in the other episodes that were shot with it.",
        "picture",
    )


JUDGES: dict[str, Judge] = {"stuck_pixels.programme": stuck}
