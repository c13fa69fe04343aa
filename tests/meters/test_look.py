"""How one picture looks, against plain NumPy over its tiny copy. Each definition is that of LookMeter."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.picture.look import LookMeter
from qc.meters.picture.planes import Planes


def measured(
    luma: np.ndarray, chroma: tuple[np.ndarray, np.ndarray] | None = None, bits: int = 8, interlaced: bool = False
) -> dict[str, float]:
    meter = LookMeter()
    meter.feed(Planes(0, luma, *(chroma or (None, None)), bits, interlaced=interlaced))
    return {name: float(array[0]) for name, array in meter.finish().items()}


def blocks(size: tuple[int, int], bits: int, low: int, high: int, seed: int, side: int = 16) -> np.ndarray:
    """Even squares, so that averages of up to their size have nothing to round; codes of 8 bits as of ``bits``."""
    codes = np.random.default_rng(seed).integers(low, high, (-(-size[0] // side), -(-size[1] // side)))
    grown = np.repeat(np.repeat(codes << bits - 8, side, 0), side, 1)[: size[0], : size[1]]
    return grown.astype(np.uint8 if bits == 8 else np.uint16)


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("size", [(288, 512), (720, 1280), (1080, 1920)])
def test_the_commonest_colour(size, bits):
    """Of 40 % of the picture: its luma and its chroma, not those of what has the same luma in another colour."""
    luma = blocks(size, bits, 20, 60, 4)
    cb, cr = (blocks((size[0] // 2, size[1] // 2), bits, 60, 90, seed) for seed in (5, 6))
    edge, more = size[1] * 4 // 10 // 16 * 16, size[1] * 5 // 10 // 16 * 16
    luma[:, :more] = 150 << bits - 8
    cb[:, : edge // 2], cr[:, : edge // 2] = 110 << bits - 8, 200 << bits - 8
    cb[:, edge // 2 : more // 2], cr[:, edge // 2 : more // 2] = 110 << bits - 8, 30 << bits - 8
    found = measured(luma, (cb, cr), bits)

    assert found["look.solid"] == pytest.approx(edge / size[1], abs=2e-3)
    assert [found[f"look.solid_{name}"] for name in ("luma", "cb", "cr")] == [150, -18, 72]


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize("interlaced", [True, False])
def test_edges_of_blocks_along_rows(bits, interlaced):
    """Vertical bars of 8 pixels on the grid of blocks have all their steps there, 20 times more than 0.05 codes; on the
    grid moved by three pixels none. Made so."""
    x = np.broadcast_to(np.arange(640), (360, 640))
    kind = np.uint8 if bits == 8 else np.uint16
    bars = (100 + x // 8 % 2) << bits - 8
    on_grid, beside = (
        measured(picture.astype(kind), bits=bits, interlaced=interlaced)["look.edges8"]
        for picture in (bars, np.roll(bars, 3, 1))
    )
    assert on_grid == pytest.approx(1 / 0.05, rel=2e-2)
    assert beside == pytest.approx(0, abs=0.1)


def test_pictures_without_colour_or_rows_enough():
    """What there is nothing of is not a number, and what there is is one."""
    found = measured(np.full((8, 40), 90, np.uint8))
    missing = {name for name, value in found.items() if np.isnan(value)}

    assert missing == {f"look.{name}" for name in ("solid_cb", "solid_cr", "edges8")}
    assert (found["look.solid"], found["look.solid_luma"]) == (1, 90)
