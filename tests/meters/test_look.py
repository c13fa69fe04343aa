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
@pytest.mark.parametrize("codes", [(16, 236), (0, 256), (100, 103), (7, 8)])
def test_contrast_and_entropy(size, bits, codes):
    """Standard deviation, and entropy in 64 steps of 4 codes: 0 for one grey. By NumPy over all pixels."""
    luma = blocks(size, bits, *codes, seed=3)
    step = 8 if size[0] > 300 else 2
    height, width = (side // step * step for side in size)
    tiny = luma[:height:step, :width:step] / 2 ** (bits - 8)
    found = measured(luma, bits=bits)

    assert found["look.contrast"] == pytest.approx(tiny.std(), rel=1e-3, abs=1e-3)
    shares = np.bincount((tiny // 4).astype(int).ravel(), minlength=64) / tiny.size
    entropy = -sum(share * np.log2(share) for share in shares if share)
    assert found["look.entropy"] == pytest.approx(entropy, rel=1e-3, abs=1e-3)


@pytest.mark.parametrize("bits", [8, 10, 16])
@pytest.mark.parametrize(("down", "across"), [(1, 1), (1, 2), (2, 2), (1, 4)])
def test_colour_is_the_mean_of_chroma(down, across, bits):
    """Less the code of no colour; of every sampling the mean of all samples."""
    size = 720, 1280
    cb, cr = (blocks((size[0] // down, size[1] // across), bits, low, low + 60, low) for low in (60, 150))
    found = measured(blocks(size, bits, 90, 100, 1), (cb, cr), bits)

    assert found["look.cb"] == pytest.approx(cb.mean() / 2 ** (bits - 8) - 128, abs=0.3)
    assert found["look.cr"] == pytest.approx(cr.mean() / 2 ** (bits - 8) - 128, abs=0.3)


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
    """Vertical bars of 8 or 16 pixels on the grid of blocks have all their steps there, 20 times more than 0.05 codes;
    on the grid moved by three pixels none. Made so."""
    x = np.broadcast_to(np.arange(640), (360, 640))
    kind = np.uint8 if bits == 8 else np.uint16
    for side, name in ((8, "edges8"), (16, "edges16")):
        bars = (100 + x // side % 2) << bits - 8
        on_grid, beside = (
            measured(bars.astype(kind), bits=bits, interlaced=interlaced),
            measured(np.roll(bars, 3, 1).astype(kind), bits=bits, interlaced=interlaced),
        )
        assert on_grid[f"look.{name}"] == pytest.approx(1 / 0.05, rel=2e-2)
        assert beside[f"look.{name}"] == pytest.approx(0, abs=0.1)


def test_pictures_without_colour_or_rows_enough():
    """What there is nothing of is not a number, and what there is is one."""
    found = measured(np.full((8, 40), 90, np.uint8))
    missing = {name for name, value in found.items() if np.isnan(value)}

    assert missing == {f"look.{name}" for name in ("cb", "cr", "solid_cb", "solid_cr", "edges8", "edges16")}
    assert (found["look.solid"], found["look.solid_luma"], found["look.contrast"], found["look.entropy"]) == (
        1,
        90,
        0,
        0,
    )
