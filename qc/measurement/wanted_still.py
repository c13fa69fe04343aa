"""What is asked of the child for a still, and how it proves that it has the frame that was measured."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class WantedStill:
    """One frame, from the file's first, with the text burnt into it."""

    frame: int
    label: str


@dataclass(frozen=True)
class TakenStill:
    """What became of it: a picture, or the reason why there is none."""

    frame: int
    jpeg: bytes | None
    width: int = 0
    height: int = 0
    reason: str = ""


def row_mark(luma: np.ndarray, counted: int, darkest: int, brightest: int) -> str:
    """Hex digest of one frame's luma row: two different pictures practically never share it."""
    row = np.concatenate([np.asarray(luma, np.int64), [counted, darkest, brightest]]).astype("<i8")
    return hashlib.sha256(row.tobytes()).hexdigest()[:32]
