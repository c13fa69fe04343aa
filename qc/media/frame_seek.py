"""Single frames of a file by short seeks: exactly those that the one pass counted, or a reason.

A frame is known by its presentation time from the first decoded frame, in ticks of the stream, as the
one pass noted it. Where a seek lands is looked up in a second demuxer first, so that no picture is
decoded twice: frames asked for in order that hang on one key frame are decoded in one go. What a seek
brings is offered to the caller, who can tell whether it is the right picture; if it is not (an open
group of pictures decodes differently from its middle), the seek before it is tried, and at last, for
frames near the beginning, counting from the first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from av.container import InputContainer
from av.error import FFmpegError
from av.packet import Packet
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from qc.media.opening import open_media
from qc.media.reader import THREADS

#: Pictures decoded for one frame at most: twice the usual longest distance of key frames of AVC and HEVC
#: (250 pictures in common encoders), and some more.
MOST_DECODED = 600
#: Pictures decoded for all frames of a file at most: this many, or this part of the file if that is more.
MOST_TOGETHER, PART_TOGETHER = 2000, Fraction(1, 4)
#: Ahead by no more than this, going on is cheaper than a seek.
_NEAR = 3
#: How much further back, in frames, each new seek for one frame goes; the first of all goes to the frame.
_BACK = (0, 1, 15, 30, 60, 120, 240)
#: Of those, so many may decode pictures.
_RUNS = 3
#: Pictures between two signs of life.
_PULSE = 16


class NoFrame(Exception):
    """Why a frame was not found, in the user's words.

    lasting  the content is the reason: asking again gives the same answer
    """

    def __init__(self, reason: str, lasting: bool = True) -> None:
        super().__init__(reason)
        self.reason = reason
        self.lasting = lasting


@dataclass(frozen=True)
class FrameTime:
    """A frame as the one pass knows it.

    frame  its number, from the file's first decoded frame
    time   ticks from that frame
    nth    how many frames before it have the same time
    """

    frame: int
    time: int
    nth: int = 0


class _Landing(NamedTuple):
    """Where reading begins after a seek.

    time  of the first picture there that can be decoded by itself; None if it comes too late
    low   the lowest time of what is read first: a seek to before it leads further back
    """

    time: int | None
    low: int


class FrameFinder:
    """Finds frames of one picture stream; ask for them in rising order.

    index      of the stream in the file
    time_base  that the times are counted in, rate in frames per second (None if unknown)
    frames     in the file
    Raises CannotMeasure if the file cannot be opened, NoFrame if nothing can be decoded.
    """

    def __init__(self, path: Path, index: int, time_base: Fraction, rate: Fraction | None, frames: int) -> None:
        self._path, self._index = path, index
        self._step = max(1, round(1 / (rate * time_base))) if rate else 1
        self._most = max(MOST_TOGETHER, int(frames * PART_TOGETHER))
        self._used = 0  # pictures decoded so far, for all frames
        self._until = MOST_DECODED  # and how many that may be for the frame that is looked for
        self._pulse: Callable[[], None] = _no_pulse
        self._trouble, self._is_far = "", False  # why the latest was not found
        self._lasting = True  # no reading has failed so far
        self._scout: tuple[InputContainer, VideoStream] | None = None
        self._container, self._stream = self._open()
        if self._stream.time_base != time_base:
            raise NoFrame("its times are counted differently now than when it was measured")
        self._frames = self._decode()
        first = next(self._frames, None)
        if first is None:
            raise NoFrame(self._cannot())
        self._opening: VideoFrame | None = first
        self._first: int = first.pts if first.pts is not None else 0
        self._at: int | None = self._first  # time of the latest picture decoded, None if unknown

    def close(self) -> None:
        self._container.close()
        if self._scout is not None:
            self._scout[0].close()

    def find(
        self, wanted: FrameTime, fits: Callable[[VideoFrame], bool], pulse: Callable[[], None] | None = None
    ) -> VideoFrame:
        """The frame, once ``fits`` has agreed that it is the one.

        pulse  called now and then while pictures are decoded
        Raises NoFrame.
        """
        opening, self._opening = self._opening, None
        if opening is not None and wanted.frame == 0 and fits(opening):
            return opening
        if self._used >= self._most:
            raise NoFrame(self._far())
        self._until = min(self._used + MOST_DECODED, self._most)
        self._pulse, self._trouble, self._is_far = pulse or _no_pulse, "", False
        wrong = False
        for found in self._candidates(wanted):
            if found is not None and fits(found):
                return found
            wrong = wrong or found is not None
        if self._trouble:
            raise NoFrame(self._cannot(), self._lasting)
        if wrong:
            raise NoFrame("the frame found by the seek is not the one that was measured", self._lasting)
        if self._is_far or self._used >= self._until:
            raise NoFrame(self._far(), self._lasting)
        raise NoFrame("no picture of its time is found there", self._lasting)

    # -- ways to a frame ---------------------------------------------------------------------------

    def _candidates(self, wanted: FrameTime) -> Iterator[VideoFrame | None]:
        """What seeks from further and further back bring, and what counting brings."""
        time = target = self._first + wanted.time
        runs = 0
        for back in _BACK:
            if target <= self._first and back and runs:
                break  # the beginning has been tried
            target = max(self._first, target - back * self._step)
            landing = self._land(target, time)
            if landing is None or landing.time is None:
                continue
            if not (runs == 0 and self._goes_on(landing.time, time)):
                if (time - landing.time) // self._step > self._until - self._used:
                    self._is_far = True
                    break
                self._seek(target)
            yield self._run_to(time, wanted.nth)
            runs += 1
            if runs == _RUNS or self._used >= self._until:
                break
            target = min(landing.low, target)
        if wanted.frame < self._until - self._used:
            yield self._count_to(wanted.frame)

    def _goes_on(self, landing: int, time: int) -> bool:
        """Decoding on from here comes to the frame as soon as a seek would."""
        at = self._at
        return at is not None and at < time and (landing <= at or time - at <= _NEAR * self._step)

    def _land(self, target: int, time: int) -> _Landing | None:
        """Where a seek to ``target`` begins to read on the way to ``time``; None if it leads nowhere."""
        if self._scout is None:
            self._scout = self._open()
        container, stream = self._scout
        low = None
        try:
            container.seek(target, stream=stream, backward=True)
            for packet in container.demux(stream):
                times = [stamp for stamp in (packet.pts, packet.dts) if stamp is not None]
                if not times:
                    continue
                low = min(times) if low is None else low
                if packet.is_keyframe and times[0] <= time:
                    return _Landing(times[0], low)
                if min(times) > time:
                    return _Landing(None, low)
        except (FFmpegError, OSError, ValueError, OverflowError) as error:
            self._lasting = self._lasting and not isinstance(error, OSError)
        return None if low is None else _Landing(None, low)

    def _seek(self, target: int) -> None:
        self._at = None
        try:
            self._container.seek(target, stream=self._stream, backward=True)
            self._frames = self._decode()
        except (FFmpegError, OSError, ValueError, OverflowError) as error:
            self._note(error)
            self._frames = iter(())

    def _run_to(self, time: int, nth: int) -> VideoFrame | None:
        """Decode on to the picture of that time; None if it does not come."""
        for frame in self._frames:
            self._at = frame.pts
            if frame.pts == time:
                if nth == 0:
                    return frame
                nth -= 1
            if self._used >= self._until or (frame.pts is not None and frame.pts > time):
                return None
        self._at = None
        return None

    def _count_to(self, number: int) -> VideoFrame | None:
        """Decode from the file's first packet and count, as the one pass did."""
        self._container.close()
        self._container, self._stream = self._open()
        self._frames, self._at = self._decode(), None
        for count, frame in enumerate(self._frames):
            self._at = frame.pts
            if count == number:
                return frame
        return None

    # -- decoding ----------------------------------------------------------------------------------

    def _open(self) -> tuple[InputContainer, VideoStream]:
        container = open_media(self._path)
        stream = next((stream for stream in container.streams.video if stream.index == self._index), None)
        if stream is None or getattr(stream, "codec_context", None) is None:
            container.close()
            raise NoFrame("its picture cannot be decoded")
        stream.thread_type = THREADS
        return container, stream

    def _decode(self) -> Iterator[VideoFrame]:
        """Pictures from here on; what cannot be decoded is passed over, as in the one pass."""
        packets = self._container.demux(self._stream)
        while True:
            try:
                packet = next(packets, None)
            except (FFmpegError, OSError) as error:
                self._note(error)
                return
            if packet is None:
                return
            for frame in self._pictures(packet):
                self._count()
                yield frame

    def _pictures(self, packet: Packet) -> list[VideoFrame]:
        while True:
            try:
                return [frame for frame in packet.decode() if isinstance(frame, VideoFrame)]
            except EOFError:
                return []
            except (FFmpegError, ValueError, OSError) as error:
                self._note(error)
                self._count()
                if packet.size:
                    return []

    def _count(self) -> None:
        self._used += 1
        if self._used % _PULSE == 0:
            self._pulse()

    # -- words -------------------------------------------------------------------------------------

    def _note(self, error: Exception) -> None:
        self._lasting = self._lasting and not isinstance(error, OSError)
        self._trouble = getattr(error, "strerror", None) or type(error).__name__

    def _cannot(self) -> str:
        return f"it cannot be decoded ({self._trouble})" if self._trouble else "it cannot be decoded"

    def _far(self) -> str:
        if self._used >= self._most:
            return f"stills of this file may take {self._most} decoded pictures, and they are used up"
        return f"it is not within {MOST_DECODED} pictures of a place where decoding can begin"


def _no_pulse() -> None:
    return None
