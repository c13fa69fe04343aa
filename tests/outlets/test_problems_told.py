"""What a user reads about a wrong profile, compared whole: every problem at once, in the author's words."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.outlets.load import ProfileError, load_profile
from tests.kit.profiles import GOOD, write_profile


def told(path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The message as printed, with the file named as a user in its folder would."""
    monkeypatch.chdir(path.parent)
    with pytest.raises(ProfileError) as caught:
        load_profile(path.name)
    assert caught.value.exit_status == 2
    return str(caught.value)


def test_wrong_values_unknown_keys_and_contradictions_in_one_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten things wrong in one file: ten told, each with line, table, key, found, accepted, nearest."""
    path = write_profile(
        tmp_path,
        """\
[outlet]
name = "TEST OUTLET"
code = "Test Outlet"

[loudness.programme]
target = "-24dB"
tolerence = 2.0
unit = "LKFS"

[true_peak.programme]
max = -2.0
unit = "LKFS"

[true_peak.program]
max = -2.0

[loudnes.act]
target = -24.0

[duration.trt]
exact = 00:21:30

[structure.acts]
min = 5
max = 4

[integrity.stream_lengths]
max = -1
unit = "frames"

[picture.codec]
accept = ["mpeg2"]
""",
    )
    assert (
        told(path, monkeypatch)
        == """\
test.toml has 10 problems; nothing was checked.

  line 3   [outlet] code
           found     "Test Outlet"  (text)
           expected  1 to 40 of a-z, 0-9 and -
  line 6   [loudness.programme] target
           found     "-24dB"  (text)
           expected  LUFS or LKFS as a number, such as -24.0
  line 7   [loudness.programme] tolerence
           found     a key that this requirement does not have
           meant     tolerance?
  line 12  [true_peak.programme] unit
           found     "LKFS"  (text)
           expected  "dBTP"
  line 14  [true_peak.program]
           found     a requirement or setting that this section does not have
           meant     [true_peak.programme]?
  line 17  [loudnes]
           found     a section that a profile does not have
           meant     [loudness]?
  line 21  [duration.trt] exact
           found     00:21:30  (time of day)
           expected  quotes and a declared form, such as "00:21:30:00"
  line 24  [structure.acts] min
           found     min 5 over max 4
           expected  min at or under max
  line 28  [integrity.stream_lengths] max
           found     -1  (number)
           expected  0 frames or more
  line 32  [picture.codec] accept
           found     "mpeg2"  (text)
           expected  "MPEG-2", "ProRes", "AVC", "HEVC", "VC-3", "JPEG 2000",
                     "DV", "uncompressed" or "uncompressed 10-bit 4:2:2"
           meant     "MPEG-2"?"""
    )


def test_a_refused_key_hides_no_other_of_its_table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Unknown words, a lost minus sign and an unknown column are told beside what the schema refuses there."""
    path = write_profile(
        tmp_path,
        GOOD.replace("target = -24.0\ntolerance = 2.0", 'target = 24.0\ntolerance = "2"')
        + """
[cadence.accepted]
accept = ["3:2", 24]
least = 5

[timing_sheet]
columns = ["SOM", "cue"]
""",
    )
    assert (
        told(path, monkeypatch)
        == """\
test.toml has 7 problems; nothing was checked.

  line 19  [loudness.programme] target
           found     24.0  (number)
           expected  -70 to 0 LKFS: is the minus sign missing?
  line 20  [loudness.programme] tolerance
           found     "2"  (text)
           expected  LU as a number or a pair, such as 2.0 or [-4.0, 1.0]
  line 36  [cadence.accepted] accept
           found     24  (number)
           expected  a list of texts, as in ["..."]
  line 36  [cadence.accepted] accept
           found     "3:2"  (text)
           expected  "none", "2:3", "2:2", "regular repeats" or "blended"
           meant     "2:3"?
  line 37  [cadence.accepted] least
           found     5  (number)
           expected  a length of time in quotes: 00:21:30;00, 00:21:30:00, 12
                     frames, 2 s or 250 ms
  line 40  [timing_sheet] columns
           found     no "EOM" and no "part" or "act"
           expected  "SOM", "EOM" and "part" or "act" among the columns
  line 40  [timing_sheet] columns
           found     "cue"  (text)
           expected  "part", "act", "SOM", "EOM", "duration", "frames", "first
                     frame", "last frame", "counting", "accounting", "EOM is",
                     "file", "outlet" or "note\""""
    )


def test_lines_that_are_no_toml_are_told_together(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A comma decimal, a bare length, bare text and a repeated key: all told, no table blamed twice."""
    path = write_profile(
        tmp_path,
        """\
[outlet]
name = TEST OUTLET
code = "test"

[loudness.programme]
target = -23,5
tolerance = 0.5
tolerance = 1.0
unit = "LUFS"

[structure.break_length]
exact = 10 s

[true_peak.programme]
max = -2.0 dBTP
unit = "dBTP"

[loudness.range]
max = nan
unit = "LU"
""",
    )
    assert (
        told(path, monkeypatch)
        == """\
test.toml has 6 problems; nothing was checked.

  line 2   [outlet] name
           found     TEST OUTLET  (text without quotes)
           expected  in quotes, as in "TEST OUTLET"
  line 6   [loudness.programme] target
           found     -23,5  (a number with a comma)
           expected  a decimal point: -23.5
  line 8   [loudness.programme] tolerance
           found     the key again; it stands on line 7
           expected  each key once in a table
  line 12  [structure.break_length] exact
           found     10 s  (a length of time without quotes)
           expected  in quotes, as in "10 s"
  line 15  [true_peak.programme] max
           found     -2.0 dBTP  (a number with a unit)
           expected  the number alone, -2.0; the unit has its own key
  line 19  [loudness.range] max
           found     nan  (no finite number)
           expected  LU as a number, such as 18.0"""
    )


def test_problems_of_a_base_name_the_base(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is wrong in an inherited file names that file and its line, after the profile's own problems."""
    write_profile(tmp_path, '# ours\n\n[structure.break_length]\nmin = "-1 frames"\n', "base/ours.toml")
    path = write_profile(tmp_path, 'base = ["ours"]\n' + GOOD.replace("max = -2.0", "max = 2.0"))
    assert (
        told(path, monkeypatch)
        == """\
test.toml has 2 problems; nothing was checked.

  line 25  [true_peak.programme] max
           found     2.0
           expected  0 dBTP or less: is the minus sign missing?
  line 4   [structure.break_length] min   (inherited from base/ours.toml)
           found     "-1 frames"  (text)
           expected  a length of time in quotes: 00:21:30;00, 00:21:30:00, 12
                     frames, 2 s or 250 ms"""
    )


def test_a_missing_base_is_told_with_the_way_to_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The chain of files, and the nearest name; requirements that the base may have completed are not blamed."""
    write_profile(tmp_path, 'base = ["ebu-r182"]\n', "house.toml")
    path = write_profile(tmp_path, 'base = ["house"]\n' + GOOD + "\n[loudness.act]\nunit = 'LKFS'\n")
    assert (
        told(path, monkeypatch)
        == """\
test.toml has 1 problem; nothing was checked.

  line 1   base   (inherited from house.toml)
           found     "ebu-r182", which does not exist
           expected  the name of a base
           meant     ebu-r128?
           chain     test.toml > house.toml > ebu-r182"""
    )


def test_a_loop_is_told_with_the_way_round(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that inherits from itself through another: the chain back to the start."""
    write_profile(tmp_path, 'base = ["test"]\n', "house.toml")
    path = write_profile(tmp_path, 'base = ["house"]\n' + GOOD)
    assert (
        told(path, monkeypatch)
        == """\
test.toml has 1 problem; nothing was checked.

  line 1   base   (inherited from house.toml)
           found     "test", which leads back here
           expected  bases without a loop
           chain     test.toml > house.toml > test.toml"""
    )


def test_a_base_of_itself_is_a_loop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The shortest loop."""
    path = write_profile(tmp_path, 'base = ["test"]\n' + GOOD)
    assert "chain     test.toml > test.toml" in told(path, monkeypatch)
