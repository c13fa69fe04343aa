"""Stills of single frames, taken in a child process after the measuring, or from the store.

The media is only sought in, never decoded as a whole, and whatever goes wrong with it is a reason in words
at the frame that it belongs to.
"""

from __future__ import annotations

import base64
import contextlib
import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from qc.errors import CannotMeasure
from qc.measurement.child import DecoderDied, RunLimits, conversation
from qc.measurement.record import Measurement, PictureSeries
from qc.measurement.still_shelf import StillShelf
from qc.measurement.store import Store
from qc.measurement.wanted_still import TakenStill, WantedStill, row_mark

#: Stills of one file that are taken at most; beyond, the report would be too large to mail.
MOST = 60
#: Children for one file: one that dies at a frame costs that frame, the next goes on behind it.
_CHILDREN = 3
#: What a child may hand over for one still.
_MOST_BYTES, _MOST_SIDE = 200_000, 4096


def take_stills(
    path: Path,
    measurement: Measurement,
    wanted: Sequence[WantedStill],
    *,
    store: Store | None,
    limits: RunLimits | None = None,
    fresh: bool = False,
) -> dict[int, TakenStill]:
    """A still, or the reason why there is none, for every wanted frame.

    fresh  take them again even if the store has them
    Raises nothing for the media's sake; KeyboardInterrupt ends the child first.
    """
    asked = {still.frame: still for still in wanted}
    results: dict[int, TakenStill] = {}
    picture = measurement.picture
    for number, frame in enumerate(asked):
        if picture is None or measurement.facts.picture is None:
            results[frame] = _none(frame, "the file has no picture that could be measured")
        elif not 0 <= frame < picture.frames:
            results[frame] = _none(frame, "there is no such frame")
        elif number >= MOST:
            results[frame] = _none(frame, f"no more than {MOST} stills are taken of a file")
    shelf = StillShelf(store, measurement.identity) if store is not None else None
    left = {frame: still for frame, still in asked.items() if frame not in results}
    if shelf is not None and not fresh:
        results |= shelf.find(left.values())
    left = {frame: left[frame] for frame in sorted(left) if frame not in results}
    if left:
        lasting = _take(path, measurement, left, limits or RunLimits(), results)
        if shelf is not None:
            shelf.keep({left[frame]: results[frame] for frame in lasting})
    return {frame: results[frame] for frame in asked}


def _take(
    path: Path,
    measurement: Measurement,
    wanted: dict[int, WantedStill],
    limits: RunLimits,
    results: dict[int, TakenStill],
) -> list[int]:
    """Fills in results; returns the frames whose result would be the same again."""
    lasting: list[int] = []
    trouble = "the decoder ended without a word"
    for _ in range(_CHILDREN):
        left = {frame: still for frame, still in wanted.items() if frame not in results}
        if not left:
            break
        at = next(iter(left))
        try:
            request = _request(path, measurement, left, limits)
            with contextlib.closing(conversation(request, path, limits.no_progress_seconds)) as messages:
                for message in messages:
                    if "result" in message:
                        break
                    if "progress" in message:
                        at = _frame(message["progress"].get("frames"), left, at)
                    elif "still" in message:
                        still = _still(message["still"], left)
                        results[still.frame] = still
                        if message["still"].get("lasting", True):
                            lasting.append(still.frame)
        except DecoderDied as death:
            if at not in results:
                results[at] = _none(at, death.what)
            trouble = death.what
            continue
        except (CannotMeasure, OSError) as error:
            trouble = error.what if isinstance(error, CannotMeasure) else f"the decoder cannot be started ({error})"
        break
    for frame in wanted:
        results.setdefault(frame, _none(frame, trouble))
    return lasting


def _request(path: Path, measurement: Measurement, wanted: dict[int, WantedStill], limits: RunLimits) -> dict[str, Any]:
    stream, picture = measurement.facts.picture, measurement.picture
    assert stream is not None and picture is not None
    return {
        "task": "stills",
        "path": os.fspath(path),
        "memory_bytes": limits.memory_bytes,
        "fingerprint": measurement.identity.fingerprint,
        "stream": stream.index,
        "time_base": str(picture.time_base),
        "rate": str(stream.frame_rate) if stream.frame_rate else None,
        "sample_aspect": str(stream.sample_aspect) if stream.sample_aspect else None,
        "frames": picture.frames,
        "depth": picture.bins.depth,
        "full_range": picture.bins.full_range,
        "wanted": list(_wanted(picture, wanted)),
    }


def _wanted(picture: PictureSeries, wanted: dict[int, WantedStill]) -> Iterator[dict[str, Any]]:
    for frame, still in wanted.items():
        time = picture.time[frame]
        yield {
            "frame": frame,
            "time": int(time),
            "nth": int(np.count_nonzero(picture.time[:frame] == time)),
            "mark": row_mark(
                picture.luma[frame],
                int(picture.counted[frame]),
                int(picture.darkest[frame]),
                int(picture.brightest[frame]),
            ),
            "label": still.label,
        }


def _frame(plain: Any, wanted: dict[int, WantedStill], otherwise: int) -> int:
    return plain if isinstance(plain, int) and plain in wanted else otherwise


def _still(plain: Any, wanted: dict[int, WantedStill]) -> TakenStill:
    """Raises CannotMeasure for what a sound child would not say."""
    try:
        frame, reason = plain["frame"], plain.get("reason")
        if frame in wanted and isinstance(reason, str) and reason:
            return _none(frame, reason)
        jpeg = base64.b64decode(plain["jpeg"], validate=True)
        width, height = int(plain["width"]), int(plain["height"])
        whole = jpeg.startswith(b"\xff\xd8") and len(jpeg) <= _MOST_BYTES
        if frame in wanted and whole and 0 < width <= _MOST_SIDE and 0 < height <= _MOST_SIDE:
            return TakenStill(frame, jpeg, width, height)
    except (KeyError, TypeError, ValueError, AttributeError):
        pass
    raise CannotMeasure("the decoder handed over something that is no still")


def _none(frame: int, reason: str) -> TakenStill:
    return TakenStill(frame, None, reason=reason)


__all__ = ["MOST", "TakenStill", "WantedStill", "take_stills"]
