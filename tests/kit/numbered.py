"""Clips whose every frame shows its own number in blocks, so that a frame taken out of them can be told.

Eleven blocks, light for 1 and dark for 0, in the upper half of the picture. The whole picture's luma
histogram depends only on how many blocks are light: neighbours often share it.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Sequence
from pathlib import Path

import cv2
import numpy as np

from tests.kit.render import program, render

WIDTH, HEIGHT = 192, 112
_BITS = 11
_SIDE = 16
_TOP, _LEFT = 16, 8
_LIGHT, _DARK = 210, 50


def luma_of(number: int) -> np.ndarray:
    """(HEIGHT, WIDTH) uint8, narrow range."""
    picture = np.full((HEIGHT, WIDTH), 100, np.uint8)
    for bit in range(_BITS):
        left = _LEFT + bit * _SIDE
        picture[_TOP : _TOP + 2 * _SIDE, left : left + _SIDE] = _LIGHT if number >> bit & 1 else _DARK
    return picture


def number_in(luma: np.ndarray) -> int:
    """The number in a picture of any size."""
    small = cv2.resize(luma, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA).astype(int)
    lights = [
        small[_TOP + 6 : _TOP + 2 * _SIDE - 6, _LEFT + bit * _SIDE + 5 : _LEFT + (bit + 1) * _SIDE - 5].mean() > 130
        for bit in range(_BITS)
    ]
    return sum(1 << bit for bit, light in enumerate(lights) if light)


def number_in_jpeg(content: bytes) -> int:
    return number_in(cv2.imdecode(np.frombuffer(content, np.uint8), cv2.IMREAD_GRAYSCALE))


def numbered(path: Path, frames: int, arguments: Sequence[str], *, rate: str = "30000/1001") -> Path:
    """A clip of so many frames; ``arguments`` are FFmpeg's for the output."""
    raw = ["-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{WIDTH}x{HEIGHT}", "-framerate", rate, "-i", "pipe:"]
    return render(path, [*raw, *arguments], feed=_frames(frames))


def _frames(count: int) -> Iterator[bytes]:
    for number in range(count):
        yield luma_of(number).tobytes()


def numbers_by_ffmpeg(path: Path) -> list[int]:
    """The numbers of all frames as the packaged FFmpeg program decodes them from beginning to end."""
    command = [program(), "-v", "error", "-nostdin", "-i", str(path), "-map", "0:v:0", "-fps_mode", "passthrough"]
    done = subprocess.run([*command, "-f", "rawvideo", "-pix_fmt", "gray", "-"], capture_output=True, check=True)
    return [number_in(luma) for luma in np.frombuffer(done.stdout, np.uint8).reshape(-1, HEIGHT, WIDTH)]
