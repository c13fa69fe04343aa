"""Measuring in a child process: a decoder that crashes, hangs or eats memory costs one file, not the run."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from qc.measurement.record import Measurement
from qc.media.facts import FileFacts

if TYPE_CHECKING:
    from qc.measurement.store import Store


@dataclass(frozen=True)
class RunLimits:
    """What one file may cost.

    no_progress_seconds  wall clock without a decoded frame or packet before the child is ended
    memory_bytes         data segment of the child (where the system can bound it)
    longest              seconds of programme after which the pass stops early, None for no limit
    """

    no_progress_seconds: float = 60.0
    memory_bytes: int = 4 << 30
    longest: Fraction | None = None


@dataclass(frozen=True)
class Progress:
    """How far the long pass is.

    fraction      0 to 1 of the declared length, None if the length is unknown
    frames        picture frames measured (hundredths of a second where there is no picture)
    fps           those per second of wall clock
    seconds_left  estimate, None if unknown
    """

    fraction: float | None
    frames: int
    fps: float
    seconds_left: float | None


def probe_file(path: Path) -> FileFacts:
    """What the headers say. Raises CannotMeasure in the user's words."""
    raise NotImplementedError


def measure_file(
    path: Path,
    *,
    store: Store | None,
    fresh: bool = False,
    on_facts: Callable[[FileFacts], None] | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    limits: RunLimits = RunLimits(),
) -> Measurement:
    """The measurement of one file: from the store if it is known there, else by one pass.

    on_facts     called once, as soon as the headers are read (also when the store knows the file)
    on_progress  called a few times a second during the pass
    Raises CannotMeasure naming the file and the last position; KeyboardInterrupt ends the child first.
    """
    raise NotImplementedError
