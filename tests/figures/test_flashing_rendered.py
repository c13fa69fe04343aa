"""Flashes in files as they are delivered: the one pass finds them at their frames, whatever the codec and scan."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from qc.figures.flashing import FlashRule, flash_events, readings, worst_second
from qc.measurement.one_pass import measure
from qc.media.probe import probe
from tests.kit.render import render

RULE = FlashRule()
WIDTH, HEIGHT = 320, 180

FORMS = {
    "MPEG-2 4:2:2 interlaced": ("mxf", "mpeg2video", "yuv422p", ["-flags", "+ildct+ilme", "-b:v", "8M", "-g", "12"]),
    "ProRes": ("mov", "prores_ks", "yuv422p10le", ["-profile:v", "3"]),
    "AVC 10 bit": ("mov", "libx264", "yuv420p10le", ["-crf", "18"]),
    "HEVC": ("mp4", "libx265", "yuv420p", ["-crf", "18", "-x265-params", "log-level=error"]),
}


def clip(lit: list[bool], share: float) -> bytes:
    """Grey pictures with a bright part that is lit on some frames, gray 8 bit, narrow range."""
    picture = np.random.default_rng(5).integers(60, 70, (HEIGHT, WIDTH)).astype(np.uint8)
    frames = []
    for on in lit:
        own = picture.copy()
        if on:
            own[:, : round(WIDTH * share)] = 220
        frames.append(own.tobytes())
    return b"".join(frames)


def series_of(path: Path) -> tuple[dict[str, np.ndarray], Fraction]:
    facts = probe(path)
    record = measure(path, facts)
    assert record.picture is not None and facts.picture is not None and facts.picture.frame_rate is not None
    return dict(record.picture.extra), facts.picture.frame_rate


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("rate", ["25", "30000/1001"])
def test_a_planted_sequence_is_found_to_the_frame(form, rate, media_dir):
    """Five flashes within a second over 40 % of the screen from frame 30 on; over 20 % they are none.
    Source: planted here; limits of ITU-R BT.1702-3, Guideline 1."""
    ending, codec, pixels, more = FORMS[form]
    lit = [30 <= number < 54 and (number - 30) % 5 < 2 for number in range(80)]
    for share, fails in ((0.4, True), (0.2, False)):
        name = f"flash-{codec}-{rate.replace('/', '-')}-{share}.{ending}"
        source = ["-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{WIDTH}x{HEIGHT}", "-r", rate, "-i", "-"]
        limits = ["-vf", "scale=in_range=limited:out_range=limited", "-color_range", "tv"]
        path = render(
            media_dir / name,
            [*source, *limits, "-pix_fmt", pixels, "-c:v", codec, *more],
            feed=iter([clip(lit, share)]),
        )
        series, fps = series_of(path)
        assert readings(series) == ("bt1702", "ofcom", "red") and "stripes.found" in series
        events = flash_events(series, "bt1702", fps, RULE)
        assert bool(events) == fails and not flash_events(series, "red", fps, RULE)
        if fails:
            assert (events[0].span.first, events[0].span.end) == (30, 53)
            assert events[0].changes == 10 and events[0].area == pytest.approx(40, abs=1)


@pytest.mark.parametrize("first", ["top", "bottom"])
@pytest.mark.parametrize("form", ["prores", "avc"])
def test_fields_flash_in_the_order_in_which_they_are_shown(form, first, media_dir):
    """Three flashes within a second that begin and end with the second field of a frame: six changes, which pass. Read
    in the wrong order the fields flicker at both ends of each. Source: planted here; ITU-R BT.1702-3, Guideline 1.
    """
    lit = [21 <= moment < 21 + 48 and (moment - 21) % 16 < 8 for moment in range(120)]
    frames = []
    for number in range(0, len(lit), 2):
        frame = np.full((HEIGHT, WIDTH), 60, np.uint8)
        for late in (0, 1):
            parity = late if first == "top" else 1 - late
            frame[parity::2, : WIDTH // 2] = 220 if lit[number + late] else 60
        frames.append(frame.tobytes())
    flags = f"setfield={first[0]}ff,scale=in_range=limited:out_range=limited:interl=1"
    codec = {
        "prores": ["-c:v", "prores", "-flags:v", "+ildct", "-pix_fmt", "yuv422p10le"],
        "avc": ["-c:v", "libx264", "-crf", "12", "-x264opts", f"{first[0]}ff=1", "-pix_fmt", "yuv420p"],
    }[form]
    path = render(
        media_dir / f"field-flashes-{first}-{form}.mov",
        ["-f", "rawvideo", "-pix_fmt", "gray", "-s", f"{WIDTH}x{HEIGHT}", "-r", "25", "-i", "-", "-vf", flags, *codec],
        feed=iter(frames),
    )
    series, fps = series_of(path)
    assert not flash_events(series, "bt1702", fps, RULE)
    worst = worst_second(series, "bt1702", fps, RULE)
    assert worst is not None and (worst[0], round(worst[1])) == (6, 50)
