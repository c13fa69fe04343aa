"""Everything that needs no decode: wrapper, streams, picture format, timecode, audio layout."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from qc.judge import judge, judge_headers
from qc.judge.verdict import Finding, Outcome
from qc.media.facts import FileFacts, OtherStream, TimecodeSource
from tests.kit.made import NTSC, SINGLE, Part, facts, loaded, measurement, picture_stream, sound_stream


def picture(accept: list[Any], name: str, level: str = "must", **stream: Any) -> Finding:
    """The finding of one requirement on one picture stream."""
    header = facts(pictures=(picture_stream(**stream),))
    (found,) = judge_headers(header, loaded(picture={name: {"accept": accept, "level": level}}))
    return found


def header(section: dict[str, Any], file: FileFacts, name: str = "") -> Finding:
    (found,) = judge_headers(file, loaded(**section), name=name)
    return found


@pytest.mark.parametrize(
    ("accept", "file", "name", "outcome"),
    [
        (["MXF OP1a"], facts(), "", "pass"),
        (["MXF"], facts(), "", "pass"),
        (["MXF OP1a"], facts(operational_pattern="OP-Atom"), "", "fail"),
        (["MXF OP1a"], facts(operational_pattern=None), "", "not measured"),
        (["MOV"], facts(), "", "fail"),
        (["MOV"], facts(wrapper="MOV", brand="qt  ", operational_pattern=None), "", "pass"),
        (["MOV"], facts(wrapper="MP4", brand="isom", operational_pattern=None), "a.mov", "advisory"),
        (["MOV"], facts(wrapper="MP4", brand="isom", operational_pattern=None), "a.mp4", "fail"),
        (["MOV"], facts(wrapper="MOV", brand="mp42", operational_pattern=None), "a.mov", "advisory"),
    ],
)
def test_wrapper_is_judged_by_content(accept: list[str], file: FileFacts, name: str, outcome: str) -> None:
    """An MP4 brand in a .mov file is legal, so it is looked at; an unreadable pattern is not guessed."""
    assert header({"wrapper": {"kind": {"accept": accept}}}, file, name).outcome.value == outcome


def test_ending_that_disagrees_with_the_content() -> None:
    """A renamed file."""
    found = header({"wrapper": {"extension": {"required": True}}}, facts(extension_agrees=False))
    assert found.outcome is Outcome.FAIL and "MXF" in str(found.measured)


def test_a_thumbnail_is_left_out_and_mentioned() -> None:
    """One picture and one cover are one picture."""
    file = facts(pictures=(picture_stream(), picture_stream(index=9, codec="PNG", attached=True)))
    found = header({"streams": {"pictures": {"exact": 1}}}, file)
    assert (found.outcome, found.measured) == (Outcome.PASS, 1)
    assert "thumbnail" in found.reason


def test_further_streams_by_kind() -> None:
    """Timecode is no stray; a data stream is, unless accepted."""
    file = facts(others=(*facts().others, OtherStream(4, "data", "klv", None, None)))
    assert header({"streams": {"other": {"accept": ["none"]}}}, facts()).outcome is Outcome.PASS
    assert header({"streams": {"other": {"accept": ["none"]}}}, file).outcome is Outcome.FAIL
    assert header({"streams": {"other": {"accept": ["data"]}}}, file).outcome is Outcome.PASS


def test_thirty_is_not_thirty_over_1001() -> None:
    """Exact rational rate; the consequence over 21:30 is 1.3 s (30 x 1290 s against 30000/1001 x 1290 s)."""
    found = picture(["30000/1001"], "frame_rate", frame_rate=Fraction(30))
    assert found.outcome is Outcome.FAIL
    assert "1.3 s apart" in found.reason
    assert picture(["30000/1001"], "frame_rate", frame_rate=NTSC).outcome is Outcome.PASS
    assert picture(["25"], "frame_rate", frame_rate=None).outcome is Outcome.NOT_MEASURED


@pytest.mark.parametrize(
    ("container", "stream", "outcome"),
    [
        ("interlaced, top first", "interlaced, top first", "pass"),
        (None, "interlaced, top first", "pass"),
        ("interlaced, top first", None, "pass"),
        ("interlaced, bottom first", "interlaced, bottom first", "fail"),
        ("interlaced, top first", "interlaced, bottom first", "fail"),
        ("interlaced, top first", "progressive", "fail"),
        (None, None, "not measured"),
    ],
)
def test_scan_flags_of_container_and_stream(container: str | None, stream: str | None, outcome: str) -> None:
    """Both must say the same; nobody saying anything is not measured."""
    found = picture(["interlaced, top first"], "scan", scan_by_container=container, scan_by_stream=stream)
    assert found.outcome.value == outcome
    if container and stream and container != stream:
        assert found.reason == "container and stream disagree"


@pytest.mark.parametrize(
    ("tags", "level", "outcome"),
    [
        (("BT.709", "BT.709", "BT.709"), "must", "pass"),
        ((None, None, None), "must", "fail"),  # a must asks for the tags
        ((None, None, None), "should", "advisory"),  # untagged is usual in MXF
        (("BT.709", None, "BT.709"), "must", "fail"),
        (("BT.2020", "BT.2100 PQ", "BT.2020"), "must", "fail"),
    ],
)
def test_colour_tags(tags: tuple[str | None, str | None, str | None], level: str, outcome: str) -> None:
    """All three name the accepted system (ITU-R BT.709); HDR tags never do."""
    more = dict(zip(("colour_primaries", "colour_transfer", "colour_matrix"), tags, strict=True))
    found = picture(["BT.709"], "colour", level, **more)
    assert found.outcome.value == outcome
    assert outcome == "pass" or (found.fix is not None and found.fix.action == "re-flag")


@pytest.mark.parametrize(
    ("by_stream", "outcome"),
    [
        (("BT.709", "BT.709", "BT.709"), "pass"),
        (("BT.709", "SMPTE 170M", None), "pass"),  # one curve under two names: ITU-T H.273, Table 3
        (("BT.2020", "HLG", "BT.2020"), "fail"),
    ],
)
def test_the_stream_must_not_contradict_the_wrapper(by_stream: tuple[str | None, ...], outcome: str) -> None:
    """Which of two tags is believed differs from player to player (common practice, no source): both are told."""
    tagged = dict.fromkeys(("colour_primaries", "colour_transfer", "colour_matrix"), "BT.709")
    found = picture(["BT.709"], "colour", "must", **tagged, colour_by_stream=by_stream)
    assert (found.outcome.value, found.measured) == (outcome, "BT.709")
    if outcome == "fail":
        assert "the picture stream itself says primaries BT.2020, transfer HLG, matrix BT.2020" in found.reason
        assert found.fix is not None and "in the headers of the picture stream" in found.fix.sentence


@pytest.mark.parametrize(
    ("box", "outcome"),
    [(None, "pass"), ((0, 0, 1920, 1080), "pass"), ((4, 2, 1912, 1076), "advisory"), ((0, 0, 1888, 1062), "fail")],
)
def test_a_clean_aperture_that_crops_a_few_pixels_is_advisory(box: Any, outcome: str) -> None:
    """Editing systems write such boxes (common practice); the numbers are told."""
    found = picture(["full"], "clean_aperture", clean_aperture=box)
    assert found.outcome.value == outcome
    if outcome == "advisory":
        assert "4 pixels left, 4 right, 2 top, 2 bottom" in found.reason


def bit_rate(codec: str, rate: int | None) -> Finding:
    limit = {"target": 50, "tolerance": 0.5, "unit": "Mb/s"}
    file = facts(pictures=(picture_stream(codec=codec, bit_rate=rate),))
    return header({"picture": {"bit_rate": limit}}, file)


def test_a_variable_codec_is_never_failed_for_a_low_average() -> None:
    """Simple pictures undershoot (common practice); a constant-rate codec has no such excuse."""
    assert bit_rate("MPEG-2", 50_400_000).outcome is Outcome.PASS
    assert bit_rate("MPEG-2", 49_000_000).outcome is Outcome.FAIL
    assert bit_rate("ProRes", 30_000_000).outcome is Outcome.ADVISORY
    assert bit_rate("ProRes", 80_000_000).outcome is Outcome.FAIL
    assert bit_rate("MPEG-2", None).outcome is Outcome.NOT_MEASURED


@pytest.mark.parametrize(
    ("name", "accept", "stream", "outcome"),
    [
        ("codec", ["MPEG-2"], {}, "pass"),
        ("codec", ["ProRes"], {}, "fail"),
        ("codec_profile", ["4:2:2"], {"profile": None}, "not measured"),
        ("chroma", ["4:2:2"], {"chroma": "4:2:0"}, "fail"),
        ("bit_depth", [10], {}, "fail"),
        ("raster", ["1920x1080"], {"width": 2048}, "fail"),
        ("sample_aspect", ["1:1"], {"sample_aspect": Fraction(4, 3)}, "fail"),
        ("rotation", [0], {"rotation": 90}, "fail"),
        ("alpha", ["none"], {"alpha": True}, "fail"),
        ("alpha", ["none"], {}, "pass"),
    ],
)
def test_format_of_the_picture(name: str, accept: list[Any], stream: dict[str, Any], outcome: str) -> None:
    """One of the accepted values; unknown is not measured."""
    found = picture(accept, name, **stream)
    assert found.outcome.value == outcome
    assert outcome != "fail" or found.fix is not None


def test_a_2k_master_is_told_how_to_become_hd() -> None:
    """2048 - 1920 = 128: 64 pixels on each side. Scaled to 1920 the height is 1920 x 1080 / 2048 = 1012.5, so 67.5
    lines are left, about 34 a side. By arithmetic."""
    found = picture(["1920x1080"], "raster", width=2048)
    assert found.fix is not None and "crop 64 pixels on each side" in found.fix.sentence
    left = 1080 - Fraction(1920 * 1080, 2048)
    assert f"accept {float(left)} blank lines, about {round(left / 2)} at the top and {round(left / 2)} at the" in (
        found.fix.sentence
    )


def timecodes(*sources: TimecodeSource, **section: Any) -> Finding:
    return header({"timecode": section}, facts(timecodes=sources))


DROP = TimecodeSource("timecode track 3", "01:00:00;00", True)


def test_counting_says_what_the_difference_costs() -> None:
    """38,662 frames: the drop and non-drop counts are 38 frames apart (SMPTE ST 12-1)."""
    file = facts(
        timecodes=(TimecodeSource("timecode track 3", "01:00:00:00", False),),
        pictures=(picture_stream(declared_frames=38662),),
    )
    found = header({"timecode": {"counting": {"accept": ["drop-frame"]}}}, file)
    assert (found.outcome, found.measured) == (Outcome.FAIL, "non-drop-frame")
    assert "38 frames apart" in found.reason
    assert found.fix is not None and found.fix.action == "re-flag"


def test_no_timecode_is_not_measured() -> None:
    """A must then fails the verdict; places are named by elapsed time."""
    for section in ({"counting": {"accept": ["drop-frame"]}}, {"valid_labels": {}}, {"agreement": {}}):
        found = timecodes(**section)
        assert found.outcome is Outcome.NOT_MEASURED and "no timecode" in found.reason
    unsaid = timecodes(TimecodeSource("tag", "01:00:00:00", None), counting={"accept": ["drop-frame"]})
    assert unsaid.outcome is Outcome.NOT_MEASURED


def test_a_label_that_cannot_exist() -> None:
    """;00 is left out at each minute but every tenth (SMPTE ST 12-1)."""
    found = timecodes(TimecodeSource("timecode track 3", "01:01:00;00", True), valid_labels={})
    assert found.outcome is Outcome.FAIL and "does not exist" in found.reason
    assert timecodes(DROP, valid_labels={}).outcome is Outcome.PASS


def test_two_timecodes_that_disagree() -> None:
    """Both are told, their offset too, and which one names the places."""
    other = TimecodeSource("source package", "01:00:00;02", True)
    found = timecodes(DROP, other, agreement={})
    assert found.outcome is Outcome.FAIL
    assert found.measured == "timecode track 3 01:00:00;00, source package 01:00:00;02"
    assert "by 2 frames" in found.reason and "use timecode track 3" in found.reason
    assert timecodes(DROP, replace(DROP, where="source package"), agreement={}).outcome is Outcome.PASS


@pytest.mark.parametrize(
    ("at", "head", "outcome"),
    [("01:00:00;00", 0, "pass"), ("01:00:01;00", 30, "pass"), ("01:00:00;00", 60, "fail"), ("10:00:00:00", 0, "fail")],
)
def test_the_label_of_the_programme_counts_not_that_of_the_file(at: str, head: int, outcome: str) -> None:
    """A file may begin earlier; the fix names the label for the file's first frame."""
    parts = [Part(head, lufs=None, light=16), Part(900)] if head else [Part(900)]
    verdict = judge(measurement(parts), loaded(structure=SINGLE, timecode={"start": {"at": at}}))
    found = next(finding for finding in verdict.findings if finding.requirement == "timecode.start")
    assert found.outcome.value == outcome
    if head == 60:
        assert found.fix is not None and "start timecode of the file to 00:59:58;00" in found.fix.sentence


@pytest.mark.parametrize(
    ("channels", "accept", "outcome"),
    [
        ([1, 1], "mono streams", "pass"),
        ([2], "stereo streams", "pass"),
        ([2], "one stream", "pass"),
        ([8], "one stream", "pass"),
        ([8], "mono streams", "fail"),
        ([2, 1, 1], "mono streams", "fail"),
        ([], "mono streams", "fail"),
    ],
)
def test_audio_arrangement(channels: list[int], accept: str, outcome: str) -> None:
    """One stream of eight is not eight streams."""
    file = facts(sounds=tuple(sound_stream(place, count) for place, count in enumerate(channels, 1)))
    assert header({"audio": {"arrangement": {"accept": [accept]}}}, file).outcome.value == outcome


def test_audio_format_names_the_stream_that_differs() -> None:
    """One stream at 44.1 kHz among 48 kHz."""
    file = facts(sounds=(sound_stream(1), sound_stream(2, rate=44100)))
    found = header({"audio": {"sample_rate": {"accept": [48000]}}}, file)
    assert (found.outcome, found.subject, found.measured) == (Outcome.FAIL, "stream 2", 44100)
    coded = facts(sounds=(sound_stream(1, 2, codec="AAC", bit_depth=None),))
    assert header({"audio": {"bit_depth": {"accept": [24]}}}, coded).outcome is Outcome.NOT_MEASURED
    assert header({"audio": {"channels": {"exact": 2}}}, facts()).outcome is Outcome.PASS


def test_stream_lengths_by_the_headers() -> None:
    """Sound two frames longer than the picture; half a frame is no difference."""
    frame = 1 / NTSC
    limit = {"max": 1, "unit": "frames"}

    def lengths(sound: Fraction) -> Finding:
        pictures = (picture_stream(declared_frames=900),)
        return header(
            {"integrity": {"stream_lengths": limit}},
            facts(pictures=pictures, sounds=(sound_stream(1, duration=sound),)),
        )

    assert lengths(900 * frame).measured == 0
    assert lengths(Fraction(1801, 2) * frame - Fraction(1, 10**6)).measured == 0
    late = lengths(902 * frame)
    assert (late.outcome, late.measured, late.margin) == (Outcome.FAIL, 2, -1.0)
    assert "2 frames after the picture" in late.reason


def test_a_file_far_too_long_is_seen_in_the_headers() -> None:
    """Three hours where 23 minutes are the most."""
    pictures = (picture_stream(declared_frames=323_000),)
    found = header({"duration": {"file": {"max": "00:23:00;00"}}}, facts(pictures=pictures))
    assert found.outcome is Outcome.FAIL and "as declared" in found.reason


def test_no_picture_is_told_by_every_line_about_the_picture() -> None:
    """A sound file in the folder: the count fails, the rest is not measured."""
    profile = loaded(
        picture={"codec": {"accept": ["MPEG-2"]}, "raster": {"accept": ["1920x1080"]}},
        streams={"pictures": {"exact": 1}},
    )
    found = judge_headers(facts(pictures=()), profile)
    assert [finding.outcome.value for finding in found] == ["fail", "not measured", "not measured"]


def test_a_should_is_advisory() -> None:
    """Never a failure of the file."""
    assert picture(["4:2:2"], "chroma", "should", chroma="4:2:0").outcome is Outcome.ADVISORY


def test_only_what_the_profile_asks_is_judged() -> None:
    """An empty profile has no findings, and its verdict does not claim a pass."""
    assert judge_headers(facts(), loaded()) == ()
    verdict = judge(measurement([Part(300)]), loaded())
    assert verdict.findings == () and verdict.outcome is Outcome.ADVISORY
    assert any("asks for nothing" in caution for caution in verdict.cautions)


def test_fewer_used_bits_are_told_not_failed() -> None:
    """16 bits in 24-bit words are legal."""
    made = measurement([Part(300)])
    assert made.sound is not None
    made.sound.used_bits[:] = 16
    (found,) = judge(made, loaded(audio={"bit_depth": {"accept": [24]}})).findings
    assert (found.outcome, found.reason) == (Outcome.PASS, "only 16 bits of each sample are used")


def test_a_drop_frame_flag_at_a_rate_that_has_none() -> None:
    """23.976 cannot count drop-frame: a finding, and the rest is judged by elapsed time."""
    rate = Fraction(24000, 1001)
    file = facts(pictures=(picture_stream(frame_rate=rate),))
    profile = loaded(structure=SINGLE, timecode={"valid_labels": {}, "start": {"at": "01:00:00:00"}})
    outcomes = {
        item.requirement: item.outcome.value for item in judge(measurement([Part(300)], file), profile).findings
    }
    assert outcomes["timecode.valid_labels"] == "fail"
    assert outcomes["timecode.start"] == "not measured"
    assert outcomes["structure.parts"] == "pass"


def test_a_length_that_the_headers_do_not_tell_is_left_to_the_pass() -> None:
    """No alarm before the pass for what the pass is going to count."""
    profile = loaded(
        duration={"file": {"max": "1 s"}}, integrity={"stream_lengths": {"max": 1, "unit": "frames"}}, structure=SINGLE
    )
    assert judge_headers(facts(), profile) == ()
    found = {item.requirement: item.outcome.value for item in judge(measurement([Part(300)]), profile).findings}
    assert found["duration.file"] == "fail" and found["integrity.stream_lengths"] == "pass"
