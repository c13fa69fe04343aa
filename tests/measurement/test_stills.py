"""Stills come from exactly the frames that were measured, from the store at the second time, or with a reason."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from qc.measurement import child
from qc.measurement import store as store_module
from qc.measurement.child import RunLimits, measure_file
from qc.measurement.record import Measurement
from qc.measurement.stills import MOST, TakenStill, WantedStill, take_stills
from qc.measurement.store import Store
from tests.kit.numbered import number_in_jpeg, numbered, numbers_by_ffmpeg
from tests.kit.render import run

ROOT = Path(__file__).resolve().parents[2]
FRAMES = 130
_X264 = ("-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p")
_MPEG2 = ("-c:v", "mpeg2video", "-pix_fmt", "yuv422p", "-b:v", "3M", "-g", "15", "-bf", "2")

#: Name of the clip -> FFmpeg's arguments for it. Without -flags +cgop, MPEG-2 groups of pictures are open.
FORMS: dict[str, tuple[str, ...]] = {
    "long.mp4": (*_X264, "-g", "60", "-bf", "3"),
    "one-group.mov": (*_X264, "-g", "999", "-bf", "3", "-x264-params", "scenecut=0"),
    "open-group.mov": (*_X264, "-x264-params", "open-gop=1:keyint=24:min-keyint=24:bframes=3:b-pyramid=normal"),
    "refresh.mov": (*_X264, "-x264-params", "intra-refresh=1:keyint=30:bframes=0"),
    "mbaff.mov": (*_X264, "-flags", "+ildct+ilme", "-x264-params", "tff=1:keyint=48:bframes=2"),
    "matroska.mkv": (*_X264, "-g", "40", "-bf", "2"),
    "mpeg2.mxf": _MPEG2,
    "mpeg2-interlaced.mxf": (*_MPEG2, "-flags", "+ildct+ilme", "-vf", "setfield=tff"),
    "prores.mov": ("-c:v", "prores_ks", "-profile:v", "2", "-pix_fmt", "yuv422p10le"),
    "rgb.mov": ("-c:v", "qtrle", "-pix_fmt", "rgb24"),
    "late.ts": (*_X264, "-g", "30", "-bf", "2", "-output_ts_offset", "7"),
    "late.mov": (*_X264, "-g", "30", "-bf", "2", "-output_ts_offset", "3", "-avoid_negative_ts", "disabled"),
}


@pytest.fixture(scope="session")
def clip(media_dir: Path) -> Callable[[str], tuple[Path, Measurement]]:
    """A clip by its name, measured."""
    known: dict[str, tuple[Path, Measurement]] = {}

    def of(name: str) -> tuple[Path, Measurement]:
        if name not in known:
            path = media_dir / "numbered" / name
            if name == "edited.mp4":
                whole = numbered(path.with_name("long.mp4"), FRAMES, FORMS["long.mp4"])
                run(["-ss", "0.7", "-i", str(whole), "-c", "copy", str(path)])
            else:
                numbered(path, FRAMES, FORMS[name])
            known[name] = path, measure_file(path, store=None)
        return known[name]

    return of


@pytest.fixture
def copy(clip: Callable[[str], tuple[Path, Measurement]], tmp_path: Path) -> tuple[Path, Measurement]:
    """A clip that may be damaged."""
    path, measurement = clip("mpeg2.mxf")
    mine = tmp_path / "copy.mxf"
    mine.write_bytes(path.read_bytes())
    return mine, measurement


def ask(*frames: int, label: str = "01:00:00;00") -> list[WantedStill]:
    return [WantedStill(frame, label) for frame in frames]


def misbehave(monkeypatch: pytest.MonkeyPatch, then: str) -> None:
    """A child that reads its request into ``wanted``, then does as told."""
    code = f"""
import sys, time, os, json, base64
wanted = json.loads(sys.stdin.readline())["wanted"]
def say(**what): print(json.dumps(what), flush=True)
def progress(frame): say(progress=dict(frames=frame, seconds=frame / 25, share=0))
def still(frame): say(still=dict(frame=frame, jpeg=base64.b64encode(b"\\xff\\xd8 made").decode(), width=9, height=9))
{then}
"""
    monkeypatch.setattr(child, "WORKER", ("-u", "-c", code))


@pytest.mark.parametrize("name", [*FORMS, "edited.mp4"])
def test_a_still_shows_exactly_the_frame_that_was_counted(
    clip: Callable[[str], tuple[Path, Measurement]], name: str
) -> None:
    """The number read back from each JPEG is that of the frame in a decode from the beginning (FFmpeg program).

    Long and open groups of pictures with B-frames, interlaced coding, intra coding, RGB, times that do not start
    at zero and an edit list that skips frames; neighbours, both ends, and both sides of key frames.
    """
    path, measurement = clip(name)
    truth = numbers_by_ffmpeg(path)
    assert measurement.picture is not None and measurement.picture.frames == len(truth)
    last = len(truth) - 1
    frames = [0, 1, 2, 13, 14, 15, 16, 23, 24, 25, 29, 30, 31, 47, 48, 59, 60, 61, 77, last - 1, last]

    taken = take_stills(path, measurement, ask(*frames), store=None)

    assert {frame: still.reason for frame, still in taken.items() if still.reason} == {}
    assert {frame: number_in_jpeg(still.jpeg or b"") for frame, still in taken.items()} == {
        frame: truth[frame] for frame in frames
    }


def test_a_still_that_is_not_the_measured_frame_is_refused(clip: Callable[[str], tuple[Path, Measurement]]) -> None:
    """The luma of the found frame is counted again: where it is not the measured row, there is a reason, no picture."""
    path, measurement = clip("mpeg2.mxf")
    assert measurement.picture is not None
    luma = measurement.picture.luma.copy()
    luma[40] = luma[0]
    wrong = replace(measurement, picture=replace(measurement.picture, luma=luma))

    taken = take_stills(path, wrong, ask(39, 40, 41), store=None)

    assert [taken[frame].jpeg is None for frame in (39, 40, 41)] == [False, True, False]
    assert taken[40].reason == "the frame found by the seek is not the one that was measured"


def test_a_file_that_has_changed_or_gone_leaves_reasons(copy: tuple[Path, Measurement]) -> None:
    """Between measuring and the stills: changed in place, then gone; both are told, nothing is raised."""
    path, measurement = copy
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 255
    path.write_bytes(data)
    changed = take_stills(path, measurement, ask(3, 50), store=None)
    path.unlink()
    gone = take_stills(path, measurement, ask(3, 50), store=None)

    assert {still.reason for still in changed.values()} == {"the file has changed since it was measured"}
    assert all("cannot be read any more" in still.reason and still.jpeg is None for still in gone.values())


@pytest.mark.parametrize("name", ["mpeg2.mxf", "long.mp4", "prores.mov"])
def test_stills_of_a_damaged_file_are_right_or_have_a_reason(
    clip: Callable[[str], tuple[Path, Measurement]], tmp_path: Path, name: str
) -> None:
    """Bytes overwritten, then measured: far from there every still is right, there it may have a reason."""
    whole, _ = clip(name)
    path = tmp_path / name
    data = bytearray(whole.read_bytes())
    middle = len(data) // 3
    data[middle : middle + 1500] = b"\x55" * 1500
    path.write_bytes(data)
    measurement = measure_file(path, store=None)
    assert measurement.picture is not None and measurement.events
    frames = range(0, measurement.picture.frames, 2)

    taken = take_stills(path, measurement, ask(*frames)[:MOST], store=None)

    assert all((still.jpeg is None) == bool(still.reason) for still in taken.values())
    good = [frame for frame, still in taken.items() if still.jpeg is not None]
    assert {0, 2, 4, max(taken)} <= set(good)
    assert number_in_jpeg(taken[2].jpeg or b"") == 2


def test_a_file_without_picture_and_a_frame_that_is_not_there(clip: Callable[[str], tuple[Path, Measurement]]) -> None:
    """No child is started for what cannot be."""
    path, measurement = clip("mpeg2.mxf")
    none = take_stills(path, replace(measurement, picture=None), ask(3), store=None)
    taken = take_stills(path, measurement, ask(-1, FRAMES, 10**9), store=None)

    assert "no picture" in none[3].reason
    assert {still.reason for still in taken.values()} == {"there is no such frame"}
    assert take_stills(path, measurement, (), store=None) == {}


def test_stills_before_a_crash_are_kept_and_the_rest_goes_on_behind_it(
    clip: Callable[[str], tuple[Path, Measurement]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A child that dies at its second frame costs that frame; after three children the rest gets the reason."""
    path, measurement = clip("mpeg2.mxf")
    misbehave(
        monkeypatch,
        "progress(wanted[0]['frame']); still(wanted[0]['frame']); progress(wanted[1]['frame']); "
        "os.kill(os.getpid(), 11)",
    )
    taken = take_stills(path, measurement, ask(*range(8)), store=None)

    assert [frame for frame, still in taken.items() if still.jpeg] == [0, 2, 4]
    assert all("crashed (SIGSEGV)" in taken[frame].reason for frame in (1, 3, 5, 6, 7))
    assert "(frame 3)" in taken[3].reason


@pytest.mark.parametrize(
    ("then", "reason"),
    [
        ("time.sleep(60)", "no sign of life"),
        ("say(still=3); time.sleep(60)", "no still"),
        ("say(still=dict(frame=99, reason='x')); time.sleep(60)", "no still"),
        ("say(still=dict(frame=4, jpeg='//', width=1, height=1)); time.sleep(60)", "no still"),
        ("print('not json', flush=True); time.sleep(60)", "could not be understood"),
        ("say(result={})", "without a word"),
    ],
)
def test_a_child_that_hangs_or_talks_nonsense_is_a_reason(
    clip: Callable[[str], tuple[Path, Measurement]], monkeypatch: pytest.MonkeyPatch, then: str, reason: str
) -> None:
    """What was handed over before stays, everything after gets the reason; the parent never raises."""
    path, measurement = clip("mpeg2.mxf")
    misbehave(monkeypatch, f"still(3); {then}")
    taken = take_stills(path, measurement, ask(3, 4, 5), store=None, limits=RunLimits(no_progress_seconds=1.5))

    assert taken[3] == TakenStill(3, b"\xff\xd8 made", 9, 9)
    assert all(taken[frame].jpeg is None and reason in taken[frame].reason for frame in (4, 5))


# -- the store ---------------------------------------------------------------------------------------


@pytest.fixture
def kept(copy: tuple[Path, Measurement], tmp_path: Path) -> tuple[Path, Measurement, Store]:
    """A measured file in a store of its own."""
    path, measurement = copy
    store = Store(tmp_path / "store")
    store.keep(measurement, path)
    return path, measurement, store


def test_a_second_check_opens_no_media(kept: tuple[Path, Measurement, Store], monkeypatch: pytest.MonkeyPatch) -> None:
    """The same stills come from the store, reasons too, with no child started and the media gone."""
    path, measurement, store = kept
    assert measurement.picture is not None
    luma = measurement.picture.luma.copy()
    luma[40] = luma[0]
    wrong = replace(measurement, picture=replace(measurement.picture, luma=luma))
    first = take_stills(path, wrong, ask(3, 40, 77), store=store)
    path.unlink()
    monkeypatch.setattr(child, "WORKER", ("-c", "raise SystemExit(9)"))

    assert take_stills(path, wrong, ask(3, 40, 77), store=store) == first
    assert [still.jpeg is None for still in first.values()] == [False, True, False]


def test_another_label_is_another_still(kept: tuple[Path, Measurement, Store]) -> None:
    """What is burnt in belongs to the still: it is never served with another one's text."""
    path, measurement, store = kept
    first = take_stills(path, measurement, ask(3), store=store)[3]
    other = take_stills(path, measurement, ask(3, label="02:00:00;00"), store=store)[3]

    assert first.jpeg != other.jpeg
    assert take_stills(path, measurement, ask(3), store=store)[3] == first


def test_a_damaged_shelf_is_as_good_as_none(kept: tuple[Path, Measurement, Store]) -> None:
    """Whatever stands in the file: the stills are taken again, the same as before."""
    path, measurement, store = kept
    first = take_stills(path, measurement, ask(3), store=store)
    shelf = next(store.folder.glob("*.stills"))
    data = shelf.read_bytes()
    middle = data.index(b'"jpeg"') + 500
    other = b"A" if data[middle : middle + 1] != b"A" else b"B"
    flipped = data[:middle] + other + data[middle + 1 :]
    for harmed in (flipped, data[: len(data) // 2], b"", b"\xff\x00", b"[1]", b"[" * 100_000):
        shelf.write_bytes(harmed)
        assert take_stills(path, measurement, ask(3), store=store) == first
        assert shelf.read_bytes() == data


def test_stills_of_other_content_are_not_used(kept: tuple[Path, Measurement, Store]) -> None:
    """A file that looks alike by its samples but has another SHA-256 gets stills of its own."""
    path, measurement, store = kept
    take_stills(path, measurement, ask(3), store=store)
    other = replace(measurement, identity=replace(measurement.identity, sha256="0" * 64))
    path.unlink()

    assert take_stills(path, other, ask(3), store=store)[3].jpeg is None
    assert take_stills(path, measurement, ask(3), store=store)[3].jpeg is not None


def test_stills_go_when_their_record_goes(
    kept: tuple[Path, Measurement, Store],
    clip: Callable[[str], tuple[Path, Measurement]],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Making room throws out record and stills together; without a record nothing is kept."""
    path, measurement, store = kept
    take_stills(path, measurement, ask(3), store=store)
    assert list(store.folder.glob("*.stills"))
    monkeypatch.setattr(store_module, "MOST_BYTES", 1)
    store.keep(clip("prores.mov")[1])
    assert not list(store.folder.glob("*.stills"))

    assert take_stills(path, measurement, ask(3), store=store)[3].jpeg
    assert not list(store.folder.glob("*.stills"))


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_cannot_be_written_costs_only_time(kept: tuple[Path, Measurement, Store]) -> None:
    """Stills are taken and given even if they cannot be kept."""
    path, measurement, store = kept
    store.folder.chmod(0o500)
    try:
        assert take_stills(path, measurement, ask(3), store=store)[3].jpeg
    finally:
        store.folder.chmod(0o700)


def test_asking_for_stills_loads_no_decoder() -> None:
    """The parent stays light: PyAV, OpenCV and SciPy are imported in the child only."""
    code = (
        "import sys, qc.measurement.stills, qc.delivery.evidence; "
        "print([name for name in ('av', 'cv2', 'scipy', 'pyloudnorm') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
