"""The profiles that come with the tool: complete, clean, and asking for what the invented outlets ask for."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from qc.outlets.diff import differences
from qc.outlets.lint import lint
from qc.outlets.load import list_bases, list_profiles, load_profile
from qc.timing.durations import Duration
from qc.timing.timecode import Counting

ROOT = Path(__file__).resolve().parent.parent.parent
FULL = ["corvane-5", "hoshinami-net", "kerrawind", "meadowline-public", "tidewold-one", "velmark-kanal"]


def test_six_outlets_each_with_a_short_form() -> None:
    """The list has the six invented outlets and their short forms for the demo; bases are not outlets."""
    names = [path.stem for path in list_profiles()]
    assert names == FULL + [f"{name}-mini" for name in FULL]
    assert not set(names) & {path.stem for path in list_bases()}


@pytest.mark.parametrize("path", [*list_profiles(), *list_bases()], ids=lambda path: path.stem)
def test_shipped_profiles_are_clean(path: Path) -> None:
    """Every shipped profile and base loads, and nothing about it is odd."""
    loaded, warnings = lint(path)
    assert warnings == ()
    assert loaded.chain[-1] == loaded.file
    assert loaded.file.startswith("profiles/")


@pytest.mark.parametrize("path", list_profiles(), ids=lambda path: path.stem)
def test_outlets_say_who_they_are_and_what_is_not_checked(path: Path) -> None:
    """The code is the file's name; the list of what is not checked is never empty."""
    outlet = load_profile(path).profile.outlet
    assert outlet.code == path.stem
    assert outlet.specification and outlet.revision and outlet.region and outlet.kind
    assert len(outlet.not_covered) >= 5
    assert any("flash" in text.lower() for text in outlet.not_covered)


@pytest.mark.parametrize("path", [*list_profiles(), *list_bases()], ids=lambda path: path.stem)
def test_files_read_like_an_exhibit(path: Path) -> None:
    """A file starts with a comment that says what it is, and fits 130 columns."""
    text = path.read_text(encoding="utf-8")
    assert text.startswith("# ")
    assert max(len(line) for line in text.splitlines()) <= 130


def test_bases_hold_no_outlet() -> None:
    """A base carries published values, never an outlet's name or clause."""
    for path in list_bases():
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        assert "outlet" not in data
        assert "clause" not in path.read_text(encoding="utf-8")


#: As the six invented outlets ask; (loudness low, high, unit), peak, channels, acts, break, start, accounting.
ASKED = {
    "corvane-5": (-26, -22, "LKFS", -2, 8, 4, "10 s", "01:00:00;00", "whole-second outward"),
    "meadowline-public": (-26, -22, "LKFS", -2, 4, None, None, "01:00:00;00", "frame-exact"),
    "velmark-kanal": (-23.5, -22.5, "LUFS", -1, 8, None, None, "10:00:00:00", "frame-exact"),
    "tidewold-one": (-23.5, -22.5, "LUFS", -3, 16, 3, None, "10:00:00:00", "frame-exact"),
    "kerrawind": (-25, -23, "LKFS", -2, 4, 4, "2 s", "10:00:00:00", "whole-second outward"),
    "hoshinami-net": (-28, -23, "LKFS", -1, 4, 2, "1 s", "01:00:00;00", "frame-exact"),
}


@pytest.mark.parametrize("name", FULL)
def test_outlets_ask_for_what_they_ask_for(name: str) -> None:
    """Loudness window, ceiling, channels, acts, breaks, start label and accounting of each invented outlet."""
    profile = load_profile(name).profile
    loudness, structure = profile.loudness.programme, profile.structure
    assert loudness and profile.true_peak.programme and profile.audio.channels and profile.timecode.start
    assert (
        loudness.lowest,
        loudness.highest,
        loudness.unit,
        profile.true_peak.programme.max,
        profile.audio.channels.exact,
        structure.acts.exact if structure.acts else None,
        structure.break_length.exact if structure.break_length else None,
        profile.timecode.start.at,
        profile.programme.accounting,
    ) == ASKED[name]


#: Frames of SMPTE ST 12-1 labels; 24:00;00 does not exist in drop-frame, its first label is ;02.
TRT_FRAMES = {
    "corvane-5": (38662, 38662),
    "meadowline-public": (48132, 48132),
    "velmark-kanal": (42000, 42750),
    "tidewold-one": (33000, 33750),
    "kerrawind": (32975, 33025),
    "hoshinami-net": (43157, 43159),
}


@pytest.mark.parametrize("name", FULL)
def test_running_times_in_frames(name: str) -> None:
    """TRT of each outlet as frames; 21:30;00 drop-frame is 38662 frames (SMPTE ST 12-1)."""
    profile = load_profile(name).profile
    trt, rates = profile.duration.trt, profile.picture.frame_rate
    assert trt and rates
    from fractions import Fraction

    rate = Fraction(rates.accept[0])
    low = high = 0
    if trt.exact:
        spread = Duration(trt.tolerance).frames(rate) if trt.tolerance else 0
        low, high = Duration(trt.exact).frames(rate) - spread, Duration(trt.exact).frames(rate) + spread
    elif trt.min and trt.max:
        low, high = Duration(trt.min).frames(rate), Duration(trt.max).frames(rate)
    assert (low, high) == TRT_FRAMES[name]


def test_meadowline_head_is_counted_from_its_file_start() -> None:
    """The file begins at 00:58:20;00, the programme at 01:00:00;00: 2998 frames of head (SMPTE ST 12-1)."""
    head = load_profile("meadowline-public").profile.structure.head
    counting = Counting(30, drop=True)
    assert head and head.exact
    assert counting.frame(head.exact) == counting.frame("01:00:00;00") - counting.frame("00:58:20;00") == 2998


#: What a tenth of time and a small raster may change.
_MINI_MAY_CHANGE = {
    "picture.raster",
    "picture.bit_rate",
    "duration.trt",
    "structure.act_length",
    "structure.break_length",
    "structure.head",
    "structure.tail",
    "leader.layout",
    "leader.blip",
}


@pytest.mark.parametrize("name", FULL)
def test_short_forms_differ_in_times_and_raster_only(name: str) -> None:
    """A short form proves nothing about its outlet if it asks for anything else."""
    full, mini = load_profile(name), load_profile(f"{name}-mini")
    changed = {difference.key for difference in differences(full.profile, mini.profile)}
    assert changed <= _MINI_MAY_CHANGE
    assert {"picture.raster", "duration.trt"} <= changed
    assert mini.profile.picture.raster and mini.profile.picture.raster.accept == ["320x180"]


def test_one_mix_can_serve_all_six() -> None:
    """-23.3 with peaks at -3 is inside every outlet's window, and -23.6 is not."""
    limits = [load_profile(name).profile.loudness.programme for name in FULL]
    assert all(limit and limit.lowest <= -23.3 <= limit.highest for limit in limits)  # type: ignore[operator]
    assert not all(limit and limit.lowest <= -23.6 <= limit.highest for limit in limits)  # type: ignore[operator]


def test_every_profile_goes_into_the_wheel() -> None:
    """Each folder under profiles/ is a package of its own in setup.py, with its .toml files as data."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    assert project["package-dir"] == {"qc.outlets.station_profiles": "profiles"}
    setup = (ROOT / "setup.py").read_text(encoding="utf-8")
    folders = {path.parent.relative_to(ROOT / "profiles") for path in (ROOT / "profiles").rglob("*.toml")}
    for folder in folders:
        package = ".".join(["qc.outlets.station_profiles", *folder.parts])
        assert project["package-data"][package] == ["*.toml"]
        assert folder == Path() or f"{{PROFILES}}.{folder}" in setup
