"""What the demo renders is what it says it renders, seen by another decoder and another loudness meter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pyebur128
import pytest

from qc.demo.episodes import VERSIONS
from qc.demo.layout import layout
from qc.demo.outlet_forms import FORMS
from qc.demo.render import file_name, render, stems_of
from qc.demo.staging import Dip, Staging
from qc.demo.version import ONE_MIX, Version
from qc.timing.timecode import Counting

SHORT = replace(FORMS["corvane-5-mini"], acts=(90, 60))
BLACK_AT, ODD_AT = 40, 100
VERSION = Version(205, "corvane-5-mini", staging=Staging(dips=(Dip(BLACK_AT, (0.0,)),), leftover=(ODD_AT,)))


@pytest.fixture(scope="module")
def rendered(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return render(VERSION, tmp_path_factory.mktemp("demo"), stems_of(205), form=SHORT)


def frames(path: Path) -> Iterator[av.VideoFrame]:
    with av.open(str(path)) as container:
        yield from container.decode(video=0)


def test_picture_is_black_exactly_where_planned(rendered: Path) -> None:
    """Acts of 90 and 60 frames, 30 frames of black between, one black frame at 40; upper field first."""
    seen = list(frames(rendered))
    # Black is code 16 (BT.709 narrow range); coded pictures may be off by a code or two.
    dark = [number for number, frame in enumerate(seen) if frame.to_ndarray(format="gray").max() <= 24]
    assert len(seen) == 180
    assert dark == [BLACK_AT, *range(90, 120)]
    assert all(frame.interlaced_frame for frame in seen)


def test_tracks_and_timecode(rendered: Path) -> None:
    """Eight mono tracks of 24 bits at 48 kHz; only the first two sound; the label of the first frame."""
    with av.open(str(rendered)) as container:
        tracks = [(stream.codec_context.name, stream.channels) for stream in container.streams.audio]
        picture = container.streams.video[0]
        assert tracks == [("pcm_s24le", 1)] * 8
        assert picture.average_rate == Fraction(30000, 1001)
        assert "01:00:00;00" in (container.metadata.get("timecode"), picture.metadata.get("timecode"))
    peaks = [np.abs(track(rendered, number)).max() for number in range(8)]
    assert min(peaks[:2]) > 0.01 and max(peaks[2:]) == 0


def test_loudness_is_exact_by_libebur128(rendered: Path) -> None:
    """The acts joined read the wanted value on libebur128 (ITU-R BS.1770), within 0.05 LU."""
    pair = np.stack([track(rendered, 0), track(rendered, 1)], axis=1)
    edges = [round(frame * 48000 / SHORT.rate) for frame in (0, 90, 120, 180)]
    assert np.abs(pair[edges[1] : edges[2]]).max() == 0
    acts = np.ascontiguousarray(np.concatenate([pair[edges[0] : edges[1]], pair[edges[2] : edges[3]]]))
    meter = pyebur128.R128State(2, 48000, pyebur128.MeasurementMode.MODE_I)
    meter.add_frames(acts.reshape(-1), len(acts))
    assert pyebur128.get_loudness_global(meter) == pytest.approx(ONE_MIX, abs=0.05)


def track(path: Path, number: int) -> np.ndarray:
    """Samples of one track, (samples,) float64, full scale 1.0."""
    with av.open(str(path)) as container:
        blocks = [frame.to_ndarray().reshape(-1) for frame in container.decode(audio=number)]
    return np.concatenate(blocks) / 2.0**31


@pytest.mark.parametrize("version", VERSIONS, ids=lambda version: f"{version.episode} {version.outlet}")
def test_every_version_has_the_length_it_should(version: Version) -> None:
    """Programme frames, clean and planted, from labels by SMPTE ST 12-1; no two files share a name."""
    plan = layout(FORMS[version.outlet], version)
    drop = Counting(30, drop=True)
    wanted = {
        "corvane-5-mini": drop.frame("00:02:09;00") + (4 if version.episode == 204 else 0),  # NDF: 3870 for 3866
        "meadowline-public-mini": drop.frame("00:02:40;18"),
        "velmark-kanal-mini": 169 * 25,
        "tidewold-one-mini": 133 * 25,
        "kerrawind-mini": 132 * 25,
        "hoshinami-net-mini": drop.frame("00:02:24;00"),
    }
    assert sum(span.frames for span, _ in plan.acts) == wanted[version.outlet]
    assert len({file_name(other) for other in VERSIONS}) == len(VERSIONS)


def test_a_whole_minute_part_starts_on_a_whole_minute() -> None:
    """TIDEWOLD ONE: each part starts at 10:00, 10:01, 10:02, whatever the part before it is long."""
    plan = layout(FORMS["tidewold-one-mini"], Version(201, "tidewold-one-mini"))
    assert [plan.clock.at(span.first) for span, _ in plan.acts] == ["10:00:00:00", "10:01:00:00", "10:02:00:00"]
