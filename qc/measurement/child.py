"""Measuring in a child process: a decoder that crashes, hangs or eats memory costs one file, not the run.

The child has a process group of its own, a watchdog here that ends it when nothing moves, a bound
on its memory, and a private folder for the series that is gone whatever happens.
"""

from __future__ import annotations

import contextlib
import json
import os
import queue
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

import qc
from qc.errors import CannotMeasure
from qc.measurement.header import Header, HeaderError, from_dict
from qc.measurement.record import STEPS_PER_SECOND, Measurement
from qc.measurement.series_file import SeriesError, read_series
from qc.media.facts import FileFacts
from qc.timing.timecode import elapsed

if TYPE_CHECKING:
    from qc.measurement.store import Store

#: What runs in the child; tests put a child that misbehaves in its place.
WORKER: tuple[str, ...] = ("-P", "-m", "qc.measurement.worker")
#: Longest that reading the headers may take without a word.
PROBE_SECONDS = 20.0


@dataclass(frozen=True)
class RunLimits:
    """What one file may cost.

    no_progress_seconds  wall clock without a sign of progress before the child is ended
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


class DecoderDied(CannotMeasure):
    """The child ended by itself in the middle of its work."""


def probe_file(path: Path) -> FileFacts:
    """What the headers say. Raises CannotMeasure in the user's words."""
    request = {"task": "probe", "path": os.fspath(path), "memory_bytes": RunLimits().memory_bytes}
    with contextlib.closing(conversation(request, path, PROBE_SECONDS)) as messages:
        for message in messages:
            if "facts" in message:
                return _facts(message["facts"], path)
    raise CannotMeasure("reading the headers ended without a word", where=path.name)


def measure_file(
    path: Path,
    *,
    store: Store | None,
    fresh: bool = False,
    on_facts: Callable[[FileFacts], None] | None = None,
    on_progress: Callable[[Progress], None] | None = None,
    on_note: Callable[[str], None] | None = None,
    limits: RunLimits = RunLimits(),
) -> Measurement:
    """The measurement of one file: from the store if it is known there, else by one pass.

    on_facts     called once, as soon as the headers are read (also when the store knows the file)
    on_progress  called a few times a second during the pass
    on_note      called with a sentence when the store could not be used, and why
    Raises CannotMeasure naming the file and the last position; KeyboardInterrupt ends the child first.
    """
    note = on_note or (lambda _: None)
    if store is not None and not fresh:
        kept = store.find(path)
        if kept is not None:
            if on_facts:
                on_facts(kept.facts)
            return kept
        if store.why:
            note(store.why)
    measurement = _one_pass(path, on_facts, on_progress, limits)
    if store is not None and measurement.complete:
        store.keep(measurement, path)
        if store.why:
            note(store.why)
    return measurement


def _one_pass(
    path: Path,
    on_facts: Callable[[FileFacts], None] | None,
    on_progress: Callable[[Progress], None] | None,
    limits: RunLimits,
) -> Measurement:
    folder = Path(tempfile.mkdtemp(prefix="airworthy-"))
    series = folder / "series.npz"
    request = {
        "task": "measure",
        "path": os.fspath(path),
        "series": os.fspath(series),
        "memory_bytes": limits.memory_bytes,
        "longest": str(limits.longest) if limits.longest is not None else None,
    }
    facts: FileFacts | None = None
    began = time.monotonic()
    try:
        with contextlib.closing(conversation(request, path, limits.no_progress_seconds)) as messages:
            for message in messages:
                if "facts" in message:
                    facts = _facts(message["facts"], path)
                    began = time.monotonic()
                    if on_facts:
                        on_facts(facts)
                elif "progress" in message and on_progress and facts:
                    on_progress(_progress(message["progress"], facts, time.monotonic() - began))
                elif "result" in message:
                    return _measurement(message["result"], series, path)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    raise CannotMeasure("measuring ended without a result", where=path.name)


def conversation(request: dict[str, Any], path: Path, patience: float) -> Generator[dict[str, Any], None, None]:
    """The child's messages, one by one; the child is gone when this is closed.

    Raises CannotMeasure when it reports an error or says nothing for ``patience`` seconds, DecoderDied when it dies.
    """
    child = subprocess.Popen(
        [sys.executable, *WORKER],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env=_environment(),
        start_new_session=True,
    )
    last: dict[str, Any] = {}
    try:
        lines = _lines(child, request)
        while True:
            try:
                line = lines.get(timeout=patience)
            except queue.Empty:
                raise CannotMeasure(
                    f"the decoder gave no sign of life for {patience:.0f} s {_position(last)}",
                    where=path.name,
                    remedy="the file is damaged there or its disk does not answer; copy or export it again",
                ) from None
            if line is None:
                raise _death(child.wait(), last, path)
            message = _message(line, path)
            if "error" in message:
                error = message["error"]
                raise CannotMeasure(error["what"], where=error["where"] or path.name, remedy=error["remedy"])
            last = message.get("progress", last)
            yield message
    finally:
        _end(child)


def _lines(child: subprocess.Popen[bytes], request: dict[str, Any]) -> queue.Queue[bytes | None]:
    """Lines of the child's output, None at its end."""
    lines: queue.Queue[bytes | None] = queue.Queue()

    def pump() -> None:
        with contextlib.suppress(OSError, ValueError):
            assert child.stdin is not None and child.stdout is not None
            child.stdin.write(json.dumps(request).encode() + b"\n")
            child.stdin.flush()
            for line in child.stdout:
                lines.put(line)
        lines.put(None)

    threading.Thread(target=pump, name="child", daemon=True).start()
    return lines


def _end(child: subprocess.Popen[bytes]) -> None:
    """End the child and whatever it started."""
    try:
        if hasattr(os, "killpg"):
            os.killpg(child.pid, signal.SIGKILL)
        else:
            child.kill()
    except (ProcessLookupError, PermissionError):
        pass
    child.wait()
    for pipe in (child.stdin, child.stdout):
        if pipe is not None:
            with contextlib.suppress(OSError):
                pipe.close()


def _environment() -> dict[str, str]:
    """Ours, with this package findable and one thread a numeric call: the meters have a thread already."""
    home = os.fspath(Path(qc.__file__).parent.parent)
    paths = [home, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    single = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
    return {**os.environ, **single, "PYTHONPATH": os.pathsep.join(paths)}


def _message(line: bytes, path: Path) -> dict[str, Any]:
    try:
        message = json.loads(line)
    except ValueError:
        message = None
    if not isinstance(message, dict):
        raise CannotMeasure("the measuring process could not be understood", where=path.name)
    return message


def _facts(plain: Any, path: Path) -> FileFacts:
    try:
        return from_dict(FileFacts, plain)
    except HeaderError as error:
        raise CannotMeasure(f"its headers could not be handed over ({error})", where=path.name) from None


def _measurement(plain: Any, series: Path, path: Path) -> Measurement:
    try:
        header = from_dict(Header, plain)
        sound, picture = read_series(series)
    except (HeaderError, SeriesError, OSError) as error:
        raise CannotMeasure(f"its measurement could not be handed over ({error})", where=path.name) from None
    return header.with_series(sound, picture)


def _progress(plain: dict[str, Any], facts: FileFacts, wall: float) -> Progress:
    frames, seconds = int(plain["frames"]), float(plain["seconds"])
    picture = facts.picture
    total = picture.duration if picture is not None and picture.duration else facts.duration
    fraction = min(1.0, seconds / float(total)) if total else min(1.0, float(plain["share"]))
    done = frames if picture is not None else round(seconds * STEPS_PER_SECOND)
    left = wall * (1 - fraction) / fraction if fraction > 0.005 else None
    return Progress(fraction=fraction, frames=done, fps=done / wall if wall > 0 else 0.0, seconds_left=left)


def _death(status: int, last: dict[str, Any], path: Path) -> DecoderDied:
    if status < 0:
        try:
            name = signal.Signals(-status).name
        except ValueError:
            name = str(-status)
        what = f"the decoder crashed ({name}) {_position(last)}"
    else:
        what = f"the decoder gave up {_position(last)}"
    return DecoderDied(what, where=path.name, remedy="the file is damaged there; copy or export it again")


def _position(last: dict[str, Any]) -> str:
    if not last:
        return "before the first frame"
    at = elapsed(round(float(last["seconds"]) * 1000), Fraction(1000))
    return f"after {at} (frame {int(last['frames'])})"
