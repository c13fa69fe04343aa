"""Taking stills, in the child process: each frame found, compared with its measured luma, made small."""

from __future__ import annotations

import base64
from collections.abc import Callable
from fractions import Fraction
from pathlib import Path
from typing import Any

from qc.errors import CannotMeasure
from qc.measurement.fingerprint import fingerprint
from qc.measurement.wanted_still import row_mark
from qc.media.frame_seek import FrameFinder, FrameTime, NoFrame
from qc.media.luma_view import luma_view
from qc.media.still import still_of
from qc.meters.picture.luma import LumaMeter

CHANGED = "the file has changed since it was measured"


def take(request: dict[str, Any], say: Callable[[dict[str, Any]], None]) -> None:
    """Says {"still": {...}} for every frame of the request, in rising order, and {"progress"} before and during each.

    Raises CannotMeasure if the file cannot be opened or is not the one that was measured.
    """
    path = Path(request["path"])
    _require_unchanged(path, request["fingerprint"])
    base = Fraction(request["time_base"])
    rate = Fraction(request["rate"]) if request["rate"] else None
    aspect = Fraction(request["sample_aspect"]) if request["sample_aspect"] else None
    try:
        finder = FrameFinder(path, request["stream"], base, rate, request["frames"])
    except NoFrame as none:
        raise CannotMeasure(none.reason, where=path.name) from None
    try:
        for wanted in sorted(request["wanted"], key=lambda item: item["frame"]):
            number = wanted["frame"]

            def pulse(frame: int = number, ticks: int = wanted["time"]) -> None:
                say({"progress": {"frames": frame, "seconds": float(ticks * base), "share": 0.0}})

            pulse()
            try:
                time = FrameTime(number, wanted["time"], wanted["nth"])
                frame = finder.find(time, _Same(wanted["mark"], request["depth"], request["full_range"]), pulse)
                still = still_of(frame, wanted["label"], aspect)
            except NoFrame as none:
                say({"still": {"frame": number, "reason": none.reason, "lasting": none.lasting}})
                continue
            jpeg = base64.b64encode(still.content).decode("ascii")
            say({"still": {"frame": number, "jpeg": jpeg, "width": still.width, "height": still.height}})
    finally:
        finder.close()


class _Same:
    """Whether a picture's luma, counted as the one pass counts it, is the measured row."""

    def __init__(self, mark: str, depth: int, full_range: bool) -> None:
        self._mark, self._depth, self._full_range = mark, depth, full_range

    def __call__(self, frame: Any) -> bool:
        meter = LumaMeter(self._depth, self._full_range)
        if frame.is_corrupt:
            meter.skip()
        else:
            view = luma_view(frame)
            meter.feed(view.codes, view.bits)
        rows = meter.finish()
        return row_mark(rows.luma[0], rows.counted[0], rows.darkest[0], rows.brightest[0]) == self._mark


def _require_unchanged(path: Path, mark: str) -> None:
    try:
        now = fingerprint(path)
    except OSError as error:
        raise CannotMeasure(f"the file cannot be read any more ({error.strerror})", where=path.name) from None
    if now != mark:
        raise CannotMeasure(CHANGED, where=path.name)
