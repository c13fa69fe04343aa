"""The short programme in formats that stations did not ask for: measured as what it is, or not measured with a reason.

What is there and where is known by construction (tests/kit/short_programme.py). Conversions between formats by FFmpeg's
scale filter. Film: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest

from qc.figures.black import black_frames, black_runs
from qc.figures.flashing import FlashRule, flash_events
from qc.figures.frame_series import FrameSeries
from qc.figures.freezes import still_runs
from qc.figures.levels import LevelBounds, level_events
from qc.figures.strays import stray_shots
from qc.judge import judge
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.measurement.one_pass import measure
from qc.measurement.record import METERS_VERSION, FileIdentity, Measurement
from qc.media.probe import probe
from qc.outlets.load import LoadedProfile, load_profile
from qc.report.document import as_json, verdict_document
from qc.timing.spans import Span
from tests.kit.render import render
from tests.kit.short_programme import FLASHES, Plan
from tests.kit.station_encodes import TAGS, lossless

pytestmark = pytest.mark.realmedia

SIZE, PLAN = (320, 180), Plan()
#: EBU R 103 v3.0.
LEVELS = LevelBounds((-5, 105), (-5, 105))
LUMA, RED, GREEN_LOW = ("Y", True), ("R", True), ("G", False)
PROFILE = """
base = ["whole-file", "clean-picture", "ebu-r103", "range-use", "flashing-bt1702-3", "picture-faults"]
[outlet]
name = "Harbour"
code = "harbour"
[structure.parts]
accept = ["single"]
[field_order.measured]
accept = ["top first", "progressive content"]
[picture.raster]
accept = ["320x180"]
[picture.rotation]
accept = [0]
[picture.alpha]
accept = ["none"]
[picture.colour]
accept = ["BT.709"]
"""
#: Checks of what pictures show, which a picture that could not be measured may not pass.
SHOWN = ("field_order.", "active_picture.", "stuck_pixels.", "levels.", "flashing.", "freeze.", "frames.", "cadence.")


@pytest.fixture(scope="module")
def outlet(tmp_path_factory: pytest.TempPathFactory) -> LoadedProfile:
    path = tmp_path_factory.mktemp("outlet") / "harbour.toml"
    path.write_text(PROFILE)
    return load_profile(path)


@dataclass(frozen=True)
class Checked:
    measurement: Measurement
    verdict: Verdict

    def of(self, requirement: str) -> Iterator[Finding]:
        return (one for one in self.verdict.findings if one.requirement.startswith(requirement))

    def outcomes(self, requirement: str) -> dict[str, Outcome]:
        return {one.subject: one.outcome for one in self.of(requirement)}


def check(path: Path, outlet: LoadedProfile) -> Checked:
    """Measured and judged; nothing that was not measured passes, and each says why."""
    measurement = measured(path)
    verdict = judge(measurement, outlet)
    for one in verdict.findings:
        if one.outcome is Outcome.NOT_MEASURED:
            assert one.reason and one.measured is None, one
    as_json(verdict_document(verdict))  # refuses what is no number
    return Checked(measurement, verdict)


def measured(path: Path) -> Measurement:
    """As the child process does, without a process for each of so many files."""
    facts = probe(path)
    done = measure(path, facts)
    identity = FileIdentity(path.name, done.size, done.sha256, "0" * 64)
    return Measurement(
        identity, facts, done.sound, done.picture, done.events, not done.because, done.because, "0", METERS_VERSION, {}
    )


def planted(checked: Checked) -> dict[str, object]:
    """What is found of that which was planted, levels apart."""
    picture = checked.measurement.picture
    assert picture is not None
    black, frames = black_frames(picture, 10, 98), FrameSeries.of(picture.extra)
    assert frames is not None
    events = flash_events(picture.extra, "bt1702", Fraction(25), FlashRule())
    return {
        "frames": picture.frames,
        "black": black_runs(picture, 10, 98),
        "freezes": [run.span for run in still_runs(frames, black)],
        "strays": [stray.span for stray in stray_shots(frames, 4, black)],
        "flashes": [(one.span, one.changes, round(one.area)) for one in events],
    }


TRUTH: dict[str, object] = {
    "frames": PLAN.frames,
    "black": PLAN.black,
    "freezes": [PLAN.freeze],
    "strays": [PLAN.stray],
    "flashes": [(PLAN.flashing, 2 * FLASHES, 40)],
}


def outside(checked: Checked) -> dict[tuple[str, bool], Span]:
    picture = checked.measurement.picture
    assert picture is not None
    events = level_events(picture.extra, LEVELS, 1.0, 3, [Span(0, picture.frames)])
    return {(one.component, one.high): one.span for one in events}


@dataclass(frozen=True)
class Odd:
    """A file of its own kind.

    options  FFmpeg's, after the input
    facts    chroma, bits and alpha as the headers say
    outside  components outside their levels, each where it was planted
    """

    name: str
    options: tuple[str, ...]
    facts: tuple[str, int, bool]
    outside: frozenset[tuple[str, bool]] = frozenset({LUMA, RED})


def ffv1(pixels: str) -> tuple[str, ...]:
    return "-vf", f"format={pixels},{TAGS}", "-c:v", "ffv1"


def rgb(pixels: str, *codec: str) -> tuple[str, ...]:
    return "-vf", f"scale=in_color_matrix=bt709,format={pixels}", *codec


#: Full range RGB ends at white: what lay outside was clipped when it was made.
NOTHING: frozenset[tuple[str, bool]] = frozenset()
GREY = ("-vf", f"extractplanes=y,{TAGS}", "-c:v", "ffv1")
FULL = "scale=in_range=limited:out_range=full,format=yuv422p10le,setparams=range={}:colorspace=bt709"
ODD = (
    Odd("alpha-8.mkv", ffv1("yuva444p"), ("4:4:4", 8, True)),
    Odd("alpha-4444.mov", ("-vf", f"format=yuva444p10le,{TAGS}", "-c:v", "prores_ks", "-profile:v", "4444"),
        ("4:4:4", 12, True)),
    Odd("alpha-animation.mov", rgb("argb", "-c:v", "qtrle"), ("RGB", 8, True), NOTHING),
    Odd("rgb-8.avi", rgb("bgr24", "-c:v", "rawvideo"), ("RGB", 8, False), NOTHING),
    Odd("rgb-10.mkv", rgb("gbrp10le", "-c:v", "ffv1"), ("RGB", 10, False), NOTHING),
    Odd("rgb-avc.mp4", rgb("rgb24", "-c:v", "libx264rgb", "-crf", "1", "-preset", "ultrafast"),
        ("RGB", 8, False), NOTHING),
    Odd("444-avc.mp4", ("-vf", f"format=yuv444p,{TAGS}", "-c:v", "libx264", "-crf", "8", "-preset", "ultrafast"),
        ("4:4:4", 8, False)),
    Odd("422-12.mkv", ffv1("yuv422p12le"), ("4:2:2", 12, False)),
    Odd("411.mkv", ffv1("yuv411p"), ("4:1:1", 8, False)),
    Odd("440.mkv", ffv1("yuv440p"), ("4:4:0", 8, False)),
    Odd("packed-8.mov", ("-vf", f"format=uyvy422,{TAGS}", "-c:v", "rawvideo"), ("4:2:2", 8, False)),
    Odd("packed-10.mov", ("-vf", f"format=yuv422p10le,{TAGS}", "-c:v", "v210"), ("4:2:2", 10, False)),
    Odd("grey-10.mkv", GREY, ("4:0:0", 10, False), frozenset({LUMA})),
    Odd("full.mkv", ("-vf", FULL.format("full"), "-c:v", "ffv1"), ("4:2:2", 10, False), NOTHING),
    Odd("full.mov", ("-vf", "scale=in_range=limited:out_range=full,format=yuvj422p", "-c:v", "mjpeg", "-q:v", "2"),
        ("4:2:2", 8, False), NOTHING),
)  # fmt: skip


@pytest.fixture(scope="module")
def source(media_dir: Path) -> Path:
    return lossless(media_dir, "progressive", SIZE)


def made(source: Path, name: str, *options: str) -> Path:
    return render(source.parent / f"odd-{name}", ["-i", str(source), *options, "-threads", "2"])


@pytest.mark.parametrize("odd", ODD, ids=lambda odd: odd.name)
def test_an_odd_format_is_measured_as_what_it_is(odd: Odd, source: Path, outlet: LoadedProfile) -> None:
    """Everything at its frame in every format; outside the levels what can be outside in it."""
    checked = check(made(source, odd.name, *odd.options), outlet)
    facts = checked.measurement.facts.picture
    assert facts is not None and (facts.chroma, facts.bit_depth, facts.alpha) == odd.facts
    assert planted(checked) == TRUTH
    assert outside(checked) == dict.fromkeys(odd.outside, PLAN.hot)
    assert list(checked.outcomes("picture.alpha").values()) == [Outcome.FAIL if odd.facts[2] else Outcome.PASS]
    # 250 pictures tell whether the range was scaled twice, 40 s where black stands; these are 159, without sound
    unmeasured = {one.requirement for one in checked.verdict.findings if one.outcome is Outcome.NOT_MEASURED}
    assert unmeasured == {"levels.scaling", "levels.black", "integrity.stream_lengths"}


def test_full_range_that_is_called_narrow_is_read_as_it_is_called(source: Path, outlet: LoadedProfile) -> None:
    """Black at 0 lies under -5 %, whatever was meant: EBU R 103 v3.0."""
    checked = check(made(source, "called-narrow.mkv", "-vf", FULL.format("limited"), "-c:v", "ffv1"), outlet)
    (low,) = (one for one in checked.of("levels.range") if one.subject == "luma, low")
    gap = PLAN.part("gap")
    assert low.measured == 100.0 and any(place.span.overlap(gap) == gap.frames for place in low.places)
    assert outside(checked)["Y", True].overlap(PLAN.hot) == PLAN.hot.frames


@pytest.mark.parametrize(
    ("tag", "levels", "words"),
    [
        ("smpte170m", {GREEN_LOW, LUMA}, ""),  # G' of that red is -11 % in BT.601: a wrong tag makes it so
        ("unknown", {GREEN_LOW, LUMA}, "no colour matrix is tagged: BT.601 assumed"),
        ("gbr", {GREEN_LOW, LUMA}, "the pictures are tagged RGB, which they are not: BT.601 assumed"),
        ("ycgco", {LUMA}, "the colour matrix is YCgCo: R, G and B cannot be derived"),
        ("ictcp", {LUMA}, "the colour matrix is ICtCp: R, G and B cannot be derived"),
        ("bt2020c", {LUMA}, "the colour matrix is BT.2020 constant luminance: R, G and B cannot be derived"),
    ],
)
def test_tags_of_colour_are_believed_or_said_to_be_missing(
    tag: str, levels: set[tuple[str, bool]], words: str, source: Path, outlet: LoadedProfile
) -> None:
    """Luma does not depend on them; R, G and B do (matrices of ITU-R BT.601-7 and BT.709-6). Up to 576 lines without a
    tag are BT.601 (common practice, no source). Where no matrix gives R, G and B, neither colour nor red is passed."""
    checked = check(made(source, f"{tag}.mkv", "-vf", f"setparams=colorspace={tag}", "-c:v", "ffv1"), outlet)
    assert planted(checked) == TRUTH and set(outside(checked)) == levels
    assert all(words in one.reason for one in checked.of("levels.range") if one.subject == "red, green and blue")
    said = " ".join(one.reason for one in checked.of("levels.range"))
    assert words in said and ("assumed" in said) == ("assumed" in words)
    derived = "cannot" not in words
    assert ("red, green and blue" in checked.outcomes("levels.range")) is not derived
    wanted = Outcome.PASS if derived else Outcome.NOT_MEASURED
    assert checked.outcomes("flashing.red") == {"red flashes": wanted}


@pytest.mark.parametrize(
    ("size", "pixels"),
    [((321, 179), "yuv444p"), ((319, 177), "yuv420p"), ((320, 178), "yuv410p"), ((181, 321), "yuv422p10le")],
)
def test_odd_rasters(size: tuple[int, int], pixels: str, source: Path, outlet: LoadedProfile) -> None:
    """Odd numbers of rows and columns, and upright: chroma then has half a sample more than luma."""
    shape = f"scale={size[0]}:{size[1]}:flags=area,format={pixels},{TAGS}"
    checked = check(made(source, f"{size[0]}x{size[1]}-{pixels}.mkv", "-vf", shape, "-c:v", "ffv1"), outlet)
    assert planted(checked) == TRUTH
    assert outside(checked) == {LUMA: PLAN.hot, RED: PLAN.hot}
    assert checked.outcomes("picture.raster") == {"file": Outcome.FAIL}
    (box,) = (one for one in checked.of("active_picture.inserts"))
    assert box.measured == "letterbox"


@pytest.mark.parametrize("size", ["2:2", "1:1", "320:2"])
def test_a_raster_too_small_for_anything_is_not_measured(size: str, source: Path, outlet: LoadedProfile) -> None:
    shape = f"scale={size}:flags=area,format=yuv444p,{TAGS}"
    path = made(source, f"{size.replace(':', 'x')}.mkv", "-vf", shape, "-c:v", "ffv1")
    for one in check(path, outlet).verdict.findings:
        if one.requirement.startswith(SHOWN):
            assert one.outcome is Outcome.NOT_MEASURED and "too small" in one.reason, one


@pytest.mark.parametrize("turn", [90, 180])
def test_a_turned_display_matrix_is_told_and_the_picture_measured_as_coded(
    turn: int, source: Path, outlet: LoadedProfile
) -> None:
    """Rows are those of the file: the letterbox stays one."""
    plain = made(source, "upright.mov", "-vf", f"format=yuv422p,{TAGS}", "-c:v", "mpeg2video", "-q:v", "2")
    path = render(
        source.parent / f"odd-turned-{turn}.mov", ["-display_rotation", str(turn), "-i", str(plain), "-c", "copy"]
    )
    checked = check(path, outlet)
    assert planted(checked) == TRUTH and outside(checked) == {LUMA: PLAN.hot, RED: PLAN.hot}
    (rotation,) = checked.of("picture.rotation")
    assert (rotation.outcome, rotation.measured) == (Outcome.FAIL, 360 - turn)  # clockwise; FFmpeg's option is not
    assert [one.measured for one in checked.of("active_picture.inserts")] == ["letterbox"]


def test_a_raster_that_changes_in_mid_stream(source: Path, outlet: LoadedProfile) -> None:
    """Two transport streams one after the other: the change is an event at its frame and fails; rows and columns mean
    nothing throughout; what counts in parts of the picture goes on."""
    change, coded = PLAN.part("hot").first, ("-c:v", "libx264", "-crf", "8", "-preset", "ultrafast")
    first = made(source, "before.ts", "-vf", f"format=yuv420p,{TAGS}", "-frames:v", str(change), *coded)
    smaller = f"trim=start_frame={change},scale=240:136:flags=area,format=yuv420p,{TAGS}"
    second = made(source, "after.ts", "-vf", smaller, "-copyts", *coded)
    path = source.parent / "odd-changes.ts"
    path.write_bytes(first.read_bytes() + second.read_bytes())
    checked = check(path, outlet)
    assert planted(checked) == TRUTH and outside(checked) == {LUMA: PLAN.hot, RED: PLAN.hot}
    assert [event.frame for event in checked.measurement.events if event.kind == "raster change"] == [change]
    assert checked.outcomes("integrity.decodable") == {"file": Outcome.FAIL}
    for one in checked.of("active_picture."):
        assert one.outcome is Outcome.NOT_MEASURED and one.reason == "the raster changes in mid-stream"


def test_damaged_pictures_are_in_no_measurement(source: Path, outlet: LoadedProfile) -> None:
    """Ten pictures of an intra codec with bytes turned over in the middle of them: told by the decoder, left out of all
    series, the rest at its frames. The file fails for them, and what passes says that it has not seen them."""
    plain = made(source, "intra.mov", "-vf", f"format=yuv422p10le,{TAGS}", "-c:v", "prores")
    hurt = range(PLAN.part("barred").first + 10, PLAN.part("barred").first + 20)
    path = source.parent / "odd-hurt.mov"
    path.write_bytes(with_hurt_pictures(plain, hurt))
    checked = check(path, outlet)
    assert checked.measurement.picture is not None
    assert np.flatnonzero(checked.measurement.picture.counted == 0).tolist() == list(hurt)
    assert planted(checked) == TRUTH and outside(checked) == {LUMA: PLAN.hot, RED: PLAN.hot}
    assert checked.outcomes("integrity.decodable") == {"file": Outcome.FAIL}
    for one in checked.verdict.findings:
        if one.requirement.startswith(SHOWN) and one.outcome is not Outcome.NOT_MEASURED:
            assert (
                "10 damaged pictures not looked at" in one.reason or "10 frames damaged, not measured" in one.reason
            ), one


def with_hurt_pictures(path: Path, frames: range) -> bytes:
    """Every seventh byte of the later two thirds of these pictures' packets changed."""
    content = bytearray(path.read_bytes())
    with av.open(str(path)) as container:
        packets = [packet for packet in container.demux(video=0) if packet.size]
    for packet in packets[frames.start : frames.stop]:
        assert packet.pos is not None
        for at in range(packet.pos + packet.size // 3, packet.pos + packet.size - 20, 7):
            content[at] ^= 0x5A
    return bytes(content)
