"""The cards meter against plain NumPy: small pictures in every format, differences where something moved."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from qc.meters.picture import cards
from qc.meters.picture.bank import PictureKind
from qc.meters.picture.cards import ACROSS, DOWN, NOT_MEASURED, CardsMeter, card
from qc.meters.picture.planes import Planes

RASTER = (360, 640)


def planes(luma: np.ndarray, bits: int = 8, full: bool = False, chroma: tuple[int, int] | None = (1, 2)) -> Planes:
    if chroma is None:
        return Planes(0, luma, None, None, bits, full)
    size = (luma.shape[0] // chroma[0], luma.shape[1] // chroma[1])
    cb, cr = np.full(size, 100 << (bits - 8), luma.dtype), np.full(size, 150 << (bits - 8), luma.dtype)
    return Planes(0, luma, cb, cr, bits, full)


def meter(rate: Fraction | None = Fraction(25)) -> CardsMeter:
    return CardsMeter(PictureKind(RASTER[1], RASTER[0], rate, None, None))


def scene(seed: int = 1, raster: tuple[int, int] = RASTER) -> np.ndarray:
    rows, columns = np.mgrid[0 : raster[0], 0 : raster[1]]
    return (120 + 80 * np.sin(columns / 40 + seed) * np.cos(rows / 50)).astype(np.uint8)


@pytest.mark.parametrize("chroma", [(1, 1), (1, 2), (2, 2), None], ids=str)
@pytest.mark.parametrize("bits", [8, 10, 12])
def test_a_small_picture_is_the_average_of_the_large_one(bits: int, chroma: tuple[int, int] | None) -> None:
    """Cell by cell within 2.5 codes of the mean of its pixels (each halving rounds), in 8 bits; no colour is 128."""
    luma = scene().astype(np.uint16) << (bits - 8) if bits > 8 else scene()
    found = card(planes(luma, bits, chroma=chroma))
    wanted = scene().astype(float).reshape(DOWN, RASTER[0] // DOWN, ACROSS, RASTER[1] // ACROSS).mean(axis=(1, 3))
    assert found.shape == (DOWN, ACROSS, 3) and found.dtype == np.uint8
    assert np.abs(found[..., 0] - wanted).max() <= 2.5
    assert np.all(found[..., 1:] == ((128, 128) if chroma is None else (100, 150)))


def test_full_range_is_brought_to_narrow() -> None:
    """0 and 255 become 16 and 235 (ITU-T H.273, 8.3; ITU-R BT.709-6, 4.6)."""
    luma = np.zeros(RASTER, np.uint8)
    luma[:, 320:] = 255
    found = card(planes(luma, full=True))
    assert (found[0, 0, 0], found[0, -1, 0]) == (16, 235)


@pytest.mark.parametrize("raster", [(1, 1), (3, 500), (37, 51), (180, 320), (481, 853), (1080, 1920)])
@pytest.mark.parametrize("kind", [np.uint8, np.uint16])
def test_any_raster_goes_through(raster: tuple[int, int], kind: type) -> None:
    """From a pixel to HD, odd sizes among them: one row a frame, a small picture each second."""
    own = meter()
    luma = np.full(raster, 100, kind)
    for _ in range(3):
        own.feed(Planes(0, luma, luma, luma, 8 if kind is np.uint8 else 10))
    found = own.finish()
    assert found["cards.change"].shape == (3, 4)
    assert found["cards.change"][0].tolist() == [NOT_MEASURED] * 4
    assert found["cards.change"][1:].max() == 0
    assert found["cards.at"].tolist() == [0]


@pytest.mark.parametrize("bits", [8, 10])
def test_differences_are_where_something_moved(bits: int) -> None:
    """A square of 1/36 of the picture that gets 40 codes lighter, in its middle and then on its edge."""
    own, luma = meter(), np.full(RASTER, 60 << (bits - 8), np.uint8 if bits == 8 else np.uint16)
    own.feed(planes(luma, bits))
    middle, edge = luma.copy(), luma.copy()
    middle[150:210, 280:386] += 40 << (bits - 8)
    own.feed(planes(middle, bits))
    own.feed(planes(middle, bits))
    own.feed(planes(luma, bits))
    edge[:20] += 40 << (bits - 8)
    own.feed(planes(edge, bits))
    change = own.finish()["cards.change"].astype(float)
    share = 60 * 106 / (360 * 640)
    assert change[1, 0] / 64 == pytest.approx(40 * share, rel=0.1)
    assert change[1, 1] / 10000 == pytest.approx(share, rel=0.3)
    assert change[1, 2] == 0 and change[1, 3] == 16 * 40
    assert change[2].tolist() == [0, 0, 0, 0]
    assert change[3].tolist() == change[1].tolist()
    assert change[4, 2] > 1000  # the border moved


def test_damage_and_another_raster_are_marked() -> None:
    """A skipped frame has a marked row; the next is compared with the last good one; a new size cannot be."""
    own = meter()
    own.feed(planes(scene()))
    own.skip()
    own.feed(planes(scene()))
    own.feed(planes(scene(raster=(180, 320))))
    own.feed(planes(scene(raster=(180, 320))))
    change = own.finish()["cards.change"]
    assert [bool((row == NOT_MEASURED).all()) for row in change] == [True, True, False, True, False]
    assert change[2].max() == change[4].max() == 0


def test_one_small_picture_a_second() -> None:
    """At 29.97 every 30 frames, without a rate every 25; a damaged frame is passed over."""
    for rate, step in ((Fraction(30000, 1001), 30), (None, 25)):
        own = meter(rate)
        for frame in range(70):
            own.skip() if frame == step else own.feed(planes(np.full((64, 64), frame, np.uint8)))
        found = own.finish()
        assert found["cards.at"].tolist() == [0, step + 1, *([2 * step + 1] if step == 25 else [61])]
        assert [picture[0, 0, 0] for picture in found["cards.picture"]] == found["cards.at"].tolist()


def test_a_long_programme_keeps_its_bounds(monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the bound every other picture after the first minutes goes, and they come half as often."""
    monkeypatch.setattr(cards, "MOST_CARDS", 20)
    monkeypatch.setattr(cards, "ALWAYS_KEPT", 6)
    own, luma = meter(Fraction(1)), np.full((64, 64), 50, np.uint8)
    for _ in range(200):
        own.feed(planes(luma))
    at = own.finish()["cards.at"]
    assert len(at) <= 20 and at[:6].tolist() == [0, 1, 2, 3, 4, 5]
    assert np.all(np.diff(at) > 0) and at[-1] >= 180


def test_no_frames_at_all() -> None:
    """Shapes stay as they are described."""
    found = meter().finish()
    assert found["cards.change"].shape == (0, 4) and found["cards.picture"].shape == (0, DOWN, ACROSS, 3)
