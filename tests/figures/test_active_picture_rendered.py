"""Active picture of rendered files: known by construction, and read by FFmpeg's cropdetect filter.

Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.figures.active_picture import ActivePicture, active_picture, aspect, is_two_k
from qc.meters.picture.active import ActivePictureMeter
from qc.meters.picture.geometry_series import EDGES_EVERY
from qc.timing.spans import Span
from tests.kit.geometry import cropdetect, film_fields, series_of
from tests.kit.render import render

pytestmark = pytest.mark.realmedia

CODECS: dict[str, list[str]] = {
    "mpeg2.mxf": ["-c:v", "mpeg2video", "-profile:v", "0", "-level:v", "2", "-b:v", "5M", "-g", "12", "-bf", "2"],
    "h264.mov": ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p"],
    "prores.mov": ["-c:v", "prores_ks", "-profile:v", "3", "-pix_fmt", "yuv422p10le"],
    "ffv1-gray.mkv": ["-c:v", "ffv1", "-pix_fmt", "gray"],
    "ffv1-rgb.mkv": ["-c:v", "ffv1", "-pix_fmt", "bgr0"],
}
SIZE, FRAMES = (320, 180), 100


@pytest.fixture(scope="module")
def film_clip(media_dir: Path) -> Path:
    return film_fields(media_dir, 240, 4.2)


def read(path: Path) -> ActivePicture:
    return active_picture(series_of(path, [ActivePictureMeter]), [Span(0, FRAMES)])


def with_bars(lines: tuple[int, int, int, int]) -> str:
    """Filter that blanks so many lines at the left, top, right and bottom (narrow range black)."""
    left, top, right, bottom = lines
    boxes = (
        f"drawbox=0:0:{left}:ih:black:fill",
        f"drawbox=0:0:iw:{top}:black:fill",
        f"drawbox=iw-{right}:0:{right}:ih:black:fill",
        f"drawbox=0:ih-{bottom}:iw:{bottom}:black:fill",
    )
    return ",".join(box for box, count in zip(boxes, lines, strict=True) if count) or "null"


def made(folder: Path, clip: Path, name: str, chain: str, codec: str) -> Path:
    output = [*CODECS[codec], "-frames:v", str(FRAMES), "-threads", "2"]
    return render(folder / f"{name}-{codec}", ["-i", str(clip), "-vf", chain, *output])


@pytest.mark.parametrize("codec", CODECS)
@pytest.mark.parametrize(
    "lines", [(0, 0, 0, 0), (1, 0, 0, 0), (0, 1, 2, 1), (6, 4, 0, 0), (40, 0, 40, 0), (0, 22, 0, 22)]
)
def test_what_is_blank_is_told_to_the_line_in_every_codec(
    media_dir: Path, film_clip: Path, lines: tuple[int, int, int, int], codec: str
) -> None:
    """By construction, lines of black laid over the film; lossy, ten bits, gray and RGB. cropdetect, told the same
    near black, finds the same rectangle; it can only say even numbers of lines, so an odd one is a line off there."""
    path = made(media_dir, film_clip, "bars-" + "-".join(str(count) for count in lines), with_bars(lines), codec)
    found = read(path)
    assert found.least == lines and not found.blind
    told = {edge.side: edge.lines for edge in found.edges}
    for box in found.boxes:
        told |= dict(zip(("top", "bottom") if box.kind == "letterbox" else ("left", "right"), box.lines, strict=True))
    assert told == {side: count for side, count in zip(("left", "top", "right", "bottom"), lines, strict=True) if count}
    assert all(part.share == 1.0 for part in (*found.edges, *found.boxes))
    if codec in ("mpeg2.mxf", "prores.mov"):
        width, height, left, top = cropdetect(path)
        theirs = (left, top, SIZE[0] - left - width, SIZE[1] - top - height)
        assert all(abs(one - other) <= 1 for one, other in zip(theirs, lines, strict=True)), theirs


def test_a_lamp_at_the_edge_of_the_night_is_picture(media_dir: Path) -> None:
    """A night scene whose upper rows hold one lamp: the mean of such a row is under the limit, so cropdetect cuts it
    off. The lamp is picture, so ours, which looks for the brightest part of a row, is right."""
    night = "color=0x0a0a0a:s=320x180:r=25,drawbox=150:2:4:10:white:fill,drawbox=0:100:320:80:gray:fill"
    chain = f"{night},format=yuv422p"
    path = render(
        media_dir / "lamp.mkv", ["-f", "lavfi", "-i", chain, "-frames:v", str(FRAMES), "-c:v", "ffv1", "-threads", "2"]
    )
    found = read(path)
    assert found.least is not None and found.least[1] == 2
    assert cropdetect(path, "limit=30/255:round=2:skip=0:reset=0")[3] >= 90
    assert not found.edges and not found.boxes  # and no bar is claimed: beside it there is only one lamp


def test_a_film_that_fades_and_darkens_is_full(media_dir: Path, film_clip: Path) -> None:
    """The film at a twelfth of its light with a vignette, faded in and out: no edge is claimed, by construction. The
    light comes and goes, so what cropdetect says hangs on its limit."""
    dark = "eq=brightness=-0.06:contrast=0.5,vignette=PI/3,fade=in:0:30,fade=out:70:30"
    found = read(made(media_dir, film_clip, "dark", dark, "ffv1-gray.mkv"))
    assert not found.edges and not found.boxes


def test_an_archive_insert_is_told_apart_from_the_programme(media_dir: Path, film_clip: Path) -> None:
    """Frames 30 to 69 in 4:3 with bars left and right: one pillarbox, at its place, named by its shape; the programme
    is full."""
    chain = ",".join(f"drawbox={place}:0:40:ih:black:fill:enable='between(n,30,69)'" for place in ("0", "iw-40"))
    found = read(made(media_dir, film_clip, "insert", chain, "mpeg2.mxf"))
    (box,) = found.boxes
    assert (box.kind, box.lines) == ("pillarbox", (40, 40)) and 0.3 < box.share < 0.5
    assert aspect(SIZE, (40, 0, 40, 0)) == pytest.approx(4 / 3, abs=0.01)
    assert 30 <= box.span.first <= 30 + EDGES_EVERY and 70 - EDGES_EVERY <= box.span.end <= 70 + EDGES_EVERY
    assert found.least == (0, 0, 0, 0)


@pytest.mark.parametrize("degrees", [0.5, 2.0])
def test_a_tilted_letterbox_is_no_full_raster(media_dir: Path, film_clip: Path, degrees: float) -> None:
    """The film with bars, turned by FFmpeg's rotate filter over black: cropdetect says that there are bars. No row
    beside them is bright along its whole length, so the rows are told as unseen, never as picture."""
    turned = f"{with_bars((0, 22, 0, 22))},rotate={degrees}*PI/180:c=black,crop=300:170,scale=320:180"
    path = made(media_dir, film_clip, f"tilted-{degrees}", turned, "prores.mov")
    found = read(path)
    _, height, _, top = cropdetect(path)
    assert top >= 10 and SIZE[1] - top - height >= 10
    assert {side.side for side in found.bars_unseen} == {"top", "bottom"} and not found.boxes
    assert all(
        abs(side.lines - lines) <= 6 for side, lines in zip(found.unseen, (top, SIZE[1] - top - height), strict=True)
    )


def test_subtitles_in_a_bar_leave_a_letterbox(media_dir: Path, film_clip: Path) -> None:
    """Words (blocks as high as a line of type) in the lower bar from frame 20 to 59: cropdetect, told to look at
    frames 60 on alone, finds the two bars; so do we in the whole."""
    words = ",".join(f"drawbox={x}:164:9:8:white:fill:enable='between(n,20,59)'" for x in range(90, 230, 14))
    path = made(media_dir, film_clip, "subtitled", f"{with_bars((0, 22, 0, 22))},{words}", "prores.mov")
    found = read(path)
    (box,) = found.boxes
    assert cropdetect(path, before="trim=start_frame=60") == (320, 136, 0, 22)
    assert (box.kind, box.lines) == ("letterbox", (22, 22)) and not found.unseen
    assert found.least is not None and found.least[3] < 20


def test_two_k_in_high_definition_leaves_its_bands(media_dir: Path) -> None:
    """A 2048x1080 picture scaled to 1920 and padded, as FFmpeg's scale and pad filters do it: 1012 active lines. The
    same picture cropped leaves nothing to see."""
    source = "testsrc2=s=2048x1080:r=25,format=yuv422p"
    wrong = "scale=1920:-2:flags=area,pad=1920:1080:0:(oh-ih)/2"
    for name, chain, bands in (("scaled", wrong, True), ("cropped", "crop=1920:1080", False)):
        path = render(
            media_dir / f"two-k-{name}.mov",
            ["-f", "lavfi", "-i", source, "-vf", chain, "-frames:v", "40", "-c:v", "mpeg2video", "-b:v", "30M"],
        )
        found = active_picture(series_of(path, [ActivePictureMeter]), [Span(0, 40)])
        assert [is_two_k(found.raster, box) for box in found.boxes] == [True] * bands
        assert found.least == (0, 34, 0, 34) if bands else (0, 0, 0, 0)


def test_the_film_fills_its_raster(media_dir: Path) -> None:
    """Three stretches of the film, one of them at night: full, as cropdetect says with its limit at near black."""
    for start in (20, 300, 520):
        path = film_fields(media_dir, start, 4.2)
        found = read(path)
        assert not found.edges and not found.boxes, start
