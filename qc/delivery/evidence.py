"""Stills beside findings: which frames, with which label, and what came of them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from qc.judge.verdict import Verdict
from qc.measurement.record import Measurement
from qc.measurement.stills import WantedStill, take_stills
from qc.report.evidence import frames_to_show
from qc.report.still import Still
from qc.report.viewing_list import viewing_frames

if TYPE_CHECKING:
    from qc.delivery.run import Ask

#: Stills of one file: those of findings, then first and last frames of acts for the viewing list.
MOST_STILLS = 36


def stills_of(path: Path, measurement: Measurement, verdicts: Sequence[Verdict], ask: Ask) -> dict[int, Still]:
    """Stills for the findings of one file, by frame; one that cannot be had carries the reason.

    Comes from the store where it can, else from short seeks in a child process. Never raises for the media's sake.
    """
    if measurement.picture is None:
        return {}
    clock = measurement.clock
    shown = dict.fromkeys([*frames_to_show(verdicts), *viewing_frames(verdicts)])
    frames = [frame for frame in shown if frame < measurement.picture.frames][:MOST_STILLS]
    wanted = [WantedStill(frame, clock.at(frame)) for frame in frames]
    taken = take_stills(path, measurement, wanted, store=ask.store, limits=ask.limits, fresh=ask.fresh)
    return {frame: Still(frame, still.jpeg, still.width, still.height, still.reason) for frame, still in taken.items()}
