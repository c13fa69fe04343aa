"""What every made-up picture is measured in: planar 8-bit 4:2:2, narrow range.

Source of the codes: ITU-R BT.709-6, items 3.2 to 3.5 and 4.6 (black 16, white 235, no colour 128).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

BLACK, WHITE, GREY = 16, 235, 128

#: Luma (height, width), Cb and Cr (height, width / 2), all uint8.
Planes = tuple[np.ndarray, np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Raster:
    width: int
    height: int

    def plane(self, value: int) -> np.ndarray:
        return np.full((self.height, self.width), value, np.uint8)

    def chroma(self, value: int = GREY) -> np.ndarray:
        return np.full((self.height, self.width // 2), value, np.uint8)


def code(red: float, green: float, blue: float) -> tuple[int, int, int]:
    """Y', Cb, Cr of a colour in shares of full level, with the weights of BT.709."""
    luma = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    return round(16 + 219 * luma), round(128 + 224 * (blue - luma) / 1.8556), round(128 + 224 * (red - luma) / 1.5748)
