"""One short programme in fourteen encodes as stations get them: every measurement of its picture says the same.

What is there and where is known by construction (tests/kit/short_programme.py); areas outside the levels by the plain
reference on the picture before it was coded; field order and bars also by FFmpeg's idet and cropdetect.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from qc.figures.active_picture import active_picture
from qc.figures.black import black_frames, black_runs
from qc.figures.field_order import BOTTOM_FIRST, LEAST_VOTES, PROGRESSIVE_CONTENT, TOP_FIRST, field_order
from qc.figures.flashing import FlashRule, flash_events
from qc.figures.frame_series import FrameSeries
from qc.figures.freezes import still_runs
from qc.figures.levels import LevelBounds, level_events
from qc.figures.strays import stray_shots
from qc.measurement.one_pass import measure
from qc.measurement.record import PictureSeries
from qc.media.probe import probe
from qc.meters.picture.geometry_series import EDGES_EVERY
from qc.timing.spans import Span
from tests.kit.geometry import cropdetect, idet
from tests.kit.level_reference import components, share
from tests.kit.short_programme import FLASHES, WALL_SHARE, bar_rows, picture_of
from tests.kit.station_encodes import ENCODES, SMALL, Encode, encoded

pytestmark = pytest.mark.realmedia

#: EBU R 103 v3.0; seven changes over a quarter of the screen (ITU-R BT.1702-3, Guideline 1).
LEVELS, RULE = LevelBounds((-5, 105), (-5, 105)), FlashRule()
ORDERS = {"progressive": PROGRESSIVE_CONTENT, "top first": TOP_FIRST, "bottom first": BOTTOM_FIRST}
WORDS = {"progressive": "Progressive", "top first": "TFF", "bottom first": "BFF"}
#: Percent of the picture by which the area outside may differ from that of the picture before it was coded. The patches
#: lie 3 % over the limit and more, so codec noise moves a few pixels of their edges alone; chroma of half
#: the rows (4:2:0) moves two edges of the red one by up to a row.
CODED, CODED_HALF_CHROMA = 0.02, 0.2


@pytest.mark.parametrize("encode", ENCODES, ids=lambda encode: encode.name)
def test_what_was_planted_is_measured_alike_in_every_encode(encode: Encode, media_dir: Path) -> None:
    """Black, freeze, stray frame, flashes, what is outside the levels: to the frame, so alike in all. Areas to CODED of
    the truth, so to twice that of each other; bars to two rows, field order as woven."""
    path = encoded(media_dir, encode)
    facts = probe(path)
    record = measure(path, facts)
    assert record.picture is not None and facts.picture is not None and facts.picture.frame_rate == encode.frame_rate
    plan = encode.plan

    assert _exact(record.picture, encode) == {
        "frames": plan.frames,
        "black": plan.black,
        "freezes": [plan.freeze],
        "strays": [plan.stray],
        "flashes": [(plan.flashing, 2 * FLASHES)],
        "red flashes": [],
        "outside": {("Y", True): plan.hot, ("R", True): plan.hot},
        "order": ORDERS[encode.scan],
    }
    _areas_are_those_of_the_uncoded_picture(record.picture, encode)
    _bars_are_where_they_were_laid(record.picture, encode)
    if encode.size == SMALL:
        _others_say_the_same(path, encode)


def _exact(picture: PictureSeries, encode: Encode) -> dict[str, Any]:
    """What has to be right to the frame."""
    series, whole = picture.extra, [Span(0, picture.frames)]
    black = black_frames(picture, 10, 98)
    frames = FrameSeries.of(series)
    assert frames is not None
    return {
        "frames": picture.frames,
        "black": black_runs(picture, 10, 98),
        "freezes": [run.span for run in still_runs(frames, black)],
        "strays": [stray.span for stray in stray_shots(frames, 4, black)],
        "flashes": [(one.span, one.changes) for one in flash_events(series, "bt1702", encode.frame_rate, RULE)],
        "red flashes": flash_events(series, "red", encode.frame_rate, RULE),
        "outside": {(one.component, one.high): one.span for one in level_events(series, LEVELS, 1.0, 3, whole)},
        "order": field_order(series, whole, LEAST_VOTES // 2).answer,
    }


def _areas_are_those_of_the_uncoded_picture(picture: PictureSeries, encode: Encode) -> None:
    """Percent of the picture, of what flashes and of what is outside the levels."""
    whole = [Span(0, picture.frames)]
    (flashing,) = flash_events(picture.extra, "bt1702", encode.frame_rate, RULE)
    assert flashing.area == pytest.approx(100 * float(WALL_SHARE), abs=0.1)
    planes = picture_of(encode.plan, encode.plan.hot.first, encode.size, encode.scan)
    levels = components(*planes, 10, interlaced=encode.interlaced)
    for event in level_events(picture.extra, LEVELS, 1.0, 3, whole):
        wanted = 100 * share(levels, event.component, 105)
        bound = CODED if event.component == "Y" or "422" in encode.pixels else CODED_HALF_CHROMA
        assert event.area == pytest.approx(wanted, abs=bound), (event.component, wanted)


def _bars_are_where_they_were_laid(picture: PictureSeries, encode: Encode) -> None:
    """One letterbox, to two rows, from and until within one look of its part; the rest fills the raster."""
    active = active_picture(picture.extra, [Span(0, picture.frames)])
    (box,) = active.boxes
    rows, barred = bar_rows(encode.size[1]), encode.plan.part("barred")
    assert box.kind == "letterbox" and max(abs(lines - rows) for lines in box.lines) <= 2, box
    assert max(abs(box.span.first - barred.first), abs(box.span.end - barred.end)) <= EDGES_EVERY, box
    assert active.raster == encode.size and active.least == (0, 0, 0, 0) and not active.edges


def _others_say_the_same(path: Path, encode: Encode) -> None:
    """FFmpeg's cropdetect on the part with bars; its idet on the part with motion, of which only a few frames (the
    first, which it has nothing to compare with) may say anything else."""
    barred, moving = encode.plan.part("barred"), encode.plan.part("moving")
    width, height, left, top = cropdetect(path, before=f"trim=start_frame={barred.first}:end_frame={barred.end}")
    rows = bar_rows(encode.size[1])
    assert (left, width) == (0, encode.size[0])
    assert max(abs(top - rows), abs(encode.size[1] - top - height - rows)) <= 2, (top, height)
    counted = idet(path, before=f"trim=start_frame={moving.first}:end_frame={encode.plan.freeze.first}")
    assert counted[WORDS[encode.scan]] >= 0.8 * sum(counted.values()), counted
