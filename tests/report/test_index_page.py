"""The index of a run: counts first, then every file by every outlet."""

from __future__ import annotations

from dataclasses import replace

from qc.judge.mix import OneMix
from qc.judge.verdict import Outcome, Verdict
from qc.remedy.fix import Fix
from qc.report.index_page import MOST_COLUMNS, index, index_html
from qc.report.media_file import unreadable_file
from qc.report.overview import FileRow, Link
from tests.kit import verdicts
from tests.kit.html_walk import walk
from tests.kit.sheet_page import checked, harmless, text_of

OUTLETS = ("CORVANE 5", "MEADOWLINE PUBLIC", "VELMARK KANAL", "TIDEWOLD ONE", "KERRAWIND", "HOSHINAMI NET")
MIX = OneMix((1, 2), OUTLETS, True, 0.5, 1.0, 0.7, -23.3, -3.0, 3, (), "Raise the mix 0.7 dB: then five of six pass.")


def code_of(name: str) -> str:
    return name.lower().replace(" ", "-")


def verdict(outlet: str, outcome: Outcome = Outcome.PASS, **more: object) -> Verdict:
    identity = replace(verdicts.PROFILE, name=outlet, code=code_of(outlet))
    findings = {
        Outcome.PASS: (verdicts.FINDINGS[0],),
        Outcome.FAIL: (verdicts.FINDINGS[0], verdicts.FINDINGS[2], verdicts.FINDINGS[6]),
        Outcome.ADVISORY: (verdicts.FINDINGS[8],),
    }[outcome]
    return verdicts.verdict(**{"profile": identity, "outcome": outcome, "findings": findings, **more})


def row(name: str = verdicts.NAME, outcomes: tuple[Outcome, ...] = (Outcome.PASS,) * 6, **more: object) -> FileRow:
    judged = tuple(verdict(outlet, outcome) for outlet, outcome in zip(OUTLETS, outcomes, strict=False))
    reports = {
        code_of(outlet): (Link("Report", f"x/{name}.{code_of(outlet)}.html"), Link("Timing sheet", f"x/{name}.t.html"))
        for outlet in OUTLETS
    }
    sheets = (Link("Mixer's sheet", f"x/{name}.mix.html"), Link("Viewing list", f"x/{name}.viewing.html"))
    values = {"file": verdicts.media(name=name), "verdicts": judged, "reports": reports, "sheets": sheets}
    return FileRow(**{**values, **more})  # type: ignore[arg-type]


TWO_FAIL = (Outcome.FAIL, Outcome.PASS, Outcome.FAIL, Outcome.ADVISORY, Outcome.PASS, Outcome.PASS)


def season() -> list[FileRow]:
    """13 half-hours for six outlets; two of every file fail."""
    return [row(f"BRLN_0{number}_CRV_HD_v01.mxf", TWO_FAIL) for number in range(201, 214)]


def test_a_season_is_counted_before_it_is_listed():
    """13 files for 6 outlets: 78 verdicts, counted by what they mean, then by file."""
    page = index_html(season(), verdicts.RUN)
    text = text_of(page)

    checked(page)
    for words in (
        "13 files, 6 outlets",
        "78 verdicts: 39 deliverable, 13 deliverable after a look, 26 not.",
        "None of 13 files pass for all outlets they were checked for; all 13 files need work.",
        "6 outlets: 3 deliverable, 1 deliverable after a look, 2 not",
    ):
        assert words in text
    assert len(page) < 400_000


def test_it_says_which_run_it_is_about():
    """One run, folders of others may stand beside it; of an interrupted one, how many files it did not come to."""
    whole, stopped = (text_of(index_html(season(), verdicts.RUN, left)) for left in (0, 2))

    assert "This page has the files of one run, the last into this folder." in whole
    assert "interrupted" not in whole
    assert "The run was interrupted: 2 more files not checked." in stopped


def test_every_cell_has_a_letter_and_a_word():
    """Outcome by letter and word in every cell of the grid, so that colour carries nothing. WCAG 2.2, 1.4.1."""
    page = index(season(), verdicts.RUN)
    text = text_of(index_html(season(), verdicts.RUN))

    cells = [cell.badge for file in page.files for cell in file.cells]
    assert len(cells) == 78
    assert {(badge.letter, badge.word) for badge in cells if badge} == {
        ("F", "FAIL"),
        ("P", "PASS"),
        ("A", "ADVISORY"),
    }
    assert text.count("F FAIL 1") == 26 and text.count("A ADVISORY") == 26  # grid and card
    assert page.grid and not index([row()], verdicts.RUN).grid


def test_all_papers_are_linked():
    """Every link of every row stands on the page, the report in the grid too."""
    rows = season()
    hrefs = [link.attributes["href"] for link in walk(index_html(rows, verdicts.RUN)).all("a")]

    for each in rows:
        for links in each.reports.values():
            assert hrefs.count(links[0].href) == 2
            assert all(link.href in hrefs for link in links)
        assert all(link.href in hrefs for link in each.sheets)


def test_a_first_part_with_a_colon_is_no_scheme():
    """A folder named "javascript:x" is a folder. Source: RFC 3986, 4.2."""
    links = {"corvane-5": (Link("Report", "javascript:alert(1)"), Link("CSV", "a/b:c.csv"))}
    seen = checked_without_scheme(index_html([row(reports=links)], verdicts.RUN))

    assert seen[0] == "./javascript:alert(1)"
    assert "a/b:c.csv" in seen


def checked_without_scheme(page: bytes) -> list[str]:
    return [str(link.attributes["href"]) for link in walk(page).all("a") if link.attributes["href"][0] != "#"]


def test_the_worst_finding_and_its_fix_stand_in_one_line():
    """A fail before what was not measured, its fix beside it, the rest counted."""
    page = index([row(outcomes=TWO_FAIL)], verdicts.RUN)
    failed, passed, _, look = page.files[0].lines[:4]

    assert failed.worst == "True peak, programme: -1.40 dBTP, limit at most -2.0 dBTP."
    assert failed.fix == "Lower the stereo mix by 0.6 dB, or limit these peaks to -2.0 dBTP."
    assert failed.more == "Besides: 1 not measured."
    assert (passed.fix, passed.more) == ("", "")
    assert passed.worst == "Every requirement that this profile states was measured and is met."
    assert look.worst.endswith("Look whether the outlet's player crops to it.")


def test_where_nothing_is_deliverable_it_is_said():
    """ "0 deliverable, 6 not": never only the half of it."""
    assert index([row(outcomes=(Outcome.FAIL,) * 6)], verdicts.RUN).files[0].total == "6 outlets: 0 deliverable, 6 not"


def test_a_damaged_file_comes_before_everything_else():
    """Nothing else counts as long as the file cannot be read whole."""
    judged = (verdict("CORVANE 5", Outcome.FAIL, findings=verdicts.FINDINGS),)

    assert index([row(verdicts=judged)], verdicts.RUN).files[0].lines[0].worst.startswith("Complete and decodable: 3")


def test_what_failed_without_a_fix_says_why():
    """Without a fix the reason stands there; an unmeasured must says why it was not."""
    no_fix = replace(verdicts.FINDINGS[4], fix=None)
    first = index([row(verdicts=(verdict("KERRAWIND", Outcome.FAIL, findings=(no_fix,)),))], verdicts.RUN)
    second = index([row(verdicts=(verdict("KERRAWIND", Outcome.FAIL, findings=verdicts.FINDINGS[6:8]),))], verdicts.RUN)

    assert "Two timecode sources disagree" in first.files[0].lines[0].worst
    assert second.files[0].lines[0].worst == (
        "Silence inside acts, stereo mix: not measured. The sound stops at 01:14:02;11, before act 4 ends."
    )


def test_files_stand_as_given_and_outlets_as_they_occur():
    """No order is made up; a file that was not checked for an outlet says so."""
    one = row("b.mxf", verdicts=(verdict("KERRAWIND"),))
    other = row("a.mxf", verdicts=(verdict("CORVANE 5", Outcome.FAIL), verdict("KERRAWIND")))
    page = index([one, other], verdicts.RUN)

    assert [file.name for file in page.files] == ["b.mxf", "a.mxf"]
    assert page.outlets == ("KERRAWIND", "CORVANE 5")
    assert [cell.badge is None for cell in page.files[0].cells] == [False, True]
    assert "not checked" in text_of(index_html([one, other], verdicts.RUN))


def test_facts_of_the_file_stand_once_and_the_mix_before_the_outlets():
    """File-level facts once, not per outlet; the one-mix sentence is whole however long it is."""
    long = replace(MIX, sentence="Raise the mix 0.7 dB. " + " ".join(f"OUTLET {n} is not counted." for n in range(60)))
    text = text_of(index_html([row(one_mix=long)], verdicts.RUN))

    for words in (
        "MXF, OP1a",
        "MPEG-2 4:2:2, 1920x1080, 29.97 frames a second (30000/1001), interlaced, top first, 8 bit",
        "2 channels: 2 streams of PCM, 48000 Hz, 24 bit, 1 channel",
        "0:21:51.310, 39300 frames",
        "8.12 GB (8123456789 bytes)",
        "0123456789abcdef" * 4,
        "01:00:00;00",
    ):
        assert text.count(words) == 1, words
    assert text.index("Raise the mix 0.7 dB.") < text.index("CORVANE 5") < text.index("MXF, OP1a")
    assert "OUTLET 59 is not counted." in text


def test_many_outlets_leave_the_table_form():
    """More outlets than stand side by side: each file lists its own."""
    judged = tuple(verdict(f"OUTLET {number}") for number in range(MOST_COLUMNS + 1))
    page = index_html([row("a", verdicts=judged), row("b", verdicts=judged)], verdicts.RUN)

    checked(page)
    assert "many" in next(str(table.attributes["class"]) for table in walk(page).all("table")).split()


def test_a_run_of_nothing_and_a_file_that_cannot_be_read_have_an_index():
    """No file, and a file without facts, are told in words."""
    nothing = index_html([], verdicts.RUN)
    bad = FileRow(
        unreadable_file("BRLN_0213.mxf", "it looks like a PDF, not media", 1234),
        (verdict("CORVANE 5", Outcome.FAIL, findings=(verdicts.FINDINGS[6],)),),
    )
    text = text_of(index_html([bad, row()], verdicts.RUN))

    checked(nothing)
    assert "No file was checked" in text_of(nothing)
    assert "it looks like a PDF, not media" in text and "1 file could not be read to the end." in text
    assert "1234 bytes" in text


def test_foreign_text_stays_text():
    """File, outlet, fix, links and mix sentence that try to break out of the page."""
    fix = Fix("x", None, "", "x", verdicts.HOSTILE)
    item = verdicts.finding(outcome=Outcome.FAIL, title=verdicts.HOSTILE, measured=verdicts.HOSTILE, fix=fix)
    judged = replace(verdicts.hostile_verdict(), findings=(item,))
    links = {verdicts.HOSTILE: (Link(verdicts.HOSTILE, "x.html"),)}
    hostile = row(
        verdicts.HOSTILE,
        file=verdicts.media(name=verdicts.HOSTILE, facts=verdicts.facts(verdicts.HOSTILE)),
        verdicts=(judged,),
        reports=links,
        one_mix=replace(MIX, sentence=verdicts.HOSTILE),
    )

    harmless(index_html([hostile, hostile], verdicts.RUN))


def test_the_same_run_gives_the_same_bytes():
    """Nothing on the page depends on when or where it is made."""
    assert index_html(season(), verdicts.RUN) == index_html(season(), verdicts.RUN)
