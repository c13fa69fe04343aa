"""Faults of a whole picture, put into one frame: each takes a picture of 8 bits, 4:2:0, and gives back another."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

Spoil = Callable[[np.ndarray, np.random.Generator], np.ndarray]


def _parts(picture: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """A copy, and luma, Cb and Cr in it: views."""
    made, height, width = picture.copy(), picture.shape[0] * 2 // 3, picture.shape[1]
    blue, red = made[height:].reshape(2, height // 2, width // 2)
    return made, made[:height], blue, red


def colour_lost(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    made, _, blue, red = _parts(picture)
    blue[:], red[:] = 128, 128
    return made


def one_lost(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Cb or Cr."""
    made, _, *both = _parts(picture)
    both[int(rng.integers(2))][:] = 128
    return made


def inverted(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    made, _, blue, red = _parts(picture)
    blue[:], red[:] = np.minimum(256 - blue.astype(int), 255), np.minimum(256 - red.astype(int), 255)
    return made


def swapped(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    made, _, blue, red = _parts(picture)
    blue[:], red[:] = red.copy(), blue.copy()
    return made


def in_blocks(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Luma in blocks of 8 x 8, each of one code, as its first coefficient alone leaves it."""
    made, luma, _, _ = _parts(picture)
    height, width = luma.shape
    means = luma.reshape(height // 8, 8, width // 8, 8).mean(axis=(1, 3))
    luma[:] = np.rint(means).astype(np.uint8).repeat(8, 0).repeat(8, 1)
    return made


def no_signal(picture: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Black in the upper or the lower half, or code 0 in all three parts."""
    made, luma, blue, red = _parts(picture)
    half = slice(0, luma.shape[0] // 2) if rng.integers(2) else slice(luma.shape[0] // 2, None)
    small = slice(0, blue.shape[0] // 2) if half.start == 0 else slice(blue.shape[0] // 2, None)
    luma[half], colour = (16, 128) if rng.integers(2) else (0, 0)
    blue[small], red[small] = colour, colour
    return made


#: By the name of what is planted.
SPOILS: dict[str, Spoil] = {
    "colour lost": colour_lost,
    "one colour lost": one_lost,
    "colour inverted": inverted,
    "colours swapped": swapped,
    "all in blocks": in_blocks,
    "no signal in half": no_signal,
}
