"""Picture levels against an outlet's bounds: what is told, where, and what to do; advice on scaling and clipping."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.verdict import Finding, Outcome
from qc.measurement.record import Measurement
from qc.meters.picture.level_ladder import MATRICES, NO_MATRIX, NOT_MEASURED
from qc.outlets.load import load_base, load_profile
from qc.outlets.schema import Profile
from qc.timing.spans import Span
from tests.kit.made import FOUR_ACTS, SINGLE, Part, facts, four_acts, loaded, measurement, picture_stream, put_levels

#: EBU R 103 v3.0 (2020).
R103 = {"luma_min": -5, "luma_max": 105, "rgb_min": -5, "rgb_max": 105, "area_percent": 1.0, "at_least": 5}


def found(made: Measurement, structure: dict[str, Any] = SINGLE, **asked: Any) -> list[Finding]:
    verdict = judge(made, loaded(structure=structure, levels={"range": {**R103, **asked}}))
    return [item for item in verdict.findings if item.requirement == "levels.range"]


def test_red_on_a_door_reads_as_the_fault_it_is() -> None:
    """Component, side, area, how far, worst moment, the outline, and what to do."""
    made = measurement(four_acts())
    put_levels(made, Span(1300, 1390), "R", 105, 2.1, reach=109.0)
    put_levels(made, Span(1390, 1400), "R", 105, 2.3, reach=109.4)
    (item,) = found(made, FOUR_ACTS)
    assert (item.outcome, item.subject, item.measured, item.unit) == (Outcome.FAIL, "red, high", 2.3, "%")
    assert item.limit == "luma and RGB -5 to 105 %, at most 1 % of the picture outside"
    assert item.margin == pytest.approx(-1.3, abs=0.01)
    (place,) = item.places
    assert place.span == Span(1300, 1400)
    assert place.note == "red above 105 %, reaching 109 %; 100 frames, worst at 01:00:46;10"
    assert place.within.startswith("act 2")
    assert place.area is not None and (place.area.left, place.area.width) == (pytest.approx(0.4), pytest.approx(0.2))
    assert item.fix is not None
    assert item.fix.sentence == (
        "Red is above 105 % on 2.3 % of the picture, worst at 01:00:46;10 (act 2 +00:00:08;10): bring its saturation "
        "down there, or legalise."
    )


@pytest.mark.parametrize(
    ("component", "percent", "subject", "words"),
    [
        ("Y", 105, "luma, high", "Luma is above 105 % on 3.0 % of the picture"),
        ("Y", -5, "luma, low", "Luma is below -5 % on 3.0 % of the picture"),
        ("G", -5, "green, low", "Green is below -5 % on 3.0 % of the picture"),
        ("B", 105, "blue, high", "Blue is above 105 % on 3.0 % of the picture"),
    ],
)
def test_every_component_has_its_own_cure(component: str, percent: int, subject: str, words: str) -> None:
    """Luma high is a matter of gain, luma low of lift, a colour of saturation: the trade's practice, no source."""
    made = measurement([Part(300)])
    put_levels(made, Span(100, 150), component, percent, 3.0)
    (item,) = found(made)
    assert item.subject == subject and item.fix is not None and item.fix.sentence.startswith(words)
    cure = {"luma, high": "gain", "luma, low": "lift"}.get(subject, "saturation")
    assert cure in item.fix.sentence


def test_two_faults_are_two_findings_the_larger_first() -> None:
    """Each with its own places and cure."""
    made = measurement([Part(600)])
    put_levels(made, Span(100, 150), "B", 105, 2.0)
    put_levels(made, Span(300, 350), "Y", -5, 6.0)
    put_levels(made, Span(400, 450), "B", 105, 3.0)
    low, blue = found(made)
    assert (low.subject, blue.subject) == ("luma, low", "blue, high")
    assert [place.span.first for place in blue.places] == [400, 100]


def test_inside_the_bounds_is_a_pass_with_a_number() -> None:
    """What stays outside for five frames on end is told even where it is accepted."""
    clean = measurement([Part(300)])
    (item,) = found(clean)
    assert (item.outcome, item.measured, item.reason) == (Outcome.PASS, 0.0, "under 0.1 % of the picture everywhere")
    put_levels(clean, Span(100, 150), "R", 105, 0.8)
    put_levels(clean, Span(200, 203), "R", 105, 50.0)
    (item,) = found(clean)
    assert (item.outcome, item.measured, item.fix) == (Outcome.PASS, 0.8, None)


def test_head_breaks_and_tail_do_not_count() -> None:
    """Bars are outside on purpose; what follows the programme is not it."""
    made = measurement(four_acts(head=300, tail=300))
    frames = made.picture.frames if made.picture else 0
    put_levels(made, Span(0, 300), "Y", -5, 30.0)
    put_levels(made, Span(frames - 300, frames), "Y", 105, 30.0)
    assert [item.outcome for item in found(made, FOUR_ACTS)] == [Outcome.PASS]


def test_a_should_is_looked_at_and_a_must_fails() -> None:
    """R 103 itself is a recommendation; an outlet may make it a must."""
    made = measurement([Part(300)])
    put_levels(made, Span(100, 150), "R", 105, 3.0)
    assert found(made)[0].outcome is Outcome.FAIL
    assert found(made, level="should")[0].outcome is Outcome.ADVISORY


def test_zero_and_a_hundred_percent_are_judged_with_what_noise_needs() -> None:
    """Luma 0 to 100 %: judged at -1 and 101 %, and said so beside the limit. Common practice, no source."""
    made = measurement([Part(300)])
    (item,) = found(made, luma_min=0, luma_max=100)
    assert item.tolerance == "judged at -1 and 101 %"
    assert item.limit.startswith("luma 0 to 100 %, RGB -5 to 105 %")
    put_levels(made, Span(100, 150), "Y", 101, 3.0)
    assert found(made, luma_min=0, luma_max=100)[0].subject == "luma, high"
    assert found(made, luma_min=0, luma_max=103)[0].outcome is Outcome.PASS


def with_extra(made: Measurement, **changed: np.ndarray) -> Measurement:
    assert made.picture is not None
    renamed = {f"levels.{name}": array for name, array in changed.items()}
    return replace(made, picture=replace(made.picture, extra={**made.picture.extra, **renamed}))


def test_an_assumed_matrix_is_said() -> None:
    """Untagged pictures: which matrix R, G and B rest on."""
    place = [matrix.name for matrix in MATRICES].index("BT.601")
    made = with_extra(measurement([Part(300)]), matrix=np.array([place, 1], np.int8))
    assert "no colour matrix is tagged: BT.601 assumed" in found(made)[0].reason


def test_colour_that_cannot_be_derived_never_passes() -> None:
    """ICtCp: luma is judged, R, G and B are not measured, and a must then fails the file."""
    header = facts(pictures=(picture_stream(colour_matrix="ICtCp"),))
    made = with_extra(measurement([Part(300)], header), matrix=np.array([NO_MATRIX, 0], np.int8))
    colours, luma = found(made)
    assert (colours.outcome, colours.subject) == (Outcome.NOT_MEASURED, "red, green and blue")
    assert colours.reason == "the colour matrix is ICtCp: R, G and B cannot be derived"
    assert luma.outcome is Outcome.PASS
    verdict = judge(made, loaded(structure=SINGLE, levels={"range": R103}))
    assert verdict.outcome is Outcome.FAIL and not verdict.measurable


def test_without_colour_r_g_and_b_are_luma() -> None:
    """A monochrome picture is judged by luma, whichever bounds are asked for."""
    header = facts(pictures=(picture_stream(chroma="4:0:0"),))
    made = with_extra(measurement([Part(300)], header), matrix=np.array([NO_MATRIX, 0], np.int8))
    assert [item.outcome for item in found(made)] == [Outcome.PASS]
    put_levels(made, Span(100, 150), "Y", 105, 3.0)
    assert [item.subject for item in found(made, luma_min=None, luma_max=None)] == ["luma, high"]


def test_damaged_pictures_are_said() -> None:
    """Not measured is never a pass in silence."""
    made = measurement([Part(300)])
    assert made.picture is not None
    made.picture.extra["levels.state"][7] = NOT_MEASURED
    assert "1 frame damaged, not measured" in found(made)[0].reason


def test_the_six_outlets_ask_for_what_they_ask_for() -> None:
    """Luma to 104 %: outside for sheets that hold luma to 103 or 100 %, inside R 103 v3.0 (2020)."""
    made = measurement([Part(600)])
    put_levels(made, Span(100, 200), "Y", 103, 3.0)
    outcomes = {}
    for name in ("corvane-5", "meadowline-public", "hoshinami-net", "velmark-kanal", "tidewold-one", "kerrawind"):
        asked = load_profile(name)
        profile = Profile.model_validate(
            {
                "outlet": asked.profile.outlet.model_dump(),
                "structure": SINGLE,
                "levels": asked.profile.levels.model_dump(),
            }
        )
        verdict = judge(made, replace(asked, profile=profile))
        outcomes[name] = {item.outcome for item in verdict.findings if item.requirement == "levels.range"}
    assert outcomes == {
        "corvane-5": {Outcome.FAIL},
        "meadowline-public": {Outcome.FAIL},
        "hoshinami-net": {Outcome.FAIL},
        "velmark-kanal": {Outcome.PASS},
        "tidewold-one": {Outcome.PASS},
        "kerrawind": {Outcome.PASS},
    }


# -- advice -------------------------------------------------------------------------------------------------------


def advice(made: Measurement, **asked: Any) -> Finding:
    verdict = judge(made, loaded(structure=SINGLE, levels=asked))
    (key,) = asked
    (item,) = [item for item in verdict.findings if item.requirement == f"levels.{key}"]
    return item


def test_a_programme_without_black_and_white_is_looked_at() -> None:
    """Advice only, with the numbers, and that it may be a look."""
    item = advice(measurement([Part(400, light=120)]), scaling={})
    assert item.outcome is Outcome.ADVISORY
    assert item.measured == "nothing comes near black or white, titles included"
    assert "a look of the grade?" in item.reason
    assert item.fix is not None and "scaled to narrow once more" in item.fix.sentence


def test_full_range_called_narrow_is_looked_at() -> None:
    """A solid mass at both ends."""
    item = advice(measurement([Part(300, light=120), Part(100, light=4), Part(100, light=250)]), scaling={})
    assert item.outcome is Outcome.ADVISORY and "below black and above white" in str(item.measured)
    assert "20.0 % of the pixels lie under code 12" in item.reason


def test_a_good_programme_is_no_matter() -> None:
    """Black, white and what is between."""
    item = advice(measurement([Part(300, light=120), Part(30, light=16), Part(30, light=235)]), scaling={})
    assert (item.outcome, item.measured, item.fix) == (Outcome.PASS, "black and white are used", None)


def test_only_what_was_seen_is_said() -> None:
    """One of black and white is missing: no fault of scaling, but no word that both are there. Codes 40 and 120 are 11
    and 47 % of the nominal range (ITU-R BT.709-6, item 4.6); the bin of 120 ends at 127, 51 %."""
    item = advice(measurement([Part(300, light=40), Part(30, light=235)]), scaling={})
    assert (item.outcome, item.measured) == (Outcome.PASS, "white is used; nothing darker than 11 %")
    item = advice(measurement([Part(200, light=120), Part(30, light=16), Part(200, light=120)]), scaling={})
    assert (item.outcome, item.measured) == (Outcome.PASS, "black is used; nothing brighter than 51 %")


def test_too_little_to_tell() -> None:
    """Ten seconds at least."""
    item = advice(measurement([Part(200)]), scaling={})
    assert item.outcome is Outcome.NOT_MEASURED and "too few to tell" in item.reason


def test_clipped_highlights_are_looked_at() -> None:
    """Where, how much and at what level; under the limit the lasting share is told."""
    made = measurement([Part(600)])
    assert made.picture is not None
    share = np.zeros(50, np.uint16)
    share[10:20], share[14] = round(0.08 * 65535), round(0.11 * 65535)
    series = {**made.picture.extra, "clipping.share": share, "clipping.step": np.full(50, 235, np.uint8)}
    made = replace(made, picture=replace(made.picture, extra=series))
    item = advice(made, clipping={"area_percent": 5, "seconds": 2})
    assert (item.outcome, item.measured) == (Outcome.ADVISORY, 8.0)
    assert [place.span for place in item.places] == [Span(120, 229)]
    assert item.places[0].value == item.measured  # one figure: what lasts; the worst picture beside it
    assert item.places[0].note == "8.0 % of the picture at 100 % of the nominal range; up to 11.0 % at 01:00:05;18"
    assert item.fix is not None and item.fix.action == "look"
    item = advice(made, clipping={"area_percent": 10, "seconds": 2})
    assert (item.outcome, item.measured, item.places) == (Outcome.PASS, 8.0, ())


#: As base range-use asks.
BLACK = {"lifted_percent": 8, "seconds": 40, "crushed_percent": 1}


def test_lifted_blacks_are_looked_at() -> None:
    """Code 40 is 11 % of the nominal range (ITU-R BT.709-6, item 4.6): for how long, how dark, where."""
    item = advice(measurement([Part(200, light=16), Part(1300, light=40), Part(100, light=16)]), black=BLACK)
    assert (item.outcome, item.measured) == (Outcome.ADVISORY, "lifted: nothing darker than 11.0 %")
    assert [place.span for place in item.places] == [Span(200, 1500)]
    assert item.reason.startswith("for 43 s on end no picture has 0.1 % of its pixels at or under 8 %")
    assert item.fix is not None and item.fix.action == "look"


@pytest.mark.parametrize("parts", [[1100, 1100], [1300] + [900] * 8])
def test_bright_scenes_are_no_lifted_blacks(parts: list[int]) -> None:
    """Fog under the 40 s; fog that is longer, and under a fifth of the programme."""
    fog = [part for frames in parts for part in (Part(frames, light=60), Part(5, light=16))]
    item = advice(measurement(fog), black=BLACK)
    assert item.outcome is Outcome.PASS
    assert item.measured == "the darkest pictures reach 0 %; black piled up in 0 % of the pictures that are no nights"


def test_lifted_blacks_are_counted_through_the_breaks() -> None:
    """Breaks are black whatever the programme is; each act has its own place."""
    made = measurement(four_acts())
    verdict = judge(made, loaded(structure=FOUR_ACTS, levels={"black": BLACK}))
    (item,) = [item for item in verdict.findings if item.requirement == "levels.black"]
    assert item.outcome is Outcome.ADVISORY and len(item.places) == 4


def test_just_under_black_is_no_minus_nought() -> None:
    """Code 15 is -0.5 % of the nominal range (ITU-R BT.709-6, item 4.6)."""
    item = advice(measurement([Part(700, light=60), Part(30, light=15), Part(700, light=60)]), black=BLACK)
    assert str(item.measured).startswith("the darkest pictures reach 0 %")


def test_crushed_blacks_are_looked_at() -> None:
    """Half of the pictures have a tenth of theirs at black, and brightness runs down to it."""
    made = measurement([Part(1400, light=120)])
    assert made.picture is not None
    luma = made.picture.luma
    luma[::2] = 0
    luma[::2, 16], luma[::2, 17:57], luma[::2, 70] = 90, 10, 510
    item = advice(made, black=BLACK)
    assert (item.outcome, item.measured) == (Outcome.ADVISORY, "crushed: black piled up in 50 % of the pictures")
    assert item.reason.startswith("of the pictures that are no nights; up to 9.0 % of the picture, at ")


def test_too_few_pictures_for_black() -> None:
    """Under the seconds asked for nothing is said."""
    item = advice(measurement([Part(1000, light=40)]), black=BLACK)
    assert item.outcome is Outcome.NOT_MEASURED and "too few to tell" in item.reason


def test_the_base_asks_for_that() -> None:
    """All three are advice, and say that nobody published them."""
    base = load_base("range-use").profile.levels
    assert base.black and base.clipping and base.scaling
    assert {key: getattr(base.black, key) for key in BLACK} == BLACK
    assert (base.clipping.area_percent, base.clipping.seconds) == (10, 5)
    assert all("common practice" in asked.source for asked in (base.black, base.clipping, base.scaling))
