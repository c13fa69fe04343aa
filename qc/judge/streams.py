"""Which streams there are."""

from __future__ import annotations

from collections.abc import Iterator

from qc.judge.findings import finding, graded, weighed
from qc.judge.headers import Headers, Judge
from qc.judge.limits import Bounds, count_bounds
from qc.judge.verdict import Finding
from qc.outlets.schema_kinds import Choice, Count
from qc.remedy.exports import one_of, re_export


def pictures(case: Headers, key: str, requirement: Count) -> Iterator[Finding]:
    """Picture streams; covers and thumbnails are left out and mentioned."""
    attached = sum(stream.attached for stream in case.facts.pictures)
    bounds = count_bounds(requirement)
    yield weighed(
        key,
        requirement,
        len(case.facts.pictures) - attached,
        bounds,
        unit="streams",
        reason=f"left out: {attached} cover picture or thumbnail" if attached else "",
        fix=re_export(f"{bounds.words} picture stream{_plural(bounds)}"),
    )


def timecode_tracks(case: Headers, key: str, requirement: Count) -> Iterator[Finding]:
    """Timecode streams; where the wrapper keeps timecode in its packages, they count as one."""
    tracks = sum(stream.kind == "timecode" for stream in case.facts.others)
    tracks = tracks or min(1, len(case.facts.timecodes))
    bounds = count_bounds(requirement)
    yield weighed(
        key,
        requirement,
        tracks,
        bounds,
        unit="tracks",
        fix=re_export(f"{bounds.words} timecode track{_plural(bounds)}", "timecode"),
    )


def _plural(bounds: Bounds) -> str:
    """The ending of what is counted: "at least 1 track", "1 to 2 tracks"."""
    last = bounds.low if bounds.high is None else bounds.high
    return "" if last == 1 else "s"


def other(case: Headers, key: str, requirement: Choice) -> Iterator[Finding]:
    """Further streams by kind."""
    kinds = sorted({stream.kind for stream in case.facts.others if stream.kind != "timecode"})
    accepted = {value.casefold() for value in requirement.accept}
    strays = [kind for kind in kinds if kind.casefold() not in accepted]
    yield finding(
        key,
        requirement,
        graded(requirement, not strays),
        ", ".join(kinds) or "none",
        one_of(requirement.accept),
        fix=re_export(f"no {' and no '.join(strays)} stream") if strays else None,
    )


HEADER_JUDGES: dict[str, Judge] = {
    "streams.pictures": pictures,
    "streams.timecode_tracks": timecode_tracks,
    "streams.other": other,
}
