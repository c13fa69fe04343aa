"""What the demo plants in its pictures is there, at its frames, and nothing else is: read from coded frames with NumPy,
OpenCV and FFmpeg's own filters, by no part of this tool. Numbers of the rules stand beside each test."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np
import pytest

from qc.demo import episodes
from qc.demo.episodes import VERSIONS
from qc.demo.layout import Layout, layout
from qc.demo.outlet_forms import FORMS
from qc.demo.picture import SCENE_FRAMES, Pictures, Stretch
from qc.demo.render import MINI
from qc.demo.shots import door_box
from qc.demo.staging import Shot
from qc.demo.version import Content, Version
from qc.timing.spans import Span
from tests.kit.demo_excerpt import Excerpt, excerpt, version_of
from tests.kit.render import run

HOT = (236, 47)


@pytest.fixture(scope="module")
def cut(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int, Span], Excerpt]:
    """Frames of one episode's file."""
    folder = tmp_path_factory.mktemp("planted")
    return lambda episode, span: excerpt(version_of(episode), span, folder)


def plan_of(episode: int) -> Layout:
    version = version_of(episode)
    return layout(FORMS[version.outlet], version)


def around(span: Span, frames: int = 8) -> Span:
    return Span(span.first - frames, span.end + frames)


def steps(luma: np.ndarray) -> np.ndarray:
    """(frames - 1,) mean difference of each frame to the one before, in codes of 8 bits."""
    return np.abs(np.diff(luma, axis=0)).mean(axis=(1, 2))


def scene(number: int) -> Content:
    return Content(number * SCENE_FRAMES, SCENE_FRAMES)


def test_eleven_arcs_in_two_point_four_seconds(cut: Callable[[int, Span], Excerpt]) -> None:
    """206: eleven times light and dark by over 20 cd/m2 over more than a quarter of the screen, within 72 frames of
    29.97; more than six changes in every second of it (ITU-R BT.1702-3, Guideline 1). The truth begins with the first
    lit frame and ends with the frame in which the last has gone out."""
    span = plan_of(206).span(Content(episodes._ARCS_AT, episodes._ARCS_UNTIL - episodes._ARCS_AT))
    seen = cut(206, around(span, 40))
    light = seen.light()
    dark = light[:30].mean(axis=0)
    assert np.mean(dark < 160) > 0.97  # all but the title
    area = (light - dark >= 20).mean(axis=(1, 2))
    lit = area > 0.25
    assert area[lit].min() > 0.4 and area[~lit].max() < 0.02
    changes = np.flatnonzero(np.diff(lit.astype(int))) + 1 + seen.first
    assert len(changes) == 22
    assert (changes[0], changes[-1] + 1) == (span.first, span.end)
    assert changes[-1] - changes[0] < 2.4 * 30000 / 1001
    in_a_second = [
        int(((changes >= start) & (changes < start + 29.97)).sum()) for start in range(span.first, span.end - 29)
    ]
    assert min(in_a_second) >= 7


def test_photo_flashes_are_few(cut: Callable[[int, Span], Excerpt]) -> None:
    """206: one flash, and three within a second: two and six changes; six pass (ITU-R BT.1702-3, Guideline 1). The
    picture under a flash is the same picture, only brighter: it correlates with the frame before."""
    plan = plan_of(206)
    for at, beside, wanted in ((episodes._ONE_FLASH_AT, 5, 2), (episodes._THREE_FLASHES_AT, 30, 6)):
        seen = cut(206, around(plan.span(Content(at)), beside))
        light = seen.light().reshape(-1, 45, 4, 80, 4).mean(axis=(2, 4))
        mean = light.mean(axis=(1, 2))
        assert np.argmax(mean) + seen.first == plan.span(Content(at)).first or wanted == 6
        changes = changes_of(light)
        assert (changes >= 7).mean() < 0.25 and (changes >= 2).mean() > 0.25
        assert np.median(changes) == wanted
        lit, before = seen.luma[beside].ravel(), seen.luma[beside - 1].ravel()
        assert np.corrcoef(lit, before)[0, 1] > 0.85


def changes_of(light: np.ndarray) -> np.ndarray:
    """(rows, columns) changes of 20 cd/m2 or more, the darker state under 160, of each cell: a walk over extremes,
    plain (ITU-R BT.1702-3, Guideline 1)."""
    low, high = light[0].copy(), light[0].copy()
    last = np.zeros(light.shape[1:], int)
    count = np.zeros(light.shape[1:], int)
    for now in light[1:]:
        low, high = np.minimum(low, now), np.maximum(high, now)
        up = (now - low >= 20) & (low < 160) & (last != 1)
        down = (high - now >= 20) & (now < 160) & (last != -1)
        count += up | down
        last = np.where(up, 1, np.where(down, -1, last))
        low, high = np.where(down | up, now, low), np.where(down | up, now, high)
    return count


@pytest.mark.parametrize(
    ("shot", "share", "period", "upright"),
    [
        (episodes._CORDUROY, 0.62, 10, True),
        (episodes._TROUSERS, 0.2, 10, True),
        (episodes._SWINGING, 0.36, 12, False),
        (episodes._DRIFTING, 0.36, 12, False),
    ],
    ids=["corduroy", "trousers", "swinging slates", "drifting slates"],
)
def test_stripes_are_where_the_truth_says(
    shot: Shot, share: float, period: int, upright: bool, cut: Callable[[int, Span], Excerpt]
) -> None:
    """207: more than five light-dark pairs that differ by 20 cd/m2, the light ones over 50, on the stated share of the
    screen (ITU-R BT.1702-3, Guideline 2); gone in the frame before and after the truth."""
    span = plan_of(207).span(Content(shot.first, shot.frames))
    seen = cut(207, around(span, 2))
    light = seen.light()[:, 40:140]  # between the letters
    lines = light if upright else light.transpose(0, 2, 1)
    striped = swing(lines, period) >= 20
    found = striped.mean(axis=(1, 2))
    assert np.median(found[2:-2]) == pytest.approx(share, abs=0.04)
    assert np.abs(found[2:-2] - share).max() < 0.06  # a block passes in front of it
    assert found[[0, 1, -2, -1]].max() < 0.6 * share  # other edges
    assert lines[20][striped[20]].max() > 50
    pairs = striped[20].sum(axis=1).max() / period
    assert pairs > 5


def swing(lines: np.ndarray, period: int) -> np.ndarray:
    """Light less dark of waves of this period (in pixels along the last axis), round each pixel."""
    long = lines.shape[-1]
    turn = np.exp(2j * np.pi * np.arange(long) / period)
    sums = np.cumsum(np.pad(lines * turn, ((0, 0), (0, 0), (1, 0))), axis=-1)
    first = (np.arange(long) - period).clip(0, long - 2 * period)  # two whole waves, inside the picture
    return np.asarray(2 * np.abs(sums[..., first + 2 * period] - sums[..., first]) / period)


def test_slates_swing_or_drift(cut: Callable[[int, Span], Excerpt]) -> None:
    """207: the one roof goes up and down, the other one way only (which is exempt: ITU-R BT.1702-3, Guideline 2)."""
    for shot, both_ways in ((episodes._SWINGING, True), (episodes._DRIFTING, False)):
        span = plan_of(207).span(Content(shot.first, shot.frames))
        roof = cut(207, span).luma[:, ::2, -80:].mean(axis=2)  # the upper field
        spectrum = np.fft.rfft(roof - roof.mean(axis=1, keepdims=True), axis=1)[:, 15]  # fifteen courses
        moves = np.diff(np.unwrap(np.angle(spectrum)))
        assert np.abs(moves).max() > 0.3
        assert bool(moves.min() < -0.3 and moves.max() > 0.3) is both_ways


def test_the_door_is_red_at_109_percent(cut: Callable[[int, Span], Excerpt]) -> None:
    """207: R' over 105 % on more than 1 % of the screen in every frame of the shot and in none beside it; luma, green
    and blue legal (EBU R 103 v3.0). Decoded codes by the matrix of ITU-R BT.709-6."""
    span = plan_of(207).span(Content(episodes._RED_DOOR.first, episodes._RED_DOOR.frames))
    seen = cut(207, around(span, 4))
    red, green, blue = seen.rgb()
    left, top, right, bottom = door_box(MINI)
    area = (red > 1.05).mean(axis=(1, 2))
    inside = np.zeros(len(area), bool)
    inside[4 : 4 + span.frames] = True
    assert area[inside].min() > 0.07 and area[~inside].max() < 0.005
    door = (slice(4, 4 + span.frames), slice(top + 4, bottom - 4), slice(left + 4, right - 4))
    assert np.allclose(red[door].mean(axis=(1, 2)), 1.09, atol=0.01)
    assert (seen.luma.max(), seen.cr.max()) <= (246, 244)
    assert min(green[door].min(), blue[door].min()) > -0.05 and max(green[door].max(), blue[door].max()) < 0.3


def idet(path: Path) -> tuple[int, int, int]:
    """Frames that FFmpeg's idet takes for top field first, bottom field first, progressive (multi-frame detection)."""
    said = run(["-i", str(path), "-vf", "idet", "-an", "-f", "null", "-"])
    found = re.findall(r"Multi frame detection: TFF:\s*(\d+) BFF:\s*(\d+) Progressive:\s*(\d+)", said)
    top, bottom, progressive = map(int, found[-1])
    return top, bottom, progressive


def test_field_order_by_idet(cut: Callable[[int, Span], Excerpt]) -> None:
    """210 moves lower field first in a file flagged upper field first; 201 and 205 do as they say. FFmpeg's idet."""
    for episode, bottom in ((201, False), (205, False), (210, True)):
        seen = cut(episode, Span(200, 260))
        top_first, bottom_first, progressive = idet(seen.path)
        assert progressive <= 5
        assert (bottom_first >= 50 and top_first == 0) if bottom else (top_first >= 50 and bottom_first == 0)


def test_repeated_frames(cut: Callable[[int, Span], Excerpt]) -> None:
    """210: one frame twice in act 1; every sixth of the converted stretch shows the fifth again; none elsewhere."""
    plan = plan_of(210)
    once = plan.span(Content(episodes._TWICE_AT))
    seen = cut(210, around(once, 20))
    assert repeats(seen) == [once.first]
    converted = plan.span(Content(*episodes._CONVERTED))
    seen = cut(210, Span(converted.first - 15, converted.first + 60))
    assert repeats(seen) == [converted.first + 6 * turn + 1 for turn in range(10)]
    seen = cut(210, Span(converted.end - 60, converted.end + 15))
    found = repeats(seen)
    assert found == list(range(found[0], found[-1] + 1, 6)) and converted.end - 6 <= found[-1] < converted.end


def repeats(seen: Excerpt) -> list[int]:
    """Frames of the file that differ from the one before by less than a third of what is usual."""
    apart = steps(seen.luma)
    return (np.flatnonzero(apart < np.median(apart) / 3) + 1 + seen.first).tolist()


def test_the_leftover_shot_comes_and_goes(cut: Callable[[int, Span], Excerpt]) -> None:
    """205: two frames unlike both their neighbours, which are alike."""
    span = plan_of(205).span(Content(episodes._LEFTOVER_AT, 2))
    luma = cut(205, around(span)).luma
    apart = steps(luma)
    assert set(np.argsort(apart)[-2:]) == {7, 9}
    assert apart[7] > 3 * apart[6] and np.abs(luma[7] - luma[10]).mean() < apart[7] / 2
    between_letters = luma[:, 95:140]
    assert np.corrcoef(between_letters[7].ravel(), between_letters[8].ravel())[0, 1] < 0.5


@pytest.mark.parametrize("episode", [205, 212])
def test_the_hot_pixel_sits_in_every_scene(episode: int, cut: Callable[[int, Span], Excerpt]) -> None:
    """One place stands out from the median of its 5 x 5 neighbours in three scenes, and no other does; not in black."""
    plan = plan_of(episode)
    seen = [
        cut(episode, Span(at, at + 12)).luma for at in (plan.span(scene(number)).first + 20 for number in (0, 2, 5))
    ]
    least = np.full((MINI.height, MINI.width), 255.0)
    for luma in seen:
        for picture in luma[::4]:
            codes = picture.round().astype(np.uint8)
            least = np.minimum(least, codes - cv2.medianBlur(codes, 5).astype(float))
    least[14:34], least[144:164] = 0, 0  # letters
    row, column = np.unravel_index(np.argmax(least), least.shape)
    assert (column, row) == HOT
    assert least[row, column] > 30
    least[row - 1 : row + 2, column - 1 : column + 2] = 0
    assert least.max() < 10


def test_only_two_episodes_have_the_hot_pixel(cut: Callable[[int, Span], Excerpt]) -> None:
    """The other cameras have none there."""
    for episode in (201, 206, 207, 210):
        codes = cut(episode, Span(200, 212) if episode in (201, 210) else Span(30, 42)).luma[5].round().astype(np.uint8)
        assert abs(int(codes[HOT[1], HOT[0]]) - int(cv2.medianBlur(codes, 5)[HOT[1], HOT[0]])) < 12


def test_the_night_is_neither_black_nor_frozen(cut: Callable[[int, Span], Excerpt]) -> None:
    """212: FFmpeg's blackdetect (98 % of pixels under 10 %, its defaults) and freezedetect find nothing in a garden,
    though it is all but black and nothing moves; without the noise it would be a freeze."""
    plan = plan_of(212)
    for garden in episodes._GARDENS[:2]:
        span = plan.span(Content(garden.first, garden.frames))
        seen = cut(212, span)
        said = run(["-i", str(seen.path), "-vf", "blackdetect=d=0.04,freezedetect=d=0.5", "-an", "-f", "null", "-"])
        assert "black_start" not in said and "freeze_start" not in said
        bright = (seen.luma > 16 + 21.9).mean(axis=(1, 2))
        assert bright.min() > 0.02 and bright.max() < 0.08
        assert 0.5 < np.median(steps(seen.luma)) < 3


def test_the_lamp_flickers_but_the_picture_stays(cut: Callable[[int, Span], Excerpt]) -> None:
    """212: two frames darker than both neighbours, of the same picture."""
    span = plan_of(212).span(Content(episodes._FLICKER_AT, 2))
    luma = cut(212, around(span)).luma
    mean = luma.mean(axis=(1, 2))
    assert set(np.flatnonzero(mean < mean.max() - 2)) == {8, 9}
    assert np.corrcoef(luma[7].ravel(), luma[8].ravel())[0, 1] > 0.9


@pytest.mark.parametrize("episode", [201, 205, 206, 207, 210, 212])
def test_pictures_have_no_other_fault(episode: int) -> None:
    """Drawn pictures, two of 47: luma, R', G' and B' within -5 and 105 % (EBU R 103 v3.0), luma within 0 and 100 %,
    but for the red door; none shows the one before again, in either field, unless it is staged."""
    version = version_of(episode)
    frames = max(sum(one.acts or FORMS[one.outlet].acts) for one in VERSIONS if one.episode == episode)
    shown = Pictures(MINI, episode, plan_of(episode).clock, version.staging)
    door, repeated = episodes._RED_DOOR, version.staging.sources()
    firsts = range(0, frames - 1, 47)
    pictures = shown.all(tuple(Stretch("programme", 2, first) for first in firsts))
    for first in firsts:
        before, now = (planes_of(next(pictures)) for _ in range(2))
        luma, cb, cr = now
        assert (luma.min(), luma.max()) >= (16, 16) and np.sort(luma.ravel())[-3:].min() <= 235
        if episode != 207 or not door.first - 2 < first < door.first + door.frames:
            y, b, r = (luma - 16) / 219, (cb.repeat(2, axis=1) - 128) / 224, (cr.repeat(2, axis=1) - 128) / 224
            for colour in (y, y + 1.5748 * r, y - 0.18732 * b - 0.46812 * r, y + 1.8556 * b):
                assert ((colour < -0.05) | (colour > 1.05)).mean() < 0.001, first
        if first + 1 not in repeated:
            for field in (0, 1):
                assert np.abs(luma[field::2] - before[0][field::2]).mean() > 0.3, first


def planes_of(picture: bytes) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    planes = np.frombuffer(picture, np.uint8).astype(np.float32)
    pixels = MINI.width * MINI.height
    return (
        planes[:pixels].reshape(MINI.height, MINI.width),
        planes[pixels : pixels * 3 // 2].reshape(MINI.height, -1),
        planes[pixels * 3 // 2 :].reshape(MINI.height, -1),
    )


@pytest.mark.parametrize("version", VERSIONS, ids=lambda version: f"{version.episode} {version.outlet}")
def test_no_act_begins_or_ends_beside_a_cut(version: Version) -> None:
    """A shot of one to three frames at the edge of an act would be a stray; every one here has twelve at least."""
    for span, content in layout(FORMS[version.outlet], version).acts:
        for edge in (content, content + span.frames):
            assert edge % SCENE_FRAMES == 0 or 12 <= edge % SCENE_FRAMES <= SCENE_FRAMES - 12
