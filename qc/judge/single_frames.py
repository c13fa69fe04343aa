"""Single frames that do not belong: repeated, missing, left over, damaged, of one colour."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from qc.figures.hits import Hit
from qc.figures.solids import SolidRun, solid_runs
from qc.figures.spoiled import Spoiled
from qc.figures.stray_fields import stray_pictures
from qc.figures.strays import Stray
from qc.judge.case import Case
from qc.judge.findings import finding, graded, not_measured
from qc.judge.frames_of_case import (
    SUBJECT,
    bars_of,
    black_of,
    cards_of_case,
    drops_of,
    hits_of,
    in_acts,
    repeats_of,
    series_of,
    spoiled_of,
    where,
    why_not,
)
from qc.judge.headers import Judge
from qc.judge.leader import NO_CARDS
from qc.judge.lengths import frames_of, frames_text
from qc.judge.limits import number
from qc.judge.places import first_of
from qc.judge.verdict import Finding, Place
from qc.outlets.schema_kinds import Requirement
from qc.outlets.sections_motion import BarsInside, FrameFaults, ShortestShot, SolidPicture
from qc.programme.place import Area
from qc.remedy.exports import look
from qc.remedy.fix import Fix
from qc.timing.spans import Span

#: Side of the outline around damage, in parts of the picture.
_OUTLINE = 0.12


def repeats(case: Case, key: str, requirement: FrameFaults) -> Iterator[Finding]:
    """Frames that are shown twice while the picture moves, cadences apart."""
    if why := why_not(case):
        yield _unknown(key, requirement, requirement.words, why)
        return
    found = repeats_of(case)
    inside = [one for one in found if in_acts(case, one.span)]
    places = [
        case.places.place(
            one.span,
            value=float(one.count),
            note="repeats the frame before" if one.count == 1 else f"{one.count} frames repeat the one before",
        )
        for one in inside
    ]
    fix = "Look at {at}: does the motion halt for a frame? Take the shot in again, or export again."
    yield _counted(case, key, requirement, sum(one.count for one in inside), places, fix)


def drops(case: Case, key: str, requirement: FrameFaults) -> Iterator[Finding]:
    """Frames that are missing in steady motion."""
    if why := why_not(case):
        yield _unknown(key, requirement, requirement.words, why)
        return
    found = drops_of(case)
    places = [
        case.places.place(Span(frame, frame + 1), note="the motion jumps: at least one frame is missing before it")
        for frame in found
        if in_acts(case, Span(frame, frame + 1))
    ]
    fix = "Look at {at}: does the motion jump? Take the shot in again, or export again."
    yield _counted(case, key, requirement, len(places), places, fix)


def strays(case: Case, key: str, requirement: ShortestShot) -> Iterator[Finding]:
    """Shots and fields too short to be meant. A frame with damage is told as such; black and one colour have their own
    checks."""
    if why := why_not(case):
        yield _unknown(key, requirement, requirement.words, why)
        return
    series, black, rule = series_of(case), black_of(case), case.profile.black
    asked = ("strays", requirement.shortest, rule.pixel_percent, rule.picture_percent)
    found = case.figures.once(asked, lambda: stray_pictures(series, requirement.shortest, black))
    damaged = {hit.frame for hit in hits_of(case)} | {spoiled.frame for spoiled in spoiled_of(case)}
    solid = [run.span for run in _solids(case, 95.0)] if case.profile.frames.solid else []
    solid += [run.span for run in bars_of(case)] if case.profile.frames.bars else []
    inside = [
        one
        for one in found
        if in_acts(case, one.span)
        and not damaged & set(range(one.span.first, one.span.end))
        and not any(run.overlap(one.span) for run in solid)
    ]
    places = [_stray_place(case, one) for one in inside]
    lengths = [one.span.frames if one.frames >= 1 else 0 for one in inside]
    shortest = min(lengths, default=None)
    yield finding(
        key,
        requirement,
        graded(requirement, not inside),
        "none" if shortest is None else shortest or "one field",
        requirement.words,
        subject=SUBJECT,
        unit="frames" if shortest else "",
        span=where(case),
        places=tuple(places),
        reason="" if not inside else f"{_shots_and_fields(inside)} too short to be meant",
        fix=_look("Look at {at}: {note}. Trim it off, close the cut, or take the shot in again.", places)
        if inside
        else None,
    )


def hits(case: Case, key: str, requirement: FrameFaults) -> Iterator[Finding]:
    """Damage that lasts one frame: of some blocks, or of the whole picture. A frame with both is told as the latter."""
    if why := why_not(case):
        yield _unknown(key, requirement, requirement.words, why)
        return
    spoiled = [one for one in spoiled_of(case) if in_acts(case, one.span)]
    whole = {one.frame for one in spoiled}
    places = [_hit_place(case, hit) for hit in hits_of(case) if in_acts(case, hit.span) and hit.frame not in whole]
    places = sorted([*places, *(_spoiled_place(case, one) for one in spoiled)], key=lambda place: place.span)
    fix = "Look at {at}: is the picture broken for one frame? Take the shot in again from its source."
    yield _counted(case, key, requirement, len(places), places, fix)


def solid(case: Case, key: str, requirement: SolidPicture) -> Iterator[Finding]:
    """Pictures of one colour that is not black: cards for missing media, generators left in the cut."""
    longest = frames_of(requirement.longest, case.clock.rate) if not case.no_frames else 0
    if why := why_not(case):
        yield _unknown(key, requirement, requirement.words, why)
        return
    runs = [run for run in _solids(case, float(requirement.percent)) if run.hard and in_acts(case, run.span)]
    wrong = [run for run in runs if run.span.frames > longest]
    places = [
        case.places.place(
            run.span,
            value=float(run.span.frames),
            note=f"{frames_text(run.span.frames)} of {_colour(run, requirement)}",
        )
        for run in wrong
    ]
    longest_found = max((run.span.frames for run in runs), default=0)
    fix = "Look at {at}: {note}. Is it a card for missing media, or meant?"
    yield _told(case, key, requirement, longest_found, places, fix if wrong else "")


def bars(case: Case, key: str, requirement: BarsInside) -> Iterator[Finding]:
    """Colour bars among the pictures of the programme. Where acts are not known, those of a head are not told apart."""
    why = why_not(case) or ("" if cards_of_case(case) is not None else NO_CARDS)
    if why:
        yield _unknown(key, requirement, requirement.words, why)
        return
    runs = [(run, inside) for run in bars_of(case) if (inside := in_acts(case, run.span))]
    if runs and case.no_programme:
        at = case.places.place(runs[0][0].span).timecode
        why = f"bars stand at {at}; whether inside the programme is not known: {case.no_programme}"
        yield _unknown(key, requirement, requirement.words, why)
        return
    longest = frames_of(requirement.longest, case.clock.rate)
    wrong = [(run, inside) for run, inside in runs if inside.frames > longest]
    places = [
        case.places.place(
            inside, value=float(inside.frames), note=f"{frames_text(inside.frames)} of colour bars: {run.name}"
        )
        for run, inside in wrong
    ]
    longest_found = max((inside.frames for _, inside in runs), default=0)
    fix = "Look at {at}: {note}. Were they left in the cut, or are they meant?"
    yield _told(case, key, requirement, longest_found, places, fix if wrong else "")


def _counted(case: Case, key: str, requirement: FrameFaults, count: int, places: Sequence[Place], fix: str) -> Finding:
    return _told(case, key, requirement, count, places, "" if count <= requirement.most else fix)


def _told(
    case: Case,
    key: str,
    requirement: FrameFaults | SolidPicture | BarsInside,
    frames: int,
    places: Sequence[Place],
    fix: str,
) -> Finding:
    """So many frames, and their places; good without a fix."""
    return finding(
        key,
        requirement,
        graded(requirement, not fix),
        frames,
        requirement.words,
        subject=SUBJECT,
        unit="frames",
        span=where(case),
        places=tuple(places),
        fix=_look(fix, places) if fix else None,
    )


def _unknown(key: str, requirement: Requirement, limit: str, why: str) -> Finding:
    return not_measured(key, requirement, why, limit, subject=SUBJECT, unit="frames")


def _solids(case: Case, percent: float) -> list[SolidRun]:
    black, rule = black_of(case), case.profile.black
    asked = ("solids", percent, rule.pixel_percent, rule.picture_percent)
    return case.figures.once(asked, lambda: solid_runs(series_of(case), percent, black))


def _stray_place(case: Case, one: Stray) -> Place:
    frames = frames_text(one.span.frames)
    note = {
        "field inside a shot": "one field of another picture inside a shot",
        "field at a cut": "one field of another picture at a cut",
        "inside a shot": f"{frames} of another picture inside a shot",
        "between shots": f"{frames} of another shot at a cut",
        "at black": f"{frames} of picture beside black or the end",
    }[one.kind]
    return case.places.place(one.span, value=one.frames, note=note)


def _hit_place(case: Case, hit: Hit) -> Place:
    area = None
    if hit.across is not None and hit.down is not None:
        left, top = (min(max(0.0, at - _OUTLINE / 2), 1 - _OUTLINE) for at in (hit.across, hit.down))
        area = Area(left, top, _OUTLINE, _OUTLINE)
    note = f"blocks that neither frame beside it has, {hit.codes:.0f} codes off{_error(case, hit.frame)}"
    return case.places.place(hit.span, note=note, area=area)


def _spoiled_place(case: Case, one: Spoiled) -> Place:
    words = {
        "colour lost": "colour is lost for one frame",
        "Cb lost": "Cb is lost for one frame: blue and yellow are missing",
        "Cr lost": "Cr is lost for one frame: red and cyan are missing",
        "colour inverted": "colour is inverted for one frame",
        "colours swapped": "Cb and Cr are swapped for one frame",
        "other colour": "another colour for one frame",
        "blocks": "the whole picture is in blocks of 8 x 8 for one frame",
        "no signal": "a part of the picture has no signal for one frame",
    }[one.kind]
    return case.places.place(one.span, note=f"{words}, {one.codes:.0f} codes off on average{_error(case, one.frame)}")


def _error(case: Case, frame: int) -> str:
    met = any("error" in event.kind for event in case.measurement.events if event.frame == frame)
    return ", and the decoder met an error here" if met else ""


def _colour(run: SolidRun, requirement: SolidPicture) -> str:
    luma, blue, red = run.colour
    share = f"{number(100 * run.share)} % of the picture"
    lettering = ", with lettering on it" if 100 * run.share < requirement.percent else ""
    return f"one colour (Y {luma}, Cb {blue}, Cr {red} in 8 bits), {share}{lettering}"


def _shots_and_fields(found: Sequence[Stray]) -> str:
    fields = sum(one.frames < 1 for one in found)
    counts = ((len(found) - fields, "shot"), (fields, "field"))
    return " and ".join(f"{count} {what}{'' if count == 1 else 's'}" for count, what in counts if count)


def _look(sentence: str, places: Sequence[Place]) -> Fix:
    return look(sentence.format(at=first_of(places), note=places[0].note), SUBJECT)


JUDGES: dict[str, Judge] = {
    "frames.repeats": repeats,
    "frames.drops": drops,
    "frames.strays": strays,
    "frames.hits": hits,
    "frames.solid": solid,
    "frames.bars": bars,
}
