"""Evidence beside findings: stills with words, stretches of curve, and what they weigh."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from qc.programme.place import Area
from qc.report.drawing.outline_svg import outlines
from qc.report.edition import Edition
from qc.report.html import report_html
from qc.report.still import Still
from tests.kit import verdicts
from tests.kit.html_walk import walk
from tests.kit.whole_verdict import BLACK_AT, DOT_AT, jpeg, stills, whole_verdict


def test_a_still_stands_beside_its_finding_with_words_for_what_it_shows():
    """Alternative text names frame and timecode; an outlined area is named; a still that could not be made says why.

    Source: WCAG 2.2, 1.1.1.
    """
    page = report_html(whole_verdict(), verdicts.media(), verdicts.RUN, stills=stills())
    seen = walk(page)

    alternatives = [element.attributes["alt"] for element in seen.all("img")]
    assert alternatives == [
        f"Frame {BLACK_AT - 1}, 01:07:47;03",
        f"Frame {BLACK_AT}, 01:07:47;04",
        f"Frame {DOT_AT}, 01:11:07;10, the place outlined",
    ]
    assert "No still: The packet is damaged." in " ".join(seen.text)
    assert page.count(b"data:image/jpeg") == 3


def test_a_frame_is_carried_once():
    """A second finding about the same frame names the finding that shows it: pictures are what makes a page heavy."""
    black = next(finding for finding in whole_verdict().findings if finding.title == "Black inside an act")
    twice = verdicts.verdict(findings=(black, black))
    seen = walk(report_html(twice, verdicts.media(), verdicts.RUN, stills=stills()))

    assert len(seen.all("img")) == 2
    assert "Shown with" in " ".join(seen.text)


def test_an_outline_stands_with_its_own_finding_alone():
    """Two findings of one frame, one of which points at a part of it: the other's picture has no outline."""
    spot = next(finding for finding in whole_verdict().findings if any(place.area for place in finding.places))
    (at,) = spot.places
    plain = replace(spot, title="Freeze", places=(replace(at, area=None),))
    elsewhere = replace(spot, title="Gamut", places=(replace(at, area=Area(0.1, 0.2, 0.3, 0.4)),))
    page = report_html(
        verdicts.verdict(findings=(spot, plain, elsewhere, spot)), verdicts.media(), verdicts.RUN, stills=stills()
    )
    stands = re.findall(r'<figure class="still">(.*?)</figure>', page.decode(), re.DOTALL)

    assert [each.count("<rect") for each in stands] == [2, 0, 2, 0]  # a white line within a black one
    assert ["Shown with" in each for each in stands] == [False, False, False, True]
    assert 'x="50%" y="25%" width="2%" height="2%"' in stands[0]
    assert 'x="10%" y="20%" width="30%" height="40%"' in stands[2]
    assert ["the place outlined" in each for each in stands[:3]] == [True, False, True]


def test_an_outline_stays_within_its_picture():
    """Areas that lie outside, or are no numbers at all."""
    wild = [Area(-5.0, 2.0, 1e9, float("inf")), Area(*(float("nan"),) * 4), Area(0.9, 0.9, -3.0, 0.0), None]
    numbers = [float(number) for number in re.findall(r'"([-\d.]+)%"', outlines(wild))]
    assert len(numbers) == 4 * 6 and all(0 <= number <= 100 for number in numbers)
    assert outlines([None]) == outlines([]) == ""


def test_a_page_with_thirty_stills_stays_under_three_megabytes():
    """What can be mailed. The stills are as large as the ones that are taken: 480 x 270, some grain."""
    black = next(finding for finding in whole_verdict().findings if finding.title == "Black inside an act")
    many = tuple(
        replace(black, places=tuple(verdicts.place(100 * number + step) for step in (0, 10, 20)))
        for number in range(10)
    )
    frames = [place.span.first for finding in many for place in finding.places]
    shown = {frame: Still(frame, jpeg(seed=frame), 480, 270) for frame in frames}
    page = report_html(whole_verdict(findings=many), verdicts.media(), verdicts.RUN, stills=shown)

    assert page.count(b"data:image/jpeg") == 30
    assert len(page) < 3_000_000


def test_a_peak_has_its_stretch_of_curve_and_a_flag_and_both_lead_to_each_other():
    """Three stretches of a finding are drawn; finding and flag of the drawing link to each other by ids."""
    seen = walk(report_html(whole_verdict(), verdicts.media(), verdicts.RUN))
    ids = {element.attributes.get("id") for element in seen.elements}
    hrefs = {element.attributes.get("href") for element in seen.all("a")}

    assert {f"finding-3-curve-{number}" for number in (1, 2, 3)} <= ids
    assert {"finding-3", "at-finding-3"} <= ids
    assert {"#finding-3", "#at-finding-3"} <= hrefs


@pytest.mark.parametrize("edition", Edition)
def test_a_page_has_one_numbering_the_flags_of_its_drawing(edition):
    """What to change counts in no other way: each place on the first screen and each card has the number that its flag
    has on the drawing."""
    page = report_html(whole_verdict(), verdicts.media(), verdicts.RUN, edition=edition).decode()
    drawn = set(re.findall(r'id="(at-finding-\d+)"[^>]* aria-label="(\d+), ', page))
    told = re.findall(r'<a class="flag [a-z-]+" href="#(at-finding-\d+)">flag <b>(\d+)</b></a>', page)
    first_screen = re.findall(r'<a class="flag [a-z-]+" href="#(at-finding-\d+)">', page.split('id="scale"')[0])

    assert "<ol" not in page
    assert set(told) == drawn and len(drawn) >= 4
    assert {"at-finding-3", "at-finding-4"} <= set(first_screen)
    assert sorted(told) == sorted([*drawn, *(pair for pair in drawn if pair[0] in first_screen)])


def test_without_curves_and_stills_a_finding_is_told_in_words_alone():
    """A file of which nothing could be drawn has its report all the same."""
    seen = walk(report_html(whole_verdict(timeline=None, mixes=()), verdicts.media(), verdicts.RUN))

    assert not seen.all("svg")
    assert not seen.all("img")
    assert "Nothing could be measured that a drawing would show." in seen.text
    assert "-24.50 LUFS" in seen.text
