"""Black runs, frame by frame, against FFmpeg's blackdetect filter (packaged binary, version 7 or later)."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from qc.figures.black import black_runs, darkest_limit, darkness, runs_of
from qc.measurement.one_pass import measure
from qc.measurement.record import LumaBins, PictureSeries
from qc.media.probe import probe
from qc.meters.picture.luma import LumaMeter, bin_edges
from qc.timing.spans import Span
from tests.kit.render import render, run


def series(planes: list[np.ndarray], bits: int = 8, full_range: bool = False) -> PictureSeries:
    meter = LumaMeter(bits, full_range)
    for plane in planes:
        meter.feed(plane, bits)
    rows = meter.finish()
    bins = LumaBins(rows.depth, rows.edges, rows.full_range)
    time = np.arange(len(planes), dtype=np.int64)
    return PictureSeries(rows.luma, bins, rows.counted, rows.darkest, rows.brightest, time, Fraction(1, 25))


def blackdetect(path: Path, rate: Fraction, pixel: float, picture: float) -> list[Span]:
    """Runs as the filter logs them, in frames."""
    said = run(
        [
            "-i",
            str(path),
            "-vf",
            f"blackdetect=d=0:pix_th={pixel / 100}:pic_th={picture / 100}",
            "-an",
            "-f",
            "null",
            "-",
        ]
    )
    found = re.findall(r"black_start:([\d.]+) black_end:([\d.]+)", said)
    return [Span(round(Fraction(first) * rate), round(Fraction(end) * rate)) for first, end in found]


def ours(path: Path, pixel: float, picture: float) -> list[Span]:
    facts = probe(path)
    done = measure(path, facts)
    assert done.picture is not None and not done.because
    return black_runs(done.picture, pixel, picture)


@pytest.mark.parametrize(
    ("depth", "full_range", "percent", "code"),
    [
        (8, False, 10, 37),
        (8, False, 20, 59),
        (10, False, 10, 151),
        (8, True, 10, 25),
        (10, True, 20, 204),
        (8, False, 0.5, 17),
    ],
)
def test_the_limit_is_rounded_down_as_blackdetect_does(depth: int, full_range: bool, percent: float, code: int) -> None:
    """16 + 10 % of 219 is 37.9: code 37 is black, 38 is not (vf_blackdetect.c, pixel_black_th_i)."""
    bins = LumaBins(depth, bin_edges(depth), full_range)
    assert darkest_limit(bins, percent) == code

    kind = np.uint8 if depth == 8 else np.uint16
    flat = [np.full((8, 8), value, kind) for value in (code, code + 1)]
    assert black_runs(series(flat, depth, full_range), percent, 98) == [Span(0, 1)]


def test_the_share_of_black_pixels_is_met_at_the_limit_itself() -> None:
    """A picture is black from picture_percent on, not only above it (vf_blackdetect.c compares with >=)."""
    plane = np.full((10, 10), 16, np.uint8)
    plane[0, :2] = 50
    spoiled = plane.copy()
    spoiled[0, 2] = 50

    assert black_runs(series([plane, spoiled]), 10, 98) == [Span(0, 1)]


def test_lettering_on_black_is_not_black() -> None:
    """A small line of type, 0.3 % of the picture, which vf_blackdetect.c calls black: credits belong to the programme.
    Noise, and specks of less than 0.1 %, change nothing; nor does a rule that lets a tenth be anything."""
    noise = np.random.default_rng(5).integers(16, 50, (100, 100)).astype(np.uint8)
    noise[noise > 37] = np.where(np.arange((noise > 37).sum()) % 40 == 0, 50, 20)
    title, speck = noise.copy(), noise.copy()
    title[50, :30] = 200
    speck[50, :9] = 200

    assert black_runs(series([noise, title, speck]), 10, 98) == [Span(0, 1), Span(2, 3)]
    assert black_runs(series([noise, title, speck]), 10, 90) == [Span(0, 3)]


def test_a_dark_colour_is_not_black() -> None:
    """Full blue has the luma of black (ITU-R BT.709-6: 32 at 8 bits); a night's tint is no colour."""
    made = series([np.full((8, 8), 32, np.uint8)] * 4)
    cb, cr = np.array([112, 20, np.nan, 0], np.float16), np.array([-10, -12, np.nan, -128], np.float16)
    made = replace(made, extra={"look.solid_cb": cb, "look.solid_cr": cr})

    assert black_runs(made, 10, 98) == [Span(1, 3)]


def test_only_runs_of_the_asked_length_count() -> None:
    """``at_least`` leaves shorter runs out; runs at both ends of the file are whole."""
    flags = np.array([1, 0, 1, 1, 0, 1, 1, 1], bool)

    assert runs_of(flags) == [Span(0, 1), Span(2, 4), Span(5, 8)]
    assert runs_of(flags, 2) == [Span(2, 4), Span(5, 8)]
    assert runs_of(np.zeros(0, bool)) == []


def test_a_damaged_picture_is_not_black() -> None:
    """Nothing counted is nothing known: such a picture never stands for black."""
    meter = LumaMeter(8)
    meter.skip()
    rows = meter.finish()
    bins = LumaBins(8, rows.edges, False)
    empty = PictureSeries(
        rows.luma, bins, rows.counted, rows.darkest, rows.brightest, np.zeros(1, np.int64), Fraction(1, 25)
    )
    assert black_runs(empty, 10, 98) == []
    assert darkness(empty, Span(0, 1)) is None


def test_a_rule_beyond_what_is_counted_singly_is_refused() -> None:
    """A figure is exact or not given."""
    with pytest.raises(ValueError, match="beyond"):
        black_runs(series([np.zeros((8, 8), np.uint8)]), 60, 98)


def test_darkness_names_the_brightest_pixel_and_the_percentile() -> None:
    """Highest code and 99.9 percentile in percent of 16 to 235 (ITU-R BT.709-6, 4.6; against numpy.percentile)."""
    random = np.random.default_rng(4)
    planes = [random.integers(16, 60, (100, 100)).astype(np.uint8) for _ in range(3)]
    planes[1][50, 50] = 235
    found = darkness(series(planes), Span(0, 3))

    assert found is not None
    assert (found.highest, found.highest_frame) == (100.0, 1)
    expected = max(np.percentile(plane, 99.9, method="inverted_cdf") for plane in planes)
    assert found.percentile == pytest.approx(100 * (int(expected) - 16) / 219)


FADE = (
    "color=black:s=160x90:r={rate},geq=lum='16+if(lt(mod(N,50),25),0,mod(N,50)-25)*2+3*random(1)':cb=128:cr=128,"
    "drawbox=x=0:y=0:w=160:h=2:t=fill:color=white:enable='between(mod(n,50),10,12)'"
)


@pytest.fixture(scope="session")
def fades(media_dir: Path) -> dict[str, tuple[Path, Fraction]]:
    """Black that rises slowly out of noise, with a thin white bar now and then, in three codecs."""
    made = {}
    for name, rate, options in (
        ("fade-h264.mp4", Fraction(30000, 1001), "-c:v libx264 -preset ultrafast -crf 12 -pix_fmt yuv420p"),
        ("fade-prores.mov", Fraction(25), "-c:v prores_ks -profile:v 3 -pix_fmt yuv422p10le"),
        ("fade-mpeg2.mxf", Fraction(30000, 1001), "-c:v mpeg2video -qscale:v 2 -pix_fmt yuv422p"),
    ):
        source = ["-f", "lavfi", "-i", FADE.format(rate=rate), "-frames:v", "100"]
        made[name] = (render(media_dir / name, [*source, *options.split()]), rate)
    return made


@pytest.mark.parametrize("name", ["fade-h264.mp4", "fade-prores.mov", "fade-mpeg2.mxf"])
@pytest.mark.parametrize(("pixel", "picture"), [(10.0, 98.0), (5.0, 99.5), (20.0, 90.0), (2.0, 98.0)])
def test_runs_agree_with_blackdetect_to_the_frame(
    fades: dict[str, tuple[Path, Fraction]], name: str, pixel: float, picture: float
) -> None:
    """Same runs as the filter on 8-bit 4:2:0, 8-bit 4:2:2 and 10-bit 4:2:2, for four rules."""
    path, rate = fades[name]
    expected = blackdetect(path, rate, pixel, picture)

    assert ours(path, pixel, picture) == expected
    if pixel >= 5:
        assert len(expected) >= 2, "the picture was made to be black in places by this rule"


@pytest.mark.realmedia
def test_black_of_the_open_film_agrees_with_blackdetect(film: Path, media_dir: Path) -> None:
    """Thirty seconds around the black at 300 s: noise of a real encoder, fades of a real edit."""
    cut = render(media_dir / "film-290.mp4", ["-ss", "285", "-i", str(film), "-t", "30", "-c", "copy"])
    expected = blackdetect(cut, Fraction(24), 10, 98)

    assert ours(cut, 10, 98) == expected
    assert any(span.frames == 31 for span in expected)  # 299.125 to 300.417 s of the film
