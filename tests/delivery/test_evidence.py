"""Stills of a checked file: the frames that findings name, with the file's own timecode in them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest

from qc.delivery.evidence import stills_of
from qc.delivery.run import Ask
from qc.judge.verdict import Outcome, Verdict
from qc.measurement.child import measure_file
from qc.measurement.record import Measurement
from qc.measurement.store import Store
from qc.media.letters import written
from qc.programme.place import Area
from tests.kit.numbered import number_in_jpeg, numbered
from tests.kit.verdicts import finding, nothing_found, place, verdict


@pytest.fixture(scope="session")
def clip(media_dir: Path) -> tuple[Path, Measurement]:
    arguments = ("-c:v", "mpeg2video", "-pix_fmt", "yuv422p", "-b:v", "3M", "-bf", "2", "-timecode", "01:00:00;00")
    path = numbered(media_dir / "numbered" / "labels.mxf", 90, arguments)
    return path, measure_file(path, store=None)


def asks(*frames: int) -> Verdict:
    """A verdict with one failing finding at each frame."""
    faults = [finding(check="integrity", outcome=Outcome.FAIL, places=(place(frame),)) for frame in frames]
    return replace(verdict(), findings=tuple(faults), timeline=None, programme=nothing_found())


def test_every_named_frame_has_its_still_with_its_timecode(clip: tuple[Path, Measurement], tmp_path: Path) -> None:
    """Frame and burnt-in label belong together: 01:00:00;00 and so on of a drop-frame file (SMPTE ST 12-1)."""
    path, measurement = clip
    stills = stills_of(path, measurement, [asks(5, 60), asks(60, 31)], Ask(profiles=(), store=Store(tmp_path)))

    assert set(stills) == {5, 60, 31} and all(still.frame == frame for frame, still in stills.items())
    for frame, label in ((5, "01:00:00;05"), (31, "01:00:01;01"), (60, "01:00:02;00")):
        content = stills[frame].jpeg or b""
        assert number_in_jpeg(content) == frame
        assert _written_at_the_lower_left(content, label) > 0.99
        assert _written_at_the_lower_left(content, "01:00:59;28") < 0.99


def test_cuts_of_acts_have_stills_too(clip: tuple[Path, Measurement]) -> None:
    """First and last frame of an act stand on the viewing list, after the findings' own frames."""
    path, measurement = clip
    whole = replace(verdict(), findings=(), timeline=None)
    assert 0 in stills_of(path, measurement, [whole], Ask(profiles=()))


def test_frames_that_no_file_has_are_left_out(clip: tuple[Path, Measurement]) -> None:
    """The picture after the last, and a finding of a file without picture, ask for nothing."""
    path, measurement = clip
    ask = Ask(profiles=())

    assert set(stills_of(path, measurement, [asks(89, 90)], ask)) == {89}
    assert stills_of(path, replace(measurement, picture=None), [asks(3)], ask) == {}
    assert stills_of(path, measurement, [], ask) == {}


def test_media_trouble_is_a_reason(clip: tuple[Path, Measurement], tmp_path: Path) -> None:
    """A file that has gone leaves its findings with the reason."""
    _, measurement = clip
    still = stills_of(tmp_path / "gone.mxf", measurement, [asks(3)], Ask(profiles=()))[3]
    assert still.jpeg is None and "cannot be read any more" in still.reason


def test_a_still_is_the_picture_alone(clip: tuple[Path, Measurement]) -> None:
    """What one finding points at is not drawn into a picture that other findings show: it is as without it."""
    path, measurement = clip
    spot = finding(check="integrity", outcome=Outcome.FAIL, places=(place(3, area=Area(0.6, 0.6, 0.2, 0.2)),))
    with_area = stills_of(path, measurement, [replace(asks(), findings=(spot,))], Ask(profiles=()))

    assert with_area == stills_of(path, measurement, [asks(3)], Ask(profiles=()))


def _grey(content: bytes) -> np.ndarray:
    return cv2.imdecode(np.frombuffer(content, np.uint8), cv2.IMREAD_GRAYSCALE).astype(int)


def _written_at_the_lower_left(content: bytes, label: str) -> float:
    """Best share of dots that agree with the label, wherever near the corner it stands."""
    picture, ink = _grey(content), written(label)
    high, wide = ink.shape
    bottom = picture.shape[0]
    return max(
        float(np.mean((picture[top : top + high, left : left + wide] > 130) == ink))
        for top in range(bottom - high - 20, bottom - high)
        for left in range(4, 24)
    )
