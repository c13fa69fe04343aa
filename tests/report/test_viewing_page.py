"""The viewing list: the places that a person must see or hear, in programme order."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from qc.judge.catalogue import CHECKS
from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.programme.place import Area
from qc.report.still import Still
from qc.report.viewing_list import MOST_PLACES, viewing_frames, viewing_list
from qc.report.viewing_page import QUESTIONS, viewing_html, viewing_page
from tests.kit import verdicts
from tests.kit.html_walk import walk
from tests.kit.sheet_page import checked, harmless, text_of
from tests.kit.verdicts import place
from tests.kit.whole_verdict import BLACK_AT, jpeg, stills, timeline, whole_verdict

MEDIA = verdicts.media()


def black(*frames: int, **more: Any) -> Finding:
    return _finding(
        [place(frame, 2, within="act 1") for frame in frames],
        {"requirement": "black.inside_acts", "check": "black", "title": "Black inside an act", "subject": "acts"}
        | {"unit": "frames", "measured": 2, "limit": "none"},
        more,
    )


def peak(*frames: int, **more: Any) -> Finding:
    return _finding(
        [place(frame, 1, channel=2, value=-1.0) for frame in frames],
        {"requirement": "true_peak.programme", "check": "true-peak", "title": "True peak"}
        | {"unit": "dBTP", "measured": -1.0, "limit": "at most -2.0 dBTP"},
        more,
    )


def _finding(places: list[Place], usual: dict[str, Any], more: dict[str, Any]) -> Finding:
    return verdicts.finding(**{"outcome": Outcome.FAIL, "places": tuple(places), **usual, **more})


def verdict(*findings: Finding, name: str = "CORVANE 5", **more: object) -> Verdict:
    profile = replace(verdicts.PROFILE, name=name, code=name.lower().replace(" ", "-"))
    values = {"profile": profile, "findings": findings, "timeline": timeline(), "programme": verdicts.nothing_found()}
    return verdicts.verdict(**{**values, **more})


def test_every_check_with_a_place_has_its_question():
    """A new check that has something to see or hear must say what a person can tell there."""
    assert set(QUESTIONS) == {name for name, check in CHECKS.items() if check.evidence}


def test_places_stand_in_programme_order_with_everything_to_find_them():
    """Look and listen, timecode, frame, elapsed time, act-relative time, channel, why, and what to ask oneself."""
    made = viewing_html((whole_verdict(),), MEDIA, stills(), verdicts.RUN)
    text = text_of(made)
    looks = viewing_list((whole_verdict(),)).looks

    checked(made)
    assert all(one.span.first <= other.span.first for one, other in pairwise(looks))
    for words in (
        "Listen: 01:08:01;16",
        "Frame 14430, 0:08:01.481 from the first frame, act 2 +00:02:41;05, channel 2, -1.40 dBTP",
        "F FAIL True peak, programme: -1.40 dBTP, limit at most -2.0 dBTP.",
        "What makes the peak: a hit, a plosive, a click?",
        "Look: 01:07:47;04",
        "Is the black meant, a fade or a night, or is it a hole?",
        "True peak: 14 more places like these.",
    ):
        assert words in text, words


def test_what_passes_or_is_waived_is_no_reason_to_look():
    """Only fails and advisories with a place are on the list."""
    waived, passed = black(100, outcome=Outcome.WAIVED), black(200, outcome=Outcome.PASS)
    unplaced, unmeasured = black(), black(300, outcome=Outcome.NOT_MEASURED)

    assert viewing_list((verdict(waived, passed, unplaced, unmeasured),)).looks == ()
    text = text_of(viewing_html((verdict(waived),), MEDIA, {}, verdicts.RUN))
    assert "No place that a person has to look at was found." in text


def test_outlets_that_object_to_one_place_share_it():
    """The same black at two outlets is one place, with each outlet's limit; another channel is another place."""
    one = verdict(black(500, limit="at most 2 s"), peak(900))
    two = verdict(black(500, limit="at most 1 s"), peak(900, places=(place(900, channel=1),)), name="KERRAWIND")
    page = viewing_page((one, two), MEDIA, {}, verdicts.RUN)

    assert [item.verb for item in page.places] == ["Look", "Listen", "Listen"]
    assert page.places[0].whys[0].words == (
        "Black inside an act: 2 frames, limit at most 2 s (CORVANE 5); or at most 1 s (KERRAWIND)."
    )
    assert page.places[1].whys[0].words.endswith("(CORVANE 5).")


def test_outlets_rules_may_differ_by_a_frame():
    """Two stretches of one check that mostly overlap are one; two that do not are two."""
    long = black(places=(place(500, 40),))
    shifted, beyond = black(places=(place(502, 38),)), black(places=(place(530, 40),))

    assert len(viewing_list((verdict(long), verdict(shifted, name="A"))).looks) == 1
    assert len(viewing_list((verdict(long), verdict(beyond, name="A"))).looks) == 2


def test_a_single_outlet_is_not_named_at_every_place():
    """For one outlet its name would be noise."""
    assert "CORVANE 5" not in text_of(viewing_html((verdict(black(500)),), MEDIA, {}, verdicts.RUN))


def test_a_long_list_is_ranked_and_cut():
    """Each check its first place before any its second, fails before advice; what is left out is counted."""
    many = black(*range(100, 4000, 100))
    advice = verdicts.finding(
        requirement="structure.act_ends",
        check="act-ends",
        title="Sound at act end",
        outcome=Outcome.ADVISORY,
        places=tuple(place(frame) for frame in range(9000, 9030, 10)),
    )
    found = viewing_list((verdict(many, peak(8000), advice, programme=verdicts.programme()),))
    checks = [look.reasons[0].finding.check for look in found.looks]

    assert len(found.looks) == MOST_PLACES
    assert checks.count("true-peak") == 1 and checks.count("act-ends") == 3
    assert checks.count("black") == MOST_PLACES - 4
    assert found.left_out == (("Black inside an act", 39 - (MOST_PLACES - 4)),)
    assert found.routine_left_out == 8
    text = text_of(viewing_html((verdict(many, programme=verdicts.programme()),), MEDIA, {}, verdicts.RUN))
    assert "Black inside an act: 14 more places like these." in text
    assert "First and last frames of acts: 8 more." in text


def test_places_that_a_finding_only_counts_are_counted_once():
    """Two outlets that each count 14 more peaks likely mean the same 14."""
    pair = (verdict(peak(900, more_places=14)), verdict(peak(900, more_places=9), name="KERRAWIND"))

    assert viewing_list(pair).left_out == (("True peak", 14),)


def test_cuts_of_acts_fill_the_rest_of_the_list():
    """First and last frame of each act by label, once for all outlets that cut there."""
    other = verdict(name="KERRAWIND", programme=verdicts.programme())
    page = viewing_page((verdict(programme=verdicts.programme()), other), MEDIA, {}, verdicts.RUN)
    routine = [(item.label, item.routine) for item in page.places]

    assert len(routine) == 8
    assert routine[0] == ("01:00:00;00", "First frame of act 1 (CORVANE 5 and KERRAWIND).")
    assert routine[1] == ("01:05:10;09", "Last frame of act 1 (CORVANE 5 and KERRAWIND).")
    assert page.headline == "8 places in programme order: 8 first and last frames of acts, as a matter of routine."


def test_a_cut_that_a_finding_shows_already_is_not_shown_again():
    """A black finding at the head of act 2 shows its first frame: the routine look there is left out."""
    shown = black(places=(place(verdicts.ACTS[1].first),))
    looks = viewing_list((verdict(shown, programme=verdicts.programme()),)).looks

    assert [look.span.first for look in looks].count(verdicts.ACTS[1].first) == 1


def test_a_file_without_labels_is_named_by_frame():
    """Without a timeline there is no clock: cuts are named by their frames, not by made-up labels."""
    page = viewing_page((verdict(programme=verdicts.programme(), timeline=None),), MEDIA, {}, verdicts.RUN)

    assert page.places[0].label == "frame 0" and page.places[1].label == "frame 9299"


def test_stills_stand_beside_their_place_and_a_missing_one_says_why():
    """Pictures are part of the page, with words for those who do not see them (WCAG 2.2, 1.1.1)."""
    made = viewing_html((whole_verdict(),), MEDIA, stills(), verdicts.RUN)
    images = walk(made).all("img")

    assert len(images) == 3
    assert {image.attributes["alt"] for image in images} >= {
        f"Still: first black frame, frame {BLACK_AT}",
        f"Still: last before it, frame {BLACK_AT - 1}",
    }
    assert all(image.attributes["width"] == "480" and image.attributes["height"] == "270" for image in images)
    assert "No still. The packet is damaged." in text_of(made)


def test_a_place_to_listen_to_has_no_still():
    """A picture would say nothing about a peak."""
    shown = {900: Still(900, jpeg(), 480, 270)}

    assert walk(viewing_html((verdict(peak(900)),), MEDIA, shown, verdicts.RUN)).all("img") == []


def test_every_place_has_a_box_to_tick_with_its_own_words():
    """One box per place, inside its label (WCAG 2.2, 1.3.1); it prints and sends nothing."""
    seen = checked(viewing_html((whole_verdict(),), MEDIA, {}, verdicts.RUN))
    boxes = seen.all("input")

    assert len(boxes) == len(viewing_list((whole_verdict(),)).looks) > 0
    assert all(box.attributes == {"type": "checkbox"} and box.parents[-1] == "label" for box in boxes)


def test_frames_for_stills_are_few_and_the_tellings_ones_first():
    """Frames of findings before cuts of acts; a place to listen to asks for none."""
    frames = viewing_frames((verdict(black(500), peak(900), programme=verdicts.programme()),))

    assert frames[0] == 500 and 900 not in frames
    assert frames.index(500) < frames.index(0)
    assert len(frames) == len(set(frames)) <= 3 * MOST_PLACES


@pytest.mark.parametrize("several", [False, True])
def test_foreign_text_stays_text(several):
    """Titles, notes, outlets and reasons of missing stills that try to break out of the page."""
    item = black(title=verdicts.HOSTILE, subject=verdicts.HOSTILE, reason=verdicts.HOSTILE, limit=verdicts.HOSTILE)
    item = replace(item, places=(place(10, within=verdicts.HOSTILE, note=verdicts.HOSTILE),), more_places=3)
    hostile = replace(verdicts.hostile_verdict(), findings=(item,))
    judged = (hostile, verdict(item)) if several else (hostile,)
    reason = {10: Still(10, None, reason=verdicts.HOSTILE)}

    harmless(viewing_html(judged, verdicts.media(name=verdicts.HOSTILE), reason, verdicts.RUN))


def test_what_a_place_points_at_is_outlined_in_its_own_stills():
    """The box of a place lies over the frames of that place; another place of the same run has none."""
    spot = _finding(
        [place(5, area=Area(0.25, 0.5, 0.1, 0.2))],
        {"requirement": "frames.hits", "check": "hits", "title": "Digital hits", "subject": "picture"},
        {},
    )
    shown = {frame: Still(frame, jpeg(), 480, 270) for frame in (5, 900)}
    made = viewing_page((verdict(spot, black(900)),), MEDIA, shown, verdicts.RUN)

    outlined = {entry.label: [shot.outline for shot in entry.shots] for entry in made.places}
    assert [str(outline).count("<rect") for outline in outlined[place(5).timecode]] == [2]
    assert 'x="25%" y="50%" width="10%" height="20%"' in outlined[place(5).timecode][0]
    assert [outlines for label, outlines in outlined.items() if label != place(5).timecode] == [[""]]


def test_stills_of_a_place_stand_in_programme_order():
    """Before, at, after: as in the report."""
    shown = {frame: Still(frame, jpeg(), 480, 270) for frame in (899, 900, 902)}
    (entry,) = viewing_page((verdict(black(900)),), MEDIA, shown, verdicts.RUN).places

    assert [shot.words for shot in entry.shots] == [
        "last before it, frame 899",
        "first black frame, frame 900",
        "first after it, frame 902",
    ]
