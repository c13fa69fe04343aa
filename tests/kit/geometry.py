"""The picture meters alone over a rendered file, and what FFmpeg's own filters say of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

from qc.media.picture_view import picture_view
from qc.meters.picture.active import ActivePictureMeter
from qc.meters.picture.bank import PictureBank, PictureKind
from qc.meters.picture.fields import FieldOrderMeter
from qc.meters.picture.planes import Planes
from qc.meters.picture.stuck import StuckPixelMeter
from tests.kit.film import film_path
from tests.kit.render import render, run

METERS = (FieldOrderMeter, ActivePictureMeter, StuckPixelMeter)


def kind(rate: Fraction | None = Fraction(25)) -> PictureKind:
    return PictureKind(0, 0, rate, None, None)


def series_of(path: Path, meters: Iterable[Any] = METERS, rate: Fraction | None = None) -> dict[str, np.ndarray]:
    """Series of some meters over all pictures of a file, as the pass feeds them."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        bank = PictureBank([meter(kind(rate or stream.average_rate)) for meter in meters])
        for number, frame in enumerate(container.decode(stream)):
            bank.feed([Planes(number, *picture_view(frame))])
        return bank.finish()


def fed(pictures: Iterable[np.ndarray], meters: Iterable[Any] = METERS, bits: int = 8) -> dict[str, np.ndarray]:
    """Series over luma planes made by a test, 25 a second."""
    bank = PictureBank([meter(kind()) for meter in meters])
    for number, luma in enumerate(pictures):
        bank.feed([Planes(number, luma, None, None, bits)])
    return bank.finish()


def film_fields(folder: Path, start: float, seconds: float, size: str = "320:180") -> Path:
    """A stretch of the film, lossless and progressive, shown at 50 frames a second: two moments for each of 25."""
    path = folder / f"fields-{start:g}-{seconds:g}-{size.replace(':', 'x')}.mkv"
    scale = f"setpts=N/50/TB,scale={size}:flags=area,setsar=1,format=yuv422p"
    cut = ["-ss", str(start), "-t", str(seconds), "-i", str(film_path()), "-an", "-r", "50"]
    return render(path, [*cut, "-vf", scale, "-c:v", "ffv1", "-threads", "2"])


def film_pictures(folder: Path, size: tuple[int, int]) -> np.ndarray:
    """(pictures, h, w) uint8 luma of all the film's key frames, a different one every three seconds or so."""
    width, height = size
    path = folder / f"key-frames-{width}x{height}.raw"
    shape = f"scale={width}:{height}:flags=area,format=yuv420p,extractplanes=y"
    keys = ["-skip_frame", "nokey", "-i", str(film_path()), "-an", "-fps_mode", "passthrough"]
    render(path, [*keys, "-vf", shape, "-f", "rawvideo"])
    return np.fromfile(path, np.uint8).reshape(-1, height, width)


def idet(path: Path, before: str = "null") -> dict[str, int]:
    """Frames that FFmpeg's idet filter counts over several frames: {"TFF": ..., "BFF": ..., "Progressive": ...};
    ``before`` are filters before it."""
    said = run(["-i", str(path), "-an", "-vf", f"{before},idet", "-f", "null", "-"])
    last = [line for line in said.splitlines() if "Multi frame detection" in line][-1]
    return {name: int(count) for name, count in re.findall(r"(\w+):\s*(\d+)", last)}


def cropdetect(
    path: Path, options: str = "limit=26/255:round=2:skip=0:reset=0", before: str = "null"
) -> tuple[int, int, int, int]:
    """Width, height, left and top of what FFmpeg's cropdetect filter ends with; ``before`` are filters before it."""
    said = run(["-i", str(path), "-an", "-vf", f"{before},cropdetect={options}", "-f", "null", "-"])
    width, height, left, top = (int(value) for value in re.findall(r"crop=(-?\d+):(-?\d+):(-?\d+):(-?\d+)", said)[-1])
    return width, height, left, top
