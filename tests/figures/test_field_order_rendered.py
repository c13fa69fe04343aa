"""Field order of rendered files: known by construction, and read by FFmpeg's idet filter.

Interlaced pictures are made by FFmpeg's tinterlace filter from the film at 50 moments a second, so which field is
earlier is known whatever the encoder flags; pulled-down ones by its telecine filter.
Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from qc.figures.field_order import (
    BOTTOM_FIRST,
    LEAST_VOTES,
    MIXED,
    PROGRESSIVE_CONTENT,
    TOO_STILL,
    TOP_FIRST,
    FieldOrder,
    field_order,
)
from qc.meters.picture.fields import FieldOrderMeter
from qc.meters.picture.geometry_series import FIELDS_EVERY
from qc.timing.spans import Span
from tests.kit.geometry import film_fields, idet, series_of
from tests.kit.render import render

pytestmark = pytest.mark.realmedia

#: What each codec is told about fields; "t" in the name is flagged top first, "b" bottom first, "p" progressive.
CODECS: dict[str, list[str]] = {
    "mpeg2-t.mxf": ["-c:v", "mpeg2video", "-profile:v", "0", "-level:v", "2", "-b:v", "6M", "-g", "12", "-bf", "2",
                    "-flags:v", "+ildct+ilme"],
    "h264-t.mov": ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-flags:v", "+ildct+ilme",
                   "-x264opts", "tff=1"],
    "h264-b.mov": ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-flags:v", "+ildct+ilme",
                   "-x264opts", "bff=1"],
    "prores-t.mov": ["-c:v", "prores_ks", "-profile:v", "3", "-flags:v", "+ildct", "-pix_fmt", "yuv422p10le"],
    "h264-p.mov": ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p"],
    "hevc-p.mov": ["-c:v", "libx265", "-preset", "ultrafast", "-crf", "18", "-x265-params", "log-level=none"],
}  # fmt: skip
FIELDS = {"t": "tff", "b": "bff", "p": "prog"}
#: Filter that makes 25 frames of 50 moments, what the picture then is, and what idet calls it.
MAKES = {
    "interleave_top": (TOP_FIRST, "TFF"),
    "interleave_bottom": (BOTTOM_FIRST, "BFF"),
    "drop_even": (PROGRESSIVE_CONTENT, "Progressive"),
}


@dataclass(frozen=True)
class Rendered:
    path: Path
    order: FieldOrder


def read(path: Path, least_votes: int = LEAST_VOTES) -> FieldOrder:
    return field_order(series_of(path, [FieldOrderMeter]), [Span(0, 10**6)], least_votes)


def interlaced(folder: Path, source: Path, name: str, make: str, *more: str) -> Path:
    chain = f"tinterlace={make},setfield={FIELDS[name.split('-')[1][0]]}"
    codec = [*CODECS[name], "-r", "25", "-threads", "2"]
    return render(folder / f"{make}-{name}", ["-i", str(source), "-vf", ",".join([chain, *more]), *codec])


@pytest.fixture(scope="module")
def fields(media_dir: Path) -> Path:
    return film_fields(media_dir, 416, 11)


@pytest.mark.parametrize(
    ("name", "make"),
    [(name, make) for name in CODECS for make in MAKES if make != "drop_even" or name in ("mpeg2-t.mxf", "h264-p.mov")],
)
def test_the_order_is_that_of_the_picture_whatever_the_flags_say(
    media_dir: Path, fields: Path, name: str, make: str
) -> None:
    """By construction; in MPEG-2 4:2:2, H.264, ProRes and HEVC, flagged top first, bottom first and progressive.
    FFmpeg's idet says the same of most frames."""
    path = interlaced(media_dir, fields, name, make)
    order = read(path)
    answer, word = MAKES[make]
    assert order.answer == answer, order
    right = {TOP_FIRST: order.top, BOTTOM_FIRST: order.bottom, PROGRESSIVE_CONTENT: order.progressive}[answer]
    assert right >= max(LEAST_VOTES, 0.85 * order.votes), order  # at a cut two moments of the film can be the same
    assert order.top == 0 or order.bottom == 0
    if name == "mpeg2-t.mxf":
        counted = idet(path)
        assert counted[word] > 0.8 * sum(counted.values()), counted


@pytest.mark.parametrize(("first", "answer", "word"), [("top", TOP_FIRST, "TFF"), ("bottom", BOTTOM_FIRST, "BFF")])
def test_film_that_was_pulled_down_has_an_order(media_dir: Path, first: str, answer: str, word: str) -> None:
    """24 frames on 60 fields (2:3), by FFmpeg's telecine filter: two frames in five hold fields of two moments; idet
    reads the same order. The progressive frames between do not make it progressive."""
    source = film_fields(media_dir, 416, 7)
    path = render(
        media_dir / f"telecine-{first}.mkv",
        ["-i", str(source), "-vf", f"setpts=N/24/TB,fps=24,telecine=first_field={first}:pattern=23", "-c:v", "ffv1"],
    )
    order = read(path)
    assert order.answer == answer and order.progressive > LEAST_VOTES / 2
    counted = idet(path)
    assert counted[word] > 0.8 * sum(counted.values())


def test_shots_that_are_reversed_are_told_by_place(media_dir: Path, fields: Path) -> None:
    """Top first, then a shot that is bottom first, then top first again: mixed, each end within the pitch of the
    comparison. idet has only totals."""
    bounds = [(0, 80), (80, 180), (180, 264)]
    parts = ["interleave_top", "interleave_bottom", "interleave_top"]
    chains = [f"[0:v]trim=start_frame={a}:end_frame={b},setpts=PTS-STARTPTS,tinterlace={make}[v{n}]"
              for n, ((a, b), make) in enumerate(zip(bounds, parts, strict=True))]  # fmt: skip
    graph = ";".join([*chains, "[v0][v1][v2]concat=n=3:v=1:a=0,setfield=tff[v]"])
    path = render(
        media_dir / "reversed-shot.mkv",
        ["-i", str(fields), "-filter_complex", graph, "-map", "[v]", "-r", "25", "-c:v", "ffv1"],
    )
    order = read(path)
    assert order.answer == MIXED and len(order.bottom_runs) == 1
    (run,) = order.bottom_runs
    assert 40 <= run.first <= 40 + FIELDS_EVERY and 90 - FIELDS_EVERY <= run.end <= 90 + 1
    assert sum(span.overlap(run) for span in order.top_runs) == 0


def test_a_still_with_noise_has_no_order(media_dir: Path) -> None:
    """Grain on a still picture, stripes of one line, and black: nothing moves, so nothing is claimed. idet leaves all
    of it undetermined."""
    sources = {
        "grain": "color=gray:s=320x180:r=25,noise=alls=12:allf=t,format=yuv422p",
        "stripes": "nullsrc=s=320x180:r=25,geq=lum='if(mod(Y,2),40,200)':cb=128:cr=128,format=yuv422p",
        "black": "color=black:s=320x180:r=25,format=yuv422p",
    }
    for name, source in sources.items():
        path = render(
            media_dir / f"still-{name}.mkv",
            ["-f", "lavfi", "-i", source, "-t", "6", "-vf", "setfield=tff", "-c:v", "ffv1", "-threads", "2"],
        )
        order = read(path)
        assert order.answer == TOO_STILL and order.votes == 0, (name, order)
        counted = idet(path)
        assert counted["Undetermined"] == sum(counted.values()), (name, counted)


def test_a_small_moving_part_before_fine_detail_is_enough(media_dir: Path, fields: Path) -> None:
    """A window of interlaced film, a tenth of the picture, before a still of fine grain, which combs in every weave:
    bottom first by construction, and by idet."""
    grain = "color=gray:s=320x180:r=25,noise=alls=60,format=yuv422p[still]"
    window = "[0:v]tinterlace=interleave_bottom,crop=112:50:100:60[moving]"
    path = render(
        media_dir / "window.mkv",
        ["-i", str(fields), "-filter_complex", f"{grain};{window};[still][moving]overlay=100:60:shortest=1",
         "-r", "25", "-c:v", "ffv1", "-threads", "2"],
    )  # fmt: skip
    order = read(path)
    assert order.answer == BOTTOM_FIRST and order.top == 0
    counted = idet(path)
    assert counted["BFF"] > 0.8 * sum(counted.values()), counted


@pytest.mark.parametrize("start", [20, 240])
def test_the_film_itself_is_progressive(media_dir: Path, start: float) -> None:
    """Not one pair of the film, with frames repeated as a change of rate does, shows an order. idet finds next to
    none either."""
    path = render(
        media_dir / f"progressive-{start}.mkv",
        [
            "-i",
            str(film_fields(media_dir, start, 6)),
            "-vf",
            "setpts=N/24/TB,fps=30000/1001,setfield=tff",
            "-c:v",
            "ffv1",
        ],
    )
    order = read(path)
    assert order.answer == PROGRESSIVE_CONTENT and not order.top and not order.bottom
    counted = idet(path)
    assert counted["TFF"] + counted["BFF"] <= 0.02 * sum(counted.values())
