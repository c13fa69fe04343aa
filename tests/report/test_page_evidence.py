"""Evidence beside findings: stills with words, stretches of curve, and what they weigh."""

from __future__ import annotations

from dataclasses import replace

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


def test_without_curves_and_stills_a_finding_is_told_in_words_alone():
    """A file of which nothing could be drawn has its report all the same."""
    seen = walk(report_html(whole_verdict(timeline=None, mixes=()), verdicts.media(), verdicts.RUN))

    assert not seen.all("svg")
    assert not seen.all("img")
    assert "Nothing could be measured that a drawing would show." in seen.text
    assert "-24.50 LUFS" in seen.text
