"""Heads and tails made in memory or as files: bars by FFmpeg's own sources, slates, clocks, countdowns, blips, tone.

Pictures are 8-bit 4:2:2 planes (luma, Cb, Cr), narrow range; sound is (samples, channels) float64 at 48 kHz.
"""

from __future__ import annotations

import subprocess
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import repeat
from pathlib import Path

import cv2
import numpy as np

from qc.measurement.record import LumaBins, PictureSeries, SoundSeries
from qc.media.letters import written
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.cards import CardsMeter
from qc.meters.picture.luma import LumaMeter
from qc.meters.picture.planes import Planes
from qc.meters.sound.bank import SoundBank
from tests.kit.render import SOUND_RATE, program, render

RASTER = (320, 180)
PAL = Fraction(25)
NTSC = Fraction(30000, 1001)

Picture = tuple[np.ndarray, np.ndarray, np.ndarray]


@cache
def lavfi(source: str, raster: tuple[int, int] = RASTER, pixels: str = "yuv422p") -> Picture:
    """One picture of a test source of FFmpeg: an independent statement of what bars look like."""
    width, height = raster
    command = [program(), "-v", "error", "-f", "lavfi", "-i", f"{source}=s={width}x{height}:r=25", "-frames:v", "1"]
    raw = subprocess.run([*command, "-pix_fmt", pixels, "-f", "rawvideo", "-"], capture_output=True, check=True).stdout
    codes = np.frombuffer(raw, np.uint8 if "10" not in pixels else "<u2")
    luma, rest = codes[: width * height], codes[width * height :]
    half = rest.size // 2
    return luma.reshape(height, width), rest[:half].reshape(height, -1), rest[half:].reshape(height, -1)


def grey(luma: np.ndarray) -> Picture:
    none = np.full((luma.shape[0], luma.shape[1] // 2), 128, np.uint8)
    return luma, none, none


def plain(code: int, raster: tuple[int, int] = RASTER) -> Picture:
    return grey(np.full((raster[1], raster[0]), code, np.uint8))


BLACK, WHITE = plain(16), plain(235)


def lettered(lines: Sequence[str], ground: int = 16, scale: int = 2, ink: int = 200) -> Picture:
    """White letters on a plain ground, the lines one under the other."""
    luma = np.full((RASTER[1], RASTER[0]), ground, np.uint8)
    for place, line in enumerate(lines):
        dots = written(line, scale)
        top, left = 30 + place * 12 * scale, (RASTER[0] - dots.shape[1]) // 2
        luma[top : top + dots.shape[0], left : left + dots.shape[1]][dots] = ink
    return grey(luma)


SLATE = lettered(["BRLN 201", "TRT 02:40:18", "SLATE"])


def still(picture: Picture, frames: int) -> Iterator[Picture]:
    return repeat(picture, frames)


def countdown(frames: int, step: int, ground: int = 16) -> Iterator[Picture]:
    """A large number in a ring, one less every ``step`` frames."""
    for frame in range(frames):
        luma = lettered([""], ground)[0].copy()
        cv2.circle(luma, (160, 90), 70, 180, 3)
        number = written(str((frames - 1 - frame) // step % 10), 6)
        luma[60 : 60 + number.shape[0], 142 : 142 + number.shape[1]][number] = 220
        yield grey(luma)


def clock(frames: int, rate: Fraction, degrees_a_second: float = 6.0, ticking: bool = False) -> Iterator[Picture]:
    """A dial with one hand that goes round smoothly, or steps once a second."""
    for frame in range(frames):
        seconds = float(frame / rate)
        angle = np.radians(degrees_a_second * (np.floor(seconds) if ticking else seconds))
        luma = lettered(["BRLN 201"], 16)[0].copy()
        cv2.circle(luma, (160, 100), 60, 200, 2)
        tip = (round(16 * (160 + 55 * np.sin(angle))), round(16 * (100 - 55 * np.cos(angle))))
        cv2.line(luma, (160 * 16, 100 * 16), tip, 220, 3, cv2.LINE_AA, 4)
        yield grey(luma)


def film_leader(frames: int, rate: Fraction) -> Iterator[Picture]:
    """A sector that sweeps the whole picture once a second behind a number and cross hairs."""
    for frame in range(frames):
        second, part = divmod(frame, round(rate))
        luma = np.full((RASTER[1], RASTER[0]), 120, np.uint8)
        cv2.ellipse(luma, (160, 90), (220, 220), -90, 0, 360 * part / round(rate), 90, -1)
        cv2.line(luma, (0, 90), (319, 90), 30, 1)
        cv2.line(luma, (160, 0), (160, 179), 30, 1)
        number = written(str(8 - second), 6)
        luma[60 : 60 + number.shape[0], 142 : 142 + number.shape[1]][number] = 20
        yield grey(luma)


def film(frames: int, seed: int = 1) -> Iterator[Picture]:
    """A made picture that moves all over, with a cut every second or so."""
    rng = np.random.default_rng(seed)
    rows, columns = np.mgrid[0 : RASTER[1], 0 : RASTER[0]]
    phase = 0.0
    for frame in range(frames):
        if frame % 29 == 0:
            phase = float(rng.uniform(0, 100))
        wave = 110 + 60 * np.sin((columns + 3 * frame) / 23 + phase) + 20 * np.cos(rows / 17 + phase)
        yield grey(np.clip(wave + rng.integers(-2, 3, wave.shape), 16, 235).astype(np.uint8))


def picture_series(pictures: Iterable[Picture], rate: Fraction, bits: int = 8) -> PictureSeries:
    """The series of pictures as the one pass would make them."""
    luma, cards = LumaMeter(bits), CardsMeter(PictureKind(*RASTER, rate, None, None))
    count = 0
    for count, (y, cb, cr) in enumerate(pictures, 1):
        luma.feed(y, bits)
        cards.feed(Planes(count - 1, y, cb, cr, bits))
    rows = luma.finish()
    return PictureSeries(
        rows.luma, LumaBins(rows.depth, rows.edges, False), rows.counted, rows.darkest, rows.brightest,
        np.arange(count, dtype=np.int64), 1 / rate, cards.finish(),
    )  # fmt: skip


def sound_series(samples: np.ndarray, rate: int = SOUND_RATE) -> SoundSeries:
    """The series of (samples, channels) as the one pass would make them."""
    channels = samples.shape[1]
    bank = SoundBank(rate, channels)
    bank.feed(samples)
    rows = bank.finish()
    extent = np.tile(np.array([0, len(rows["energy"])], np.int64), (channels, 1))
    return SoundSeries(
        rows["energy"], rows["plain"], rows["sample_peak"], rows["true_peak"], rows["full_scale_runs"], extent,
        np.full(channels, len(samples), np.int64), np.zeros(channels, np.int64), np.full(channels, 24, np.int16),
        {"tone.crossings": rows["crossings"]},
    )  # fmt: skip


def silence(frames: int, rate: Fraction, channels: int = 2) -> np.ndarray:
    return np.zeros((round(frames / rate * SOUND_RATE), channels))


def put_tone(
    samples: np.ndarray,
    first: Fraction | float,
    seconds: Fraction | float,
    peak_dbfs: float = -20.0,
    hertz: float = 1000.0,
) -> None:
    """A sine over part of every channel, from its zero; its level in the sine peak convention."""
    start, count = round(first * SOUND_RATE), round(seconds * SOUND_RATE)
    moment = np.arange(count) / SOUND_RATE
    samples[start : start + count] += 10 ** (peak_dbfs / 20) * np.sin(2 * np.pi * hertz * moment)[:, None]


@dataclass(frozen=True)
class Coding:
    suffix: str
    pixels: str
    options: tuple[str, ...]


_CBR = ("-b:v", "4M", "-minrate", "4M", "-maxrate", "4M", "-bufsize", "2M", "-g", "12", "-bf", "2")
CODINGS = {
    "MPEG-2 4:2:2": Coding(".mxf", "yuv422p", ("-c:v", "mpeg2video", "-profile:v", "0", "-level:v", "2", *_CBR)),
    "H.264": Coding(".mov", "yuv420p", ("-c:v", "libx264", "-preset", "veryfast", "-crf", "23")),
    "H.264 10 bit": Coding(".mov", "yuv422p10le", ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-g", "1")),
    "ProRes": Coding(".mov", "yuv422p10le", ("-c:v", "prores_ks", "-profile:v", "3", "-vendor", "apl0")),
}


def head_file(
    path: Path,
    pictures: Iterable[Picture],
    samples: np.ndarray,
    rate: Fraction,
    coding: str = "H.264",
    timecode: str = "00:59:50:00",
) -> Path:
    """Pictures and sound as a file; every channel a mono stream of 24 bits."""
    kind = CODINGS[coding]
    path = path.with_suffix(kind.suffix)
    raw = path.with_name(f"{path.name}.raw")
    path.parent.mkdir(parents=True, exist_ok=True)
    samples.astype("<f8").tofile(raw)
    channels = samples.shape[1]
    arguments = [
        "-f",
        "rawvideo",
        "-pix_fmt",
        "yuv422p",
        "-s",
        f"{RASTER[0]}x{RASTER[1]}",
        "-r",
        str(rate),
        "-i",
        "pipe:0",
    ]
    arguments += ["-f", "f64le", "-ar", str(SOUND_RATE), "-ac", str(channels), "-i", str(raw)]
    split = ";".join(f"[1:a]pan=mono|c0=c{number}[a{number}]" for number in range(channels))
    arguments += ["-filter_complex", split, "-map", "0:v"]
    for number in range(channels):
        arguments += ["-map", f"[a{number}]"]
    tags = "setsar=1,setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=limited"
    arguments += ["-vf", tags, "-pix_fmt", kind.pixels, *kind.options, "-c:a", "pcm_s24le", "-timecode", timecode]
    try:
        return render(
            path, [*arguments, "-threads", "2"], feed=(b"".join(part.tobytes() for part in one) for one in pictures)
        )
    finally:
        raw.unlink(missing_ok=True)


Measure = Callable[[Path], tuple[PictureSeries, SoundSeries]]


def measured(path: Path) -> tuple[PictureSeries, SoundSeries]:
    """Both series of a file by the one pass itself, in this process."""
    from qc.measurement.one_pass import measure
    from qc.media.probe import probe

    record = measure(path, probe(path))
    assert record.picture is not None and record.sound is not None
    return record.picture, record.sound
