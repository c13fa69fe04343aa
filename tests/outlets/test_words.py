"""Limits in words, what two outlets ask differently, and what is allowed but odd."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.judge.catalogue import check_of
from qc.judge.limits import number_bounds
from qc.outlets.diff import Difference, differences
from qc.outlets.lint import lint
from qc.outlets.load import list_profiles, load_profile
from qc.outlets.schema import Group, SheetAgreement
from qc.outlets.schema_kinds import Count, DurationLimit, LoudnessLimit, NumberLimit, TruePeakLimit
from qc.outlets.sections_levels import LevelsBlack, LevelsClipping, LevelsRange, LevelsScaling
from qc.outlets.sections_motion import SolidPicture
from qc.outlets.wording import group_words, limit_words, settings
from tests.kit.profiles import GOOD, write_profile

WORDS = [
    (LoudnessLimit(unit="LKFS", target=-24.0, tolerance=2.0), "-24.0 LKFS +/- 2.0"),
    (LoudnessLimit(unit="LKFS", target=-24, tolerance=(-4.0, 1.0)), "-24.0 LKFS -4.0 / +1.0"),
    (LoudnessLimit(unit="LUFS", target=-23.0, tolerance=0.25), "-23.0 LUFS +/- 0.25"),
    (LoudnessLimit(unit="LUFS", min=-24.0, max=-22.0), "-24.0 to -22.0 LUFS"),
    (LoudnessLimit(unit="LUFS", min=-28.0), "at least -28.0 LUFS"),
    (TruePeakLimit(unit="dBTP", max=-2.0), "at most -2.0 dBTP"),
    (TruePeakLimit(unit="dBTP", max=-1.0, tolerance=0.3), "at most -1.0 dBTP, measured within +/- 0.3"),
    (DurationLimit(exact="00:21:30;00"), "00:21:30;00 exactly"),
    (DurationLimit(exact="10 s", tolerance="1 frame"), "10 s +/- 1 frame"),
    (DurationLimit(min="00:28:00:00", max="00:28:30:00"), "00:28:00:00 to 00:28:30:00"),
    (DurationLimit(max="2 s"), "at most 2 s"),
    (DurationLimit(min="5 s"), "at least 5 s"),
    (SheetAgreement(tolerance="0 frames"), "agrees to the frame, where one is given"),
    (SheetAgreement(tolerance="10 frames"), "agrees within 10 frames, where one is given"),
    (SheetAgreement(tolerance="1 s"), "agrees within 1 s, where one is given"),
    (
        LevelsRange(luma_min=-5.0, luma_max=105, rgb_min=-5, rgb_max=105, area_percent=1.0),
        "luma and RGB -5 to 105 %, at most 1 % of the picture outside",
    ),
    (
        LevelsRange(luma_min=0, luma_max=103, rgb_max=105, area_percent=0.5),
        "luma 0 to 103 %, RGB at most 105 %, at most 0.5 % of the picture outside",
    ),
    (LevelsRange(luma_min=-1, area_percent=1), "luma at least -1 %, at most 1 % of the picture outside"),
    (LevelsScaling(), "black and white at their nominal levels"),
    (
        LevelsBlack(lifted_percent=8, seconds=40, crushed_percent=1.5),
        "something at or under 8 % within 40 s, at most 1.5 % of the picture piled up at black",
    ),
    (LevelsClipping(area_percent=5, seconds=2), "at most 5 % of the picture at one code for 2 s"),
    (SolidPicture(), "no picture with 95 % or more of it in one colour"),
    (
        SolidPicture(percent=99.5, longest="3 frames"),
        "no picture with 99.5 % or more of it in one colour for longer than 3 frames",
    ),
    (SolidPicture(percent=100, longest="1 s"), "no picture of one colour for longer than 1 s"),
    (Count(exact=4), "exactly 4"),
    (Count(min=1), "at least 1"),
    (Count(min=3, max=5), "3 to 5"),
]


@pytest.mark.parametrize(("limit", "words"), WORDS, ids=[words for _, words in WORDS])
def test_limits_in_words(limit: NumberLimit, words: str) -> None:
    """As the trade writes them."""
    assert limit_words("", limit) == words


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("wrapper.kind", "MXF OP1a"),
        ("wrapper.extension", "ending agrees with the content"),
        ("picture.raster", "1920x1080"),
        ("picture.bit_depth", "8 bit"),
        ("audio.sample_rate", "48000 Hz"),
        ("structure.acts", "exactly 4 acts"),
        ("streams.pictures", "exactly 1 picture stream"),
        ("integrity.stream_lengths", "at most 1 frame"),
        ("structure.break_content", "luma at most 5.0 % of white, peaks at most -60.0 dBFS"),
        ("structure.act_ends", "at most -30.0 dBFS in the last two frames"),
        ("timecode.start", "01:00:00;00"),
    ],
)
def test_limits_of_corvane_in_words(key: str, words: str) -> None:
    """Every kind of requirement says its limit."""
    assert limit_words(key, dict(load_profile("corvane-5").profile.requirements())[key]) == words


@pytest.mark.parametrize("path", list_profiles(), ids=lambda path: path.stem)
def test_profiles_and_findings_say_a_number_alike(path: Path) -> None:
    """The same limit reads the same in a profile and in a finding; every requirement has a title."""
    for key, requirement in load_profile(path).profile.requirements():
        assert check_of(key)[1]
        if isinstance(requirement, NumberLimit) and requirement.unit not in ("frames", "Mb/s"):
            assert limit_words(key, requirement).startswith(number_bounds(requirement).words)


def test_groups_in_words() -> None:
    """Channels, layout, content, whether judged."""
    group = Group(name="spare", channels=[3, 4], layout="discrete", carries="silence", judged=False)
    assert group_words(group) == "channels 3, 4, discrete, must be silent, loudness and peaks not judged"


def test_differences_of_an_outlet_and_its_like() -> None:
    """The same profile twice asks for the same; clause and source are no difference."""
    profile = load_profile("corvane-5").profile
    assert differences(profile, profile) == ()


def test_differences_are_told_in_words(tmp_path: Path) -> None:
    """Changed, added and missing lines, a should, a channel group; in the order of the schema."""
    changed = (
        GOOD.replace("tolerance = 2.0", 'tolerance = 1.0\nlevel = "should"\nclause = "4.2"')
        .replace('[timecode.start]\nat = "01:00:00;00"\n', "")
        .replace("channels = [1, 2]", "channels = [3, 4]")
    )
    left = load_profile(write_profile(tmp_path / "a", GOOD)).profile
    right = load_profile(write_profile(tmp_path / "b", changed + "\n[structure.acts]\nexact = 4\n")).profile
    stereo = "stereo, carries programme, loudness and peaks judged"
    assert differences(left, right) == (
        Difference("timecode.start", "01:00:00;00", ""),
        Difference("structure.acts", "", "exactly 4 acts"),
        Difference("loudness.programme", "-24.0 LKFS +/- 2.0", "-24.0 LKFS +/- 1.0 (should)"),
        Difference("audio.group.mix", f"channels 1, 2, {stereo}", f"channels 3, 4, {stereo}"),
    )


ODD = [
    ("specification = \"Test Rider, 2026\"", "", "outlet.specification",
     "nobody can tell later which document this profile follows"),
    ("\"00:21:30;00\"", "\"00:21:30:00\"", "duration.trt.exact",
     "00:21:30:00 is counted non-drop-frame, the timecode is not"),
    ("exact = \"00:21:30;00\"", "exact = \"10 s\"\ntolerance = \"10 s\"", "duration.trt",
     "the tolerance 10 s is as long as the length itself"),
    ("layout = \"stereo\"", "layout = \"stereo\"\njudged = false", "audio.group",
     "no group is judged: the file's own first pair of channels is taken"),
    ("layout = \"stereo\"", "layout = \"stereo\"\n[[audio.group]]\nname = \"M&E\"\nchannels = [3]\nlayout = \"mono\"",
     "audio.group", '2 groups are judged for loudness, "mix" and "M&E" without a word of it: say judged = true, or '
     "false for music and effects and other extra mixes"),
    ("[true_peak", "[loudness.act]\ntarget = -23.0\ntolerance = 0.5\nunit = \"LUFS\"\n[true_peak", "loudness",
     "LUFS and LKFS in one profile: they are the same unit, use one name"),
    ("[true_peak", "[loudness.act]\nmax = -30.0\nunit = \"LKFS\"\n[true_peak", "loudness.act",
     "acts in this window cannot make the programme's"),
    ("[true_peak", "[loudness.max_short_term]\nmax = -30.0\nunit = \"LKFS\"\n[true_peak", "loudness.max_short_term",
     "the highest short-term value cannot be under the programme's loudness"),
    ("[true_peak", "[loudness]\nanchor = \"dialogue\"\n[true_peak", "loudness.anchor",
     "dialogue is not separated: the full programme is measured"),
    ("[true_peak", "[loudness.act]\nlevel = \"off\"\n[true_peak", "loudness.act",
     "level is off in test.toml, but nothing was inherited"),
    ("[audio.channels]", "[audio.must_be_silent]\nmax = -80.0\nunit = \"dBFS\"\n[audio.channels]",
     "audio.must_be_silent", 'no group carries "silence", so this line judges nothing'),
    ("[true_peak", '[freeze.inside_acts]\nmax = "12 frames"\n[freeze.stills]\nmax = "5 frames"\n[true_peak',
     "freeze.stills", "titles and cards may stand for 5 frames, a picture that stops in its shot for 12 frames: it is "
     "mostly the other way round"),
    ("[true_peak", '[black]\nstray_frames = 5\n[black.inside_acts]\nmax = "5 frames"\n[true_peak', "black.inside_acts",
     "at most 5 frames, no longer than the 5 frames up to which black is stray, so none is accepted but a fade"),
    ('code = "test"', 'code = "other"', "outlet.code",
     "the code is other, but the file is called test.toml: one name is better"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "where", "text"), ODD)
def test_odd_things_are_told_and_not_refused(tmp_path: Path, old: str, new: str, where: str, text: str) -> None:
    """Allowed, and most likely not meant: one warning, the profile still loads."""
    assert lint(write_profile(tmp_path))[1] == ()
    _, warnings = lint(write_profile(tmp_path, GOOD.replace(old, new)))
    assert [(warning.where, warning.text) for warning in warnings] == [(where, text)]


@pytest.mark.parametrize(
    ("first", "second", "odd"),
    [("", "judged = false", 0), ("judged = true", "judged = true", 0), ("", "judged = true", 1)],
)
def test_groups_that_say_whether_they_are_judged_are_not_odd(tmp_path: Path, first: str, second: str, odd: int) -> None:
    """The main mix may leave it unsaid where it is the only one judged, as in the outlets that come with the tool."""
    more = f'layout = "stereo"\n{first}\n[[audio.group]]\nname = "5.1"\nchannels = [3, 4]\nlayout = "stereo"\n{second}'
    assert len(lint(write_profile(tmp_path, GOOD.replace('layout = "stereo"', more)))[1]) == odd


def test_a_profile_that_asks_for_nothing_is_odd(tmp_path: Path) -> None:
    """Every file would pass."""
    text = '[outlet]\nname = "T"\ncode = "test"\nspecification = "S"\n'
    assert [warning.text for warning in lint(write_profile(tmp_path, text))[1]] == [
        "this profile asks for nothing: every file passes"
    ]


def test_a_setting_and_its_value_read_as_one_sentence() -> None:
    """What counts as stray black, as a person says it."""
    said = {key: f"{words} {value}" for key, words, value in settings(load_profile("corvane-5").profile)}
    assert said["black.stray_frames"] == "Black that is no fade is stray up to 5 frames"
    assert said["black.picture_percent"] == "A frame is black from 98.0 % of its pixels"
