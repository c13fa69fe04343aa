"""A short programme cut from the open film, its faults planted at known frames: the same at any raster, scan and rate.

Composed as 10-bit 4:2:2 code values, narrow range, BT.709, so that every number is known before anything is coded.
Frame n shows the film at moment 2 n; interlaced frames hold moments 2 n and 2 n + 1, one in each field.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from qc.timing.spans import Span
from tests.kit.film import film_path
from tests.kit.render import program

FILM_RATE = 24
#: Codes of 10 bits. Black of ITU-R BT.709-6; a wall and a lamp that differ by 120 cd/m2 (ITU-R BT.1702-3, Annex 2).
BLACK = (64, 512, 512)
WALL, LAMP = (260, 512, 512), (880, 512, 512)
#: Luma of 108 %, and R' of 109 % with G' and B' at 0 (equations of ITU-R BT.709-6, items 3.2 to 3.4).
WHITE_HOT, RED_HOT = (1010, 512, 512), (267, 400, 1000)
#: The flashing wall's share of the picture's width; the lamp burns for 2 frames of 5, five times.
WALL_SHARE = Fraction(2, 5)
FLASHES, FLASH_PERIOD, FLASH_LIT = 5, 5, 2

Picture = tuple[np.ndarray, np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Plan:
    """Where everything is, in frames from the first.

    gap   black between what is bright and the flashes: over a second, so that they are counted alone
    """

    gap: int = 32

    @property
    def parts(self) -> dict[str, int]:
        night = FLASHES * FLASH_PERIOD + 6
        return {
            "head": 4,
            "moving": 30,
            "stray": 14,
            "barred": 32,
            "hot": 12,
            "gap": self.gap,
            "night": night,
            "tail": 4,
        }

    def part(self, name: str) -> Span:
        at = 0
        for own, frames in self.parts.items():
            if own == name:
                return Span(at, at + frames)
            at += frames
        raise KeyError(name)

    @property
    def frames(self) -> int:
        return sum(self.parts.values())

    @property
    def black(self) -> list[Span]:
        return [self.part(name) for name in ("head", "gap", "tail")]

    @property
    def freeze(self) -> Span:
        """From the frame that is seen first to its last repeat; the shot moves before and after it."""
        moving = self.part("moving")
        return Span(moving.end - 20, moving.end - 5)

    @property
    def stray(self) -> Span:
        at = self.part("stray").first + self.part("stray").frames // 2
        return Span(at, at + 1)

    @property
    def hot(self) -> Span:
        whole = self.part("hot")
        return Span(whole.first + 3, whole.end - 3)

    @property
    def flashing(self) -> Span:
        """From the first frame that is lit to the frame in which the last light has gone out."""
        first = self.part("night").first + 4
        return Span(first, first + FLASHES * FLASH_PERIOD - (FLASH_PERIOD - FLASH_LIT) + 1)

    def lit(self, frame: int) -> bool:
        since = frame - self.flashing.first
        return 0 <= since < FLASHES * FLASH_PERIOD and since % FLASH_PERIOD < FLASH_LIT


#: First frame of the film for each part: one shot each, without a cut in it.
_FILM = {"moving": 2496, "stray": 700, "barred": 1815, "hot": 10690, "night": 8321}
_STRAY_FILM = 3200


def bar_rows(height: int) -> int:
    """Rows of each letterbox bar: an eighth of the picture, even."""
    return height // 16 * 2


def hot_boxes(width: int, height: int) -> dict[str, tuple[int, int, int, int]]:
    """Left, top, width, height of what is outside: 10 % of the picture red, 4 % white, on even pixels."""
    unit_x, unit_y = width // 20, height // 10
    return {
        "red": (2 * unit_x, 3 * unit_y, 5 * unit_x, 4 * unit_y),
        "white": (12 * unit_x, 3 * unit_y, 4 * unit_x, 2 * unit_y),
    }


def pictures(plan: Plan, size: tuple[int, int], scan: str = "progressive") -> Iterator[Picture]:
    """Y, Cb and Cr of every frame, uint16; ``scan`` is "progressive", "top first" or "bottom first"."""
    held: Picture | None = None
    film: Iterator[Picture] = iter(())
    for name, frames in plan.parts.items():
        span = plan.part(name)
        if name in _FILM:
            film = _woven(_film(_FILM[name], 2 * frames, size), scan)
        for frame in range(span.first, span.end):
            if name in ("head", "gap", "tail"):
                yield flat(size, BLACK)
                continue
            picture = next(film)
            if plan.freeze.first < frame < plan.freeze.end and held is not None:
                picture = held
            held = picture
            yield _planted(plan, frame, name, picture, size, scan)


def picture_of(plan: Plan, frame: int, size: tuple[int, int], scan: str = "progressive") -> Picture:
    """One frame of a part that shows the film (not a repeat of the freeze)."""
    name = next(name for name in _FILM if plan.part(name).first <= frame < plan.part(name).end)
    first = _FILM[name] + 2 * (frame - plan.part(name).first)
    return _planted(plan, frame, name, next(_woven(_film(first, 2, size), scan)), size, scan)


def _planted(plan: Plan, frame: int, part: str, picture: Picture, size: tuple[int, int], scan: str) -> Picture:
    width, height = size
    if frame == plan.stray.first:
        return next(_woven(_film(_STRAY_FILM, 2, size), scan))
    if part == "barred":
        rows = bar_rows(height)
        for top in (0, height - rows):
            picture = with_box(picture, BLACK, (0, top, width, rows))
    elif part == "hot" and plan.hot.first <= frame < plan.hot.end:
        for name, box in hot_boxes(width, height).items():
            picture = with_box(picture, RED_HOT if name == "red" else WHITE_HOT, box)
    elif part == "night":
        luma, cb, cr = (
            (0.3 * (plane - float(zero)) + zero).astype(np.uint16) for plane, zero in zip(picture, BLACK, strict=True)
        )
        wide = int(WALL_SHARE * width) // 2 * 2
        picture = with_box((luma, cb, cr), LAMP if plan.lit(frame) else WALL, (0, 0, wide, height))
    return picture


def flat(size: tuple[int, int], codes: tuple[int, int, int]) -> Picture:
    width, height = size
    luma, cb, cr = (
        np.full((height, wide), code, np.uint16)
        for wide, code in zip((width, width // 2, width // 2), codes, strict=True)
    )
    return luma, cb, cr


def with_box(picture: Picture, codes: tuple[int, int, int], box: tuple[int, int, int, int]) -> Picture:
    """A copy with a rectangle of one colour: left, top, width, height in even pixels."""
    left, top, wide, high = box
    luma, cb, cr = (plane.copy() for plane in picture)
    luma[top : top + high, left : left + wide] = codes[0]
    for plane, code in ((cb, codes[1]), (cr, codes[2])):
        plane[top : top + high, left // 2 : (left + wide) // 2] = code
    return luma, cb, cr


def as_bytes(frames: Iterator[Picture]) -> Iterator[bytes]:
    """Planar yuv422p10le, as FFmpeg reads it."""
    for picture in frames:
        yield b"".join(plane.tobytes() for plane in picture)


def _woven(moments: Iterator[Picture], scan: str) -> Iterator[Picture]:
    """Frames of two moments each; a progressive one shows the earlier."""
    for earlier, later in zip(moments, moments, strict=True):
        if scan == "progressive":
            yield earlier
            continue
        woven = tuple(plane.copy() for plane in earlier)
        for own, other in zip(woven, later, strict=True):
            parity = 1 if scan == "top first" else 0
            own[parity::2] = other[parity::2]
        yield woven[0], woven[1], woven[2]


def _film(first: int, count: int, size: tuple[int, int]) -> Iterator[Picture]:
    """Frames of the film by number, scaled by averages."""
    width, height = size
    start = (first - 0.5) / FILM_RATE
    command = [program(), "-v", "error", "-nostdin", "-ss", f"{start:.5f}", "-i", str(film_path()), "-an",
               "-frames:v", str(count), "-vf", f"scale={width}:{height}:flags=area,format=yuv422p10le",
               "-threads", "2", "-f", "rawvideo", "-"]  # fmt: skip
    shapes = ((height, width), (height, width // 2), (height, width // 2))
    sizes = [high * wide for high, wide in shapes]
    with subprocess.Popen(command, stdout=subprocess.PIPE) as child:
        assert child.stdout is not None
        for _ in range(count):
            codes = np.frombuffer(child.stdout.read(2 * sum(sizes)), np.uint16)
            assert len(codes) == sum(sizes), "the film ends here"
            luma, cb, cr = np.split(codes, np.cumsum(sizes)[:2])
            yield luma.reshape(shapes[0]), cb.reshape(shapes[1]), cr.reshape(shapes[2])
