"""A stretch of curve as evidence: what it shows is where and what the finding says."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from qc.judge.judging import judge
from qc.judge.timeline import Curve
from qc.judge.verdict import Outcome
from qc.report.drawing.stretch_svg import HEIGHT, Kind, stretch_of, stretch_svg
from tests.kit import made
from tests.kit.drawing import FRAMES, RATE, ids, noise, of_class, read, share, timeline, upper_edge
from tests.kit.verdicts import CLOCK, HOSTILE, place


def _seconds(label: str) -> float:
    return (CLOCK.counting.frame(label) - CLOCK.start) / RATE


def _ends(root) -> tuple[float, float]:
    first, last = [element.text for element in of_class(root, "tl-time")]
    return _seconds(first), _seconds(last)


def test_ten_seconds_round_a_moment_to_scale() -> None:
    """A frame lies in the middle of 10 s whose ends are labelled; its mark is where its frames are."""
    where = place(20000, channel=2, value=-1.4)
    root = read(stretch_svg(timeline(), where, Kind.TRUE_PEAK, value="-1.40 dBTP", ident="s"))
    start, end = _ends(root)
    assert end - start == pytest.approx(10.1, abs=2 / RATE) and start < 20000 / RATE < end
    mark = of_class(root, "st-event")[0]
    assert share(mark, "x") == pytest.approx((20000 / RATE - start) / (end - start), abs=0.004)
    assert share(mark, "width") == pytest.approx(1 / RATE / (end - start), abs=0.001)


def test_a_long_place_has_three_seconds_on_each_side() -> None:
    """10 s of silence are shown with what was before and after."""
    where = place(15000, 300, value=300.0)
    root = read(stretch_svg(timeline(), where, Kind.SILENCE, ident="s"))
    start, end = _ends(root)
    assert 15000 / RATE - start == pytest.approx(3.0, abs=0.15)
    assert end - 15300 / RATE == pytest.approx(3.1, abs=0.15)


@pytest.mark.parametrize("frame", [0, 3, FRAMES - 1])
def test_at_the_ends_of_the_file_the_stretch_ends_with_it(frame: int) -> None:
    """Nothing before the first frame, nothing after the last."""
    root = read(stretch_svg(timeline(), place(frame), Kind.TRUE_PEAK, ident="s"))
    start, end = _ends(root)
    assert 0 <= start < end <= FRAMES / RATE + 0.001
    assert 0 <= share(of_class(root, "st-event")[0], "x") <= 1


def test_the_curve_is_the_one_the_check_is_about() -> None:
    """Each kind draws its own values of these seconds: read back, they are in proportion to the decibels."""
    shown = timeline()
    where = place(20000, channel=1, value=-10.0)
    curves = {
        Kind.TRUE_PEAK: (shown.true_peak, "tl-peaks"),
        Kind.SHORT_TERM: (shown.short_term, "tl-curve"),
        Kind.MOMENTARY: (shown.momentary, "tl-curve"),
        Kind.SILENCE: (shown.levels[1], "tl-peaks"),
    }
    for kind, (curve, css) in curves.items():
        root = read(stretch_svg(shown, where, kind, ident="s"))
        frame = next(svg for svg in root.iter("svg") if svg.find(f"path[@class='{css}']") is not None)
        count = int(frame.get("viewBox").split()[2])
        drawn = upper_edge(frame.find("path").get("d"), count)
        start, _ = _ends(root)
        step = round(start * 10)
        values = curve.values[step : step + count].astype(float)
        seen = (drawn > 0.5) & (drawn < HEIGHT - 0.5)
        assert seen.sum() > count / 2
        line = np.polyfit(values[seen], drawn[seen], 1)
        assert line[0] < 0 and np.abs(np.polyval(line, values[seen]) - drawn[seen]).max() < 0.12, kind


def test_the_limit_lies_on_the_scale_and_is_named() -> None:
    """A curve that keeps to the limit is drawn on its line; the value stands in the margin and in the words."""
    values = np.full(12901, -2.0, np.float32)
    peak = Curve("true peak", values, "dBTP", high=-2.0, most=-2.0)
    shown = timeline(true_peak=peak, groups=())
    root = read(stretch_svg(shown, place(20000, value=-2.0), Kind.TRUE_PEAK, value="-2.00 dBTP", ident="s"))
    line = of_class(root, "tl-ceiling")[0]
    frame = next(svg for svg in root.iter("svg") if svg.find("path[@class='tl-peaks']") is not None)
    edge = upper_edge(frame.find("path").get("d"), int(frame.get("viewBox").split()[2]))
    assert edge == pytest.approx(np.full(len(edge), float(line.get("y1"))), abs=0.11)
    assert not of_class(root, "tl-over")
    assert "-2.0" in [text.text for text in of_class(root, "tl-value")]
    assert "ceiling -2.0 dBTP" in "".join(root.find("figcaption").itertext())


def test_the_ring_is_at_the_step_that_reads_what_the_finding_says() -> None:
    """Not at a higher neighbour that the frame only touches."""
    values = np.full(12901, -20.0, np.float32)
    frame = 20000
    step = int(frame / RATE * 10)
    values[step], values[step + 1] = -1.4, -5.0
    peak = Curve("true peak", values, "dBTP", high=-2.0, most=-2.0)
    where = place(frame, 4, channel=1, value=-5.0)
    root = read(stretch_svg(timeline(true_peak=peak, groups=()), where, Kind.TRUE_PEAK, value="-5.00 dBTP", ident="s"))
    start, end = _ends(root)
    ring = of_class(root, "st-ring")[0]
    assert share(ring, "cx") == pytest.approx(((step + 1.5) / 10 - start) / (end - start), abs=0.004)
    assert "-5.00 dBTP" in "".join(root.itertext())


def test_a_lost_channel_is_shown_by_itself() -> None:
    """One channel silent while the other sounds: the silent one alone is drawn, with its floor and how long it is."""
    quiet = noise(4, -30.0)
    quiet[5000:5014] = -np.inf
    shown = timeline(
        levels={1: Curve("1", quiet, "dBFS", low=-60.0), 2: Curve("2", noise(5, -30.0), "dBFS", low=-60.0)}
    )
    where = place(14985, 42, channel=1, value=42.0, note="1.40 s silent, picture runs on")
    root = read(stretch_svg(shown, where, Kind.SILENCE, ident="s"))
    words = "".join(root.find("figcaption").itertext())
    assert "channel 1" in words and "1.40 s silent, picture runs on" in words and "silent below -60.0 dBFS" in words
    frame = next(svg for svg in root.iter("svg") if svg.find("path[@class='tl-peaks']") is not None)
    edge = upper_edge(frame.find("path").get("d"), int(frame.get("viewBox").split()[2]))
    assert np.isclose(edge, HEIGHT).sum() == 14
    both = read(stretch_svg(shown, replace(where, channel=None), Kind.SILENCE, ident="s"))
    frame = next(svg for svg in both.iter("svg") if svg.find("path[@class='tl-peaks']") is not None)
    assert not np.isclose(upper_edge(frame.find("path").get("d"), int(frame.get("viewBox").split()[2])), HEIGHT).any()


def test_findings_of_sound_have_a_stretch_and_others_none() -> None:
    """True peak, short-term, silence and a lost channel of a judged file; its black has nothing to hear."""
    made_up = made.measurement(made.four_acts())
    made.put_peak(made_up, 2, 500, -0.5)
    made.put_silence(made_up, (1, 2), 1500, 1800)
    made.put_silence(made_up, (1,), 2500, 2700)
    made.put_light(made_up, 2900, made.BLACK_CODE)
    profile = made.loaded(
        structure=made.FOUR_ACTS,
        black={"inside_acts": {"max": "0 frames"}},
        true_peak={"programme": {"unit": "dBTP", "max": -2.0}},
        loudness={"max_short_term": {"unit": "LUFS", "max": -28.0}, "max_momentary": {"unit": "LUFS", "max": -28.0}},
        silence={"inside_acts": {"max": "1 s"}, "one_channel": {"max": "1 s"}},
    )
    verdict = judge(made_up, profile)
    failed = {f.requirement: f for f in verdict.findings if f.outcome is Outcome.FAIL and f.places}
    drawn = {
        key: stretch_of(finding, verdict.timeline, finding.places[0], ident="s") for key, finding in failed.items()
    }
    shown = {key for key, drawing in drawn.items() if drawing is not None}
    assert shown == {
        "true_peak.programme",
        "loudness.max_short_term",
        "loudness.max_momentary",
        "silence.inside_acts",
        "silence.one_channel",
    }
    assert "black.inside_acts" in drawn
    assert "-0.50 dBTP" in drawn["true_peak.programme"] and "in channel 2" in drawn["true_peak.programme"]
    assert "at most -28.0 LUFS" in drawn["loudness.max_short_term"]


def test_sound_up_to_a_cut_is_drawn_with_what_is_accepted_there() -> None:
    """The level of an act's last frames against the outlet's own limit."""
    asked = {"act_ends": {"max_level_dbfs": -40.0, "level": "should"}, **made.FOUR_ACTS}
    verdict = judge(made.measurement(made.four_acts()), made.loaded(structure=asked))
    finding = next(f for f in verdict.findings if f.requirement == "structure.act_ends" and f.places)
    drawing = stretch_of(finding, verdict.timeline, finding.places[0], ident="s")
    assert drawing is not None and "at most -40.0 dBFS" in drawing


def test_a_second_group_is_drawn_by_its_own_curves() -> None:
    """A place of the M&E shows the M&E, never the mix in its stead."""
    sounds = tuple(made.sound_stream(index) for index in range(1, 5))
    made_up = made.measurement(made.four_acts(), made.facts(sounds=sounds))
    made.put_peak(made_up, 1, 500, -1.0)
    made.put_peak(made_up, 3, 900, -1.5)
    groups = [
        {"name": "mix", "channels": [1, 2], "layout": "stereo"},
        {"name": "M&E", "channels": [3, 4], "layout": "stereo"},
    ]
    profile = made.loaded(
        structure=made.FOUR_ACTS,
        audio={"group": groups},
        true_peak={"programme": {"unit": "dBTP", "max": -2.0}},
    )
    verdict = judge(made_up, profile)
    found = [f for f in verdict.findings if f.requirement == "true_peak.programme"]
    assert [f.places[0].channel for f in found] == [1, 3]
    own = read(stretch_of(found[1], verdict.timeline, found[1].places[0], ident="s"))
    frame = next(svg for svg in own.iter("svg") if svg.find("path[@class='tl-peaks']") is not None)
    edge = upper_edge(frame.find("path").get("d"), int(frame.get("viewBox").split()[2]))
    assert (edge < HEIGHT - 1).sum() == 1


def test_no_curve_no_drawing() -> None:
    """Without sound, or where nothing is defined yet, there is no stretch rather than an empty frame."""
    assert stretch_svg(timeline(short_term=None, groups=()), place(900), Kind.SHORT_TERM, ident="s") is None
    assert stretch_svg(timeline(levels={}), place(900), Kind.SILENCE, ident="s") is None
    undefined = Curve("short-term loudness", np.full(12901, np.nan, np.float32), "LUFS")
    assert stretch_svg(timeline(short_term=undefined, groups=()), place(900), Kind.SHORT_TERM, ident="s") is None
    made_up = judge(made.measurement([made.Part(1)]), made.loaded()).timeline
    assert stretch_svg(made_up, place(0), Kind.SHORT_TERM, ident="s") is None
    assert stretch_svg(made_up, place(0), Kind.TRUE_PEAK, ident="s") is not None


@pytest.mark.parametrize("kind", [Kind.TRUE_PEAK, Kind.SHORT_TERM, Kind.SILENCE])
def test_silence_and_undefined_values_are_never_written(kind: Kind) -> None:
    """-inf lies on the floor, nan is a gap."""
    values = noise()
    values[6600:6700], values[6700:6705] = -np.inf, np.nan
    curve = Curve("x", values, "dBFS", low=-60.0, high=-2.0, most=-2.0)
    shown = timeline(short_term=curve, true_peak=curve, groups=(), levels={1: curve})
    for first in (20000, 20050, 20100):
        drawing = stretch_svg(shown, place(first, channel=1, value=-1.0), kind, value="x", ident="s")
        assert drawing is not None and not re.search(r"\b(nan|inf)\b", drawing, re.IGNORECASE)


def test_a_stretch_is_small_and_its_ids_its_own() -> None:
    """Under 15 kB even for a place of 20 minutes; ids begin with the name given."""
    for first, frames in ((20000, 1), (300, 36000)):
        drawing = stretch_svg(timeline(), place(first, frames), Kind.SHORT_TERM, ident="finding-3-curve-1")
        assert drawing is not None and len(drawing.encode()) < 15_000
        assert all(name.startswith("finding-3-curve-1") for name in ids(read(drawing)))


def test_words_from_outside_stay_text() -> None:
    """A note with markup in it makes no element."""
    where = place(20000, 300, channel=1, note=HOSTILE)
    hostile, plain = (
        read(stretch_svg(timeline(), one, Kind.SILENCE, ident="s")) for one in (where, replace(where, note="quiet"))
    )
    assert len(list(hostile.iter())) == len(list(plain.iter()))
    assert "<script>alert('x')</script>" in "".join(hostile.itertext())
    assert "\u202e" not in "".join(hostile.itertext())


def test_without_a_clock_the_ends_are_seconds() -> None:
    """A timeline that names no clock says elapsed seconds."""
    drawing = stretch_svg(timeline(clock=None), place(3000), Kind.TRUE_PEAK, ident="s")
    assert drawing is not None and re.search(r">9\d\.\d\d s<", drawing)
