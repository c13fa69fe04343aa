"""The light of the picture beside a finding on flashes: what the drawing shows is what was measured, frame by frame."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.timeline import Curve, Timeline
from qc.judge.verdict import Finding, Outcome
from qc.report.drawing.flash_svg import AREA_HEIGHT, FLASHES, HEIGHT, flash_of
from tests.judge.test_flashing_is_screened import GENERAL, file_of
from tests.judge.test_sound_is_judged_on_the_programme import only
from tests.kit.drawing import FRAMES, of_class, read, share, timeline, upper_edge
from tests.kit.flashes import flat, measured, square_wave
from tests.kit.made import PAL, loaded
from tests.kit.verdicts import finding, place

FLASH = finding(requirement=FLASHES[0], outcome=Outcome.FAIL, unit="changes")


def lit(values: np.ndarray) -> Timeline:
    return timeline(light=Curve("luminance", values.astype(np.float32), "cd/m2"))


def test_each_frame_stands_as_high_as_its_light() -> None:
    """A second on each side of the place, one step a frame, in proportion to cd/m2 from nothing on (the definition)."""
    values = np.random.default_rng(2).uniform(1.0, 180.0, FRAMES)
    where = place(600, 40, value=9.0, note="in the worst second, up to 48 % of the screen")
    root = read(str(flash_of(FLASH, lit(values), where, ident="x")))

    shown = values[570:670]
    (path,) = of_class(root, "tl-peaks")
    heights = HEIGHT - upper_edge(path.get("d") or "", len(shown))
    assert heights == pytest.approx(shown * HEIGHT / (shown.max() * 1.15), abs=0.1)
    (ground,) = of_class(root, "st-event")
    assert (share(ground, "x"), share(ground, "width")) == pytest.approx((0.3, 0.4), abs=1e-3)
    inside = values[600:640]
    words = "".join(root.itertext())
    assert f": {inside.min():.0f} to {inside.max():.0f} cd/m2" in words
    assert "9 changes in the worst second, up to 48 % of the screen" in words


def test_each_change_stands_as_high_as_its_area_and_what_is_over_the_limit_stands_out() -> None:
    """Percent of the screen from nothing on (the definition), on a line at the limit, below the light, up and down."""
    up, down = np.zeros((2, FRAMES), np.float32)
    up[[600, 604, 608, 612]], down[606] = (10.0, 24.0, 26.0, 48.0), 40.0
    areas = Curve("rising area", up, "%", most=25.0), Curve("falling area", down, "%", most=25.0)
    whole = replace(lit(np.full(FRAMES, 90.0)), flash_areas={FLASH.requirement: areas})
    root = read(str(flash_of(FLASH, whole, place(600, 40, note="n"), ident="x")))

    _, *lanes = of_class(root, "tl-peaks")
    for bars, area in zip(lanes, (up, down), strict=True):
        shown = area[570:670]
        heights = AREA_HEIGHT - upper_edge(bars.get("d") or "", len(shown))
        assert heights == pytest.approx(shown * AREA_HEIGHT / (1.2 * 48), abs=0.1)
    over = [[int(at) for at in re.findall(r"M(\d+),", path.get("d") or "")] for path in of_class(root, "tl-over")]
    assert over == [[38, 42], [36]]
    assert "the lines are the limit of 25 %" in "".join(root.itertext())
    lines = [float(line.get("y1") or "") for line in of_class(root, "tl-ceiling")]
    part = 25 / (1.2 * 48)
    assert lines == pytest.approx([AREA_HEIGHT * (1 - part), AREA_HEIGHT * (1 + part)], abs=0.1)


def test_a_long_sequence_is_cut_so_that_frames_stay_visible() -> None:
    """Eight seconds at the most; the words say that it goes on."""
    root = read(str(flash_of(FLASH, lit(np.full(FRAMES, 90.0)), place(600, 900, note="n"), ident="x")))
    (path,) = of_class(root, "tl-peaks")
    assert np.isfinite(upper_edge(path.get("d") or "", 240)).all()
    assert "it goes on beyond the drawing" in "".join(root.itertext())


@pytest.mark.parametrize(
    ("about", "light"),
    [
        (replace(FLASH, requirement="frames.strays"), np.full(FRAMES, 90.0)),  # other findings have no light
        (replace(FLASH, requirement="flashing.patterns"), np.full(FRAMES, 90.0)),  # stripes are no flashes
        (FLASH, np.full(FRAMES, np.nan)),  # damaged pictures only
        (FLASH, None),
    ],
)
def test_no_light_no_drawing(about: Finding, light: np.ndarray | None) -> None:
    """Nothing is drawn where nothing was measured, or where it shows nothing of the finding."""
    whole = timeline() if light is None else lit(light)
    assert flash_of(about, whole, place(600, 40, note="n"), ident="x") is None


def test_the_light_is_that_of_the_reading_that_is_asked_for() -> None:
    """10-bit code 400 is 20.1 cd/m2 by BT.1702-3 (Annex 2, Table 1) and more by the older table; a damaged picture has
    none."""
    grey = measured([flat(400)] * 30 + square_wave(6, 60), PAL)
    grey["flashing.luminance"][5] = -1
    for variant, least, most in (("BT.1702-3", 19.9, 20.3), ("Ofcom", 21.0, 30.0)):
        verdict = judge(file_of(grey), loaded(flashing={"flashes": {**GENERAL, "variant": variant}}))
        assert verdict.timeline is not None and verdict.timeline.light is not None
        light = verdict.timeline.light.values
        assert least < light[0] < most and np.isnan(light[5])
        assert np.nanmax(light) == pytest.approx(200, abs=2)
        assert only(verdict, "flashing.flashes").outcome is Outcome.FAIL
        for area in verdict.timeline.flash_areas["flashing.flashes"]:
            assert (area.unit, area.most, len(area.values)) == ("%", GENERAL["area_percent"], 90)
            assert area.values.max() > 95 and not area.values[:30].any()
