"""Two editions of the report: everything for the crew; for the outlet nothing that is the crew's own.

What a station may see: common practice, no source. The outlet reads its own limits with its own clause numbers,
every figure and place, checksums and versions; no local path, no other outlet, no remark of the house.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from qc.judge.verdict import Outcome
from qc.report.edition import Edition
from qc.report.for_outlet import outlet_copy
from qc.report.html import report_html
from qc.report.overview import Link
from tests.kit import verdicts
from tests.kit.html_walk import walk
from tests.kit.whole_verdict import SECRET, secretive_verdict, stills, whole_verdict

LINKS = (Link(f"{SECRET}29: mixer's sheet", f"{SECRET}30.mix.html"),)
RUN = replace(verdicts.RUN, options={"outlet": [f"{SECRET}31"], "store": f"/srv/{SECRET}32/store", "sheet": None})


def media():
    facts = replace(verdicts.facts(), tags={"comment": f"/Volumes/{SECRET}33/Mix Room/session.ptx"})
    name = f"{SECRET}23/{verdicts.NAME}"
    return verdicts.media(name=name, facts=facts, incomplete_because=f"stopped; see --{SECRET}34")


def edition(which: Edition, verdict=None) -> str:
    page = report_html(
        verdict or secretive_verdict(), media(), RUN, edition=which, stills=stills(), links=LINKS
    ).decode()
    return re.sub(r"data:image/jpeg;base64,[A-Za-z0-9+/=]+", "", page)


def text_of(page: str) -> str:
    return " ".join(walk(page.encode()).text)


def test_nothing_internal_is_in_the_outlets_edition():
    """A marker stands in every internal field; not one of them is in the page, and no page of the run is linked."""
    page = edition(Edition.OUTLET)

    assert re.findall(rf".{{30}}{SECRET}\d*", page) == []
    assert "--" not in text_of(page)
    assert "TIDEWOLD" not in page
    assert all(link.attributes["href"].startswith("#") for link in walk(page.encode()).all("a"))


def test_the_markers_are_in_the_crews_edition():
    """The crew's edition keeps what the other leaves out: the test above would see it."""
    page = edition(Edition.INTERNAL)

    found = {int(number) for number in re.findall(rf"{SECRET}(\d+)", page)}
    assert {1, 2, 4, 8, 13, 19, 20, 24, 27, 29, 30, 33} <= found


def test_the_outlet_reads_all_that_it_needs():
    """Figures, limits, clauses, places, sources, checksums, versions and what was not measured stay."""
    text = text_of(edition(Edition.OUTLET))

    for finding in secretive_verdict().findings:
        assert finding.title in text
        if finding.clause:
            assert finding.clause in text
        if finding.source:
            assert finding.source in text
        for place in finding.places[:5]:
            assert place.timecode in text
            assert f"frame {place.span.first}" in text
    for words in (
        "CORVANE 5",
        "CORVANE Technical Exhibit C, 1 March 2026, revision 4",
        "-1.40 dBTP",
        "at most -2.0 dBTP",
        "0.60 dB outside",
        "two sources disagree in take.mxf".capitalize(),
        verdicts.NAME,
        "0123456789abcdef" * 4,
        "5f" * 32,
        "libavcodec 61.19.100",
        "airworthy 0.0.0",
        "608 and 708 captions (Exhibit C, 5)",
        "01:00:00;00",
        "-27.40 LKFS",
    ):
        assert words in text, words


def test_a_waiver_tells_the_outlet_that_it_is_one_and_until_when():
    """Not who and why: that is the house's own. The finding still stands with its figures."""
    text = text_of(edition(Edition.OUTLET))

    assert "Waived until 2026-12-31, as recorded by the sender" in text
    assert "1 waived" in text


def test_nobody_is_told_what_to_do_in_the_outlets_edition():
    """No gain, no window, no peaks after it, no advice; out of limits is stated, clause first."""
    page = edition(Edition.OUTLET, whole_verdict())
    seen = walk(page.encode())
    text = " ".join(seen.text)

    for words in ("Raise", "Lower the", "Gain", "Fits", "other outlets", "export", "What to change", "elsewhere"):
        assert words not in text, words
    assert "Out of limits" in text
    stated = [element for element in seen.elements if element.attributes.get("class") == "clause"]
    assert len(stated) >= len(whole_verdict().of(Outcome.FAIL))


def test_the_crew_reads_fixes_with_window_peaks_and_consequences():
    """One line for each other outlet, refusals first; peaks after the gain as a table."""
    text = text_of(edition(Edition.INTERNAL, whole_verdict()))

    for words in (
        "Fits: +1.4 dB to +5.4 dB",
        "Peaks over the ceiling after it (2)",
        "After this, elsewhere: met at MEADOWLINE PUBLIC; not met at TIDEWOLD ONE: 2 peaks over -3.0 dBTP.",
        "programme becomes -23.3 LKFS, as asked",
        "-0.90 dBTP",
        "Gain to it",
        "+3.4 dB",
        "Waived by R. Ashgrove, Fernhatch Pictures until 2026-12-31",
    ):
        assert words in text, words


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("/srv/house/take.mxf cannot be read", "take.mxf cannot be read"),
        ("in 'C:\\house\\take 1.mxf'", "in 'take 1.mxf'"),
        ("file:///mnt/a/b/take.mxf", "take.mxf"),
        ("rate 30000/1001, ATSC A/85:2013, 608/708, +/- 2.0", "rate 30000/1001, ATSC A/85:2013, 608/708, +/- 2.0"),
        ("L/R swapped, see https://corvane.example/spec/4", "L/R swapped, see https://corvane.example/spec/4"),
        ("breaks are not visible; give a timing sheet", "breaks are not visible"),
        ("two sources disagree; the track is used here", "two sources disagree; the track is used here"),
        ("no sheet was given; give one with --sheet", "no sheet was given"),
    ],
)
def test_texts_lose_folders_and_instructions_and_nothing_else(said, told):
    """Fractions, standards, tolerances and web addresses are no paths; facts after a semicolon stay."""
    verdict = replace(verdicts.verdict(), findings=(verdicts.finding(reason=said),))

    assert outlet_copy(verdict, verdicts.media(), verdicts.RUN).verdict.findings[0].reason == told


def test_each_edition_is_titled_for_its_reader():
    """The crew's says that it stays in the house."""
    crew, outlet = (walk(edition(which).encode()) for which in (Edition.INTERNAL, Edition.OUTLET))

    assert "not to be sent on" in " ".join(crew.text[:4])
    assert "not to be sent on" not in " ".join(outlet.text)
