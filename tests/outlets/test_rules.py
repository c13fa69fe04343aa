"""Each rule about a profile on its own: one line wrong, one problem, at that line."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.outlets.load import ProfileError, load_profile
from qc.outlets.problems import Problem
from tests.kit.profiles import GOOD, write_profile


def problems(folder: Path, text: str) -> tuple[Problem, ...]:
    with pytest.raises(ProfileError) as caught:
        load_profile(write_profile(folder, text))
    return caught.value.problems


def test_the_good_profile_is_good(tmp_path: Path) -> None:
    """Without it the tests below would prove nothing."""
    assert load_profile(write_profile(tmp_path)).profile.outlet.code == "test"


#: (text replaced in the good profile, by what, table, key, found, expected or "meant?")
REPLACED = [
    ('"LKFS"', '"dBTP"', "loudness.programme", "unit", '"dBTP"  (text)', '"LUFS" or "LKFS"'),
    ("tolerance = 2.0", 'tolerance = "2"', "loudness.programme", "tolerance", '"2"  (text)',
     "LU as a number or a pair, such as 2.0 or [-4.0, 1.0]"),
    ("tolerance = 2.0", "tolerance = [1.0, 4.0]", "loudness.programme", "tolerance",
     "[1.0, 4.0], which leaves out the target", "[below, above] with below at or under 0 and above at or over 0"),
    ("tolerance = 2.0", "tolerance = [-4.0]", "loudness.programme", "tolerance", "[-4.0]  (list)",
     "LU as a number or a pair, such as 2.0 or [-4.0, 1.0]"),
    ("tolerance = 2.0", "tolerance = -2.0", "loudness.programme", "tolerance", "-2.0",
     "0 or more, or a pair [below, above]"),
    ("tolerance = 2.0", "", "loudness.programme", "target", "target -24.0 without a tolerance",
     "a tolerance beside the target (that of a base goes with the base's target)"),
    ("tolerance = 2.0", "tolerance = 2.0\nmax = -22.0", "loudness.programme", "target", "target and max together",
     "one form: target, or min and/or max"),
    ("target = -24.0", "target = 24.0", "loudness.programme", "target", "24.0  (number)",
     "-70 to 0 LKFS: is the minus sign missing?"),
    ("target = -24.0", "target = inf", "loudness.programme", "target", "inf  (no finite number)",
     "LUFS or LKFS as a number, such as -24.0"),
    ("target = -24.0", "target = true", "loudness.programme", "target", "true  (yes or no)",
     "LUFS or LKFS as a number, such as -24.0"),
    ("max = -2.0", "max = 0.5", "true_peak.programme", "max", "0.5", "0 dBTP or less: is the minus sign missing?"),
    ("max = -2.0", "max = nan", "true_peak.programme", "max", "nan  (no finite number)",
     "dBTP as a number, such as -2.0"),
    ('"30000/1001"', '"25"', "timecode.counting", "accept", '"drop-frame" with pictures at 25',
     '"non-drop-frame": drop-frame is for 30000/1001 and 60000/1001 only'),
    ('"30000/1001"', '"29.97"', "picture.frame_rate", "accept", '"29.97"  (text)',
     '"24000/1001", "24", "25", "30000/1001", "30", "50", "60000/1001" or "60"'),
    ('"01:00:00;00"', '"01:01:00;00"', "timecode.start", "at", "01:01:00;00 does not exist in drop-frame",
     "the first label of that minute is 01:01:00;02"),
    ('"01:00:00;00"', '"01:00:00:00"', "timecode.start", "at",
     "01:00:00:00 is written as non-drop-frame, but the count is drop-frame",
     "a label HH:MM:SS;FF that exists at 30000/1001"),
    ('"drop-frame"', '"dropframe"', "timecode.counting", "accept", '"dropframe"  (text)',
     '"drop-frame" or "non-drop-frame"'),
    ('"drop-frame"', "", "timecode.counting", "accept", "an empty list", 'a list of texts, as in ["..."]'),
    ('"00:21:30;00"', '"21:30"', "duration.trt", "exact", '"21:30"  (text)',
     "a length of time in quotes: 00:21:30;00, 00:21:30:00, 12 frames, 2 s or 250 ms"),
    ('"00:21:30;00"', "1290", "duration.trt", "exact", "1290  (number)",
     "a length of time in quotes: 00:21:30;00, 00:21:30:00, 12 frames, 2 s or 250 ms"),
    ('"00:21:30;00"', '"10 s"\ntolerance = "-1 frame"', "duration.trt", "tolerance", '"-1 frame"  (text)',
     "a length of time in quotes: 00:21:30;00, 00:21:30:00, 12 frames, 2 s or 250 ms"),
    ("channels = [1, 2]", "channels = [1, 5]", "audio.group", "channels",
     "channel 5, but [audio.channels] accepts 4 at most", "channels from 1 to 4"),
    ("channels = [1, 2]", "channels = [0, 1]", "audio.group", "channels", "0  (number)",
     "channel numbers from 1 to 64, as in [1, 2]"),
    ("channels = [1, 2]", "channels = [1, 1]", "audio.group", "channels", "the same channel twice",
     "each channel once"),
    ("channels = [1, 2]", "channels = [1, 2, 3]", "audio.group", "channels", "3 channels laid out as stereo",
     "2 channels for stereo, or another layout"),
    ("exact = 4", "exact = -4", "audio.channels", "exact", "-4  (number)", "a whole number of 0 or more"),
    ("exact = 4", "exact = 4.0", "audio.channels", "exact", "4.0  (number)", "a whole number of 0 or more"),
    ("exact = 4", "min = 8\nmax = 4", "audio.channels", "min", "min 8 over max 4", "min at or under max"),
    ('code = "test"', 'code = "../test"', "outlet", "code", '"../test"  (text)', "1 to 40 of a-z, 0-9 and -"),
    ('code = "test"', "", "outlet", "code", "nothing of its own", "the outlet's own short name: a-z, 0-9 and -"),
    ('name = "TEST OUTLET"', 'name = ""', "outlet", "name", '""  (text)', "a name of 1 to 80 characters that print"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "section", "key", "found", "expected"), REPLACED)
def test_one_wrong_line_is_one_problem(
    tmp_path: Path, old: str, new: str, section: str, key: str, found: str, expected: str
) -> None:
    """Found and accepted in words, at the line that was changed or the one beside it."""
    assert GOOD.count(old) == 1
    told = [problem for problem in problems(tmp_path, GOOD.replace(old, new)) if problem.section == section]
    assert [(problem.key, problem.found, problem.expected) for problem in told] == [(key, found, expected)]
    line = GOOD[: GOOD.index(old)].count("\n") + 1
    if new and section != "timecode.counting":  # what a rate contradicts stands elsewhere
        assert told[0].line is not None and abs(told[0].line - line) <= 1


LENGTH = "a length of time in quotes: 00:21:30;00, 00:21:30:00, 12 frames, 2 s or 250 ms"

#: (text added to the good profile, table, key, found, expected, meant)
ADDED = [
    ('[structure.parts]\naccept = ["single"]\n[structure.acts]\nexact = 4', "structure.parts", "accept",
     '"single" with 4 acts or more', "soft parts or hard parts, or one act", ""),
    ('[structure.parts]\naccept = ["single"]\n[structure.break_length]\nexact = "10 s"', "structure.parts", "accept",
     '"single" with a length for breaks', "no [structure.break_length], or parts", ""),
    ('[structure.parts]\naccept = ["soft parts"]\n[structure.acts]\nexact = 1', "structure.parts", "accept",
     '"soft parts" with one act', '"single", or 2 acts or more', ""),
    ('[structure.acts]\nexact = 4\n[structure.act_length]\nmax = "00:05:00;02"', "structure.act_length", "",
     "4 acts of 0 to 35968 frames together, TRT 38662 frames", "act lengths that can add up to the TRT", ""),
    ('[structure.acts]\nexact = 4\n[[structure.act]]\nnumber = 5\nmax = "6 s"', "structure.act", "number",
     "act 5 of 4", "1 to 4", ""),
    ('[[structure.act]]\nnumber = 1\nmax = "6 s"\n[[structure.act]]\nnumber = 1\nmin = "6 s"', "structure.act",
     "number", "act 1 again", "each act once", ""),
    ('[structure.acts]\nexact = 4\n[structure.break_length]\nexact = "10 s"\n[duration.slot]\nexact = "00:24:30;00"',
     "duration.slot", "exact", "slot 44056 frames; TRT 38662 frames and 3 breaks make 39562 frames",
     "TRT and breaks that add up to the slot", ""),
    ('[duration.file]\nmax = "00:20:00;00"', "duration.file", "",
     "0 to 35964 frames for the whole file, 38662 frames for the programme alone",
     "a file that can hold the programme", ""),
    ('[structure.break_length]\nmin = "10 s"\nmax = "2 s"', "structure.break_length", "min", "min 10 s over max 2 s",
     "min at or under max", ""),
    ('[structure.break_length]\ntolerance = "1 frame"\nmax = "2 s"', "structure.break_length", "tolerance",
     "a tolerance without exact", "exact beside it, or min and max alone", ""),
    ("[structure.break_length]", "structure.break_length", "", "no limit", "exact, or min and/or max", ""),
    ('[[audio.group]]\nname = "spare"\nchannels = [2]\nlayout = "mono"\ncarries = "silence"\njudged = false',
     "audio.group", "channels", 'channel 2 carries silence here and programme in group "mix"',
     "one content for each channel", ""),
    ('[[audio.group]]\nname = "spare"\nchannels = [3]\nlayout = "mono"\ncarries = "silence"', "audio.group",
     "carries", 'carries = "silence" without judged = false', "judged = false: there is no loudness of silence", ""),
    ('[[audio.group]]\nname = "mix"\nchannels = [3]\nlayout = "mono"', "audio.group", "name",
     '"mix"  (text), the name of another group too', "a name of its own", ""),
    ('[audio.must_carry]\nmax = -60.0\nunit = "dBFS"', "audio.must_carry", "", "no min",
     "the lowest peak in dBFS as min", ""),
    ('[audio.sample_rate]\naccept = [48]', "audio.sample_rate", "accept", "48  (number)",
     "32000, 44100, 48000, 88200, 96000, 176400 or 192000", ""),
    ('[picture.raster]\naccept = ["1080i"]', "picture.raster", "accept", '"1080i"  (text)',
     "width x height, such as 1920x1080", ""),
    ('[picture.scan]\naccept = ["interlaced top first"]', "picture.scan", "accept", '"interlaced top first"  (text)',
     '"progressive", "interlaced, top first" or "interlaced, bottom first"', '"interlaced, top first"'),
    ('[picture.codec]\naccept = ["AVC", "AVC"]', "picture.codec", "accept", '"AVC"  (text) twice',
     "each value once", ""),
    ("[wrapper.extension]\nrequired = false", "wrapper.extension", "required", "false  (yes or no)", "true", ""),
    ('[wrapper.kind]\naccept = "MOV"', "wrapper.kind", "accept", '"MOV"  (text)', 'a list of texts, as in ["..."]', ""),
    ('[wrapper]\nkind = "MOV"', "wrapper", "kind", '"MOV"  (text)', "a table [wrapper.kind]", ""),
    ('[structure.act]\nnumber = 1\nmax = "6 s"', "structure", "act", "a table",
     "[[structure.act]], a table for each", ""),
    ('[wrapper.kind]\naccept = ["MOV"]\nlevel = "maybe"', "wrapper.kind", "level", '"maybe"  (text)',
     '"must", "should", or "off" to take an inherited requirement away', ""),
    ('[wrapper.kind]\naccept = ["MOV"]\nclaus = "1.2"', "wrapper.kind", "claus",
     "a key that this requirement does not have", "", "clause"),
    ('[wrapper.kind]\nlevel = "off"\nexcept = ["MOV"]', "wrapper.kind", "except",
     "a key that this requirement does not have", "", "accept"),
    ('[[structure.act]]\nnumber = 1\nmax = "6 s"\nlevel = "off"', "structure.act", "level", '"off"  (text)',
     '"must" or "should"', ""),
    ('[wrapper.sort]\nlevel = "off"', "wrapper.sort", "", "a requirement or setting that this section does not have",
     "kind and extension", ""),
    ('[black]\npixel_percent = 50', "black", "pixel_percent", "50  (number)",
     "over 0, up to 20 percent of nominal white", ""),
    ('[programme]\naccounting = "whole seconds"', "programme", "accounting", '"whole seconds"  (text)',
     '"frame-exact" or "whole-second outward"', ""),
    ("[levels.range]\nluma_max = 104\narea_percent = 1", "levels.range", "luma_max", "104  (number)",
     "100, 103 or 105 percent", ""),
    ("[levels.range]\nrgb_min = -5\narea_percent = 1\nat_least = 2", "levels.range", "at_least", "2  (number)",
     "frames, from 3 to 250", ""),
    ("[levels.range]\nrgb_min = -5\narea_percent = 0.01", "levels.range", "area_percent", "0.01  (number)",
     "percent of the picture, from 0.1 to under 100", ""),
    ("[levels.range]\narea_percent = 1", "levels.range", "", "no limit", "luma_min, luma_max, rgb_min or rgb_max", ""),
    ("[levels.scaling]\nlevel = \"must\"", "levels.scaling", "level", '"must"  (text)',
     '"must", "should", or "off" to take an inherited requirement away', ""),
    ("[levels.black]\nlifted_percent = 8\nseconds = 2\ncrushed_percent = 1", "levels.black", "seconds", "2  (number)",
     "seconds, from 10 to 3600", ""),
    ("[levels.range]\nrgb_min = -5\narea_percent = 100", "levels.range", "area_percent", "100  (number)",
     "percent of the picture, from 0.1 to under 100", ""),
    ("[flashing.red]\narea_percent = 100\nchanges = 7", "flashing.red", "area_percent", "100  (number)",
     "percent of the screen, from 5 to under 100", ""),
    ('[picture.scan]\naccept = ["progressive"]\n[field_order.measured]\naccept = ["top first"]',
     "field_order.measured", "accept", '"top first" with [picture.scan] "progressive"', '"progressive content"', ""),
    ('[picture.scan]\naccept = ["interlaced, top first"]\n[field_order.measured]\naccept = ["bottom first"]',
     "field_order.measured", "accept", '"bottom first" with [picture.scan] "interlaced, top first"',
     '"top first" or "progressive content"', ""),
    ('[active_picture.inserts]\naccept = ["none", "letterbox"]', "active_picture.inserts", "accept",
     '"none" beside "letterbox"', '"none" alone, or "letterbox" without it', ""),
    ("[flashing.patterns]\nstill_percent = 25\nchanging_percent = 40", "flashing.patterns", "changing_percent",
     "changing_percent 40 over still_percent 25",
     "changing_percent at or under still_percent: stripes that change are the worse ones", ""),
    ('[frames.solid]\nlongest = "3"', "frames.solid", "longest", '"3"  (text)', LENGTH, ""),
    ('[frames.bars]\nlongest = "3"', "frames.bars", "longest", '"3"  (text)', LENGTH, ""),
    ('[cadence.accepted]\naccept = ["2:3"]\nleast = "5"', "cadence.accepted", "least", '"5"  (text)', LENGTH, ""),
    ('[integrity.stream_lengths]\nmax = -1\nunit = "frames"', "integrity.stream_lengths", "max", "-1  (number)",
     "0 frames or more", ""),
]  # fmt: skip


@pytest.mark.parametrize(("text", "section", "key", "found", "expected", "meant"), ADDED)
def test_one_added_table_is_one_problem(
    tmp_path: Path, text: str, section: str, key: str, found: str, expected: str, meant: str
) -> None:
    """Found, accepted and nearest in words; the line is inside what was added."""
    (told,) = problems(tmp_path, f"{GOOD}\n{text}\n")
    assert (told.section, told.key, told.found, told.expected, told.meant) == (section, key, found, expected, meant)
    assert told.line is not None and told.line > GOOD.count("\n")


#: What is right and might be taken for wrong.
ACCEPTED = [
    '[structure.acts]\nexact = 4\n[structure.break_length]\nexact = "10 s"\ntolerance = "1 frame"\n'
    '[duration.slot]\nexact = "00:22:00;00"',  # 38662 and 3 x 300 make 39562; the label says 39560: within the breaks
    '[structure.acts]\nexact = 4\n[structure.act_length]\nmin = "00:03:30;00"\nmax = "00:06:30;00"',
    "[loudness.range]\nmax = 20\nunit = 'LU'",
    "[loudness.act]\ntarget = -24\ntolerance = [-4.0, 1]\nunit = 'LKFS'",
    "[loudness.act]\nmin = -28.0\nunit = 'LKFS'",
    "[structure.break_length]\nexact = '0 frames'",
    "[[audio.group]]\nname = 'M&E'\nchannels = [1, 2]\nlayout = 'stereo'\njudged = false",
    "[wrapper.kind]\naccept = ['MXF OP1a', 'MOV']\nlevel = 'should'",
    # Progressive pictures in fields (PsF).
    "[picture.scan]\naccept = ['interlaced, top first']\n[field_order.measured]\naccept = ['progressive content']",
    "[picture.scan]\naccept = ['progressive', 'interlaced, top first']\n[field_order.measured]\naccept = ['top first']",
    "[active_picture.inserts]\naccept = ['letterbox', 'pillarbox']",
    "[flashing.patterns]\nstill_percent = 30\nchanging_percent = 30",
    "[levels.range]\nrgb_min = -5\narea_percent = 99.9",
]


@pytest.mark.parametrize("text", ACCEPTED)
def test_what_is_right_is_accepted(tmp_path: Path, text: str) -> None:
    """A false alarm about a profile stops a delivery as surely as one about a file."""
    load_profile(write_profile(tmp_path, f"{GOOD}\n{text}\n"))


def test_whole_second_accounting_lets_acts_be_shorter_than_they_count(tmp_path: Path) -> None:
    """Each act may lose up to two seconds to rounding outward: 4 acts of at most 05:21;00 still count as 21:30."""
    acts = '\n[structure.acts]\nexact = 4\n[structure.act_length]\nmax = "00:05:21;00"\n'
    assert problems(tmp_path, GOOD + acts)[0].section == "structure.act_length"
    load_profile(write_profile(tmp_path, GOOD + acts + '\n[programme]\naccounting = "whole-second outward"\n'))
