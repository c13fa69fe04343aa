"""Single tiles of a picture with what the filter reaches round each, and the filter as weights over these windows."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.lib.stride_tricks import as_strided

from qc.meters.picture.level_scale import Sampling

#: A tile is 4 x 8 pixels: four rows of each field, two samples of 4:2:2 chroma across.
TILE_WIDE, TILE_HIGH = 4, 8
#: The filter across and down. Source: EBU R 103 v3.0 (2020).
ACROSS = np.array([1, 2, 3, 4, 3, 2, 1], np.float32)
DOWN = np.array([1, 2, 1], np.float32)


def weighed(windows: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """(tiles, pixels): the upper half of each tile from the upper part of its window, the lower from the lower.

    The rest of the window has no weight there, and a product of matrices would not know.
    """
    reach, pixels = weights.shape
    found = np.empty((len(windows), 2 * pixels), np.float32)
    np.matmul(windows[:, :reach], weights, out=found[:, :pixels])
    np.matmul(windows[:, windows.shape[1] - reach :], weights, out=found[:, pixels:])
    return found


def gather(plane: np.ndarray, x: np.ndarray, y: np.ndarray, across: int, down: int, interlaced: bool) -> np.ndarray:
    """(tiles, window) float32: what the filter reaches from each tile, row by row; beyond the edge of the picture the
    outermost pixel, of its own field where there are fields."""
    rows, columns = _reach(across, down, interlaced)
    high, wide = rows[1] - rows[0], columns[1] - columns[0]
    row, column = TILE_HIGH // down * y + rows[0], TILE_WIDE // across * x + columns[0]
    last_row, last_column = plane.shape[0] - high, plane.shape[1] - wide
    if last_row < 0 or last_column < 0:  # a picture smaller than that
        inside = _on_the_picture(row[:, None] + np.arange(high), plane.shape[0], interlaced)
        along = np.clip(column[:, None] + np.arange(wide), 0, plane.shape[1] - 1)
        return plane[inside[:, :, None], along[:, None, :]].reshape(len(x), -1).astype(np.float32)
    from_row = np.minimum(np.maximum(row, 0), last_row)
    from_column = np.minimum(np.maximum(column, 0), last_column)
    steps = plane.strides
    windows = as_strided(plane, (last_row + 1, last_column + 1, high, wide), (*steps, *steps))
    lines = windows.view(f"V{wide * plane.itemsize}")[..., 0]  # a line at a time is copied faster
    found = lines[from_row, from_column].view(plane.dtype)
    # At an edge the window ends early: which of its rows or columns stand for those it should have.
    for wished, had, places in ((column, from_column, _columns_there), (row, from_row, _rows_there)):
        there = np.flatnonzero(wished != had)
        if not len(there):
            continue
        shifts = wished[there] - had[there]
        for shift in set(shifts.tolist()):
            those = there[shifts == shift]
            found[those] = found.take(those, 0).take(places(shift, high, wide, interlaced), 1)
    return found.astype(np.float32)


@cache
def _columns_there(shift: int, high: int, wide: int, interlaced: bool) -> np.ndarray:
    """Places in a window that ends at the edge, for one that lies ``shift`` columns further, row by row."""
    columns = np.clip(np.arange(wide) + shift, 0, wide - 1)
    return (wide * np.arange(high)[:, None] + columns).ravel()


@cache
def _rows_there(shift: int, high: int, wide: int, interlaced: bool) -> np.ndarray:
    """The same for one that lies ``shift`` rows further."""
    rows = _on_the_picture(np.arange(high) + shift, high, interlaced)
    return (wide * rows[:, None] + np.arange(wide)).ravel()


def _on_the_picture(row: np.ndarray, height: int, interlaced: bool) -> np.ndarray:
    """Beyond the edge the outermost row, of the same field where there are fields."""
    last = height - 1
    if interlaced:
        row = np.where(row < 0, row & 1, row)
        row = np.where(row > last, last - ((last - row) & 1), row)
    return np.clip(row, 0, last)


def _reach(across: int, down: int, interlaced: bool) -> tuple[tuple[int, int], tuple[int, int]]:
    """First and end row and column of the window, from the tile's own first sample."""
    step = 2 if interlaced else 1
    rows = -step, TILE_HIGH // down + step
    return rows, (-3, TILE_WIDE + 3) if across == 1 else (-2, TILE_WIDE // 2 + 2)


@cache
def luma_weights(interlaced: bool) -> np.ndarray:
    """(window, pixels): the filter of each pixel of the upper half of a tile, over the part of the window that they
    reach. It is that of the lower half over the lower part too."""
    return _weights(_down(interlaced), _across())


@cache
def chroma_weights(sampling: Sampling, interlaced: bool) -> np.ndarray:
    """The same for chroma of its own sampling."""
    down, across = _down(interlaced), _across()
    if sampling.down == 2:
        (first, end), _ = _reach(sampling.across, 2, interlaced)
        pixels = np.arange(-2 if interlaced else -1, TILE_HIGH + (2 if interlaced else 1))
        line = 2 * (pixels // 4) + pixels % 2 if interlaced else pixels // 2
        down = down @ (line[:, None] == np.arange(first, end))
    if sampling.across == 2:
        pixels, samples = np.arange(-3, TILE_WIDE + 3), 2 * np.arange(-2, TILE_WIDE // 2 + 2)
        across = across @ np.maximum(0, 2 - np.abs(pixels[:, None] - samples))  # twice: 2 and 0, or 1 and 1
    return _weights(down, across)


def _down(interlaced: bool) -> np.ndarray:
    """(rows, rows of the window)"""
    step = 2 if interlaced else 1
    down = np.zeros((TILE_HIGH, TILE_HIGH + 2 * step), np.float32)
    for row in range(TILE_HIGH):
        down[row, [row, row + step, row + 2 * step]] = DOWN
    return down


def _across() -> np.ndarray:
    """(columns, columns of the window)"""
    across = np.zeros((TILE_WIDE, TILE_WIDE + 6), np.float32)
    for column in range(TILE_WIDE):
        across[column, column : column + 7] = ACROSS
    return across


def _weights(down: np.ndarray, across: np.ndarray) -> np.ndarray:
    upper = down[: TILE_HIGH // 2]
    upper = upper[:, : 1 + np.flatnonzero(upper.any(0))[-1]]
    return np.ascontiguousarray(np.kron(upper, across).T.astype(np.float32))
