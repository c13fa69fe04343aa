"""Moving pictures made in memory for the tests on flashing, and the meter run over them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from fractions import Fraction

import numpy as np

from qc.meters.picture.bank import PictureKind
from qc.meters.picture.flashing import FlashingMeter
from qc.meters.picture.planes import Planes

RATES = {
    "23.976": Fraction(24000, 1001),
    "25": Fraction(25),
    "29.97": Fraction(30000, 1001),
    "50": Fraction(50),
    "59.94": Fraction(60000, 1001),
}
BLACK, WHITE = 64, 940
WIDTH, HEIGHT = 160, 90

Pictures = Iterable[np.ndarray]
Colour = Sequence[tuple[int, int, int]]


def measured(
    lumas: Pictures,
    rate: Fraction,
    *,
    bits: int = 10,
    full_range: bool = False,
    transfer: str | None = None,
    matrix: str | None = "BT.709",
    chroma: Callable[[int, np.ndarray], tuple[np.ndarray, np.ndarray]] | None = None,
    interlaced: bool = False,
    top_first: bool = True,
) -> dict[str, np.ndarray]:
    """Series of the flashing meter for pictures of luma codes; ``chroma`` gives Cb and Cr of a frame."""
    meter = None
    for number, luma in enumerate(lumas):
        if meter is None:
            meter = FlashingMeter(PictureKind(luma.shape[1], luma.shape[0], rate, matrix, transfer))
        cb, cr = chroma(number, luma) if chroma else (None, None)
        meter.feed(Planes(number, luma, cb, cr, bits, full_range, interlaced, top_first))
    assert meter is not None
    return meter.finish()


def flat(code: int, width: int = WIDTH, height: int = HEIGHT) -> np.ndarray:
    return np.full((height, width), code, np.uint16)


def square_wave(period: int, frames: int, low: int = BLACK, high: int = WHITE) -> list[np.ndarray]:
    """Whole screen, ``period`` frames from one leading edge to the next."""
    dark, bright = flat(low), flat(high)
    return [bright if number % period >= period // 2 else dark for number in range(frames)]


def lamp(
    boxes: Sequence[tuple[int, int, int, int]],
    lit: Callable[[int, int], bool],
    frames: int,
    size: tuple[int, int] = (320, 180),
    low: int = BLACK,
    high: int = WHITE,
) -> Iterable[np.ndarray]:
    """Boxes (left, top, width, height) on black; box k is bright on frame n if lit(k, n)."""
    for number in range(frames):
        picture = flat(low, *size)
        for which, (left, top, width, height) in enumerate(boxes):
            if lit(which, number):
                picture[top : top + height, left : left + width] = high
        yield picture
