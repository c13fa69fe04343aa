"""What the stripes meter decides by before it turns and reads anything, against plain NumPy."""

from __future__ import annotations

import numpy as np
import pytest

from qc.meters.picture.stripes import _BLOCKS, _blocks


@pytest.mark.parametrize("size", [(270, 480), (135, 240), (64, 128)])
def test_the_gradient_of_a_block_is_its_average(size: tuple[int, int]) -> None:
    """Averages of 16 x 9 blocks, whether the rows divide by nine or not; a level in cd/m2 is held against them."""
    across, down = _BLOCKS
    plane = np.random.default_rng(4).uniform(0, 900, size).astype(np.float32)
    fine = np.repeat(np.repeat(plane, down, 0), across, 1)  # so that blocks of any raster are whole pixels
    wanted = fine.reshape(down, size[0], across, size[1]).mean(axis=(1, 3))

    assert _blocks(plane) == pytest.approx(wanted, rel=2e-3)
