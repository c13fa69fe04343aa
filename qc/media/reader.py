"""The one pass: every packet of the programme's picture and of all sound streams, read and decoded once.

libav decodes in threads of its own where that is worth it; what comes out goes to a Sink in the order of the file. The
reader judges nothing and measures nothing: it tells what it met (Happening) and carries on.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Literal, Protocol

import av
from av.error import FFmpegError
from av.packet import Packet
from av.video.frame import VideoFrame

from qc.errors import CannotMeasure
from qc.media.facts import FileFacts
from qc.media.happening import Happening
from qc.media.hashed_file import HashedFile
from qc.media.opening import SAFE_OPTIONS
from qc.media.samples import SoundBlock
from qc.media.sound_feed import SoundFeed
from qc.media.timestamps import PictureTimes
from qc.media.wav_end import missing_bytes

#: Bytes libav asks for at once: small enough to stay in the processor's cache while they are hashed.
_READ_AT_ONCE = 1 << 16
#: Packets between two looks at the position.
_LOOK_UP = 8
#: How libav may decode the picture in threads of its own: whole frames or slices, as the codec can.
THREADS: Literal["AUTO", "NONE"] = "AUTO"
#: Codecs that decode faster than their pictures are measured: with threads of their own both only take turns.
_FAST = ("MPEG-2", "MPEG-1")
#: Sound that lacks this much of its declared length has lost something (common practice, no source):
#: priming and padding of lossy codecs stay below; a lost edit unit of uncompressed sound does not.
_SOUND_SHORT = Fraction(1, 20)
_PCM_SHORT = Fraction(1, 200)
#: Wrappers whose headers declare a length; elsewhere libav only estimates one.
_DECLARES_LENGTH = ("MOV", "MP4", "MXF", "WAV", "W64", "RF64", "AVI", "AIFF", "MKV", "WebM")


class Sink(Protocol):
    """Where decoded picture and sound go. Sound slots count the sound streams of the facts from 0."""

    def picture(self, frame: VideoFrame, time: int) -> None: ...
    def sound(self, slot: int, rate: int, block: SoundBlock) -> None: ...
    def silence(self, slot: int, rate: int, channels: int, samples: int) -> None: ...
    def tell(self, happening: Happening) -> None: ...
    def later(self, work: Callable[[], None]) -> None: ...  # in the thread of the meters, in order
    def settle(self) -> None: ...  # returns when all that was given has been worked on
    def pulse(self, frames: int, seconds: Fraction, share: float) -> None: ...


@dataclass(frozen=True)
class SoundExtent:
    """One sound stream as decoded, in samples from time zero; rate 0 if nothing was decoded."""

    rate: int
    channels: int
    first: int
    end: int
    decoded: int


@dataclass(frozen=True)
class PassResult:
    """What the whole pass found beside the blocks.

    sha256  of the whole file; None if it was not read to its end
    """

    sha256: str | None
    size: int
    picture_base: Fraction | None
    frames: int
    sounds: tuple[SoundExtent, ...]


def read_media(
    path: Path, facts: FileFacts, sink: Sink, longest: Fraction | None = None, before: os.stat_result | None = None
) -> PassResult:
    """Decode one file to its end, or until ``longest`` seconds of programme have passed.

    before  the file system's word on the file when its headers were read; a file that has changed since
            is told to the sink as changed
    Raises CannotMeasure if the file cannot be opened; whatever goes wrong later is told to the sink.
    """
    try:
        file = HashedFile(path)
    except OSError as error:
        raise CannotMeasure(f"cannot be read ({error.strerror})", where=path.name) from None
    try:
        return _Pass(path, file, facts, sink, longest, before or file.stat).run()
    finally:
        file.close()


class _Pass:
    def __init__(
        self,
        path: Path,
        file: HashedFile,
        facts: FileFacts,
        sink: Sink,
        longest: Fraction | None,
        before: os.stat_result,
    ) -> None:
        self._path, self._file, self._facts, self._sink, self._longest = path, file, facts, sink, longest
        self._before = before
        self._times: PictureTimes | None = None
        self._raster: tuple[int, int, str] | None = None
        self._feeds: dict[int, SoundFeed] = {}
        self._stopped = False
        self._read_to_end = True
        self._zero = Fraction(0)
        self._zero_known = False

    def run(self) -> PassResult:
        try:
            container = av.open(
                self._file,
                mode="r",
                buffer_size=_READ_AT_ONCE,
                container_options=dict(SAFE_OPTIONS),
                metadata_errors="replace",
            )
        except (FFmpegError, OSError, ValueError) as error:
            reason = getattr(error, "strerror", None) or type(error).__name__
            raise CannotMeasure(f"cannot be opened as media ({reason})", where=self._path.name) from None
        with container:
            streams = self._prepare(container)
            if streams:
                self._decode(container, streams)
            self._finish()
        return self._result()

    # -- before ------------------------------------------------------------------------------------

    def _prepare(self, container: av.container.InputContainer) -> list[av.stream.Stream]:
        """Streams to decode; those that cannot be are told of."""
        found = {stream.index: stream for stream in container.streams}
        chosen: list[av.stream.Stream] = []
        starts = []
        picture = self._facts.picture
        if picture is not None:
            stream = self._decodable(found, picture.index, picture.codec)
            if isinstance(stream, av.VideoStream):
                stream.thread_type = "NONE" if picture.codec in _FAST else THREADS
                base = stream.time_base or Fraction(1, 90000)
                self._times = PictureTimes(picture.index, base, picture.frame_rate, self._sink.tell)
                chosen.append(stream)
        for slot, sound in enumerate(self._facts.sounds):
            stream = self._decodable(found, sound.index, sound.codec)
            if stream is not None:
                self._feeds[sound.index] = self._feed(slot, sound.index)
                chosen.append(stream)
                if stream.start_time is not None and stream.time_base is not None:
                    starts.append(stream.start_time * stream.time_base)
        if self._times is None:
            self._set_zero(min(starts, default=Fraction(0)))
        return chosen

    def _decodable(self, found: dict[int, av.stream.Stream], index: int, codec: str) -> av.stream.Stream | None:
        stream = found.get(index)
        if stream is not None and getattr(stream, "codec_context", None) is not None:
            return stream
        self._tell("not decodable", index, None, None, f"there is no decoder for {codec}")
        return None

    def _feed(self, slot: int, index: int) -> SoundFeed:
        def deliver(block: SoundBlock) -> None:
            self._sink.sound(slot, feed.rate, block)

        def silent(samples: int, rate: int, channels: int) -> None:
            self._sink.silence(slot, rate, channels, samples)

        feed = SoundFeed(index, self._sink.tell, deliver, silent, self._sink.later)
        return feed

    # -- the pass ----------------------------------------------------------------------------------

    def _decode(self, container: av.container.InputContainer, streams: list[av.stream.Stream]) -> None:
        packets = container.demux(streams)
        size = max(1, self._file.stat.st_size)
        count = 0
        while not self._stopped:
            try:
                packet = next(packets, None)
            except (FFmpegError, OSError) as error:
                self._tell_read_error(error)
                return
            if packet is None:
                return
            self._decode_packet(packet)
            count += 1
            if count % _LOOK_UP:
                continue
            frames, seconds = self._position()
            self._sink.pulse(frames, seconds, self._file.hashed / size)
            if self._longest is not None and seconds > self._longest:
                self._stopped = True
                detail = f"stopped after {float(self._longest):.0f} s of programme: the file is longer than allowed"
                self._tell("stopped early", None, frames or None, seconds, detail)

    def _decode_packet(self, packet: Packet) -> None:
        index = packet.stream_index
        if packet.is_corrupt and packet.size:
            self._tell("damaged packet", index, *self._where(packet), "the wrapper marks this packet as damaged")
        while True:
            try:
                frames = packet.decode()
            except EOFError:
                return
            except (FFmpegError, ValueError, OSError) as error:
                reason = getattr(error, "strerror", None) or type(error).__name__
                self._tell("decode error", index, *self._where(packet), f"{reason}")
                if packet.size:
                    return
                continue  # at the end of the stream: what is left in the decoder still comes
            break
        feed = self._feeds.get(index)
        for frame in frames:
            if feed is None:
                self._take_picture(frame)
            elif isinstance(frame, av.AudioFrame):
                self._take_sound(feed, frame)

    def _take_picture(self, frame: VideoFrame) -> None:
        times = self._times
        assert times is not None
        time = times.accept(frame.pts)
        if not self._zero_known:
            self._set_zero((frame.pts or 0) * (frame.time_base or Fraction(0)))
        if frame.is_corrupt:
            self._tell("decode error", times.stream, times.frames - 1, times.seconds(), "damaged picture")
        raster = frame.width, frame.height, frame.format.name
        if raster != self._raster:
            if self._raster is not None:
                how = f"{_raster_words(self._raster)} becomes {_raster_words(raster)}"
                self._tell("raster change", times.stream, times.frames - 1, times.seconds(), how)
            self._raster = raster
        self._sink.picture(frame, time)

    def _take_sound(self, feed: SoundFeed, frame: av.AudioFrame) -> None:
        feed.accept(frame)
        if feed.waits:
            self._set_zero(self._declared_zero())

    # -- after -------------------------------------------------------------------------------------

    def _finish(self) -> None:
        self._set_zero(self._declared_zero())
        for feed in self._feeds.values():
            feed.finish()
        self._sink.settle()
        if not self._stopped:
            self._check_ends()

    def _check_ends(self) -> None:
        if not self._facts.wrapper.startswith(_DECLARES_LENGTH):
            return
        if self._facts.wrapper in ("WAV", "RF64"):
            self._check_wave_end()
        if self._facts.picture is not None and self._times is not None:
            self._check_picture_end()
        for slot, sound in enumerate(self._facts.sounds):
            feed = self._feeds.get(sound.index)
            if feed is None or sound.duration is None:
                continue
            have = Fraction(feed.decoded, feed.rate) if feed.rate else Fraction(0)
            if sound.duration - have > (_PCM_SHORT if sound.codec == "PCM" else _SOUND_SHORT):
                detail = f"sound stream {slot + 1} declares {float(sound.duration):.3f} s, {float(have):.3f} s decoded"
                self._tell("early end", sound.index, None, have, detail)

    def _check_wave_end(self) -> None:
        try:
            missing = missing_bytes(self._path)
        except OSError as error:
            self._tell_read_error(error)
            return
        if missing:
            _, seconds = self._position()
            detail = f"the file lacks {missing} bytes of the sound that its header declares"
            self._tell("early end", self._facts.sounds[0].index if self._facts.sounds else None, None, seconds, detail)

    def _check_picture_end(self) -> None:
        picture, times = self._facts.picture, self._times
        assert picture is not None and times is not None
        declared = picture.declared_frames if self._facts.edit_list is None else None
        if declared is None and picture.duration is not None and picture.frame_rate:
            declared = round(picture.duration * picture.frame_rate)
            step = 1 / picture.frame_rate
            if times.seconds() + step >= picture.duration - step / 2:
                return
        if declared is not None and times.frames < declared:
            detail = f"{declared} pictures declared, {times.frames} decoded"
            self._tell("early end", picture.index, times.frames, times.seconds(), detail)

    def _result(self) -> PassResult:
        sha256 = None
        if self._read_to_end and not self._stopped:
            try:
                frames, seconds = self._position()
                sha256 = self._file.digest(lambda: self._sink.pulse(frames, seconds, 1.0))
            except OSError as error:
                self._tell_read_error(error)
        self._check_unchanged()
        sounds = []
        for sound in self._facts.sounds:
            feed = self._feeds.get(sound.index)
            extent = (feed.rate, feed.channels, feed.silence, feed.end, feed.decoded) if feed else (0, 0, 0, 0, 0)
            sounds.append(SoundExtent(*extent))
        return PassResult(
            sha256=sha256,
            size=self._file.stat.st_size,
            picture_base=self._times.time_base if self._times else None,
            frames=self._times.frames if self._times else 0,
            sounds=tuple(sounds),
        )

    def _check_unchanged(self) -> None:
        before = self._before
        try:
            now = os.stat(self._path)
        except OSError as error:
            self._tell("changed during run", None, None, None, f"the file went away ({error.strerror})")
            return
        if (now.st_size, now.st_mtime_ns, now.st_ino) != (before.st_size, before.st_mtime_ns, before.st_ino):
            detail = f"the file changed while it was read ({before.st_size} bytes before, {now.st_size} after)"
            self._tell("changed during run", None, None, None, detail)

    # -- small things ------------------------------------------------------------------------------

    def _position(self) -> tuple[int, Fraction]:
        if self._times is not None:
            return self._times.frames, self._times.seconds()
        end = max((Fraction(feed.end, feed.rate) for feed in self._feeds.values() if feed.rate), default=Fraction(0))
        return 0, end

    def _where(self, packet: Packet) -> tuple[int | None, Fraction | None]:
        """Picture frame and time from zero of a packet, as far as its stamps tell."""
        stamp = packet.pts if packet.pts is not None else packet.dts
        if stamp is None or packet.time_base is None or not self._zero_known:
            return None, None
        seconds = stamp * packet.time_base - self._zero
        picture = self._facts.picture
        if picture is not None and packet.stream_index == picture.index and picture.frame_rate:
            return max(0, round(seconds * picture.frame_rate)), seconds
        return None, seconds

    def _declared_zero(self) -> Fraction:
        picture = self._facts.picture
        return picture.start if picture is not None and picture.start is not None else Fraction(0)

    def _set_zero(self, zero: Fraction) -> None:
        if not self._zero_known:
            self._zero, self._zero_known = zero, True
            for feed in self._feeds.values():
                feed.set_zero(zero)

    def _tell_read_error(self, error: Exception) -> None:
        self._read_to_end = not isinstance(error, OSError) or isinstance(error, FFmpegError)
        reason = getattr(error, "strerror", None) or type(error).__name__
        frames, seconds = self._position()
        self._tell("early end", None, frames or None, seconds, f"reading stopped: {reason}")

    def _tell(self, kind: str, stream: int | None, frame: int | None, seconds: Fraction | None, detail: str) -> None:
        self._sink.tell(Happening(kind, stream, frame, seconds, detail))


def _raster_words(raster: tuple[int, int, str]) -> str:
    return f"{raster[0]}x{raster[1]} {raster[2]}"
