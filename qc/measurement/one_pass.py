"""From the reader's blocks to the record: the meters work in a thread of their own behind a short queue.

libav decodes in its threads, or in the reader's, while OpenCV and NumPy count in this one; all of them release the
interpreter's lock. Pictures come in batches: one in work, one that is being filled. Memory stays flat in the
programme's length.
"""

from __future__ import annotations

import os
import queue
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np

from qc.measurement.event_log import EventLog
from qc.measurement.record import STEPS_PER_SECOND, Event, LumaBins, PictureSeries, SoundSeries
from qc.measurement.sound_lane import SoundLane
from qc.media.facts import FileFacts
from qc.media.happening import Happening
from qc.media.picture_view import picture_view
from qc.media.reader import PassResult, read_media
from qc.media.samples import SoundBlock
from qc.meters.picture.averages import Scratch
from qc.meters.picture.bank import SMALLEST, PictureBank, PictureKind, picture_meters
from qc.meters.picture.luma import LumaMeter
from qc.meters.picture.planes import Planes

#: Works that may wait for the meters: stretches of sound, and one batch of pictures while none is in work.
_WAITING = 3
#: Pictures handed on at once: the interpreter's part costs several times less when it runs warm.
_TOGETHER = 16
#: Bound of the above in bytes of pictures.
_TOGETHER_BYTES = 52_000_000
_PULSE_SECONDS = 0.2


@dataclass(frozen=True)
class PassRecord:
    """One pass, as series and events. ``because`` says in words why the record is not complete."""

    sound: SoundSeries | None
    picture: PictureSeries | None
    events: tuple[Event, ...]
    sha256: str | None
    size: int
    because: str


#: Kinds of events after which a record is not of the whole file as declared.
INCOMPLETE = ("early end", "not decodable", "stopped early", "changed during run", "layout change", "rate change")


def measure(
    path: Path,
    facts: FileFacts,
    longest: Fraction | None = None,
    on_pulse: Callable[[int, Fraction, float], None] | None = None,
    before: os.stat_result | None = None,
) -> PassRecord:
    """Measure one file in this process. Raises CannotMeasure if it cannot be opened.

    before  state of the file when ``facts`` were read, to notice a change between then and the end
    """
    meters = _Meters(facts, on_pulse)
    try:
        result = read_media(path, facts, meters, longest, before)
    finally:
        meters.end()
    return meters.record(result)


class _Meters:
    """The reader's sink; everything that costs time happens in the meter thread."""

    def __init__(self, facts: FileFacts, on_pulse: Callable[[int, Fraction, float], None] | None) -> None:
        self._facts = facts
        self._log = EventLog()
        self._lanes = [SoundLane(sound.index, sound.channels, self._log) for sound in facts.sounds]
        self._luma: LumaMeter | None = None
        self._top_first = not _bottom_first(facts)
        self._scratch = Scratch()
        self._bank = PictureBank(picture_meters(_kind(facts)))
        self._counted = 0
        self._times: list[int] = []
        self._frames: list[Any] = []
        self._bytes = 0  # of these
        self._on_pulse = on_pulse
        self._next_pulse = 0.0
        self._queue: queue.Queue[tuple[Callable[..., None], tuple[Any, ...]] | None] = queue.Queue(_WAITING)
        self._room = threading.Semaphore(1)  # for a batch of pictures: the next is handed on when one is done
        self._failed: BaseException | None = None
        self._thread = threading.Thread(target=self._work, name="meters", daemon=True)
        self._thread.start()

    # -- called by the reader (sound and silence from within ``later``) ---

    def picture(self, frame: Any, time: int) -> None:
        self._times.append(time)
        size = sum(plane.buffer_size for plane in frame.planes)
        if self._bytes + size > _TOGETHER_BYTES:  # the raster has changed
            self._pass_on()
        self._frames.append(frame)
        self._bytes += size
        if len(self._frames) == _TOGETHER or self._bytes + size > _TOGETHER_BYTES:
            self._pass_on()

    def sound(self, slot: int, rate: int, block: SoundBlock) -> None:
        self._lanes[slot].feed(rate, block)

    def silence(self, slot: int, rate: int, channels: int, samples: int) -> None:
        self._lanes[slot].feed_silence(rate, channels, samples)

    def later(self, work: Callable[[], None]) -> None:
        self._put(work, ())

    def settle(self) -> None:
        self._pass_on()
        settled = threading.Event()
        self._put(settled.set, ())
        while not settled.wait(0.5):
            if self._failed is not None:
                raise self._failed

    def tell(self, happening: Happening) -> None:
        self._log.add(happening)

    def pulse(self, frames: int, seconds: Fraction, share: float) -> None:
        if self._on_pulse is None:
            return
        now = time.monotonic()
        if now >= self._next_pulse:
            self._next_pulse = now + _PULSE_SECONDS
            self._on_pulse(frames, seconds, share)

    def end(self) -> None:
        """No more blocks; waits for the meters."""
        while self._thread.is_alive():
            try:
                self._queue.put(None, timeout=0.5)
                break
            except queue.Full:
                continue
        self._thread.join()

    def _pass_on(self) -> None:
        frames, self._frames, self._bytes = self._frames, [], 0
        if frames:
            while not self._room.acquire(timeout=0.5):
                if self._failed is not None:
                    raise self._failed
            self._put(self._count, (frames,))

    def _put(self, work: Callable[..., None], what: tuple[Any, ...]) -> None:
        while self._failed is None:
            try:
                self._queue.put((work, what), timeout=1.0)
                return
            except queue.Full:
                continue
        raise self._failed

    # -- the meter thread --------------------------------------------------------------------------

    def _work(self) -> None:
        while True:
            item = self._queue.get()
            if item is None:
                return
            try:
                item[0](*item[1])
            except BaseException as error:  # handed to the reader's thread, which raises it
                self._failed = error
                return
            del item  # the frame goes back to the decoder at once

    def _count(self, frames: list[Any]) -> None:
        counted: list[Planes | None] = []
        for frame in frames:
            view = picture_view(frame, self._top_first)
            if self._luma is None:
                self._luma = LumaMeter(view.bits, view.full_range)
            # what a decoder leaves in damaged parts differs from run to run
            if frame.is_corrupt or min(view.luma.shape) < SMALLEST:
                self._luma.skip()
                counted.append(None)
            else:
                self._luma.feed(view.luma, view.bits)
                counted.append(Planes(self._counted, *view, scratch=self._scratch))
            self._counted += 1
        self._bank.feed(counted)
        frames.clear()
        self._room.release()

    # -- after the pass ----------------------------------------------------------------------------

    def record(self, result: PassResult) -> PassRecord:
        if self._failed is not None:
            raise self._failed
        sound = self._sound_series(result)
        events = self._log.events()
        return PassRecord(
            sound=sound,
            picture=self._picture_series(result),
            events=events,
            sha256=result.sha256,
            size=result.size,
            because="; ".join(_once(event.detail for event in events if event.kind in INCOMPLETE)),
        )

    def _picture_series(self, result: PassResult) -> PictureSeries | None:
        if self._luma is None or result.picture_base is None:
            return None
        rows = self._luma.finish()
        return PictureSeries(
            luma=rows.luma,
            bins=LumaBins(rows.depth, rows.edges, rows.full_range),
            counted=rows.counted,
            darkest=rows.darkest,
            brightest=rows.brightest,
            time=np.array(self._times, np.int64),
            time_base=result.picture_base,
            extra=self._bank.finish(),
        )

    def _sound_series(self, result: PassResult) -> SoundSeries | None:
        if not self._lanes:
            return None
        finished = [lane.finish() for lane in self._lanes]
        height = max((len(rows["energy"]) for rows in finished if rows), default=0)
        width = sum(lane.channels for lane in self._lanes)
        names = ("energy", "plain", "sample_peak", "true_peak")
        tables = {name: np.zeros((height, width), np.float32) for name in names}
        runs, crossings = np.zeros((height, width), np.uint16), np.zeros((height, width), np.uint8)
        extent = np.zeros((width, 2), np.int64)
        samples, invalid, bits = np.zeros(width, np.int64), np.zeros(width, np.int64), np.zeros(width, np.int16)
        column = 0
        for lane, rows, spans in zip(self._lanes, finished, result.sounds, strict=True):
            columns = slice(column, column + lane.channels)
            column += lane.channels
            if rows is None or not spans.rate:
                continue
            for name, table in tables.items():
                table[: len(rows[name]), columns] = rows[name]  # type: ignore[literal-required]
            runs[: len(rows["full_scale_runs"]), columns] = rows["full_scale_runs"]
            crossings[: len(rows["crossings"]), columns] = rows["crossings"]
            step = spans.rate // STEPS_PER_SECOND
            extent[columns] = spans.first // step, -(-spans.end // step)
            samples[columns] = spans.decoded
            invalid[columns] = rows["invalid_samples"] + lane.invalid
            bits[columns] = lane.used_bits()
        return SoundSeries(
            full_scale_runs=runs,
            extent=extent,
            samples=samples,
            invalid_samples=invalid,
            used_bits=bits,
            extra={"tone.crossings": crossings},
            **tables,
        )


def _kind(facts: FileFacts) -> PictureKind:
    picture = facts.picture
    if picture is None:
        return PictureKind(0, 0, None, None, None)
    matrix = picture.colour_matrix
    if picture.chroma == "RGB":
        matrix = "RGB"  # the reader makes it Y'CbCr, whatever its tag
    elif matrix == "RGB" and picture.chroma != "4:0:0":
        matrix = None  # Y'CbCr cannot be that: a tag that says nothing
    return PictureKind(picture.width, picture.height, picture.frame_rate, matrix, picture.colour_transfer)


def _bottom_first(facts: FileFacts) -> bool:
    """Where stream and wrapper differ, what a decoder goes by."""
    picture = facts.picture
    scan = (picture.scan_by_stream or picture.scan_by_container) if picture is not None else None
    return scan == "interlaced, bottom first"


def _once(details: Any) -> list[str]:
    return list(dict.fromkeys(details))
