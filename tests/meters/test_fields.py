"""The comparison of fields on planes made by number: what is measured, and what cannot be.

Truth by construction: every row is placed at its own moment.
"""

from __future__ import annotations

import numpy as np
import pytest

from qc.figures.field_order import (
    BOTTOM_FIRST,
    MIXED,
    PROGRESSIVE_CONTENT,
    TOO_STILL,
    TOP_FIRST,
    FieldOrder,
    field_order,
)
from qc.meters.picture.fields import FieldOrderMeter
from qc.meters.picture.planes import Planes
from qc.timing.spans import Span
from tests.kit.geometry import fed, kind

FRAMES = 130
#: Moments of the upper and of the lower rows of frame n.
ORDERS = {
    TOP_FIRST: lambda n: (2 * n, 2 * n + 1),
    BOTTOM_FIRST: lambda n: (2 * n + 1, 2 * n),
    PROGRESSIVE_CONTENT: lambda n: (2 * n, 2 * n),
}


def scene(moment: int, shape: tuple[int, int], bits: int = 8) -> np.ndarray:
    """Blobs that drift to the right over a slope: 3 pixels a moment."""
    rows, columns = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    wave = np.sin((columns - 3 * moment) / 9) * np.cos(rows / 23) > 0.2
    return ((60 + 0.1 * rows + 90 * wave) * 2 ** (bits - 8)).astype(np.uint8 if bits == 8 else np.uint16)


def woven(number: int, order: str, shape: tuple[int, int] = (180, 320), bits: int = 8) -> np.ndarray:
    upper, lower = ORDERS[order](number)
    frame = scene(upper, shape, bits)
    frame[1::2] = scene(lower, shape, bits)[1::2]
    return frame


def read(series: dict[str, np.ndarray], least: int = 12) -> FieldOrder:
    return field_order(series, [Span(0, 10**6)], least)


@pytest.mark.parametrize("bits", [8, 10, 12])
@pytest.mark.parametrize("order", ORDERS)
def test_rows_at_their_own_moments_say_which_is_earlier(order: str, bits: int) -> None:
    """Upper or lower rows first, or both at once, at every depth; every pair votes the same."""
    series = fed((woven(n, order, bits=bits) for n in range(FRAMES)), [FieldOrderMeter], bits)
    found = read(series)
    assert found.answer == order and found.votes == found.pairs == (FRAMES - 2) // 7 + 1


@pytest.mark.parametrize("shape", [(181, 319), (45, 64), (7, 33), (240, 360), (540, 16)])
def test_odd_rasters_are_measured(shape: tuple[int, int]) -> None:
    """Any height and width of four rows or more; the truth does not change."""
    found = read(fed((woven(n, TOP_FIRST, shape) for n in range(FRAMES)), [FieldOrderMeter]))
    assert found.answer in (TOP_FIRST, TOO_STILL) and not found.bottom
    assert found.answer == TOP_FIRST or shape in ((7, 33), (540, 16))


@pytest.mark.parametrize("shape", [(1, 320), (3, 320)])
def test_three_rows_are_no_fields(shape: tuple[int, int]) -> None:
    """Nothing to compare is nothing measured, not an answer."""
    assert len(fed((scene(n, shape) for n in range(30)), [FieldOrderMeter])["fields.frame"]) == 0


def test_a_raster_that_changes_and_damaged_frames_break_pairs_only() -> None:
    """A pair of two sizes, or with a damaged frame, is not compared; the pairs around it are."""
    meter = FieldOrderMeter(kind())
    for number in range(FRAMES):
        if number in (14, 22):  # first frame of one pair, second of another
            meter.skip()
        else:
            shape = (180, 320) if number < 50 else (90, 160)
            meter.feed(Planes(number, woven(number, BOTTOM_FIRST, shape), None, None, 8))
    series = meter.finish()
    assert set(range(0, FRAMES - 1, 7)) - set(series["fields.frame"].tolist()) == {14, 21, 49}
    assert read(series).answer == BOTTOM_FIRST


def test_motion_in_one_place_is_enough_and_a_still_around_it_does_not_matter() -> None:
    """A small box moves before stripes of one line, which comb whatever the order."""
    stripes = np.where(np.arange(180)[:, None] % 2, 60, 200).astype(np.uint8) * np.ones((1, 320), np.uint8)

    def frame(number: int) -> np.ndarray:
        out = stripes.copy()
        out[60:100, 100:160] = woven(number, TOP_FIRST, (40, 60))
        return out

    found = read(fed((frame(n) for n in range(FRAMES)), [FieldOrderMeter]))
    assert found.answer == TOP_FIRST and not found.bottom


def test_noise_cuts_and_flicker_do_not_vote_for_an_order() -> None:
    """Grain of 8 codes, a new picture every frame, and brightness that jumps: no order in any of them."""
    rng = np.random.default_rng(4)
    pictures = {
        "grain": (np.clip(120 + rng.normal(0, 8, (180, 320)), 16, 235).astype(np.uint8) for _ in range(FRAMES)),
        "cuts": (np.roll(scene(0, (180, 320)), int(rng.integers(180)), axis=0) for _ in range(FRAMES)),
        "flicker": ((scene(0, (180, 320)) // (1 + n % 2)) for n in range(FRAMES)),
    }
    for name, made in pictures.items():
        found = read(fed(made, [FieldOrderMeter]))
        assert not found.top_runs and not found.bottom_runs, name


def test_a_reversed_stretch_has_its_place_and_few_votes_are_no_answer() -> None:
    """Three votes in a row are a run; fewer than the least are no ground for an answer."""
    orders = [BOTTOM_FIRST if 50 <= n < 90 else TOP_FIRST for n in range(FRAMES)]
    series = fed((woven(n, order) for n, order in enumerate(orders)), [FieldOrderMeter])
    found = read(series)
    assert found.answer == MIXED and found.bottom_runs == (Span(56, 86),)
    assert read(series, least=50).answer == TOO_STILL
    assert field_order(series, [Span(0, 49), Span(91, FRAMES)], 12).answer == TOP_FIRST
