"""How the programme uses the range of the signal: scaled for another one, highlights that are clipped. Advice only."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from qc.figures.clipping import ClippedStretch, clipped_stretches, lasting_clipped
from qc.figures.scaling import ABOVE_WHITE, BELOW_BLACK, DARK, FEWEST, LIGHT, RangeUse, range_use
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.over_limit import over_limit
from qc.judge.verdict import Finding, Place
from qc.outlets.sections_levels import LevelsClipping, LevelsScaling
from qc.remedy.exports import look
from qc.remedy.fix import Fix

_FULL_RANGE = "a solid mass lies below black and above white"
_SCALED_TWICE = "nothing comes near black or white, titles included"
_CLIPPED = "highlights run into a ceiling"
_SCALING_FIX = "Compare black and white of the export with the grade, and set the range of the export"
_CLIPPING_FIX = "Open the highlights if the rushes hold more, or leave them if they were shot so"


def scaling(case: Case, key: str, requirement: LevelsScaling) -> Iterator[Finding]:
    """Full range called narrow, or narrow scaled to narrow once more, over the whole programme."""
    picture, why = case.measurement.picture, case.no_programme
    if why or picture is None:
        yield not_measured(
            key, requirement, why or "no picture could be decoded", requirement.words, subject="programme"
        )
        return
    use = range_use(picture, [act.span for act in case.structure.acts])
    if use.pictures < FEWEST:
        why = f"{use.pictures} pictures are too few to tell: at least {FEWEST} are needed"
        yield not_measured(key, requirement, why, requirement.words, subject="programme")
        return
    wrong = use.full_range or use.scaled_twice
    yield finding(
        key,
        requirement,
        graded(requirement, not wrong),
        _FULL_RANGE if use.full_range else _SCALED_TWICE if use.scaled_twice else _used(use),
        requirement.words,
        subject="programme",
        span="programme",
        reason=_shares(use) if wrong else "",
        fix=look(f"{_SCALING_FIX}: {_direction(use)}.", "programme") if wrong else None,
    )


def clipping(case: Case, key: str, requirement: LevelsClipping) -> Iterator[Finding]:
    """Stretches in which much of the picture stands at one code at the top."""
    picture, why = case.measurement.picture, case.no_programme
    if not why and (picture is None or "clipping.share" not in picture.extra):
        why = "this record holds no measurement of clipped highlights; measure the file again"
    if why or picture is None:
        yield not_measured(key, requirement, why, requirement.words, subject="programme", unit="%", span="programme")
        return
    spans = [act.span for act in case.structure.acts]
    area, seconds = float(requirement.area_percent), Fraction(str(requirement.seconds))
    found = clipped_stretches(picture.extra, area, seconds, case.clock.rate, spans)
    yield finding(
        key,
        requirement,
        graded(requirement, not found),
        over_limit(lasting_clipped(picture.extra, seconds, case.clock.rate, spans), area, 1),
        requirement.words,
        subject="programme",
        unit="%",
        span="programme",
        places=tuple(_place(case, stretch, area) for stretch in found),
        reason=_CLIPPED if found else "",
        fix=_clipping_fix(case, found[0]) if found else None,
    )


def _used(use: RangeUse) -> str:
    """What was seen of black and white where one of them at least is there."""
    if not use.has_black:
        return f"white is used; nothing darker than {use.darkest:.0f} %"
    return "black and white are used" if use.has_white else f"black is used; nothing brighter than {use.lightest:.0f} %"


def _shares(use: RangeUse) -> str:
    if use.full_range:
        return (
            f"{100 * use.below:.1f} % of the pixels lie under code {BELOW_BLACK} and {100 * use.above:.1f} % over "
            f"{ABOVE_WHITE} (of 8 bits; black is 16, white 235)"
        )
    return f"no pixels under code {DARK} or from {LIGHT} on (of 8 bits; black is 16, white 235): a look of the grade?"


def _direction(use: RangeUse) -> str:
    if use.full_range:
        return "it looks like full range in a file that says narrow"
    return "it looks like narrow range scaled to narrow once more"


def _place(case: Case, stretch: ClippedStretch, limit: float) -> Place:
    shown = over_limit(stretch.lasting, limit, 1)
    note = f"{shown:.1f} % of the picture at {stretch.level:.0f} % of the nominal range"
    if round(stretch.area, 1) > shown:
        note += f"; up to {stretch.area:.1f} % at {case.clock.at(stretch.worst)}"
    return case.places.place(stretch.span, value=shown, note=note)


def _clipping_fix(case: Case, stretch: ClippedStretch) -> Fix:
    at = case.clock.at(stretch.worst)
    return look(f"{_CLIPPING_FIX}: up to {stretch.area:.1f} % of the picture stands at one code, at {at}.", "programme")


JUDGES: dict[str, Judge] = {"levels.scaling": scaling, "levels.clipping": clipping}
