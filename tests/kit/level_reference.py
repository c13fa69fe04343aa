"""Picture levels the slow way: every step of EBU R 103 v3.0 (2020) on the whole raster, in plain NumPy and float64.

Written from the text of the recommendation and of ITU-R BT.709-6, BT.601-7 and BT.2020-2 (quantisation, matrix, siting
of 4:2:2); shares nothing with the meter.
"""

from __future__ import annotations

import numpy as np

#: Kr and Kb. ITU-R BT.601-7, 2.5.1; BT.709-6, 3.2; BT.2020-2, Table 4.
WEIGHTS = {"BT.601": (0.299, 0.114), "BT.709": (0.2126, 0.0722), "BT.2020": (0.2627, 0.0593)}
#: EBU R 103 v3.0: what is not outside yet, for -5 and 105 %, at 8 bits; the others by the same rounding outwards.
CODES = {-5: 5, -1: 13, 101: 238, 103: 242, 105: 246}


def components(
    luma: np.ndarray,
    cb: np.ndarray | None,
    cr: np.ndarray | None,
    bits: int,
    full_range: bool = False,
    interlaced: bool = False,
    matrix: str = "BT.709",
    filtered: bool = True,
) -> dict[str, np.ndarray]:
    """Y, R, G, B of every pixel as 8-bit narrow-range codes, (h, w) float64."""
    height, width = luma.shape
    unit = 2.0 ** (bits - 8)
    y = luma / (2.0**bits - 1) if full_range else (luma / unit - 16) / 219
    found = {"Y": y}
    if cb is not None and cr is not None:
        kr, kb = WEIGHTS[matrix]
        kg = 1 - kr - kb
        b, r = (
            (whole(plane, height, width, interlaced) / unit - 128) / 224
            if not full_range
            else (whole(plane, height, width, interlaced) - 2.0 ** (bits - 1)) / (2.0**bits - 1)
            for plane in (cb, cr)
        )
        red, blue = y + 2 * (1 - kr) * r, y + 2 * (1 - kb) * b
        found |= {"R": red, "G": (y - kr * red - kb * blue) / kg, "B": blue}
    if filtered:
        found = {name: r103_filter(plane, interlaced) for name, plane in found.items()}
    return {name: 16 + 219 * plane for name, plane in found.items()}


def whole(plane: np.ndarray, height: int, width: int, interlaced: bool) -> np.ndarray:
    """Chroma of every pixel: means between neighbours on a line, lines of 4:2:0 for both lines (of the field)."""
    plane = plane.astype(np.float64)
    if plane.shape[0] != height:
        row = np.arange(height)
        row = 2 * (row // 4) + row % 2 if interlaced else row // 2
        last = plane.shape[0] - 1
        while interlaced and (row > last).any() and last > 0:
            row = np.where(row > last, row - 2, row)
        plane = plane[np.clip(row, 0, last)]
    if plane.shape[1] == width:
        return plane
    after = np.concatenate([plane[:, 1:], plane[:, -1:]], axis=1)
    out = np.empty((height, 2 * plane.shape[1]))
    out[:, 0::2], out[:, 1::2] = plane, (plane + after) / 2
    return out[:, :width]


def r103_filter(plane: np.ndarray, interlaced: bool) -> np.ndarray:
    """[1 2 3 4 3 2 1]/16 across, [1 2 1]/4 down, within each field of an interlaced picture; edges repeated."""
    if interlaced and plane.shape[0] > 1:
        out = np.empty_like(plane)
        for parity in (0, 1):
            out[parity::2] = r103_filter(plane[parity::2], False)
        return out
    height, width = plane.shape
    wide = np.pad(plane, ((1, 1), (3, 3)), mode="edge")
    across = sum(weight * wide[:, k : k + width] for k, weight in enumerate((1, 2, 3, 4, 3, 2, 1))) / 16
    return (across[:height] + 2 * across[1 : height + 1] + across[2 : height + 2]) / 4


def share(levels: dict[str, np.ndarray], component: str, percent: int) -> float:
    """Share of the picture beyond a level. Colours are compared a hair further out: sums of rounded numbers."""
    code = CODES[percent]
    hair = 1 / 512 if component != "Y" else 1e-6
    plane = levels[component]
    return float(np.mean(plane < code - hair if percent < 50 else plane > code + hair))
