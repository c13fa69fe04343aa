"""Markers for the edit: every place that a finding names, over all outlets of one file, in order of time.

What is written here is the content; marker_csv, marker_edl and marker_otio give it three forms. All three count
frames alike: from the label of the file's first frame, or from 00:00:00:00 where the file has no timecode.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from qc.judge.mix import MixSheet
from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.measurement.record import clock_of
from qc.report import wording
from qc.report.media_file import MediaFile
from qc.report.own_place import fix_at
from qc.report.visible import visible
from qc.timing.spans import Span
from qc.timing.timecode import Clock

#: What a marker of a peak that a gain brings over the ceiling says instead of an outcome.
AFTER_GAIN = "after gain"

#: A colour per kind, each known to edit lists and to OpenTimelineIO; the kind stands beside it as a word.
COLOURS = {
    Outcome.FAIL.value: "red",
    Outcome.NOT_MEASURED.value: "magenta",
    Outcome.ADVISORY.value: "yellow",
    Outcome.WAIVED.value: "cyan",
    AFTER_GAIN: "blue",
}
_KINDS = list(COLOURS)

#: Where in an act a sentence says a place is; an outlet whose acts are not known lacks it.
_WITHIN = re.compile(r" \((act|break) \d+[^)]*\)")


@dataclass(frozen=True)
class Marker:
    """One place on the time line of one file.

    name      "CORVANE 5: True peak -1.40 dBTP, limit -2.0 dBTP, channel 2", one line, not longer than a report allows
    kind      a key of COLOURS
    outlets   for whom it is a finding
    span      frames from the first frame of the file
    timecode  label of the first frame as in the file; elapsed time if the file has none
    offset    elapsed time from the first frame of the file
    within    "act 2 +00:02:41;03" or ""
    note      what to do, "" if nothing is known
    """

    name: str
    kind: str
    outlets: tuple[str, ...]
    span: Span
    timecode: str
    offset: str
    within: str
    note: str

    @property
    def colour(self) -> str:
        return COLOURS[self.kind]


@dataclass(frozen=True)
class Counted:
    """How the frames of one file are labelled in a marker list.

    clock     always with a start: 0 where the file has no timecode
    timecode  False where it has none
    frames    length of the file as far as it is known, at least to the end of the last marker
    """

    clock: Clock
    timecode: bool
    frames: int

    @property
    def words(self) -> str:
        """How it was counted, for a reader."""
        if self.timecode:
            return self.clock.counting.name
        return "elapsed frames from 00:00:00:00, the file has no timecode"

    @property
    def start(self) -> int:
        assert self.clock.start is not None
        return self.clock.start

    def label(self, frame: int) -> str:
        """Label of a frame of the file."""
        return self.clock.at(frame)

    @property
    def passes_midnight(self) -> bool:
        return self.start + self.frames > self.clock.counting.frames_per_day


def counted(file: MediaFile, markers: Sequence[Marker]) -> Counted | None:
    """None if nothing is known of the file's time: then there are no markers either."""
    if file.facts is None:
        return None
    clock = clock_of(file.facts)
    labelled = clock if clock.start is not None else replace(clock, start=0)
    last = max((marker.span.end for marker in markers), default=0)
    return Counted(labelled, clock.start is not None, max(_frames(file, clock), last))


def markers_of(verdicts: Iterable[Verdict]) -> tuple[Marker, ...]:
    """Markers of one file over its outlets; what several outlets say alike of one place is one marker.

    Passed requirements give none, nor do findings about the file as a whole.
    """
    merged: dict[tuple[Span, str, str], Marker] = {}
    for verdict in verdicts:
        outlet = visible(verdict.profile.name)
        for marker in _of_verdict(verdict):
            key = (marker.span, marker.kind, marker.name)
            merged[key] = _joined(merged[key], marker, outlet) if key in merged else _for(marker, outlet)
    named = (replace(marker, name=_named(marker)) for marker in merged.values())
    return tuple(sorted(named, key=lambda marker: (marker.span, _KINDS.index(marker.kind), marker.name)))


def _frames(file: MediaFile, clock: Clock) -> int:
    """Decoded frames; by the length that the headers declare where none were decoded."""
    decoded = (file.figures or {}).get("picture", {}).get("frames")
    if decoded is not None:
        return int(decoded)
    facts = file.facts
    duration = facts.duration if facts else None
    return round(duration * clock.rate) if duration else 0


def _of_verdict(verdict: Verdict) -> Iterator[Marker]:
    """Markers with a name that lacks the outlet and without outlets."""
    for finding in verdict.findings:
        if finding.outcome != Outcome.PASS:
            yield from _of_finding(finding)
    for mix in verdict.mixes:
        yield from _of_mix(mix)


def _of_finding(finding: Finding) -> Iterator[Marker]:
    marked = len(finding.places)
    all_places = marked + finding.more_places
    beyond = (
        f"{marked} of {all_places} places are marked, {finding.more_places} more are not."
        if all_places > marked
        else ""
    )
    for place in finding.places:
        note = " ".join(filter(None, [_what_to_do(finding, place), beyond]))
        yield _marker(_finding_words(finding, place), finding.outcome.value, place, note)


def _finding_words(finding: Finding, place: Place) -> str:
    figure = wording.measured(finding) if place.value is None else wording.number(place.value, finding.unit)
    limit = wording.limit(finding).removeprefix("at most ")
    words = [f"{wording.title(finding)} {figure}", f"limit {limit}"]
    words += [f"channel {place.channel}"] if place.channel is not None else []
    words += [visible(place.note)] if place.note else []
    return ", ".join(words)


def _what_to_do(finding: Finding, place: Place) -> str:
    if finding.outcome == Outcome.WAIVED:
        return wording.waiver_words(finding)
    return visible(fix_at(finding, place)) if finding.fix else visible(finding.remarks)


def _of_mix(mix: MixSheet) -> Iterator[Marker]:
    """Peaks that stand over the ceiling only after the gain; those that do now are findings."""
    if not mix.gain:
        return
    marked = len(mix.peaks)
    for place in mix.peaks:
        peak = "" if place.value is None else f" {wording.number(float(place.value), 'dBTP')}"
        words = [f"True peak{peak} after {mix.gain:+.1f} dB"]
        words += [f"limit {wording.number(float(mix.ceiling), 'dBTP')}"] if mix.ceiling is not None else []
        words += [f"channel {place.channel}"] if place.channel is not None else []
        beyond = f" {marked} of {marked + mix.more_peaks} peaks are marked." if mix.more_peaks else ""
        yield _marker(", ".join(words), AFTER_GAIN, place, visible(mix.words) + beyond)


def _marker(words: str, kind: str, place: Place, note: str) -> Marker:
    return Marker(
        name=words,
        kind=kind,
        outlets=(),
        span=place.span,
        timecode=visible(place.timecode),
        offset=visible(place.offset),
        within=visible(place.within),
        note=note,
    )


def _for(marker: Marker, outlet: str) -> Marker:
    return replace(marker, outlets=(outlet,))


def _joined(marker: Marker, other: Marker, outlet: str) -> Marker:
    """The same place, said alike by one more outlet; another instruction is added with the outlet's name."""
    outlets = marker.outlets if outlet in marker.outlets else (*marker.outlets, outlet)
    if not other.note or _WITHIN.sub("", other.note) in _WITHIN.sub("", marker.note):
        return replace(marker, outlets=outlets)
    return replace(marker, outlets=outlets, note=f"{marker.note} {outlet}: {other.note}".strip())


def _named(marker: Marker) -> str:
    return visible(f"{', '.join(marker.outlets)}: {marker.name}")


def kinds(markers: Iterable[Marker]) -> tuple[tuple[str, int], ...]:
    """How many markers of each kind, most serious first; kinds without any are left out."""
    listed = [marker.kind for marker in markers]
    return tuple((kind, listed.count(kind)) for kind in _KINDS if kind in listed)
