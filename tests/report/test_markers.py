"""Marker lists, read back by readers that are not ours: opentimelineio, otio-cmx3600-adapter, Python's csv.

Frame numbers of edit-list labels are computed by the package ``timecode``, an outside reference for SMPTE ST 12-1.
"""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import opentimelineio as otio
import pytest
import timecode
from otio_cmx3600_adapter.cmx_3600 import read_from_string

from qc.judge.mix import MixSheet
from qc.judge.verdict import Outcome, Verdict
from qc.media.facts import TimecodeSource
from qc.report.marker_csv import COLUMNS, marker_csv
from qc.report.marker_edl import LONGEST_LINE, marker_edl, plain
from qc.report.marker_otio import marker_otio
from qc.report.markers import COLOURS, Marker, markers_of
from qc.report.media_file import MediaFile, unreadable_file
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting
from tests.kit import verdicts

ROOT = Path(__file__).resolve().parents[2]

#: Rate, drop-frame, label of the first frame (None: the file has no timecode), the rate as ``timecode`` names it.
RATES = {
    "25": ("25", False, "10:00:00:00", "25"),
    "29.97 drop-frame": ("30000/1001", True, "00:59:50;00", "29.97"),
    "29.97 non-drop-frame": ("30000/1001", False, "00:59:50:00", "29.97"),
    "23.976": ("24000/1001", False, "01:00:00:00", "23.976"),
    "50": ("50", False, "10:00:00:00", "50"),
    "59.94 drop-frame": ("60000/1001", True, "01:00:00;00", "59.94"),
    "59.94 non-drop-frame": ("60000/1001", False, "01:00:00:00", "59.94"),
    "no timecode": ("30000/1001", False, None, "29.97"),
}
PLACES = (Span(0, 1), Span(1799, 1801), Span(17982, 18000), Span(30000, 31957), Span(39299, 39300))


def made(name: str) -> tuple[tuple[Marker, ...], MediaFile]:
    """Markers at minutes, tens of minutes, the first and the last frame of a file of 39300 frames."""
    rate_text, drop, label, _ = RATES[name]
    rate = Fraction(rate_text)
    counting = Counting.for_rate(rate, drop)
    clock = Clock(rate, counting, None if label is None else counting.frame(label))
    places = tuple(
        replace(
            verdicts.place(span.first, span.frames),
            timecode=clock.at(span.first),
            until=clock.at(span.end),
            offset=clock.offset(span.first),
        )
        for span in PLACES
    )
    finding = replace(verdicts.FINDINGS[2], places=places, more_places=0)
    facts = verdicts.facts()
    picture = replace(facts.pictures[0], frame_rate=rate)
    sources = () if label is None else (TimecodeSource("timecode track", label, drop),)
    file = verdicts.media(facts=replace(facts, pictures=(picture,), timecodes=sources))
    return markers_of([verdicts.verdict(findings=(finding,))]), file


def rows_of(markers: tuple[Marker, ...], file: MediaFile) -> list[dict[str, str]]:
    content = marker_csv(markers, file).decode()
    assert "\n" not in content.replace("\r\n", "")  # RFC 4180, section 2, rule 1
    return list(csv.DictReader(io.StringIO(content, newline="")))


def edl_clip(markers: tuple[Marker, ...], file: MediaFile, rate: float) -> tuple[str, otio.schema.Clip]:
    """Text of the list and its one event as the outside reader sees it."""
    text = marker_edl(markers, file).decode("ascii")
    (track,) = read_from_string(text, rate=rate).tracks
    (clip,) = track
    return text, clip


def frame_of(label: str, drop: bool, rate: str) -> int:
    """Frame number of a label since midnight, by the outside reference."""
    text = f"{label[:8]};{label[9:]}" if drop else label
    return timecode.Timecode(rate, text, force_non_drop_frame=not drop).frame_number


def other_outlet(name: str, **more: object) -> Verdict:
    profile = replace(verdicts.PROFILE, name=name, code=name.lower().replace(" ", "-"))
    return verdicts.verdict(profile=profile, **more)


def test_every_place_of_every_finding_that_did_not_pass_is_marked():
    """Names say outlet, requirement, figure and limit; notes say what to do. Passed requirements are no markers."""
    markers = markers_of([verdicts.verdict()])

    places = [place for item in verdicts.FINDINGS if item.outcome != Outcome.PASS for place in item.places]
    assert sorted(marker.span for marker in markers) == sorted(place.span for place in places)
    assert [marker.span.first for marker in markers] == sorted(marker.span.first for marker in markers)
    peak = next(marker for marker in markers if marker.span.first == 14430)
    assert peak.name == "CORVANE 5: True peak, programme -1.40 dBTP, limit -2.0 dBTP, channel 2"
    assert (peak.timecode, peak.kind, peak.colour) == ("01:08:01;16", "fail", "red")
    assert peak.note.startswith("Lower the stereo mix by 0.6 dB, or limit these peaks to -2.0 dBTP. ")
    waived = next(marker for marker in markers if marker.kind == "waived")
    assert waived.note.startswith("Waived by R. Ashgrove")


def test_places_beyond_the_list_are_counted_on_each_of_its_markers():
    """A finding that names 5 of 19 places says so wherever one looks: no marker is no all-clear."""
    notes = [marker.note for marker in markers_of([verdicts.verdict()]) if "True peak" in marker.name]

    assert ["5 of 19 places are marked, 14 more are not." in note for note in notes] == [True] * 5


def _notes_of(sentence: str, frames: tuple[int, ...] = (26, 17), **more: object) -> list[str]:
    """What the markers of a finding with an instruction for its first place say; places at 14430 and 16430."""
    places = tuple(
        verdicts.place(
            14430 + 2000 * number,
            length,
            within=f"act 2 +00:02:4{number};05",
            note=f"picture stops for {length} frames",
        )
        for number, length in enumerate(frames)
    )
    fix = replace(verdicts.FINDINGS[2].fix, sentence=sentence)
    finding = replace(verdicts.FINDINGS[2], places=places, fix=fix, more_places=0, **more)
    return [marker.note for marker in markers_of([verdicts.verdict(findings=(finding,))])]


def test_the_instruction_of_a_marker_is_about_its_own_place():
    """The sentence is made for the first place; at the second it names the second."""
    said = "Look at {} (act 2 +00:02:4{};05): picture stops for {} frames; lay the picture in again."
    first, second = said.format("01:08:01;16", 0, 26), said.format("01:09:08;08", 1, 17)
    assert _notes_of(first.replace(";05)", ";05) and at 1 more")) == [first, second]
    assert verdicts.CLOCK.at(16430) == "01:09:08;08"
    assert _notes_of(first) == [first, second]


@pytest.mark.parametrize(
    "sentence",
    [
        "Replace the 26 frames at 01:08:01;16 with picture.",
        "Y is 4 % too high, worst at 01:08:02;00 (act 2 +00:02:40;19): legalise.",
    ],
)
def test_an_instruction_that_belongs_to_the_first_place_says_so(sentence):
    """A length or a worst frame of the first place is not passed off as another's."""
    first, second = _notes_of(sentence)
    assert first == sentence
    assert second == f"Said of 01:08:01;16, the first of 2 places: {sentence}"


def test_an_instruction_for_all_places_is_left_as_it_is():
    """One that names no place, or every place."""
    for sentence in (
        "Lower the mix by 0.6 dB.",
        "2 blacks: replace 26 frames at 01:08:01;16; replace 17 frames at 01:09:08;08.",
    ):
        assert _notes_of(sentence) == [sentence, sentence]


def test_outlets_that_say_the_same_share_a_marker():
    """One place, one marker with both names; another limit is another marker; another fix stands with its outlet."""
    peaks = replace(verdicts.FINDINGS[2], more_places=0)
    stricter = replace(peaks, limit="at most -3.0 dBTP")
    other_fix = replace(peaks, fix=replace(peaks.fix, sentence="Limit these peaks."))
    same = markers_of([verdicts.verdict(findings=(peaks,)), other_outlet("MEADOWLINE PUBLIC", findings=(other_fix,))])
    apart = markers_of([verdicts.verdict(findings=(peaks,)), other_outlet("TIDEWOLD ONE", findings=(stricter,))])

    assert len(same) == 5 and len(apart) == 10
    assert same[0].outlets == ("CORVANE 5", "MEADOWLINE PUBLIC")
    assert same[0].name.startswith("CORVANE 5, MEADOWLINE PUBLIC: True peak")
    assert same[0].note.endswith(" MEADOWLINE PUBLIC: Limit these peaks.")

    said = "Look at 01:08:01;16{}: is it meant?"
    sheets = [
        replace(peaks, places=peaks.places[:1], fix=replace(peaks.fix, sentence=said.format(within)))
        for within in (" (act 2 +00:02:41;05)", "")
    ]
    for pair in (sheets, sheets[::-1]):  # the same instruction, with and without the act: once
        verdict, other = pair
        (marker,) = markers_of([verdicts.verdict(findings=(verdict,)), other_outlet("KERRAWIND", findings=(other,))])
        assert marker.note.count("is it meant?") == 1


def test_peaks_that_a_gain_brings_over_the_ceiling_are_marked():
    """The mixer's list after the gain goes to the time line too; without a gain there is nothing to add."""
    mix = MixSheet(
        group="stereo mix",
        channels=(1, 2),
        meter="ITU-R BS.1770-5",
        unit="LKFS",
        ceiling=-2.0,
        rows=(),
        gain=0.7,
        window=None,
        peaks=(verdicts.place(5000, channel=1, value=-1.25), verdicts.place(6000, channel=2, value=-1.5)),
        more_peaks=3,
        words="Raise the mix by 0.7 dB; 5 peaks are then to hold.",
    )
    markers = markers_of([verdicts.verdict(findings=(), mixes=(mix,))])

    assert [marker.name for marker in markers] == [
        "CORVANE 5: True peak -1.25 dBTP after +0.7 dB, limit -2.00 dBTP, channel 1",
        "CORVANE 5: True peak -1.50 dBTP after +0.7 dB, limit -2.00 dBTP, channel 2",
    ]
    assert {marker.kind for marker in markers} == {"after gain"}
    assert markers[-1].note == "Raise the mix by 0.7 dB; 5 peaks are then to hold. 2 of 5 peaks are marked."
    assert markers_of([verdicts.verdict(findings=(), mixes=(replace(mix, gain=0.0),))]) == ()


@pytest.mark.parametrize("name", RATES)
def test_otio_keeps_names_frames_and_rate(name):
    """opentimelineio's own reader finds every marker at its frame, at the file's rate, under the file's label."""
    markers, file = made(name)
    rate_text, drop, label, _ = RATES[name]
    timeline = otio.adapters.read_from_string(marker_otio(markers, file).decode(), "otio_json")

    (clip,) = timeline.find_clips()
    start = timeline.global_start_time
    rate = float(Fraction(rate_text))
    assert clip.name == timeline.name == verdicts.NAME
    assert clip.available_range() == clip.source_range == clip.trimmed_range()
    assert (start.rate, clip.source_range.duration.value) == (rate, 39300)
    assert start.to_timecode(rate, drop) == (label or "00:00:00:00")  # the library's own arithmetic
    assert [mark.name for mark in clip.markers] == [marker.name for marker in markers]
    assert [mark.comment for mark in clip.markers] == [marker.note for marker in markers]
    assert [mark.color for mark in clip.markers] == ["RED"] * len(PLACES)
    assert {mark.marked_range.start_time.rate for mark in clip.markers} == {rate}
    found = [(mark.marked_range.start_time - start, mark.marked_range.duration) for mark in clip.markers]
    assert [(first.value, length.value) for first, length in found] == [(span.first, span.frames) for span in PLACES]
    if label:
        labels = [mark.marked_range.start_time.to_timecode(rate, drop) for mark in clip.markers]
        assert labels == [marker.timecode for marker in markers]


@pytest.mark.parametrize("name", RATES)
def test_edl_keeps_names_frames_and_counting(name):
    """Another reader of edit lists finds every locator; its label, counted as FCM says, is the frame of the place.

    Source: SMPTE ST 12-1 by the package ``timecode``. That FCM rules over labels with colons is common practice.
    """
    markers, file = made(name)
    rate_text, drop, label, rate = RATES[name]
    text, clip = edl_clip(markers, file, float(Fraction(rate_text)))
    labels = [line.split()[2] for line in text.splitlines() if line.startswith("* LOC: ")]
    event = text.splitlines()[3].split()

    start = frame_of(label or "00:00:00:00", drop, rate)
    assert text.splitlines()[1] == ("FCM: DROP FRAME" if drop else "FCM: NON-DROP FRAME")
    assert [frame_of(found, drop, rate) - start for found in labels] == [span.first for span in PLACES]
    assert [frame_of(found, drop, rate) - start for found in event[4:]] == [0, 39300, 0, 39300]
    assert clip.name == verdicts.NAME
    assert [mark.name for mark in clip.markers] == [marker.name for marker in markers]
    assert [mark.color for mark in clip.markers] == ["RED"] * len(PLACES)
    read = [mark.marked_range.start_time for mark in clip.markers]
    assert [time.to_timecode(time.rate, False) for time in read] == labels
    if not drop:
        assert [(time - clip.source_range.start_time).value for time in read] == [span.first for span in PLACES]
        assert clip.source_range.duration.value == 39300


def test_edl_says_what_the_format_cannot():
    """Faster rates than the format was made for, files without timecode and labels past midnight are said in words."""
    fast = marker_edl(*made("59.94 drop-frame")).decode()
    bare = marker_edl(*made("no timecode")).decode()
    markers, file = made("25")
    late = replace(file.facts, timecodes=(TimecodeSource("timecode track", "23:59:00:00", False),))
    midnight = marker_edl(markers, replace(file, facts=late)).decode()
    rapid = replace(file.facts, pictures=(replace(file.facts.pictures[0], frame_rate=Fraction(120)),))

    assert "* - Labels count frames 00 to 59; the format was made for at most 30 a second.\r\n" in fast
    assert "elapsed frames from 00:00:00:00, the file has no timecode" in bare
    assert "pass midnight" in midnight and "pass midnight" not in fast
    assert "* - 120 frames a second cannot be labelled" in marker_edl(markers, replace(file, facts=rapid)).decode()


@pytest.mark.parametrize("name", RATES)
def test_csv_keeps_names_frames_and_labels(name):
    """Python's csv reader gets every field as it was; each row says rate and counting."""
    markers, file = made(name)
    rate, drop, label, _ = RATES[name]
    rows = rows_of(markers, file)

    assert [row["name"] for row in rows] == [marker.name for marker in markers]
    assert [(int(row["frame"]), int(row["frames"])) for row in rows] == [(span.first, span.frames) for span in PLACES]
    assert {row["frames per second"] for row in rows} == {str(Fraction(rate))}
    if label:
        assert [row["timecode"] for row in rows] == [marker.timecode for marker in markers]
        assert {row["counting"] for row in rows} == {"drop-frame" if drop else "non-drop-frame"}
    else:
        assert rows[0]["timecode"] == "00:00:00:00"
        assert {row["counting"] for row in rows} == {"elapsed frames from 00:00:00:00, the file has no timecode"}


def test_hostile_text_stays_text_in_all_three():
    """Line breaks, keywords of the format, formulas and direction overrides in names do nothing.

    Source: OWASP, CSV Injection; Unicode UAX #9 for the overrides.
    """
    hostile = "=cmd()\n* FROM FILE: /etc/passwd\r\n002  AX  V  C\u202e" + verdicts.HOSTILE
    item = replace(
        verdicts.hostile_verdict().findings[0], title=hostile, fix=None, reason=hostile, outcome=Outcome.ADVISORY
    )
    markers = markers_of([verdicts.verdict(findings=(item,), profile=replace(verdicts.PROFILE, name=hostile))])
    file = verdicts.media(name=hostile)
    text, clip = edl_clip(markers, file, 30000 / 1001)
    timeline = otio.adapters.read_from_string(marker_otio(markers, file).decode(), "otio_json")
    (row,) = rows_of(markers, file)

    assert len(clip.markers) == 1 and isinstance(clip.media_reference, otio.schema.MissingReference)
    assert all(" " <= letter <= "~" for letter in text.replace("\r\n", ""))
    assert max(len(line) for line in text.splitlines()) <= LONGEST_LINE
    assert [mark.name for each in timeline.find_clips() for mark in each.markers] == [markers[0].name]
    assert "\u202e" not in marker_otio(markers, file).decode() and "\n" not in timeline.name
    assert row["name"].startswith("'=cmd()<U+000A>* FROM FILE") and row["file"].startswith("'=")


def test_letters_of_other_scripts_are_kept_where_the_format_can_hold_them():
    """An edit list is ASCII: accents fall, other scripts become "?", while CSV and OTIO keep the name."""
    file = verdicts.media(name="Café ±2 – 夜の庭.mov")
    markers = markers_of([verdicts.verdict()])

    assert plain(file.name) == "Cafe +/-2 - ???.mov"
    assert marker_edl(markers, file).startswith(b"TITLE: Cafe +/-2 - ???.mov\r\n")
    assert rows_of(markers, file)[0]["file"] == file.name
    assert json.loads(marker_otio(markers, file))["name"] == file.name


def test_a_long_name_is_kept_whole_beside_its_cut_locator():
    """Readers may cut long lines: the locator ends in "...", the whole name follows as comment lines."""
    markers, file = made("25")
    long = replace(markers[0], name="CORVANE 5: " + "word " * 40 + "end")
    text, clip = edl_clip((long,), file, 25)

    assert clip.markers[0].name.endswith("...") and max(map(len, text.splitlines())) <= LONGEST_LINE
    comments = " ".join(line[4:] for line in text.splitlines() if line.startswith("* - "))
    assert f"1 {long.name}" in comments


def test_nothing_to_mark_and_nothing_readable_are_said():
    """Without places the lists are empty and valid; for a file that could not be read they say so."""
    file = verdicts.media()
    bad = unreadable_file("broken.mxf", "not media")
    sound_only = replace(file, facts=replace(file.facts, pictures=()), figures={"picture": {"frames": None}})

    text, clip = edl_clip((), file, 30000 / 1001)
    assert "* - No place to mark, " in text and not clip.markers
    assert "* - No place to mark, 100 frames per second" in marker_edl((), sound_only).decode()
    assert marker_csv((), bad) == marker_csv((), file) == (",".join(COLUMNS) + "\r\n").encode()
    assert "could not be read" in marker_edl((), bad).decode()
    empty = otio.adapters.read_from_string(marker_otio((), bad).decode(), "otio_json")
    assert empty.name == "broken.mxf" and not list(empty.find_clips())


def test_every_kind_has_a_colour_of_its_own_and_no_outcome_is_forgotten():
    """Colours are known to the outside library; the kind stands beside them as a word. Passed is never marked."""
    assert set(COLOURS) >= {outcome.value for outcome in Outcome} - {"pass"}
    assert len(set(COLOURS.values())) == len(COLOURS)
    assert all(hasattr(otio.schema.MarkerColor, colour.upper()) for colour in COLOURS.values())


def test_lists_are_the_same_bytes_every_time():
    """Nothing in a list depends on the clock or on the order of a hash table."""
    markers = markers_of([verdicts.verdict()])
    for write in (marker_csv, marker_edl, marker_otio):
        assert write(markers, verdicts.media()) == write(markers_of([verdicts.verdict()]), verdicts.media())


def test_no_command_loads_the_library_at_its_start():
    """opentimelineio costs a quarter of a second: importing the writers does not load it."""
    code = (
        "import sys, qc.report.marker_otio, qc.report.marker_edl, qc.report.marker_csv\n"
        "print('opentimelineio' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    assert done.stdout.strip() == "False"
