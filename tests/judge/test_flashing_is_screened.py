"""Flashing is judged by the profile's rule, and every word of it says that it is screening."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from qc.judge import judge
from qc.judge.catalogue import CHECKS
from qc.judge.verdict import Finding, Outcome
from qc.measurement.record import Measurement
from qc.media.facts import FileFacts
from tests.judge.test_sound_is_judged_on_the_programme import only
from tests.kit.flashes import BLACK, WHITE, flat, lamp, measured, square_wave
from tests.kit.made import PAL, Part, black, facts, loaded, measurement, picture_stream

GENERAL = {"variant": "BT.1702-3", "area_percent": 25, "changes": 7}
RED = {"area_percent": 25, "changes": 7}
LONG = {"seconds": 5}
STRIPES = {"still_percent": 40, "changing_percent": 25}
WHOLE = {"flashes": GENERAL, "red": RED, "long_sequences": LONG, "patterns": STRIPES}


def header(rate: Fraction = PAL, **more: Any) -> FileFacts:
    return facts(pictures=(picture_stream(frame_rate=rate, time_base=1 / rate, **more),), timecodes=())


def file_of(series: dict[str, np.ndarray], parts: list[Part] | None = None, rate: Fraction = PAL) -> Measurement:
    frames = len(series["flashing.luminance"])
    record = measurement(parts or [Part(frames)], header(rate))
    assert record.picture is not None and record.picture.frames == frames
    stripes = {"stripes.found": np.zeros((0, 8), np.float32)}
    return replace(record, picture=replace(record.picture, extra={**stripes, **series}))


def found(series: dict[str, np.ndarray], asked: dict[str, Any], **more: Any) -> Finding:
    ((key, _),) = asked.items()
    return only(judge(file_of(series, **more), loaded(flashing=asked)), f"flashing.{key}")


def test_a_failing_sequence_says_where_how_much_and_what_to_do() -> None:
    """Nine changes a second: place, worst value and the published spacing of leading edges at this rate.
    Source: ITU-R BT.1702-3, Guideline 1; 9 frames at 25: Ofcom, Annex 1."""
    still = [flat(BLACK)] * 50
    finding = found(measured([*still, *square_wave(6, 60), *still], PAL), {"flashes": GENERAL})

    assert finding.outcome is Outcome.FAIL and finding.measured == 9 and finding.unit == "changes"
    assert finding.limit == "fewer than 7 changes in any second over more than 25 % of the screen, BT.1702-3"
    (place,) = finding.places
    assert (place.span.first, place.span.end, place.value) == (53, 111, 9)
    assert place.note == "in the worst second, up to 100 % of the screen"
    assert finding.fix is not None
    assert "at least 9 frames apart, or bring the change under 20 cd/m2, or keep the area under a quarter" in (
        finding.fix.sentence
    )


@pytest.mark.parametrize(
    ("rate", "frames"), [(Fraction(30000, 1001), 10), (Fraction(24000, 1001), 8), (Fraction(50), 18)]
)
def test_the_spacing_in_the_fix_is_that_of_the_rate(rate: Fraction, frames: int) -> None:
    """334 ms in a 60 Hz environment, 360 ms in a 50 Hz one. Source: ITU-R BT.1702-3, Guideline 1."""
    finding = found(measured(square_wave(4, 100), rate), {"flashes": GENERAL}, rate=rate)
    assert finding.fix is not None and f"at least {frames} frames apart" in finding.fix.sentence


def test_inside_the_limits_passes_with_its_worst_second() -> None:
    """Six changes are a pass, said as six."""
    finding = found(measured(square_wave(9, 100), PAL), {"flashes": GENERAL})
    assert finding.outcome is Outcome.PASS and finding.measured == 6 and not finding.places


def test_the_edition_is_the_profile_s_choice() -> None:
    """35 % signal at 5 Hz is a flash by Ofcom's table and none by BT.1702-3: one measurement, two verdicts."""
    record = file_of(measured(square_wave(5, 75, 64, 370), PAL))
    outcomes = {
        variant: only(
            judge(record, loaded(flashing={"flashes": {**GENERAL, "variant": variant}})), "flashing.flashes"
        ).outcome
        for variant in ("BT.1702-3", "Ofcom")
    }
    assert outcomes == {"BT.1702-3": Outcome.PASS, "Ofcom": Outcome.FAIL}


def test_a_should_is_looked_at() -> None:
    """Level should: an advisory, not a failure."""
    finding = found(measured(square_wave(5, 75), PAL), {"flashes": {**GENERAL, "level": "should"}})
    assert finding.outcome is Outcome.ADVISORY


def test_only_what_is_shown_counts() -> None:
    """Flashes in the head, before the first act, are nobody's picture; in an act they fail."""
    parts = [black(100), Part(400), black(250), Part(400), black(100)]
    for first, outcome in ((20, Outcome.PASS), (300, Outcome.FAIL)):
        pictures = [flat(BLACK)] * 1250
        pictures[first : first + 50] = square_wave(4, 50)
        asked = loaded(
            flashing={"flashes": GENERAL}, structure={"acts": {"exact": 2}, "parts": {"accept": ["soft parts"]}}
        )
        finding = only(judge(file_of(measured(pictures, PAL), parts), asked), "flashing.flashes")
        assert finding.outcome is outcome and finding.span == "programme"


def test_detail_that_flickers_is_an_advisory() -> None:
    """A fast pan over fine texture: for a person to look at, whatever the level."""
    fine = np.random.default_rng(1).choice(np.array([64, 940], np.uint16), (90, 400))
    texture = np.repeat(np.repeat(fine, 5, 0), 5, 1)
    series = measured([texture[:360, 13 * n : 13 * n + 640] for n in range(60)], PAL)
    finding = found(series, {"flashes": GENERAL})

    assert finding.outcome is Outcome.ADVISORY and "person should look" in finding.reason and finding.places
    # the number is that of the detail, over the limit; the screen itself is inside it
    assert finding.subject == "fine detail" and isinstance(finding.measured, int) and finding.measured >= 10
    assert finding.measured == finding.places[0].value
    assert "the screen as a whole makes 0 changes" in finding.reason


def test_an_area_over_the_limit_reads_over_it() -> None:
    """25.3 % of the screen (44 lines of 180 and a piece more) flash: "25 %" would read as inside the limit."""
    record = measured(lamp([(0, 0, 320, 44), (0, 44, 120, 4)], lambda _, n: n % 6 >= 3, 75, high=WHITE), PAL)
    finding = found(record, {"flashes": GENERAL})
    (area,) = re.findall(r"up to ([0-9.]+) % of the screen", finding.places[0].note)
    assert finding.outcome is Outcome.FAIL and float(area) == 25.3


def test_red_alone_fails_red_alone() -> None:
    """Red against a grey of its own luminance. Source: ITU-R BT.1702-3, Guideline 1."""

    def chroma(number: int, _: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        cb, cr = (409, 960) if number % 5 >= 2 else (512, 512)
        return np.full((90, 80), cb, np.uint16), np.full((90, 80), cr, np.uint16)

    record = file_of(measured([flat(250)] * 75, PAL, chroma=chroma))
    verdict = judge(record, loaded(flashing={"flashes": GENERAL, "red": RED}))
    assert only(verdict, "flashing.flashes").outcome is Outcome.PASS
    red = only(verdict, "flashing.red")
    assert red.outcome is Outcome.FAIL and red.fix is not None and "saturation" in red.fix.sentence


def test_long_sequences_are_an_advisory_with_their_length() -> None:
    """Eight seconds of two and a half flashes a second. Source: ITU-R BT.1702-3, Guideline 1 (more than 5 s)."""
    finding = found(measured(square_wave(10, 200), PAL), {"long_sequences": LONG})
    assert finding.outcome is Outcome.ADVISORY and finding.measured == pytest.approx(7.8, abs=0.3)
    assert found(measured(square_wave(10, 100), PAL), {"long_sequences": LONG}).outcome is Outcome.PASS
    # what fails already is not told of twice
    assert found(measured(square_wave(6, 200), PAL), {"long_sequences": LONG}).outcome is Outcome.PASS


def test_stripes_are_an_advisory_with_their_size() -> None:
    """Two looks that found them, half a second apart, are an event; one is none."""
    row = [0, 55.0, 90.0, 9.0, 1.0, 0.0, 0.0, 0.0]
    for rows, outcome in (([row], Outcome.PASS), ([row, [12, *row[1:]]], Outcome.ADVISORY)):
        series = {**measured([flat(BLACK)] * 50, PAL), "stripes.found": np.array(rows, np.float32)}
        finding = found(series, {"patterns": STRIPES})
        assert finding.outcome is outcome
    assert finding.measured == 55.0
    assert finding.places[0].note == (
        "about 9 pairs at rest, 55 % of the screen, upright; where they begin and end is known to half a second"
    )


@pytest.mark.parametrize(
    ("degrees", "words"),
    [
        (0, "level"),
        (179, "level"),
        (91, "upright"),
        (30, "slanting, rising to the right at 30 degrees"),
        (135, "slanting, falling to the right at 45 degrees"),
    ],
)
def test_the_way_that_stripes_run_is_said_in_words(degrees: float, words: str) -> None:
    """The series counts degrees above level, anticlockwise (stripes_series)."""
    row = [0, 55.0, degrees, 9.0, 1.0, 0.0, 0.0, 0.0]
    series = {**measured([flat(BLACK)] * 50, PAL), "stripes.found": np.array([row, [12, *row[1:]]], np.float32)}
    assert f", {words};" in found(series, {"patterns": STRIPES}).places[0].note


def test_what_cannot_be_measured_says_so() -> None:
    """Ofcom's table for HDR, a record without the series, red without a matrix: never a pass."""
    hdr = found(measured(square_wave(5, 50), PAL, transfer="HLG"), {"flashes": {**GENERAL, "variant": "Ofcom"}})
    old = only(judge(measurement([Part(50)], header()), loaded(flashing={"flashes": GENERAL})), "flashing.flashes")
    red = found(measured(square_wave(5, 50), PAL, matrix="ICtCp"), {"red": RED})
    for finding, word in ((hdr, "standard dynamic range"), (old, "no measurement"), (red, "Y'CbCr")):
        assert finding.outcome is Outcome.NOT_MEASURED and word in finding.reason


def test_damaged_pictures_are_counted_as_not_looked_at() -> None:
    """A pass over a gap says that there is one."""
    series = measured([flat(BLACK)] * 50, PAL)
    series["flashing.luminance"][[7, 8]] = -1
    assert "2 damaged pictures not looked at" in found(series, {"flashes": GENERAL}).reason


def test_every_text_says_that_it_is_screening() -> None:
    """Findings of every outcome, the check's title, its cautions: a screening aid, not a certified test."""
    wild, calm = measured(square_wave(5, 75), PAL), measured([flat(BLACK)] * 75, PAL)
    hdr = measured(square_wave(5, 75), PAL, transfer="PQ")
    for series in (wild, calm, hdr):
        asked = {**WHOLE, "flashes": {**GENERAL, "variant": "Ofcom"}}
        for key in asked:
            reason = only(judge(file_of(series), loaded(flashing=asked)), f"flashing.{key}").reason
            assert "screening aid, not a certified test" in reason
    check = CHECKS["flashing"]
    assert "screening" in check.title and "not a certified test" in check.cautions[0]


def test_lamps_are_weighed_by_the_profile_s_area() -> None:
    """A tenth of the screen is nothing to one outlet and too much for another."""
    record = file_of(measured(lamp([(0, 0, 120, 60)], lambda _, n: n % 6 >= 3, 75, high=WHITE), PAL))
    for area, outcome in ((25, Outcome.PASS), (10, Outcome.FAIL)):
        asked = loaded(flashing={"flashes": {**GENERAL, "area_percent": area}})
        assert only(judge(record, asked), "flashing.flashes").outcome is outcome
