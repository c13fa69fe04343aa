"""The viewing list as a page: what a person must look at or listen to, in programme order, with boxes to tick."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from qc.judge.verdict import Verdict
from qc.report import wording
from qc.report.badge import Badge, badge
from qc.report.drawing.outline_svg import outlines
from qc.report.evidence import View
from qc.report.media_file import MediaFile
from qc.report.overview import Link
from qc.report.run import RunBlock
from qc.report.sheet_words import address, count, listed, made_by
from qc.report.still import Still, Stills
from qc.report.templating import template
from qc.report.viewing_list import Look, Reason, viewing_frames, viewing_list
from qc.report.visible import sentence, visible

__all__ = ["QUESTIONS", "viewing_frames", "viewing_html"]

#: Stills beside one place.
MOST_STILLS = 3

#: Check -> what a person can tell there and a measurement cannot.
QUESTIONS = {
    "integrity": "Is the picture torn, frozen or missing here?",
    "start-timecode": "Is this the first frame of the programme?",
    "act-length": "Does the act begin and end with these frames?",
    "break-length": "Is it black throughout, and is the picture on either side the right one?",
    "break-content": "What stands in the break: a picture, a title, a sound?",
    "act-ends": "Is the sound cut off?",
    "timing-sheet": "Are these the first and last frames that the sheet means?",
    "element-length": "Does the element begin and end here?",
    "act-starts": "Is this the first frame of the act?",
    "head-and-tail": "Is it what the outlet asks for here: bars, slate, clock, black?",
    "leader": "What stands here, and does the slate name this file?",
    "colour-bars": "Are these the bars that are asked for?",
    "sync-blip": "Do the flash and the tone come together?",
    "run-out": "What stands after the programme?",
    "field-order": "Does motion run forwards here, field by field?",
    "active-picture": "Is the edge blank, and are the bars meant?",
    "stuck-pixels": "Does the pixel stand out, and in which shots?",
    "freeze": "Does the picture stand still, and is it meant?",
    "cadence": "Does the motion judder or smear?",
    "repeats": "Does the motion halt for a frame?",
    "drops": "Does the motion jump?",
    "strays": "Does this frame belong here?",
    "hits": "Is the picture broken up here?",
    "solid": "Is it a card for missing media, or bars?",
    "picture-levels": "Is it an area, or edges and sparkle, and is there detail left in it?",
    "range-use": "Are the highlights burnt out, or was it shot so?",
    "black-level": "Are the blacks meant so, or were they lifted or cut off?",
    "flashing": "Does it flash or shimmer here? This is a screening aid: the test that the station requires decides.",
    "black": "Is the black meant, a fade or a night, or is it a hole?",
    "short-term": "Is this passage meant to be so loud?",
    "true-peak": "What makes the peak: a hit, a plosive, a click?",
    "channels": "Is the right sound on this channel?",
    "silence": "Is the pause meant, or is sound missing?",
}
ROUTINE = "Is this the right frame, whole and clean?"


@dataclass(frozen=True)
class Shot:
    """A still, or why there is none; ``source`` is a data address."""

    source: str
    outline: Markup
    width: int
    height: int
    words: str
    missing: str


@dataclass(frozen=True)
class Why:
    badge: Badge
    words: str


@dataclass(frozen=True)
class Place:
    """One entry of the list."""

    number: int
    anchor: str
    verb: str
    done: str
    label: str
    details: str
    question: str
    whys: tuple[Why, ...]
    routine: str
    shots: tuple[Shot, ...]


@dataclass(frozen=True)
class ViewingPage:
    title: str
    file: str
    headline: str
    places: tuple[Place, ...]
    left_out: tuple[str, ...]
    made_by: str


def viewing_html(
    verdicts: Sequence[Verdict], file: MediaFile, stills: Stills, run: RunBlock, *, links: Sequence[Link] = ()
) -> bytes:
    """The page as UTF-8; ``links`` lead to other pages of the run."""
    back = [address(link) for link in links]
    return template("viewing.html").render(page=viewing_page(verdicts, file, stills, run), back=back).encode()


def viewing_page(verdicts: Sequence[Verdict], file: MediaFile, stills: Stills, run: RunBlock) -> ViewingPage:
    found = viewing_list(verdicts)
    several = len({verdict.profile.code for verdict in verdicts}) > 1
    left = [f"{visible(title)}: {count(number, 'more place')} like these." for title, number in found.left_out]
    if found.routine_left_out:
        left.append(f"First and last frames of acts: {found.routine_left_out} more.")
    return ViewingPage(
        title=f"Viewing list: {visible(file.name)}",
        file=visible(file.name),
        headline=_headline(found.looks),
        places=tuple(_place(number, look, stills, several) for number, look in enumerate(found.looks, 1)),
        left_out=tuple(left),
        made_by=made_by(run),
    )


def _headline(looks: Sequence[Look]) -> str:
    if not looks:
        return "No place that a person has to look at was found."
    routine = sum(bool(look.routine) for look in looks)
    listen = sum(look.listen for look in looks)
    parts = [(len(looks) - listen - routine, "to look at"), (listen, "to listen to")]
    parts += [(routine, "first and last frames of acts, as a matter of routine")]
    told = ", ".join(f"{number} {words}" for number, words in parts if number)
    return f"{count(len(looks), 'place')} in programme order: {told}."


def _place(number: int, look: Look, stills: Stills, several: bool) -> Place:
    place = look.place
    details = list(wording.place_details(place, look.reasons[0].finding.unit if look.reasons else "")) if place else []
    questions = dict.fromkeys(QUESTIONS.get(reason.finding.check, "") for reason in look.reasons)
    return Place(
        number=number,
        anchor=f"place-{number}",
        verb="Listen" if look.listen else "Look",
        done="heard" if look.listen else "seen",
        label=wording.place_range(place) if place else f"frame {look.span.first}",
        details=_capital(", ".join(details)),
        question=ROUTINE if look.routine else " ".join(words for words in questions if words),
        whys=tuple(_why(reason, several) for reason in look.reasons),
        routine=_routine(look, several),
        shots=() if look.listen else _shots(look, stills),
    )


def _routine(look: Look, several: bool) -> str:
    words = [f"{what} ({listed(names)})" if several else what for what, names in look.routine]
    return sentence("; ".join(words))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _why(reason: Reason, several: bool) -> Why:
    finding = reason.finding
    limits = [
        (visible(limit) or "not given", f" ({listed(names)})" if several else "") for limit, names in reason.limits
    ]
    words = f"{wording.title(finding)}: {wording.measured(finding)}, limit "
    words += "; or ".join(f"{limit}{outlets}" for limit, outlets in limits)
    return Why(badge(finding.outcome), f"{words}. {sentence(finding.remarks)}".strip())


def _shots(look: Look, stills: Stills) -> tuple[Shot, ...]:
    """The most telling stills that there are, in the order of the programme as in the report."""
    had = [view for view in look.views if view.frame in stills][:MOST_STILLS]
    return tuple(_shot(look, view, stills[view.frame]) for view in sorted(had, key=lambda view: view.frame))


def _shot(look: Look, view: View, still: Still) -> Shot:
    words = f"{visible(view.words)}, frame {view.frame}"
    if still.jpeg is None:
        return Shot("", Markup(""), 0, 0, words, sentence(still.reason) or "It could not be decoded.")
    source = f"data:image/jpeg;base64,{b64encode(still.jpeg).decode()}"
    outline = outlines(look.areas if look.span.contains(view.frame) else ())
    return Shot(source, outline, still.width, still.height, words, "")
