"""Cuts of the open film with faults of single frames planted at random frames: the truth is known by the making.

Where a fault may stand is chosen by the pictures of the film, small and grey, in plain numpy: a repeat or a freeze
where something moves, a missing frame where motion is even, a stray shot away from cuts or at one, damage where
motion is not wild.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

import subprocess
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import av
import cv2
import numpy as np

from qc.meters.picture.planes import Planes
from tests.kit.film import film_path
from tests.kit.frame_figures import Frames, frames_of, planes_420
from tests.kit.frame_spoiled import SPOILS
from tests.kit.render import program

FILM_RATE = 24
SIZE = (640, 360)
#: A block of damage: a macroblock of H.262 and H.264.
BLOCK = 16
#: Frames of the film from shots that no cut here is made of: stray ones.
STRANGE = (1250, 4100, 6200, 9300)
#: Frames that neighbouring faults keep off each other.
APART = 20

#: Coded forms: H.264 and MPEG-2 in long groups of pictures.
Form = tuple[str, tuple[str, ...]]
FORMS: dict[str, Form] = {
    "h264": (".mov", ("-c:v", "libx264", "-preset", "veryfast", "-crf", "18")),
    "mpeg2": (
        ".mxf",
        ("-c:v", "mpeg2video", "-b:v", "15M", "-maxrate", "15M", "-bufsize", "6M", "-g", "12", "-bf", "2"),
    ),
}


def film_pictures(first: int, frames: int, size: tuple[int, int] = SIZE) -> Iterator[np.ndarray]:
    """(height * 3 / 2, width) uint8, 4:2:0, of the film's frames from ``first`` on."""
    with av.open(str(film_path())) as container:
        stream = container.streams.video[0]
        assert stream.time_base is not None
        container.seek(int(first / FILM_RATE / stream.time_base), stream=stream)
        left = frames
        for frame in container.decode(stream):
            assert frame.pts is not None
            if round(frame.pts * stream.time_base * FILM_RATE) >= first:
                yield frame.reformat(*size, "yuv420p").to_ndarray()
                left -= 1
            if not left:
                return


@dataclass(frozen=True)
class Planted:
    """A fault as it stands in the made file; of a freeze the frame that stops counts, too."""

    kind: str
    first: int
    frames: int


@dataclass(frozen=True)
class Cut:
    """Stretches of the film, one after the other: (first frame, frames) each."""

    stretches: tuple[tuple[int, int], ...]

    def pictures(self) -> Iterator[np.ndarray]:
        for first, frames in self.stretches:
            yield from film_pictures(first, frames)

    @cached_property
    def _small(self) -> np.ndarray:
        pictures = (picture[: SIZE[1]] for picture in self.pictures())
        return np.stack([cv2.resize(luma, (160, 90), interpolation=cv2.INTER_AREA) for luma in pictures]).astype(
            np.float32
        )

    @cached_property
    def steps(self) -> np.ndarray:
        """(frames,) mean change to each frame, codes."""
        return np.concatenate([[0], np.abs(np.diff(self._small, axis=0)).mean(axis=(1, 2))])

    @cached_property
    def cuts(self) -> np.ndarray:
        """(frames,) bool: cuts of the film and those between stretches."""
        fine = np.stack([picture - cv2.blur(picture, (15, 15)) for picture in self._small])
        power = (fine**2).mean(axis=(1, 2))
        alike = (fine[1:] * fine[:-1]).mean(axis=(1, 2)) / np.sqrt(power[1:] * power[:-1] + 1e-3)
        found = np.concatenate([[True], (alike < 0.25) | (self.steps[1:] > 40)])
        found[np.cumsum([0, *(frames for _, frames in self.stretches[:-1])])] = True
        return found

    def strange(self) -> list[list[np.ndarray]]:
        """Three pictures each from shots that no cut is made of."""
        return [list(film_pictures(first, 3)) for first in STRANGE]

    def places(self, kind: str) -> np.ndarray:
        """Frames of the cut at which such a fault may begin."""
        away = ~_near(self.cuts, range(-10, 11))
        moving = away & (_over(np.minimum, self.steps, range(-5, 6)) >= 1.2)
        least, most = (_over(worst, self.steps, range(-7, 8)) for worst in (np.minimum, np.maximum))
        calm = away & (_over(np.maximum, self.steps, range(-5, 6)) <= 5)
        good = {
            "repeat": moving,
            "freeze": moving,
            "drop": moving & (most <= 1.25 * least),
            "stray": away,
            "hit": calm,
            "hit in one field": calm,
            "solid": away,
            **dict.fromkeys(SPOILS, away),
            "stray at a cut": self.cuts & ~_near(self.cuts, [*range(-12, 0), *range(1, 13)]),
        }
        allowed = good.get(kind, good["stray at a cut"]) & (self._small.mean(axis=(1, 2)) > 45)
        allowed[:15] = allowed[-70:] = False
        return np.flatnonzero(allowed)


def _near(flags: np.ndarray, steps: Sequence[int] | range) -> np.ndarray:
    return np.any([np.roll(flags, step) for step in steps], axis=0)


def _over(worst: np.ufunc, values: np.ndarray, steps: range) -> np.ndarray:
    return np.asarray(worst.reduce([np.roll(values, step) for step in steps]))


@dataclass
class Plan:
    """What is planted at which frames of a cut. ``truth`` is filled while the pictures are made."""

    cut: Cut
    at: dict[int, tuple[str, int]]  # frame of the cut: kind, frames
    seed: int
    truth: list[Planted] = field(default_factory=list)

    def pictures(self) -> Iterator[np.ndarray]:
        """With the faults in them. Repeats and freezes push the film back or stand in for it, by turns."""
        rng = np.random.default_rng(self.seed)
        strange = self.cut.strange()
        made, skip, last = 0, 0, np.zeros(0, np.uint8)
        for number, picture in enumerate(self.cut.pictures()):
            if skip:
                skip -= 1
                continue
            kind, frames = self.at.get(number, ("", 0))
            put: list[np.ndarray] = []
            if kind in ("repeat", "freeze"):
                put = [last] * frames
                skip = frames if rng.integers(2) else 0
            elif kind == "drop":
                skip = frames
            elif kind.startswith("stray"):
                put = strange[int(rng.integers(len(strange)))][:frames]
            elif kind == "black at a cut":
                put = [_one_colour(picture, 16, 128, 128)]
            elif kind == "solid":
                put = [_one_colour(picture, int(rng.integers(60, 170)), int(rng.integers(60, 190)), 128)]
            elif kind == "hit":
                picture = damaged(picture, rng)
            elif kind == "hit in one field":
                picture = with_field(picture, damaged(field_of(picture, parity := int(rng.integers(2))), rng), parity)
            elif kind in SPOILS:
                picture = SPOILS[kind](picture, rng)
            if kind:
                before = kind == "freeze"
                self.truth.append(Planted(kind, made - before, 1 if kind == "drop" else frames + before))
            yield from put
            made += len(put)
            if skip:
                skip -= 1
                continue
            yield picture
            made, last = made + 1, picture


def planned(cut: Cut, wanted: dict[str, int], seed: int) -> Plan:
    """So many faults of each kind at random places, in the order given; fewer where the cut has no more room."""
    rng = np.random.default_rng(seed)
    free = np.ones(len(cut.steps), bool)
    at = {}
    for kind, count in wanted.items():
        for _ in range(count):
            places = cut.places(kind)
            places = places[free[places]]
            if not len(places):
                break
            first = int(rng.choice(places))
            frames = {"repeat": 3, "drop": 3, "stray": 3, "stray at a cut": 3}.get(kind, 1)
            frames = int(rng.integers(25, 40)) if kind == "freeze" else int(rng.integers(1, frames + 1))
            at[first] = kind, frames
            free[max(0, first - APART) : first + APART + (frames if kind == "freeze" else 0)] = False
    return Plan(cut, at, seed)


def planes_of(picture: np.ndarray) -> tuple[np.ndarray, ...]:
    """Luma, Cb and Cr of a picture as FFmpeg lays it out: views."""
    height, width = picture.shape[0] * 2 // 3, picture.shape[1]
    return picture[:height], *picture[height:].reshape(2, height // 2, width // 2)


def field_of(picture: np.ndarray, parity: int) -> np.ndarray:
    """(height * 3 / 4, width): every second line of each plane, the first (0) or the second (1) of them on."""
    return np.concatenate([plane[parity::2].ravel() for plane in planes_of(picture)]).reshape(-1, picture.shape[1])


def with_field(picture: np.ndarray, field: np.ndarray, parity: int) -> np.ndarray:
    """The picture with that field in it."""
    made = picture.copy()
    for plane, lines in zip(planes_of(made), planes_of(field), strict=True):
        plane[parity::2] = lines
    return made


def lit(picture: np.ndarray, light: float) -> np.ndarray:
    """Light added to all of it, in linear light (ITU-R BT.1886)."""
    made, height = picture.copy(), picture.shape[0] * 2 // 3
    linear = np.clip((picture[:height].astype(np.float32) - 16) / 219, 0, None) ** 2.4 + light
    made[:height] = np.rint(16 + 219 * np.clip(linear, 0, 1) ** (1 / 2.4))
    return made


def damaged(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A group of broken blocks: without signal, of one colour each, or from somewhere else; 30 codes off on average."""
    height, width = picture.shape[0] * 2 // 3, picture.shape[1]
    while True:
        broken = picture.copy()
        luma, chroma = broken[:height], broken[height:].reshape(2, height // 2, width // 2)
        across, down = int(rng.integers(2, 9)), int(rng.integers(1, 5))
        left, top = (int(rng.integers(0, most)) for most in (width // BLOCK - across, height // BLOCK - down))
        how = int(rng.integers(3))
        for row in range(top, top + down):
            for column in range(left, left + across):
                box = slice(row * BLOCK, row * BLOCK + BLOCK), slice(column * BLOCK, column * BLOCK + BLOCK)
                small = tuple(slice(side.start // 2, side.stop // 2) for side in box)
                if how == 2:
                    y, x = (int(rng.integers(0, most // BLOCK - 1)) * BLOCK for most in (height, width))
                    luma[box] = picture[y : y + BLOCK, x : x + BLOCK]
                else:
                    luma[box] = 16 if how == 0 else rng.integers(16, 236)
                    for plane in chroma:
                        plane[small] = 0 if how == 0 else rng.integers(60, 196)
        area = slice(top * BLOCK, (top + down) * BLOCK), slice(left * BLOCK, (left + across) * BLOCK)
        if np.abs(luma[area].astype(int) - picture[:height][area]).mean() >= 30:
            return broken


def _one_colour(picture: np.ndarray, luma: int, blue: int, red: int) -> np.ndarray:
    made = np.full_like(picture, luma)
    both = made[SIZE[1] :].reshape(2, -1)
    both[0], both[1] = blue, red
    return made


def render_forms(
    plan: Plan, folder: Path, name: str, forms: Mapping[str, Form] = FORMS, interlaced: bool = False
) -> tuple[Frames, dict[str, Path]]:
    """The planted pictures as they are, and coded in every form, in one go."""
    paths = {form: folder / f"{name}-{form}{suffix}" for form, (suffix, _) in forms.items()}
    command = [program(), "-hide_banner", "-loglevel", "error", "-y", "-f", "rawvideo", "-pix_fmt", "yuv420p"]
    command += ["-s", f"{SIZE[0]}x{SIZE[1]}", "-r", "25", "-i", "pipe:"]
    for form, path in paths.items():
        command += ["-map", "0:v", *forms[form][1], "-threads", "1", str(path)]
    child = subprocess.Popen(command, stdin=subprocess.PIPE)
    stdin = child.stdin
    assert stdin is not None

    def pictures() -> Iterator[Planes]:
        for number, picture in enumerate(plan.pictures()):
            stdin.write(picture.tobytes())
            yield planes_420(picture, SIZE, number, interlaced)

    try:
        seen = frames_of(pictures())
    finally:
        stdin.close()
        status = child.wait()
    assert not status
    return seen, paths
