"""Which places of a file a person must look at or listen to: merged over outlets, ranked, in programme order.

A list that is too long is not read (common practice, no source): at most MOST_PLACES, each check its turn, the
worst first, and what is left out is counted.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from qc.judge.catalogue import evidence_of
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.programme.place import Area, Place
from qc.report import wording
from qc.report.evidence import View, views_of
from qc.timing.spans import Span

#: Places on the list, routine looks among them.
MOST_PLACES = 25

_RANK = {Outcome.FAIL: 0, Outcome.ADVISORY: 1}


@dataclass(frozen=True)
class Reason:
    """Why to look: a finding, and its limit at each outlet (by name) that has it.

    limits  (limit in words, outlets)
    """

    finding: Finding
    limits: tuple[tuple[str, tuple[str, ...]], ...]


@dataclass(frozen=True)
class Look:
    """One place.

    place    None for a routine look in a file whose labels are not known
    listen   to be heard rather than seen
    views    frames that show it, the telling one first
    reasons  worst first; empty for a routine look
    areas    of the picture that its findings point at
    routine  ("first frame of act 2", outlets), empty if there is a finding
    """

    span: Span
    place: Place | None
    listen: bool
    views: tuple[View, ...]
    reasons: tuple[Reason, ...] = ()
    areas: tuple[Area, ...] = ()
    routine: tuple[tuple[str, tuple[str, ...]], ...] = ()


@dataclass(frozen=True)
class ViewingList:
    """The places, and what is not among them.

    left_out          (title of findings, places)
    routine_left_out  first and last frames of acts for which there was no room
    """

    looks: tuple[Look, ...]
    left_out: tuple[tuple[str, int], ...] = ()
    routine_left_out: int = 0


@dataclass
class _Gathered:
    """Places of one check that are the same place."""

    place: Place
    finding: Finding
    reasons: dict[tuple[str, ...], tuple[Finding, dict[str, list[str]]]] = field(default_factory=dict)


def viewing_list(verdicts: Sequence[Verdict], most: int = MOST_PLACES) -> ViewingList:
    """Findings with a place that is not a pass or waived, then first and last frames of acts while there is room."""
    looks = _merged(_gathered(verdicts))
    chosen, left = _each_check_its_turn(looks, most)
    uncounted = _more_places(verdicts)
    counts = {title: left.get(title, 0) + uncounted.get(title, 0) for title in [*left, *uncounted]}
    routine = [look for look in _cuts(verdicts) if not any(_shows(other, look) for other in chosen)]
    room = max(0, most - len(chosen))
    shown = routine if len(routine) <= room else routine[: room // 2 * 2]
    return ViewingList(
        tuple(sorted([*chosen, *shown], key=lambda look: (look.span.first, look.listen, bool(look.routine)))),
        tuple((title, count) for title, count in counts.items() if count),
        len(routine) - len(shown),
    )


def viewing_frames(verdicts: Sequence[Verdict], most: int = MOST_PLACES) -> tuple[int, ...]:
    """Frames of which the list would show a still: those of findings first, then cuts of acts."""
    looks = sorted(viewing_list(verdicts, most).looks, key=lambda look: bool(look.routine))
    first = [look.views[0].frame for look in looks if look.views]
    return tuple(dict.fromkeys([*first, *(view.frame for look in looks for view in look.views[1:])]))


def _gathered(verdicts: Sequence[Verdict]) -> list[_Gathered]:
    """One entry per check and stretch, with all outlets that object to it."""
    found: list[_Gathered] = []
    for verdict in verdicts:
        for finding in verdict.findings:
            if finding.outcome not in _RANK or not evidence_of(finding.check):
                continue
            for place in finding.places:
                entry = next((item for item in found if _same(item, finding, place)), None)
                if entry is None:
                    entry = _Gathered(place, finding)
                    found.append(entry)
                key = (finding.title, finding.subject, finding.outcome.value, str(finding.measured), finding.reason)
                limits = entry.reasons.setdefault(key, (finding, {}))[1]
                limits.setdefault(wording.limit(finding), []).append(verdict.profile.name)
    return found


def _same(entry: _Gathered, finding: Finding, place: Place) -> bool:
    """The same check at the same stretch, in the same channel. Outlets' rules may differ by a frame or two."""
    if entry.finding.check != finding.check or entry.place.channel != place.channel:
        return False
    ours, theirs = entry.place.span, place.span
    return ours == theirs or 2 * ours.overlap(theirs) > max(ours.frames, theirs.frames)


def _merged(gathered: Sequence[_Gathered]) -> list[Look]:
    """Several checks that object to one and the same stretch are one look."""
    looks: list[Look] = []
    for entry in gathered:
        listen = evidence_of(entry.finding.check) == "curve"
        reasons = tuple(
            sorted(
                (
                    Reason(finding, tuple((limit, tuple(dict.fromkeys(names))) for limit, names in limits.items()))
                    for finding, limits in entry.reasons.values()
                ),
                key=lambda reason: _RANK[reason.finding.outcome],
            )
        )
        views = views_of(entry.finding, entry.place)
        areas = (entry.place.area,) if entry.place.area else ()
        at = next(
            (
                place
                for place, look in enumerate(looks)
                if look.span == entry.place.span and look.listen == listen and _channel(look) == entry.place.channel
            ),
            None,
        )
        if at is None:
            looks.append(Look(entry.place.span, entry.place, listen, views, reasons, areas))
            continue
        both = tuple(sorted((*looks[at].reasons, *reasons), key=lambda reason: _RANK[reason.finding.outcome]))
        merged_views = tuple({view.frame: view for view in (*views, *looks[at].views)}.values())
        looks[at] = Look(looks[at].span, looks[at].place, listen, merged_views, both, (*looks[at].areas, *areas))
    return looks


def _channel(look: Look) -> int | None:
    return look.place.channel if look.place else None


def _each_check_its_turn(looks: Sequence[Look], most: int) -> tuple[list[Look], dict[str, int]]:
    """The first place of every check before the second of any, failures before advice; and what is left out."""
    turns: dict[str, int] = {}
    ranked = []
    for number, look in enumerate(looks):
        worst = look.reasons[0].finding
        turn = turns[worst.check] = turns.get(worst.check, 0) + 1
        ranked.append((turn, _RANK[worst.outcome], number, look))
    ranked.sort(key=lambda item: item[:3])
    left: dict[str, int] = {}
    for _, _, _, look in ranked[most:]:
        title = look.reasons[0].finding.title
        left[title] = left.get(title, 0) + 1
    return [look for _, _, _, look in ranked[:most]], left


def _more_places(verdicts: Sequence[Verdict]) -> dict[str, int]:
    """Places that findings only count: the most that any outlet counts, as they are likely the same ones."""
    more: dict[str, int] = {}
    for verdict in verdicts:
        for finding in verdict.findings:
            if finding.outcome in _RANK and evidence_of(finding.check) and finding.more_places:
                more[finding.title] = max(more.get(finding.title, 0), finding.more_places)
    return more


def _cuts(verdicts: Sequence[Verdict]) -> Iterator[Look]:
    """First and last frame of each act, once for all outlets that cut there; they may number acts differently.

    And the slate, which nothing reads: what should be on it stands beside it.
    """
    cuts: dict[int, dict[str, list[str]]] = {}
    for verdict in verdicts:
        for act in verdict.programme.acts:
            if act.span.frames:
                for frame, which in ((act.span.first, "first"), (act.span.last, "last")):
                    words = f"{which} frame of act {act.number}"
                    cuts.setdefault(frame, {}).setdefault(words, []).append(verdict.profile.name)
        for finding in verdict.findings:
            if finding.check == "leader" and finding.subject == "slate" and finding.outcome is Outcome.PASS:
                for shown in finding.places:
                    frame = (shown.span.first + shown.span.end) // 2
                    words = f"the slate; {finding.reason}"
                    cuts.setdefault(frame, {}).setdefault(words, []).append(verdict.profile.name)
    clock = next((verdict.timeline.clock for verdict in verdicts if verdict.timeline and verdict.timeline.clock), None)
    for frame, what in sorted(cuts.items()):
        span = Span(frame, frame + 1)
        place = Place(span, clock.at(frame), clock.at(frame + 1), clock.offset(frame)) if clock else None
        routine = tuple((words, tuple(names)) for words, names in what.items())
        yield Look(span, place, False, (View(frame, next(iter(what))),), routine=routine)


def _shows(look: Look, cut: Look) -> bool:
    return any(view.frame == cut.span.first for view in look.views)
