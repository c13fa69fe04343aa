"""Single frames by seeking, and the small pictures made of them."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from qc.media import frame_seek
from qc.media.frame_seek import FrameFinder, FrameTime, NoFrame
from qc.media.letters import written
from qc.media.luma_view import luma_view
from qc.media.still import LONG_SIDE, SHORTEST_SIDE, still_of
from tests.kit.numbered import number_in, number_in_jpeg, numbered

NTSC = Fraction(30000, 1001)
_X264 = ("-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p")


def grey(code: int, width: int = 320, height: int = 180) -> av.VideoFrame:
    """A flat picture, narrow range, BT.709."""
    return colour((code, 128, 128), 1, 1, width, height)


def colour(codes: tuple[int, ...], matrix: int, span: int, width: int = 320, height: int = 180) -> av.VideoFrame:
    planes = np.stack([np.full((height, width), code, np.uint8) for code in codes])
    frame = av.VideoFrame.from_ndarray(planes, format="yuv444p")
    frame.colorspace, frame.color_range = matrix, span
    return frame


def pixels(content: bytes) -> np.ndarray:
    """(h, w, 3) int, red green blue."""
    return cv2.imdecode(np.frombuffer(content, np.uint8), cv2.IMREAD_COLOR)[:, :, ::-1].astype(int)


# -- the seek ----------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def prores(media_dir: Path) -> Path:
    return numbered(media_dir / "numbered" / "seek.mov", 60, ("-c:v", "prores_ks", "-pix_fmt", "yuv422p10le"))


@pytest.fixture(scope="module")
def one_group(media_dir: Path) -> Path:
    arguments = (*_X264, "-g", "999", "-bf", "3", "-x264-params", "scenecut=0")
    return numbered(media_dir / "numbered" / "one-long.mov", 400, arguments)


def finder(path: Path, frames: int = 60) -> FrameFinder:
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.time_base is not None
        return FrameFinder(path, stream.index, stream.time_base, NTSC, frames)


def at(found: FrameFinder, frame: int) -> FrameTime:
    return FrameTime(frame, frame * found._step)


def shows(frame: av.VideoFrame) -> int:
    view = luma_view(frame)
    return number_in((view.codes >> (view.bits - 8)).astype(np.uint8))


def yes(frame: av.VideoFrame) -> bool:
    return True


def test_a_frame_that_cannot_be_decoded_leaves_its_reason_and_the_others_are_found(
    prores: Path, tmp_path: Path
) -> None:
    """One packet is overwritten: that frame has the decoder's reason, its neighbours on both sides are right."""
    with av.open(str(prores)) as container:
        packet = [packet for packet in container.demux(video=0) if packet.size][30]
        place, size = packet.pos, packet.size
    assert place is not None
    data = bytearray(prores.read_bytes())
    data[place : place + size] = b"\0" * size
    path = tmp_path / "damaged.mov"
    path.write_bytes(data)
    found = finder(path)

    assert [shows(found.find(at(found, frame), yes)) for frame in (3, 29)] == [3, 29]
    with pytest.raises(NoFrame) as caught:
        found.find(at(found, 30), lambda frame: shows(frame) == 30)
    assert "cannot be decoded" in caught.value.reason and caught.value.lasting
    assert [shows(found.find(at(found, frame), yes)) for frame in (31, 59)] == [31, 59]
    found.close()


def test_what_does_not_fit_is_refused(prores: Path) -> None:
    """The caller says that it is not the picture: other ways to it are tried, then there is a reason."""
    found, offered = finder(prores), []

    def no(frame: av.VideoFrame) -> bool:
        offered.append(shows(frame))
        return False

    with pytest.raises(NoFrame, match="is not the one that was measured"):
        found.find(at(found, 20), no)
    assert set(offered) == {20} and len(offered) > 1
    found.close()


def test_a_still_never_decodes_more_than_its_bound(one_group: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Far from any key frame there is a reason instead of a second decode; near it the frame is found."""
    monkeypatch.setattr(frame_seek, "MOST_DECODED", 100)
    found = finder(one_group, 400)
    assert shows(found.find(at(found, 90), yes)) == 90
    used = found._used
    with pytest.raises(NoFrame, match="not within 100 pictures"):
        found.find(at(found, 350), yes)
    assert found._used - used <= 101
    found.close()


def test_all_stills_together_have_a_bound(one_group: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many are asked for, the pictures decoded for one file stay bounded."""
    monkeypatch.setattr(frame_seek, "MOST_TOGETHER", 50)
    found = finder(one_group, 100)
    reasons = []
    for frame in range(10, 400, 10):
        try:
            found.find(at(found, frame), yes)
        except NoFrame as none:
            reasons.append(none.reason)
    assert found._used <= 51 and len(reasons) >= 30
    assert "they are used up" in reasons[-1]
    found.close()


def test_frames_that_share_a_group_of_pictures_are_decoded_in_one_go(one_group: Path) -> None:
    """Twenty stills from one group of 400 pictures cost at most those 400, not twenty times the way there."""
    found = finder(one_group, 400)
    assert [shows(found.find(at(found, frame), yes)) for frame in range(5, 400, 20)] == list(range(5, 400, 20))
    assert found._used <= 400
    found.close()


def test_other_times_than_measured_are_told(prores: Path) -> None:
    """A stream that counts its time otherwise than the record says is not the measured one."""
    with pytest.raises(NoFrame, match="counted differently"):
        FrameFinder(prores, 0, Fraction(1, 7), NTSC, 60)
    with pytest.raises(NoFrame, match="cannot be decoded"):
        FrameFinder(prores, 9, Fraction(1, 7), NTSC, 60)


# -- the picture -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("width", "height", "aspect", "size"),
    [
        (1920, 1080, Fraction(1), (480, 270)),
        (1440, 1080, Fraction(4, 3), (480, 270)),
        (720, 576, Fraction(64, 45), (480, 270)),
        (720, 576, Fraction(16, 15), (480, 360)),
        (1080, 1920, None, (270, 480)),
        (64, 36, Fraction(0), (480, 270)),
        (4096, 16, None, (480, SHORTEST_SIDE)),
        (320, 180, Fraction(10**9), (480, 270)),
    ],
)
def test_a_still_has_the_display_aspect(
    width: int, height: int, aspect: Fraction | None, size: tuple[int, int]
) -> None:
    """Sample aspect is respected (16:9 and 4:3 over the whole raster: 64/45 and 16/15 at 720x576, by arithmetic);
    one that no picture has is left out; the still never gets too thin to read."""
    still = still_of(grey(120, width, height), "01:00:00:00", aspect)

    assert (still.width, still.height) == size and max(size) == LONG_SIDE
    assert pixels(still.content).shape == (size[1], size[0], 3)


def coded(red: float, green: float, blue: float, kr: float, kb: float, full: bool) -> tuple[int, ...]:
    """8-bit Y'CbCr of R'G'B' in 0..1. Source: ITU-R BT.709-6, items 3.2 to 3.5 and 4.6 (full range: H.273)."""
    luma = kr * red + (1 - kr - kb) * green + kb * blue
    cb, cr = (blue - luma) / (2 - 2 * kb), (red - luma) / (2 - 2 * kr)
    if full:
        return round(255 * luma), round(128 + 255 * cb), round(128 + 255 * cr)
    return round(16 + 219 * luma), round(128 + 224 * cb), round(128 + 224 * cr)


@pytest.mark.parametrize(
    ("matrix", "kr", "kb", "span", "height"),
    [
        (1, 0.2126, 0.0722, 1, 180),  # BT.709
        (6, 0.299, 0.114, 1, 720),  # BT.601
        (5, 0.299, 0.114, 1, 720),
        (9, 0.2627, 0.0593, 1, 180),  # BT.2020
        (1, 0.2126, 0.0722, 2, 180),  # full range
        (2, 0.2126, 0.0722, 1, 720),  # not declared: usual from 720 lines on
        (2, 0.299, 0.114, 1, 576),  # not declared: usual below
    ],
)
def test_colours_follow_the_matrix_and_range_of_the_file(
    matrix: int, kr: float, kb: float, span: int, height: int
) -> None:
    """75 % colours come out as R'G'B' of 191 and 0 within the rounding of JPEG (BT.709-6, BT.601-7, BT.2020-2)."""
    for rgb in ((0.75, 0, 0), (0, 0.75, 0), (0, 0, 0.75), (0.75, 0.75, 0), (1, 1, 1), (0, 0, 0)):
        frame = colour(coded(*rgb, kr, kb, span == 2), matrix, span, 16 * height // 9, height)
        middle = pixels(still_of(frame, "").content)[100:120, 200:220].mean(axis=(0, 1))
        assert np.abs(middle - 255 * np.array(rgb)).max() < 6, (rgb, middle)


@pytest.mark.parametrize("code", [16, 128, 235])
def test_the_timecode_can_be_read_on_any_picture(code: int) -> None:
    """On black, grey and white: the letters in the plate are light on dark, exactly where they were written."""
    label = "01:02:03;17"
    picture = pixels(still_of(grey(code), label).content).mean(axis=2)
    plate = written(label)
    high, wide = plate.shape
    heights = [
        (np.where(plate, picture[top : top + high, left : left + wide], 255).min(), top, left)
        for top in range(230, 270 - high)
        for left in range(4, 24)
    ]
    _, top, left = max(heights)
    region = picture[top : top + high, left : left + wide]

    assert region[plate].min() > 170
    assert region[~plate].max() < 90
    assert np.abs(picture[:200].mean() - 255 * (code - 16) / 219) < 3


@pytest.mark.parametrize(
    "label", ["", "x" * 10_000, "\0\n\x1b[31m", "<script>", "=cmd()", "\u202e\u05d0\U0001f600", "％%s{0}", "\ud800"]
)
@pytest.mark.parametrize("shape", [(320, 180), (16, 4096)])
def test_a_hostile_label_is_only_ink(label: str, shape: tuple[int, int]) -> None:
    """Whatever the text: a still of the right size that stays within its picture and is otherwise untouched."""
    still = still_of(grey(235, *shape), label)
    picture = pixels(still.content)

    assert picture.shape[:2] == (still.height, still.width)
    assert picture[: still.height - 60].min() > 240


def test_a_still_is_small_even_of_noise() -> None:
    """Coloured noise, the worst there is, stays under 40 kB: thirty stills fit in a report of 3 MB."""
    noise = np.random.default_rng(1).integers(0, 256, (720, 1280, 3), np.uint8)
    still = still_of(av.VideoFrame.from_ndarray(noise.repeat(3, 0).repeat(3, 1), format="rgb24"), "01:00:00:00")
    assert 2_000 < len(still.content) < 40_000


@pytest.mark.parametrize(
    "form", ["yuv420p", "yuv422p10le", "yuva444p12le", "rgb24", "gbrp10le", "gray", "nv12", "pal8"]
)
def test_every_pixel_format_becomes_a_still(form: str) -> None:
    """Planar, packed, deep, with alpha, gray and palette: the same picture, read back by its number."""
    from tests.kit.numbered import luma_of

    neutral = np.full((112, 192), 128, np.uint8)
    frame = av.VideoFrame.from_ndarray(np.stack([luma_of(1365), neutral, neutral]), format="yuv444p")
    frame.colorspace, frame.color_range = 1, 1
    if form == "pal8":
        frame = av.VideoFrame.from_ndarray(luma_of(1365), format="gray").reformat(format="rgb8")
    elif form != "yuv444p":
        frame = frame.reformat(format=form, src_colorspace=1, src_color_range=1, dst_color_range=1, threads=1)

    assert number_in_jpeg(still_of(frame, "01:00:00:00").content) == 1365
