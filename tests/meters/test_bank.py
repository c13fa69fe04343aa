"""All picture meters together, over pictures of every kind one after the other."""

from __future__ import annotations

import warnings
from fractions import Fraction

import numpy as np
import pytest

from qc.meters.picture.averages import Scratch
from qc.meters.picture.bank import SMALLEST, PictureBank, PictureKind, picture_meters
from qc.meters.picture.planes import Planes

SAMPLINGS = [(1, 1), (1, 2), (2, 2), (2, 1), (1, 4), (4, 4), None]


def some_pictures(rng: np.random.Generator, count: int, scratch: Scratch | None) -> list[Planes | None]:
    """Rasters, depths, samplings, ranges and scans that change every few pictures; damaged ones among them."""
    found: list[Planes | None] = []
    while len(found) < count:
        rows, columns = (int(rng.choice([SMALLEST, rng.integers(SMALLEST, 40), rng.integers(40, 400)])) for _ in "hw")
        bits = int(rng.choice([8, 9, 10, 12, 16]))
        kind, full_range = np.uint8 if bits == 8 else np.uint16, bool(rng.integers(2))
        sampling = SAMPLINGS[rng.integers(len(SAMPLINGS))]
        sizes = [(rows, columns)]
        if sampling is not None:
            sizes += [(-(-rows // sampling[0]), -(-columns // sampling[1]))] * 2
        for _ in range(rng.integers(1, 6)):
            if rng.random() < 0.1:
                found.append(None)
                continue
            low, high = np.sort(rng.integers(0, 1 << bits, 2))
            luma, *both = (rng.integers(low, high, size, endpoint=True).astype(kind) for size in sizes)
            cb, cr = both or (None, None)
            scan = bool(rng.integers(2)), bool(rng.integers(2))
            found.append(Planes(len(found), luma, cb, cr, bits, full_range, *scan, scratch=scratch))
    return found


@pytest.mark.parametrize("seed", range(6))
def test_pictures_of_every_kind_go_through(seed):
    """Nothing fails or warns, every frame has its row, and what was there before in memory that is used again makes no
    difference: fed one by one or many together, with their memory shared or not, the numbers are the same."""
    rates = [Fraction(25), Fraction(24000, 1001), None]
    matrices, transfers = ["BT.709", "BT.2020", None, "ICtCp"], [None, "HLG", "PQ"]
    kind = PictureKind(320, 240, rates[seed % 3], matrices[seed % 4], transfers[seed % 3])
    series = []
    for together, scratch in ((1, None), (7, Scratch())):
        pictures = some_pictures(np.random.default_rng(seed), 60, scratch)
        bank = PictureBank(picture_meters(kind))
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            for first in range(0, len(pictures), together):
                bank.feed(pictures[first : first + together])
            series.append(bank.finish())
    assert series[0].keys() == series[1].keys()
    for name, array in series[0].items():
        assert np.array_equal(array, series[1][name], equal_nan=array.dtype.kind == "f"), name

    good = np.array([planes is not None for planes in pictures])
    for name in ("motion.luma", "motion.structure", "look.solid"):
        assert np.isfinite(series[0][name]).tolist() == good.tolist(), name
    assert (series[0]["flashing.luminance"][:, 0] >= 0).tolist() == good.tolist()
    assert (series[0]["levels.state"] != 0).tolist() == good.tolist()
