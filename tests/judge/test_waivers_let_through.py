"""Waivers: who, why, until when, for which file and stretch; and every way they do not apply."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from qc.judge import judge, read_waivers
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.judge.waivers import WaiverError
from qc.report.for_outlet import outlet_copy
from qc.report.media_file import media_file
from tests.judge.test_sound_is_judged_on_the_programme import only
from tests.kit.made import SINGLE, Part, event, loaded, measurement, put_silence
from tests.kit.verdicts import RUN

TODAY = datetime.date(2026, 11, 25)
SHA = "ab" * 32
GOOD = f'''
[[waiver]]
outlet = "corvane-5"
finding = "silence.inside_acts"
span = ["01:00:20;00", "01:00:24;00"]
file_sha256 = "{SHA}"
who = "M. Holm, Velmark Kanal"
why = "designed pause"
until = 2027-01-31
'''
PROFILE = loaded(
    structure=SINGLE,
    silence={"inside_acts": {"max": "2 s"}},
    levels={"clipping": {"area_percent": 5, "seconds": 2}},
)


def verdict(tmp_path: Path, text: str, *more: tuple[int, int], today: datetime.date = TODAY) -> Verdict:
    """A minute with 3 s of silence 20.5 s in, and further silences."""
    path = tmp_path / "waivers.toml"
    path.write_text(text, encoding="utf-8")
    made = measurement([Part(1800)])
    for first, end in ((2050, 2350), *more):
        put_silence(made, [1, 2], first, end)
    return judge(made, PROFILE, waivers=read_waivers(path), today=today)


def silence(found: Verdict) -> Finding:
    return only(found, "silence.inside_acts")


def test_a_waiver_lets_a_failure_through(tmp_path: Path) -> None:
    """The verdict passes; who, why and until stand in the finding."""
    found = verdict(tmp_path, GOOD)
    item = silence(found)
    assert item.outcome is Outcome.WAIVED and found.outcome is Outcome.PASS
    assert item.waiver is not None
    assert (item.waiver.who, item.waiver.why, item.waiver.until) == (
        "M. Holm, Velmark Kanal",
        "designed pause",
        "2027-01-31",
    )


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("2027-01-31", "2026-11-24"), "it ended on 2026-11-24"),
        ((SHA, "cd" * 32), "another checksum"),
        ((f'file_sha256 = "{SHA}"', 'file = "other.mxf"'), "another name"),
        (('["01:00:20;00", "01:00:24;00"]', '["01:00:30;00", "01:00:34;00"]'), "inside its span"),
    ],
)
def test_a_waiver_that_does_not_apply_says_why(tmp_path: Path, change: tuple[str, str], said: str) -> None:
    """Expired, other file, other stretch: the failure stands."""
    found = verdict(tmp_path, GOOD.replace(*change))
    item = silence(found)
    assert item.outcome is Outcome.FAIL and item.waiver is None
    assert said in item.remarks and found.outcome is Outcome.FAIL


def test_a_waiver_of_another_outlet_is_its_own_affair(tmp_path: Path) -> None:
    """It lets nothing through here, and nothing is said of it."""
    item = silence(verdict(tmp_path, GOOD.replace("corvane-5", "velmark-kanal")))
    assert item.outcome is Outcome.FAIL and item.waiver is None and not item.waiver_notes


def test_the_outlet_reads_nothing_of_waivers_that_do_not_apply(tmp_path: Path) -> None:
    """They stand in the crew's edition alone."""
    found = verdict(tmp_path, GOOD.replace("2027-01-31", "2026-11-24"))
    assert "M. Holm" in silence(found).remarks and "M. Holm" not in silence(found).reason
    sent = outlet_copy(found, media_file(measurement([Part(1800)])), RUN)
    assert silence(sent.verdict).remarks == silence(found).reason


def test_the_last_day_still_counts(tmp_path: Path) -> None:
    """Until is the last day, not the first without."""
    assert silence(verdict(tmp_path, GOOD, today=datetime.date(2027, 1, 31))).outcome is Outcome.WAIVED
    assert silence(verdict(tmp_path, GOOD, today=datetime.date(2027, 2, 1))).outcome is Outcome.FAIL


def test_a_waiver_of_one_stretch_leaves_the_others(tmp_path: Path) -> None:
    """A second silence outside the span still fails: it is the one listed, measured and told to be mended."""
    item = silence(verdict(tmp_path, GOOD, (4000, 4300)))
    assert item.measured == item.places[0].value == 90 and item.margin == 60 - 90
    assert item.fix is not None and "01:00:39;28" in item.fix.sentence and "01:00:20" not in item.fix.sentence
    assert item.outcome is Outcome.FAIL
    assert [place.timecode for place in item.places] == ["01:00:39;28"]
    assert "1 of its places waived" in item.remarks


def test_what_was_not_measured_is_never_waived(tmp_path: Path) -> None:
    """A waiver lets a failure through, not a gap in knowledge."""
    text = GOOD.replace("silence.inside_acts", "levels.clipping").replace('span = ["01:00:20;00", "01:00:24;00"]', "")
    assert only(verdict(tmp_path, text), "levels.clipping").outcome is Outcome.NOT_MEASURED


@pytest.mark.parametrize("complete", [True, False])
def test_damage_cannot_be_waived(tmp_path: Path, complete: bool) -> None:
    """A damaged file never passes, whether it could be read to its end or not."""
    path = tmp_path / "waivers.toml"
    path.write_text(
        GOOD.replace("silence.inside_acts", "integrity.decodable").replace('span = ["01:00:20;00", "01:00:24;00"]', "")
    )
    events = (event("decode error", frame=40),)
    made = measurement([Part(900)], complete=complete, incomplete_because="" if complete else "stops", events=events)
    found = judge(made, loaded(integrity={"decodable": {}}), waivers=read_waivers(path), today=TODAY)
    assert only(found, "integrity.decodable").outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("silence.inside_acts", "silence.inside_akts"), "meant silence.inside_acts?"),
        (("until = 2027-01-31", 'until = "2027-01-31"'), "until: expected a date"),
        (("until = 2027-01-31", ""), "until: missing"),
        (('who = "M. Holm, Velmark Kanal"', 'who = ""'), "who: expected text"),
        (('outlet = "corvane-5"', ""), "outlet: missing"),
        (("why =", "whi ="), "whi: unknown key, meant why?"),
        ((SHA, "abc"), "64 hexadecimal digits"),
        ((f'file_sha256 = "{SHA}"', ""), "file_sha256: missing"),
        (('["01:00:20;00", "01:00:24;00"]', '["20 s"]'), "two timecodes"),
        (("[[waiver]]", "[waiver]"), "list of tables"),
        (("[[waiver]]", "[[waivers]]"), "waivers: unknown"),
        (("[[waiver]]", "[[waiver"), "not TOML"),
    ],
)
def test_a_file_of_waivers_is_read_strictly(tmp_path: Path, change: tuple[str, str], said: str) -> None:
    """File, table and key are named; nothing is waived by a misspelt line."""
    path = tmp_path / "waivers.toml"
    path.write_text(GOOD.replace(*change))
    with pytest.raises(WaiverError) as error:
        read_waivers(path)
    assert said in str(error.value) and "waivers.toml" in str(error.value)
    assert error.value.exit_status == 2


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    """Each with the number of its table."""
    path = tmp_path / "waivers.toml"
    path.write_text(GOOD + GOOD.replace("who", "woh") + GOOD.replace("until = 2027-01-31", "until = 3"))
    with pytest.raises(WaiverError) as error:
        read_waivers(path)
    assert "[[waiver]] 2, woh" in str(error.value) and "[[waiver]] 3, until" in str(error.value)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """No traceback."""
    with pytest.raises(WaiverError, match="cannot be read"):
        read_waivers(tmp_path / "none.toml")
