"""What stands beside a finding: stills of its frames, the stretch of curve round its places, or both."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from qc.judge.catalogue import evidence_of
from qc.judge.timeline import Timeline
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.measurement.record import clock_of
from qc.programme.place import Area, Place
from qc.report import wording
from qc.report.drawing.flash_svg import flash_of
from qc.report.drawing.outline_svg import outlines
from qc.report.drawing.stretch_svg import stretch_of
from qc.report.evidence import MOST_SEEN, views_of
from qc.report.media_file import MediaFile
from qc.report.still import Still, Stills
from qc.report.visible import sentence, visible
from qc.timing.timecode import Clock

#: Places of one finding whose curves are shown; all places are listed.
MOST_DRAWN = 3


@dataclass(frozen=True)
class StillWords:
    """One frame beside a finding: the picture, or the finding that shows it already, or why there is none.

    The timecode is part of the picture; what is outlined lies over it, for this finding alone.

    source   data URI of the JPEG, "" if there is none or it stands elsewhere
    earlier  anchor of the finding that shows the same frame, and its title
    """

    source: str
    outline: Markup
    width: int
    height: int
    alt: str
    timecode: str
    caption: str
    reason: str
    earlier: tuple[str, str] | None


@dataclass(frozen=True)
class Evidence:
    """stills  pictures of frames; curves  drawn stretches with their captions, ready to print"""

    stills: tuple[StillWords, ...] = ()
    curves: tuple[Markup, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.stills or self.curves)


NOTHING = Evidence()


class EvidenceDesk:
    """Hands out the evidence of one page, each frame once: bytes of pictures are what makes a report heavy.
    Where another finding points elsewhere in it, it is shown again with that outline.

    Ask in the order of the page, so that a frame stands with the first finding that shows it.
    """

    def __init__(self, verdict: Verdict, file: MediaFile, stills: Stills) -> None:
        self._timeline = verdict.timeline
        self._clock = clock_of(file.facts) if file.facts else None
        self._stills = stills
        self._shown: dict[tuple[int, Area | None], tuple[str, str]] = {}

    def of(self, finding: Finding, anchor: str) -> Evidence:
        if finding.outcome is Outcome.PASS:
            return NOTHING
        kind = evidence_of(finding.check)
        if kind == "still":
            return Evidence(stills=tuple(self._views(finding, anchor)), curves=tuple(self._lights(finding, anchor)))
        if kind == "curve" and self._timeline is not None:
            return Evidence(curves=tuple(self._curves(finding, anchor, self._timeline)))
        return NOTHING

    def _views(self, finding: Finding, anchor: str) -> Iterator[StillWords]:
        seen: set[int] = set()
        for place in finding.places[:MOST_SEEN]:
            for view in sorted(views_of(finding, place), key=lambda view: view.frame):
                still = self._stills.get(view.frame)
                if still is None or view.frame in seen:
                    continue
                seen.add(view.frame)
                yield self._still(still, place, view.words, anchor, finding)

    def _still(self, still: Still, place: Place, words: str, anchor: str, finding: Finding) -> StillWords:
        timecode = _label(self._clock, still.frame, place)
        name = f"Frame {still.frame}, {timecode}" if timecode else f"Frame {still.frame}"
        area = place.area if place.span.contains(still.frame) else None
        earlier = self._shown.get((still.frame, area))
        picture = still.jpeg if earlier is None else None
        if picture:
            self._shown[still.frame, area] = anchor, wording.title(finding)
        return StillWords(
            source=f"data:image/jpeg;base64,{b64encode(picture).decode()}" if picture else "",
            outline=outlines([area]),
            width=still.width,
            height=still.height,
            alt=f"{name}, the place outlined" if area else name,
            timecode=timecode,
            caption=f"frame {still.frame}, {visible(words)}" if words else f"frame {still.frame}",
            reason="" if still.jpeg else sentence(still.reason or "it could not be decoded"),
            earlier=earlier,
        )

    def _curves(self, finding: Finding, anchor: str, timeline: Timeline) -> Iterator[Markup]:
        for number, place in enumerate(finding.places[:MOST_DRAWN], 1):
            drawing = stretch_of(finding, timeline, place, ident=f"{anchor}-curve-{number}")
            if drawing is not None:
                yield drawing

    def _lights(self, finding: Finding, anchor: str) -> Iterator[Markup]:
        if self._timeline is None:
            return
        for number, place in enumerate(finding.places[:MOST_DRAWN], 1):
            drawing = flash_of(finding, self._timeline, place, ident=f"{anchor}-light-{number}")
            if drawing is not None:
                yield drawing


def _label(clock: Clock | None, frame: int, place: Place) -> str:
    """Timecode of a frame; the place's own labels where the clock of the file is unknown."""
    if clock is not None:
        return clock.at(frame)
    return {place.span.first: place.timecode, place.span.end: place.until}.get(frame, "")
