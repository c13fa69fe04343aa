"""The screen before the filter of levels: it may name a tile too many, never one too few."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.picture.level_ladder import MATRICES, SIDES, limit_step, percents
from qc.meters.picture.level_screen import LevelScreen
from qc.meters.picture.level_windows import TILE_HIGH, TILE_WIDE
from qc.meters.picture.planes import Planes
from tests.kit.level_reference import components

BT709 = next(matrix for matrix in MATRICES if matrix.name == "BT.709")
LIMITS = {side: limit_step(percents(*side)[0]) for side in SIDES}


def tiled(rng: np.random.Generator, size: tuple[int, int], tile: tuple[int, int], codes: tuple[int, int]) -> np.ndarray:
    """Whole tiles of one code among tiles of the other; now and then a single row or column of them."""
    plane = np.kron(
        rng.random((-(-size[0] // tile[0]), -(-size[1] // tile[1]))) < rng.choice([0.1, 0.5, 0.9]), np.ones(tile)
    )
    if rng.random() < 0.3:
        plane[:: rng.integers(1, 9)] = rng.integers(2)
    if rng.random() < 0.3:
        plane[:, rng.integers(tile[1]) :: tile[1]] = rng.integers(2)
    return np.where(plane[: size[0], : size[1]], *codes)


@pytest.mark.parametrize("sampling", ["4:4:4", "4:2:2", "4:2:0", "4:0:0"])
@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("interlaced", [True, False])
def test_every_tile_that_the_filter_takes_outside_is_suspected(sampling: str, bits: int, interlaced: bool) -> None:
    """Tiles of two codes, between which what the filter leaves lies just beyond a limit or just within: the worst there
    is for a bound by what is in the tile and round it. Against the plain reference over all pixels; pictures so small
    that a single tile is over the floor."""
    rng = np.random.default_rng([bits, interlaced, *sampling.encode()])
    across, down = {"4:4:4": (1, 1), "4:2:2": (2, 1), "4:2:0": (2, 2), "4:0:0": (0, 0)}[sampling]
    screen = LevelScreen(BT709)
    kind, unit = (np.uint8, 1) if bits == 8 else (np.uint16, 1 << bits - 8)
    outside = suspected = 0
    for height, width in [(48, 64), (41, 97)] * 25:
        luma = tiled(rng, (height, width), (8, 4), tuple(rng.integers(0, 256, 2) * unit))
        chroma = []
        for _ in "br" if across else "":
            codes = tuple(rng.integers(0, 256, 2) * unit)
            chroma.append(tiled(rng, (-(-height // down), -(-width // across)), (8 // down, 4 // across), codes))
        planes = [plane.astype(kind) for plane in (luma, *chroma)]
        view = Planes(0, planes[0], *(planes[1:] or [None, None]), bits, interlaced=interlaced)
        reference = components(view.luma, view.cb, view.cr, bits, interlaced=interlaced)
        limits = {side: step for side, step in LIMITS.items() if side[0] in reference}
        for side in limits:  # at random, where most is near it
            levels = np.sort(reference[side[0]].ravel())
            limits[side] = int(np.clip(levels[rng.integers(len(levels))] + rng.integers(-1, 2), -200, 400))
        found = screen.suspects(view, limits)
        for (component, high), limit in limits.items():
            level = reference[component]
            beyond = level > limit + 0.01 if high else level < limit - 0.01
            beyond = np.pad(beyond, ((0, -height % TILE_HIGH), (0, -width % TILE_WIDE)))
            tiles = beyond.reshape(found.rows, TILE_HIGH, found.columns, TILE_WIDE).any(axis=(1, 3)).T.ravel()
            named = np.zeros(len(tiles), bool)
            named[found.tiles.get((component, high), [])] = True
            assert not (tiles & ~named).any(), (component, high, limit)
            outside, suspected = outside + tiles.sum(), suspected + named.sum()
    assert 0 < outside <= suspected < 3 * outside


def test_few_tiles_outside_draw_their_neighbours_with_them() -> None:
    """Two tiles of the highest code in a picture that is just within the limit: by themselves less than the floor of
    0.1 %, behind the filter with what is round them more. All of it is suspected."""
    luma = np.full((200, 320), LIMITS["Y", True] - 1, np.uint8)
    luma[80:88, 80:84] = luma[120:128, 200:204] = 255
    share = (components(luma, None, None, 8)["Y"] > LIMITS["Y", True]).mean()
    assert 2 * 32 / luma.size <= 0.001 < share

    found = LevelScreen(None).suspects(Planes(0, luma, None, None, 8), {("Y", True): LIMITS["Y", True]})
    assert len(found.tiles["Y", True]) == 18 and np.array_equal(found.anywhere(), found.tiles["Y", True])
