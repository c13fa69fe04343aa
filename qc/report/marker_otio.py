"""Markers as an OpenTimelineIO document: one clip over the whole file that carries them.

Times are frame numbers at the file's own rate, counted as its labels are: the label number of the file's first frame
is the start of the clip's media and of the timeline, so an editor sees the file's timecode (drop-frame or not).
The medium itself is named, not linked: the list holds no path.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from qc.report.markers import Counted, Marker, counted
from qc.report.media_file import MediaFile
from qc.report.visible import visible

if TYPE_CHECKING:
    from opentimelineio.schema import Clip

#: Where our own fields stand in the metadata of the timeline and of each marker.
OURS = "airworthy"


def marker_otio(markers: Sequence[Marker], file: MediaFile) -> bytes:
    """The timeline as UTF-8 JSON. The library takes a quarter of a second to load: only here, when it is needed."""
    from opentimelineio.schema import Timeline, Track, TrackKind

    name = visible(file.name)
    timeline = Timeline(name)
    count = counted(file, markers)
    if count:
        track = Track("V", kind=TrackKind.Video)
        track.append(_clip(name, markers, count))
        timeline.tracks.append(track)
        timeline.global_start_time = _time(count, count.start)
        timeline.metadata[OURS] = {
            "frames": count.frames,
            "frames_per_second": str(count.clock.rate),
            "counting": count.words,
            "first_frame": count.label(0),
        }
    else:
        timeline.metadata[OURS] = {"counting": "none: the file could not be read"}
    return f"{timeline.to_json_string()}\n".encode()


def _clip(name: str, markers: Sequence[Marker], count: Counted) -> Clip:
    from opentimelineio.schema import Clip, MissingReference

    whole = _range(count, 0, count.frames)
    clip = Clip(name, MissingReference(name, whole), whole)
    clip.markers.extend(_marker(marker, count) for marker in markers)
    return clip


def _marker(marker: Marker, count: Counted) -> Any:
    from opentimelineio.schema import Marker as Mark

    own = {
        "outcome": marker.kind,
        "outlets": list(marker.outlets),
        "frame": marker.span.first,
        "frames": marker.span.frames,
        "timecode": count.label(marker.span.first),
        "elapsed": marker.offset,
        "where": marker.within,
    }
    marked = _range(count, marker.span.first, marker.span.frames)
    return Mark(marker.name, marked, marker.colour.upper(), {OURS: own}, marker.note)


def _range(count: Counted, first: int, frames: int) -> Any:
    from opentimelineio.opentime import TimeRange

    return TimeRange(_time(count, count.start + first), _time(count, frames))


def _time(count: Counted, frame: int) -> Any:
    from opentimelineio.opentime import RationalTime

    return RationalTime(frame, float(count.clock.rate))
