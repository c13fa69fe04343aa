"""Letters and digits as small pictures, drawn here because a bare machine has no font.

Five by seven dots; enough for a slate, a walking clock and a timecode burnt into a still.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

_DOTS = {
    "0": "01110 10001 10011 10101 11001 10001 01110",
    "1": "00100 01100 00100 00100 00100 00100 01110",
    "2": "01110 10001 00001 00110 01000 10000 11111",
    "3": "11110 00001 00001 01110 00001 00001 11110",
    "4": "00010 00110 01010 10010 11111 00010 00010",
    "5": "11111 10000 11110 00001 00001 10001 01110",
    "6": "01110 10000 10000 11110 10001 10001 01110",
    "7": "11111 00001 00010 00100 01000 01000 01000",
    "8": "01110 10001 10001 01110 10001 10001 01110",
    "9": "01110 10001 10001 01111 00001 00001 01110",
    ":": "00000 00100 00100 00000 00100 00100 00000",
    ";": "00000 00100 00100 00000 00100 00100 01000",
    " ": "00000 00000 00000 00000 00000 00000 00000",
    ".": "00000 00000 00000 00000 00000 01100 01100",
    "-": "00000 00000 00000 01110 00000 00000 00000",
    "A": "01110 10001 10001 11111 10001 10001 10001",
    "B": "11110 10001 10001 11110 10001 10001 11110",
    "C": "01110 10001 10000 10000 10000 10001 01110",
    "E": "11111 10000 10000 11110 10000 10000 11111",
    "L": "10000 10000 10000 10000 10000 10000 11111",
    "N": "10001 11001 10101 10011 10001 10001 10001",
    "R": "11110 10001 10001 11110 10100 10010 10001",
    "S": "01111 10000 10000 01110 00001 00001 11110",
    "T": "11111 00100 00100 00100 00100 00100 00100",
}
#: What stands for a character that is not drawn here.
_BOX = "11111 10001 10001 10001 10001 10001 11111"


@lru_cache(maxsize=256)
def _glyph(character: str, scale: int) -> np.ndarray:
    dots = np.array([[dot == "1" for dot in row] for row in _DOTS.get(character, _BOX).split()], dtype=bool)
    return np.pad(dots, ((1, 1), (1, 0))).repeat(scale, axis=0).repeat(scale, axis=1)


def written(text: str, scale: int = 2) -> np.ndarray:
    """The text as (9 * scale, 6 * scale * characters) booleans; a box for what is not drawn here."""
    if not text:
        return np.zeros((9 * scale, 0), bool)
    return np.concatenate([_glyph(character, scale) for character in text], axis=1)
