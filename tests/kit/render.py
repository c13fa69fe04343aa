"""Small media made with the packaged FFmpeg: the truth is known because it was made here.

``render`` runs FFmpeg with any arguments; ``episode`` makes a programme of acts and black breaks,
frame-exact, in one of the wrapper and codec pairs of FORMS. Both keep a file that already exists, and
refuse one that was made another way: two tests may not mean different things by one name.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np

NTSC = Fraction(30000, 1001)
PAL = Fraction(25)
SOUND_RATE = 48000


class RenderFailed(AssertionError):
    """FFmpeg could not make the test file; its last words are the message."""


_made: dict[Path, object] = {}


def _is_there(path: Path, made_of: object) -> bool:
    """Whether the file exists; raises AssertionError if it was made of something else."""
    there = path.exists()
    if there and path in _made:
        assert _made[path] == made_of, f"{path.name} is the name of another test's file too; give this one its own"
    _made[path] = made_of
    return there


@cache
def program() -> str:
    import imageio_ffmpeg

    return str(imageio_ffmpeg.get_ffmpeg_exe())


def run(arguments: Sequence[str], *, feed: Iterator[bytes] | None = None) -> str:
    """Run FFmpeg, return what it said (stderr). ``feed`` is piped to its standard input."""
    command = [program(), "-hide_banner", "-nostats", "-y", *([] if feed else ["-nostdin"]), *arguments]
    if feed is None:
        done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
        status, said = done.returncode, done.stderr
    else:
        import tempfile

        with tempfile.TemporaryFile() as words:
            child = subprocess.Popen(command, stdin=subprocess.PIPE, stderr=words, stdout=subprocess.DEVNULL)
            assert child.stdin is not None
            try:
                for piece in feed:
                    child.stdin.write(piece)
                child.stdin.close()
            except BrokenPipeError:
                pass
            status = child.wait()
            words.seek(0)
            said = words.read().decode(errors="replace")
    if status:
        raise RenderFailed(f"{' '.join(command)}\n{said[-1500:]}")
    return said


def render(path: Path, arguments: Sequence[str], *, feed: Iterator[bytes] | None = None) -> Path:
    """Make ``path`` with FFmpeg arguments (without the output name), unless it is there already."""
    if not _is_there(path, tuple(arguments)):
        path.parent.mkdir(parents=True, exist_ok=True)
        part = path.with_name(f"part-{path.name}")
        try:
            run([*arguments, str(part)], feed=feed)
            part.rename(path)
        finally:
            part.unlink(missing_ok=True)
    return path


@dataclass(frozen=True)
class Sound:
    """One sound stream. ``dbfs`` is the peak level of a 997 Hz sine in every channel of the acts
    (one value, or one per act); None is silence. A stereo sine of -23 dBFS reads -23.0 LUFS
    (EBU Tech 3341, Table 1, signal 1)."""

    layout: str = "stereo"
    dbfs: float | tuple[float, ...] | None = -24.0
    language: str | None = None

    @property
    def channels(self) -> int:
        return {"mono": 1, "stereo": 2, "5.1": 6, "5.1(side)": 6, "7.1": 8, "octagonal": 8}[self.layout]


STEREO = (Sound(),)
MONO_PAIR = (Sound("mono"), Sound("mono"))
FOUR_MONO = (*MONO_PAIR, Sound("mono", None), Sound("mono", None))
EIGHT_MONO = (*MONO_PAIR, *[Sound("mono", None)] * 6)
SURROUND = (Sound("5.1"),)
NO_SOUND: tuple[Sound, ...] = ()


@dataclass(frozen=True)
class Form:
    """A wrapper and codec. ``sound`` is the sample format of the sound streams' encoder."""

    suffix: str
    picture: tuple[str, ...]
    pixels: str
    sound: tuple[str, ...] = ("-c:a", "pcm_s24le")
    interlaced: tuple[str, ...] = ()
    wrapper: tuple[str, ...] = ()


_IMX = ("-b:v", "4M", "-minrate", "4M", "-maxrate", "4M", "-bufsize", "2M", "-g", "12", "-bf", "2")
FORMS = {
    "mov-prores": Form(".mov", ("-c:v", "prores_ks", "-profile:v", "3", "-vendor", "apl0"), "yuv422p10le"),
    "mov-h264": Form(".mov", ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "18"), "yuv420p"),
    "mp4-h264": Form(
        ".mp4", ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "18"), "yuv420p", ("-c:a", "aac", "-b:a", "192k")
    ),
    "mxf-mpeg2": Form(".mxf", ("-c:v", "mpeg2video", "-profile:v", "0", "-level:v", "2", *_IMX), "yuv422p"),
    "mxf-dnxhd": Form(".mxf", ("-c:v", "dnxhd", "-profile:v", "dnxhr_hq"), "yuv422p"),
}


@dataclass(frozen=True)
class Episode:
    """Where things are in a rendered programme; frames are counted from the file's first."""

    path: Path
    rate: Fraction
    acts: tuple[tuple[int, int], ...]
    breaks: tuple[tuple[int, int], ...]
    frames: int
    raster: tuple[int, int]
    form: str
    sounds: tuple[Sound, ...] = field(default=())


def episode(
    path: Path,
    *,
    acts: Sequence[int] = (75, 75),
    break_frames: int | Sequence[int] = 15,
    rate: Fraction = NTSC,
    raster: tuple[int, int] = (320, 180),
    form: str = "mov-h264",
    sounds: Sequence[Sound] = STEREO,
    timecode: str | None = "01:00:00:00",
    lead: int = 0,
    tail: int = 0,
    scan: str = "progressive",
    extra: Sequence[str] = (),
    extra_blacks: Sequence[tuple[int, int]] = (),
) -> Episode:
    """Acts of moving picture and a 997 Hz sine, parted by black and digital silence.

    acts          frames of each act
    break_frames  frames of black between acts, one value or one per break
    lead, tail    frames of black and silence before the first and after the last act
    scan          "progressive", "top first", "bottom first": flags only, both fields hold one moment
                  (not with mxf-dnxhd, whose small rasters are progressive only)
    extra         FFmpeg output options, put last
    extra_blacks  (first frame, frames) inside the acts that are black as well, with sound running
    """
    gaps = [break_frames] * (len(acts) - 1) if isinstance(break_frames, int) else list(break_frames)
    assert len(gaps) == len(acts) - 1, "one break between each two acts"
    placed, holes, at = [], [], lead
    for number, length in enumerate(acts):
        placed.append((at, at + length))
        at += length
        if number < len(gaps):
            holes.append((at, at + gaps[number]))
            at += gaps[number]
    frames = at + tail
    truth = Episode(path, rate, tuple(placed), tuple(holes), frames, raster, form, tuple(sounds))
    ways = (truth, timecode, lead, tail, scan, tuple(extra), tuple(extra_blacks))
    if _is_there(path, ways):
        return truth
    kind = FORMS[form]
    path.parent.mkdir(parents=True, exist_ok=True)
    width, height = raster
    arguments = ["-f", "rawvideo", "-pix_fmt", "yuv422p", "-s", f"{width}x{height}", "-r", str(rate), "-i", "pipe:0"]
    raws = []
    for number, sound in enumerate(sounds):
        raw = path.with_name(f"{path.name}.{number}.raw")
        _sound(truth, sound).tofile(raw)
        raws.append(raw)
        arguments += ["-f", "f32le", "-ar", str(SOUND_RATE), "-ch_layout", sound.layout, "-i", str(raw)]
    for number in range(len(sounds) + 1):
        arguments += ["-map", f"{number}"]
    field_word = {"progressive": "prog", "top first": "tff", "bottom first": "bff"}[scan]
    tags = "setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=limited"
    arguments += ["-vf", f"setfield={field_word},setsar=1,{tags}", "-pix_fmt", kind.pixels, *kind.picture]
    if scan != "progressive":
        arguments += ["-flags:v", "+ildct+ilme"]
        if "libx264" in kind.picture:
            arguments += ["-x264opts", "tff=1" if scan == "top first" else "bff=1"]
    arguments += kind.sound
    for number, sound in enumerate(sounds):
        if sound.language:
            arguments += [f"-metadata:s:a:{number}", f"language={sound.language}"]
    if timecode:
        arguments += ["-timecode", timecode]
    arguments += ["-threads", "2"]
    try:
        render(path, [*arguments, *kind.wrapper, *extra], feed=_pictures(truth, extra_blacks))
        _made[path] = ways
    finally:
        for raw in raws:
            raw.unlink(missing_ok=True)
    return truth


def _pictures(truth: Episode, extra_blacks: Sequence[tuple[int, int]]) -> Iterator[bytes]:
    """Planar 4:2:2 8-bit frames, narrow range: a moving diagonal ramp, or black (16, 128, 128)."""
    width, height = truth.raster
    black = np.concatenate([np.full(width * height, 16, np.uint8), np.full(width * height, 128, np.uint8)]).tobytes()
    rows, columns = np.mgrid[0:height, 0:width]
    ramp = (40 + (columns * 2 + rows) % 180).astype(np.uint8)
    blue = (100 + (rows[:, ::2] % 56)).astype(np.uint8).tobytes()
    red = (100 + (columns[:, ::2] % 56)).astype(np.uint8).tobytes()
    lit = np.zeros(truth.frames, bool)
    for first, end in truth.acts:
        lit[first:end] = True
    for first, length in extra_blacks:
        lit[first : first + length] = False
    for number in range(truth.frames):
        yield np.roll(ramp, 3 * number, axis=1).tobytes() + blue + red if lit[number] else black


def _sound(truth: Episode, sound: Sound) -> np.ndarray:
    """(samples, channels) float32 of a whole programme; exactly zero outside the acts."""
    edges = [round(frame * SOUND_RATE / truth.rate) for frame in range(truth.frames + 1)]
    out = np.zeros((edges[-1], sound.channels), np.float32)
    if sound.dbfs is None:
        return out
    levels = sound.dbfs if isinstance(sound.dbfs, tuple) else (sound.dbfs,) * len(truth.acts)
    for (first, end), level in zip(truth.acts, levels, strict=True):
        moment = np.arange(edges[first], edges[end])
        sine = 10 ** (level / 20) * np.sin(2 * np.pi * 997 / SOUND_RATE * moment)
        out[edges[first] : edges[end]] = sine[:, None].astype(np.float32)
    return out


def wave_file(path: Path, samples: np.ndarray, rate: int = SOUND_RATE, encoding: str = "pcm_s24le") -> Path:
    """(samples, channels) float, full scale 1.0, as a WAV (or MOV, MXF by the suffix) of an FFmpeg encoding."""
    raw = path.with_name(f"{path.name}.raw")
    raw.parent.mkdir(parents=True, exist_ok=True)
    block = np.atleast_2d(np.asarray(samples, np.float64).T).T
    block.astype("<f8").tofile(raw)
    try:
        source = ["-f", "f64le", "-ar", str(rate), "-ac", str(block.shape[1]), "-i", str(raw)]
        return render(path, [*source, "-c:a", encoding])
    finally:
        raw.unlink(missing_ok=True)
