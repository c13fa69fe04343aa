"""Which frames stand as stills beside findings: few, the worst findings first, each frame once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.judge.catalogue import evidence_of
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.programme.place import Place

#: Stills of one file. A report stays small enough to mail, and taking them stays a small part of the pass.
MOST_STILLS = 24

_WORST_FIRST = (Outcome.FAIL, Outcome.NOT_MEASURED, Outcome.ADVISORY, Outcome.WAIVED)
_IN_AND_OUT = ("act-length", "element-length", "timing-sheet")
_BLACK = ("break-length", "black", "acts", "parts")
#: What is only seen to be wrong beside the pictures around it.
_ODD = ("strays", "hits", "solid", "repeats", "drops")

#: Places of one finding whose stills a report shows; all places are listed.
MOST_SEEN = 5


@dataclass(frozen=True)
class View:
    """One frame that shows something of a place, and what it is in a few words."""

    frame: int
    words: str


def views_of(finding: Finding, place: Place) -> tuple[View, ...]:
    """Frames that tell of one place of a finding, the telling one first; empty where a still shows nothing.

    The first is always the first frame of the place. A stretch of picture adds its last frame; a stretch of
    black, which shows nothing itself, and a frame that does not belong, which only its neighbours show, add the
    picture on either side; what stands before or after the programme adds the programme's own edge.
    """
    if finding.outcome is Outcome.PASS or evidence_of(finding.check) != "still":
        return ()
    first, end = place.span.first, place.span.end
    long = place.span.frames > 1
    if finding.check in _BLACK:
        views = [View(first, "first black frame"), *_around(first, end)]
    elif finding.check in _ODD:
        views = [View(first, "first frame" if long else "this frame"), *_around(first, end)]
    elif finding.check in _IN_AND_OUT and long:
        views = [View(first, "first frame"), View(end - 1, "last frame")]
    elif finding.check == "head-and-tail" and long:
        edge = View(end, "first of the programme") if first == 0 else View(first - 1, "last of the programme")
        views = [View(first, "first frame"), edge]
    elif finding.check == "act-starts":
        views = [View(first, "first frame"), View(first - 1, "the frame before")]
    else:
        views = [View(first, "first frame" if long else "this frame")]
    return tuple(view for view in views if view.frame >= 0)


def _around(first: int, end: int) -> tuple[View, View]:
    return View(first - 1, "last before it"), View(end, "first after it")


def frames_to_show(verdicts: Sequence[Verdict], most: int = MOST_STILLS) -> tuple[int, ...]:
    """At most ``most`` frames of one file, in the order in which they matter.

    Every finding gets its first still before any gets a second: failures, then what could not be measured,
    then advice, then what is waived; musts before shoulds; then in the order of the verdicts.
    """
    queues: list[tuple[tuple[int, bool, int, int], list[int]]] = []
    for outlet, verdict in enumerate(verdicts):
        frames = verdict.timeline.frames if verdict.timeline is not None else None
        for number, finding in enumerate(verdict.findings):
            shown = [frame for frame in _frames(finding) if frames is None or frame < frames]
            if shown:
                worst = _WORST_FIRST.index(finding.outcome), finding.level != "must", number, outlet
                queues.append((worst, shown))
    queues.sort(key=lambda item: item[0])
    chosen: dict[int, None] = {}
    for turn in range(max((len(shown) for _, shown in queues), default=0)):
        for _, shown in queues:
            if turn < len(shown):
                chosen[shown[turn]] = None
                if len(chosen) >= most:
                    return tuple(chosen)
    return tuple(chosen)


def _frames(finding: Finding) -> list[int]:
    """Frames of one finding, place after place: one that is seen whole tells more than two that are seen in part."""
    views = [view for place in finding.places[:MOST_SEEN] for view in views_of(finding, place)]
    return list(dict.fromkeys(view.frame for view in views))
