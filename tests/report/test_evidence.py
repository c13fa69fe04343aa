"""Which frames are shown beside findings."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from qc.judge.timeline import Timeline
from qc.judge.verdict import Finding, Outcome, Verdict
from qc.report.evidence import MOST_SEEN, MOST_STILLS, frames_to_show, views_of
from tests.kit.verdicts import finding, place, verdict


def black(first: int, frames: int, **more: Any) -> Finding:
    values: dict[str, Any] = {"requirement": "black.inside_acts", "check": "black", "outcome": Outcome.FAIL}
    return finding(**(values | more), places=(place(first, frames),))


def of(*findings: Finding) -> Verdict:
    return replace(verdict(), findings=findings, timeline=None)


def test_the_frame_of_every_failure_comes_before_any_advice() -> None:
    """Failures first, musts before shoulds, advice and waived ones last, whatever order the verdict has."""
    shown = frames_to_show(
        [
            of(
                black(400, 1, outcome=Outcome.WAIVED),
                black(300, 1, outcome=Outcome.ADVISORY),
                black(200, 1, level="should"),
                black(100, 1),
            )
        ]
    )
    assert shown[:4] == (100, 200, 300, 400)


def test_a_pass_a_curve_and_a_place_without_picture_are_not_shown() -> None:
    """Nothing is decoded for what passed, for loudness and peaks, or for findings of headers."""
    assert frames_to_show([of(black(100, 1, outcome=Outcome.PASS))]) == ()
    loud = finding(outcome=Outcome.FAIL, check="true-peak", places=(place(9),))
    wrapper = finding(outcome=Outcome.FAIL, check="wrapper", places=(place(9),))
    assert frames_to_show([of(loud, wrapper)]) == ()


def test_one_finding_with_many_places_leaves_room_for_the_others() -> None:
    """Every finding has its first still before any has a second; of one, only the places that a page shows are asked
    for; the whole stays bounded."""
    many = replace(black(0, 1), places=tuple(place(1000 * k) for k in range(1, 200)))
    shown = frames_to_show([of(many, black(77, 1, outcome=Outcome.ADVISORY))])
    bounded = frames_to_show([of(*(black(100 * k, 1) for k in range(1, 50)))])

    assert shown[:2] == (1000, 77)
    assert max(shown) == 1000 * MOST_SEEN + 1
    assert len(bounded) == len(set(bounded)) == MOST_STILLS


def test_two_outlets_that_say_the_same_cost_one_still() -> None:
    """A frame is taken once for all outlets of a run, and asking twice gives the same answer."""
    both = [of(black(100, 1)), of(black(100, 1))]
    assert frames_to_show(both) == frames_to_show(both) == frames_to_show(both[:1])


def test_black_is_shown_with_the_picture_on_either_side() -> None:
    """A black frame shows nothing by itself: the last picture before it and the first after it tell more."""
    fault = black(100, 3)
    assert [view.frame for view in views_of(fault, fault.places[0])] == [100, 99, 103]


@pytest.mark.parametrize("check", ["strays", "hits", "solid", "repeats", "drops"])
def test_what_does_not_belong_is_shown_between_its_neighbours(check: str) -> None:
    """A stray looks like any picture: only the frames around it, taken before a second place, show that it is one."""
    fault = replace(finding(check=check, outcome=Outcome.FAIL), places=(place(100, 2), place(500)))

    assert [(view.frame, view.words) for view in views_of(fault, fault.places[0])] == [
        (100, "first frame"),
        (99, "last before it"),
        (102, "first after it"),
    ]
    assert frames_to_show([of(fault)]) == (100, 99, 102, 500, 499, 501)


def test_an_act_is_shown_by_its_first_and_its_last_frame() -> None:
    """The length of an act is a matter of both its ends (last frame, not the one after)."""
    fault = finding(check="act-length", outcome=Outcome.FAIL, places=(place(100, 50),))
    assert [view.frame for view in views_of(fault, fault.places[0])] == [100, 149]


def test_no_frame_before_the_first_or_after_the_last() -> None:
    """A black that opens the file has nothing before it, one that ends it nothing after it."""
    opening, closing = black(0, 5), black(90, 10)
    line = Timeline(100, 25.0, (), (), (), (), None, None, None, "")

    assert [view.frame for view in views_of(opening, opening.places[0])] == [0, 5]
    assert frames_to_show([replace(of(opening, closing), timeline=line)]) == (0, 90, 5, 89)
