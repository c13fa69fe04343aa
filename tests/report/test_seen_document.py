"""What ``qc measure`` says of a picture, on series made by number."""

from __future__ import annotations

import pytest

from qc.report.seen_document import seen_document
from tests.judge.test_geometry_is_judged import blank, file


@pytest.mark.parametrize(("sides", "beside", "boxes"), [((0, 90, 0, 90), 100, 1), ((0, 9, 0, 9), 0, 0)])
def test_a_shape_is_said_where_it_is_known(sides: tuple[int, ...], beside: int, boxes: int) -> None:
    """A letterbox of 90 rows; and nine rows that nobody saw, too few for bars (1.5 % of 1080 is 16.2)."""
    shape = seen_document(blank(file(), sides, beside=beside))["shape"]
    assert shape is not None and len(shape["boxes"]) == boxes


def test_a_tilted_letterbox_is_no_full_raster() -> None:
    """Ninety rows in which no frame shows a picture and beside which none is bright: null, and no full raster."""
    assert seen_document(blank(file(), (0, 90, 0, 90), beside=0))["shape"] is None
