"""The programme drawn to scale: read back as XML and measured."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from qc.judge.judging import judge
from qc.judge.timeline import Curve
from qc.judge.verdict import Outcome
from qc.report.drawing.columns import Columns, Scale, columns_of, outline
from qc.report.drawing.marks import Mark, flag_id, flag_numbers, flags_of, key, marks_of
from qc.report.drawing.timeline_svg import timeline_svg
from qc.report.drawing.widths import LETTER, WIDTHS, Wanted, in_line, in_room
from qc.timing.spans import Span
from tests.kit import made
from tests.kit.drawing import FRAMES, ids, of_class, read, share, timeline, upper_edge
from tests.kit.verdicts import HOSTILE

TEMPLATES = Path(__file__).resolve().parents[2] / "qc/report/templates"

MARKS = (
    Mark("finding-9", "True peak, programme", Outcome.FAIL, tuple(Span(k, k + 1) for k in (20000, 12000, 12010))),
    Mark("finding-2", "Act length, act 3", Outcome.FAIL, (Span(19600, 29600),)),
    Mark("finding-5", "Black inside an act", Outcome.WAIVED, (Span(12020, 12040),)),
    Mark("finding-6", "Sound at act end", Outcome.ADVISORY, (Span(FRAMES - 2, FRAMES),)),
    Mark("finding-7", "Wrapper", Outcome.FAIL, ()),
)


def test_parts_are_to_scale() -> None:
    """Edges of head, acts, breaks and tail lie where their frames are, within 0.1 % of the file."""
    shown = timeline()
    drawn = of_class(read(timeline_svg(shown, MARKS)), "tl-part")
    assert len(drawn) == len(shown.parts) == 9
    for element, part in zip(drawn, shown.parts, strict=True):
        assert share(element, "x") == pytest.approx(part.span.first / FRAMES, abs=0.0005)
        assert share(element, "width") == pytest.approx(part.span.frames / FRAMES, abs=0.0005)
        assert part.kind in (element.get("class") or "")


def test_black_silence_and_places_are_to_scale() -> None:
    """Runs and the bars of places, each in its lane and in its own hatching."""
    root = read(timeline_svg(timeline(), MARKS))
    black, silence = (of_class(root, name)[0] for name in ("tl-black", "tl-silence"))
    breaks = [9600 / FRAMES, 19300 / FRAMES, 29600 / FRAMES]
    assert [share(run, "x") for run in black] == pytest.approx(breaks, abs=5e-4)
    assert [share(run, "width") for run in silence] == pytest.approx([300 / FRAMES, 90 / FRAMES], abs=5e-4)
    hatches = {black.get("fill"), silence.get("fill")}
    patterns = {element.get("id"): element.find("path").get("d") for element in root.iter("pattern")}
    assert hatches == {f"url(#{name})" for name in patterns} and len(set(patterns.values())) == 2
    bars = sorted(share(bar, "x") for bar in of_class(root, "tl-extent"))
    assert bars == pytest.approx(sorted(s.first / FRAMES for mark in MARKS for s in mark.spans), abs=5e-4)


def _curve_of(root, kind: str) -> tuple[str, float, int]:
    """Path, width of its frame as a share of the plot, columns."""
    frame = next(svg for svg in root.iter("svg") if svg.find(f"path[@class='{kind}']") is not None)
    assert frame.get("preserveAspectRatio") == "none"
    return frame.find("path").get("d"), share(frame, "width"), int((frame.get("viewBox") or "").split()[2])


def test_curves_keep_every_extreme_and_last_as_long_as_their_values() -> None:
    """The drawn edge of each of 1200 columns is the highest of its tenths of a second, within a tenth of a pixel;
    12,901 tenths of a second are a little longer than 38,661 frames at 30000/1001, and so is the curve."""
    shown = timeline()
    root = read(timeline_svg(shown, ()))
    seconds = FRAMES * 1001 / 30000
    for kind, values in (("tl-curve", shown.short_term.values), ("tl-peaks", shown.true_peak.values)):
        path, width, columns = _curve_of(root, kind)
        assert columns == 1200 and width == pytest.approx(1290.1 / seconds, abs=1e-4)
        starts = np.arange(1200) * len(values) // 1200
        highest = np.maximum.reduceat(values, starts)
        drawn = upper_edge(path, 1200)
        # Two points of the scale are known from the drawing itself: pixels are linear in decibels.
        slope = np.polyfit(highest, drawn, 1)
        assert slope[0] < 0
        assert np.abs(np.polyval(slope, highest) - drawn).max() < 0.11


def test_limits_lie_on_the_scale_of_their_curve() -> None:
    """A curve that keeps to its target, band edge and ceiling is drawn on those lines."""
    flat = {
        "short_term": Curve("short-term loudness", np.full(12901, -24.0, np.float32), "LKFS", -26.0, -24.0, -22.0),
        "true_peak": Curve("true peak", np.full(12901, -2.0, np.float32), "dBTP", high=-2.0, most=-2.0),
    }
    root = read(timeline_svg(timeline(**flat), ()))
    for kind, line in (("tl-curve", "tl-target"), ("tl-peaks", "tl-ceiling")):
        path, _, columns = _curve_of(root, kind)
        height = float(of_class(root, line)[0].get("y1"))
        assert upper_edge(path, columns) == pytest.approx(np.full(columns, height), abs=0.11)
    edges = sorted(float(line.get("y1")) for line in of_class(root, "tl-edge"))
    target = float(of_class(root, "tl-target")[0].get("y1"))
    assert edges[0] < target < edges[1] and target - edges[0] == pytest.approx(edges[1] - target, abs=0.2)
    assert not of_class(root, "tl-over")


def test_peaks_over_the_ceiling_stand_out() -> None:
    """Only columns whose meter reading, on 0.1 dB, is over what is accepted."""
    values = np.full(12901, -10.0, np.float32)
    values[[100, 5000]] = -1.9
    values[9000] = -1.96
    curve = Curve("true peak", values, "dBTP", high=-2.0, most=-2.0)
    over = of_class(read(timeline_svg(timeline(true_peak=curve), ())), "tl-over")
    firsts = {int(first) for first in re.findall(r"M(\d+),", over[0].get("d"))}
    assert firsts == {100 * 1200 // 12901, 5000 * 1200 // 12901}
    tolerant = Curve("true peak", values, "dBTP", high=-2.0, most=-1.7)
    assert not of_class(read(timeline_svg(timeline(true_peak=tolerant), ())), "tl-over")


def test_every_finding_with_a_place_has_one_flag_linked_both_ways() -> None:
    """The flag has the id that the finding links back to, links to the finding, and says number, outcome and title."""
    root = read(timeline_svg(timeline(), MARKS))
    named = {link.get("id"): link for link in root.iter("a") if link.get("id")}
    placed = [mark for mark in MARKS if mark.spans]
    assert set(named) == {flag_id(mark.anchor) for mark in placed} == {f"at-{mark.anchor}" for mark in placed}
    numbers = flag_numbers(MARKS)
    assert numbers == {"finding-9": 1, "finding-5": 2, "finding-2": 3, "finding-6": 4}
    for mark in placed:
        link = named[flag_id(mark.anchor)]
        assert link.get("href") == f"#{mark.anchor}"
        name = link.get("aria-label")
        assert name.startswith(f"{numbers[mark.anchor]}, {mark.outcome.value}: {mark.title}, 01:")
        assert [text.text for text in link.iter("text")] == [str(numbers[mark.anchor])]
    assert "act 2" in named["at-finding-9"].get("aria-label")
    spoken = {link.get("href") for link in of_class(root, "tl-key")[0].iter("a")}
    assert spoken == {f"#{mark.anchor}" for mark in placed}


def test_outcomes_differ_in_shape() -> None:
    """A failure, something to look at and something let through are told apart without colour."""
    root = read(timeline_svg(timeline(), MARKS))
    shapes = {}
    for link in (link for link in root.iter("a") if link.get("id")):
        outcome = link.get("aria-label").split(", ")[1].split(":")[0]
        shapes[outcome] = tuple(
            (shape.tag, shape.get("rx")) for shape in link.iter() if shape.get("class") == "tl-shape"
        )
    assert len(set(shapes.values())) == len(shapes) == 3


@settings(max_examples=40)
@given(
    spans=st.lists(
        st.lists(st.integers(0, FRAMES - 1).map(lambda at: Span(at, at + 1)), min_size=1, max_size=5), max_size=30
    )
)
def test_flags_never_touch(spans: list[list[Span]]) -> None:
    """Each finding has its flag, and two in a row are 24 pixels apart or more on a page of 320 (WCAG 2.2, 2.5.8)."""
    marks = [Mark(f"finding-{n}", "x", Outcome.FAIL, tuple(places)) for n, places in enumerate(spans)]
    flags = flags_of(timeline(), marks)
    assert [flag.mark.anchor for flag in flags if flag.first] == list(flag_numbers(marks))
    narrowest = min(WIDTHS.values())
    rows = {flag.row for flag in flags}
    for row in rows:
        at = sorted(flag.at * narrowest for flag in flags if flag.row == row)
        assert all(right - left >= 24 for left, right in pairwise(at))


@settings(max_examples=50)
@given(st.lists(st.tuples(st.floats(0, 1), st.integers(1, 12)), max_size=20))
def test_labels_in_a_line_never_touch(labels: list[tuple[float, int]]) -> None:
    """At each width the labels that are shown stand apart, and one that fits alone is shown."""
    wanted = [Wanted(at, ("x" * letters,)) for at, letters in labels]
    shown = in_line(wanted)
    for name, width in WIDTHS.items():
        taken = sorted(
            (wanted[index].at * width - len(words) * LETTER / 2, wanted[index].at * width + len(words) * LETTER / 2)
            for (index, words), classes in shown.items()
            if name in classes.split()
        )
        assert all(one[1] < two[0] for one, two in pairwise(taken))
        assert bool(taken) == bool(wanted)


def test_a_name_that_does_not_fit_is_shortened_then_left_out() -> None:
    """Longest first: "act 12", then "12", then nothing inside."""
    assert in_room(("act 12", "12"), 1.0) == {"act 12": "tl-at-s tl-at-m tl-at-l"}
    assert set(in_room(("act 12", "12"), 0.09)) == {"12", "act 12"}
    assert in_room(("act 12", "12"), 0.001) == {}


def test_ids_are_unique_and_two_drawings_share_a_page() -> None:
    """Every id once; a second drawing without marks under another name adds no double."""
    one, two = read(timeline_svg(timeline(), MARKS)), read(timeline_svg(timeline(), (), ident="second"))
    every = ids(one) + ids(two)
    assert len(every) == len(set(every)) and "timeline" in every and "second" in every
    assert len(ids(read(timeline_svg(timeline(), (*MARKS, *MARKS))))) == len(ids(one))


def test_names_from_outside_stay_text() -> None:
    """Markup, template code and hidden characters in group, part and finding names make no element."""
    shown = timeline(group=HOSTILE, parts=tuple(part for part in timeline().parts))
    marks = (Mark("finding-1", HOSTILE, Outcome.FAIL, (Span(5, 6),)),)
    drawing = timeline_svg(shown, marks)
    root = read(drawing)
    assert not [element for element in root.iter() if element.tag in ("script", "style", "img", "iframe")]
    assert "\u202e" not in drawing and "\x1b" not in drawing and "<U+202E>" in "".join(root.itertext())
    assert "<script>alert('x')</script>" in "".join(root.itertext())
    plain = read(timeline_svg(timeline(), (Mark("finding-1", "x", Outcome.FAIL, (Span(5, 6),)),)))
    assert len(list(root.iter())) == len(list(plain.iter()))


def test_the_page_needs_nothing_but_itself() -> None:
    """No script, no style attribute, no handler, no address outside the page (the page's own policy forbids them)."""
    root = read(timeline_svg(timeline(), MARKS))
    for element in root.iter():
        assert element.tag != "script"
        assert not [name for name in element.attrib if name == "style" or name.startswith("on")]
        assert (element.get("href") or "#").startswith("#")
        assert re.fullmatch(r"(url\(#timeline-(black|silence)\))?", element.get("fill") or "")


def test_a_half_hour_is_small_and_quick() -> None:
    """A drawing of the noisiest half hour with many places stays under 120 kB and a fraction of a second."""
    silence = tuple(Span(k, k + 15) for k in range(0, FRAMES - 20, 40))
    marks = [
        Mark(f"finding-{n}", "True peak", Outcome.FAIL, tuple(Span(k, k + 1) for k in range(n * 900, n * 900 + 50, 10)))
        for n in range(40)
    ]
    began = time.process_time()
    drawing = timeline_svg(timeline(silence=silence, black=silence), marks)
    assert time.process_time() - began < 1.0
    assert len(timeline_svg(timeline(), MARKS).encode()) < 80_000
    assert len(drawing.encode()) < 120_000


def test_no_signal_and_no_value() -> None:
    """-inf lies on the floor, nan is a gap, and neither is ever written."""
    values = np.full(12901, -24.0, np.float32)
    values[:1000], values[5000:6000] = np.nan, -np.inf
    curve = Curve("short-term loudness", values, "LKFS", -26.0, -24.0, -22.0)
    drawing = timeline_svg(timeline(short_term=curve), ())
    path, _, columns = _curve_of(read(drawing), "tl-curve")
    edge = upper_edge(path, columns)
    assert np.isnan(edge[:90]).all() and not np.isnan(edge[100:]).any()
    assert edge[500] == np.nanmax(edge) == float(path_height(drawing))
    assert not re.search(r"\b(nan|inf)\b", drawing, re.IGNORECASE)
    silent = np.full(12901, -np.inf, np.float32)
    both = {
        "short_term": Curve("short-term loudness", silent, "LUFS"),
        "true_peak": Curve("true peak", silent, "dBTP"),
    }
    drawing = timeline_svg(timeline(**both), ())
    assert "digital silence" in drawing and not re.search(r"\b(nan|inf)\b", drawing, re.IGNORECASE)


def path_height(drawing: str) -> str:
    root = read(drawing)
    frame = next(svg for svg in root.iter("svg") if svg.find("path[@class='tl-curve']") is not None)
    return (frame.get("viewBox") or "").split()[3]


ODD = {
    "one frame": lambda: made.measurement([made.Part(1)]),
    "without sound": lambda: made.measurement(made.four_acts(), made.facts(sounds=())),
    "digital silence": lambda: made.measurement([made.black(200)]),
    "sound alone": lambda: made.measurement(
        [made.Part(300)], made.facts(pictures=(), others=(), timecodes=(), wrapper="WAV")
    ),
    "unknown structure": lambda: made.measurement([made.Part(900)]),
}


@pytest.mark.parametrize("name", ODD)
def test_any_timeline_can_be_drawn(name: str) -> None:
    """One frame, no sound, no picture, silence, no acts: a drawing that says what is missing."""
    asked = {
        "structure": made.FOUR_ACTS if name == "unknown structure" else {},
        "loudness": {"programme": {"unit": "LUFS", "target": -23.0, "tolerance": 0.5}},
        "true_peak": {"programme": {"unit": "dBTP", "max": -1.0}},
    }
    verdict = judge(ODD[name](), made.loaded(**asked))
    drawing = timeline_svg(verdict.timeline, marks_of(verdict))
    text = " ".join(read(drawing).itertext())
    assert not re.search(r"\b(nan|inf|none)\b", drawing.replace('preserveAspectRatio="none"', ""), re.IGNORECASE)
    said = {"without sound": "No sound stream", "digital silence": "digital silence", "one frame": "too short"}
    assert said.get(name, "") in text
    if not verdict.timeline.parts:
        assert verdict.timeline.no_parts[1:].rstrip(".") in text


def test_a_curve_ends_with_its_file() -> None:
    """A file of one frame is shorter than a tenth of a second: what goes beyond it is cut off, not drawn over the
    page."""
    verdict = judge(ODD["one frame"](), made.loaded())
    root = read(timeline_svg(verdict.timeline, ()))
    held = {child: parent for parent in root.iter() for child in parent}
    curves = [svg for svg in root.iter("svg") if svg.get("viewBox")]
    assert curves and any(share(curve, "width") > 1 for curve in curves)
    for curve in curves:
        around = held[curve]
        assert around.tag == "svg" and around.get("width") == "100%"
        assert around.get("class") is None and around.get("overflow") is None  # hidden, as drawings inside others are


def test_the_words_say_what_the_drawing_shows() -> None:
    """For those who do not see it: length, parts, runs, how far both curves go inside the acts, what is asked."""
    values = np.full(12901, -24.0, np.float32)
    values[50], values[4000] = -3.0, -17.26  # the first lies in the head
    curve = Curve("short-term loudness", values, "LKFS", -26.0, -24.0, -22.0)
    text = " ".join(read(timeline_svg(timeline(short_term=curve), MARKS)).find("figcaption").itertext())
    assert "01:00:00;00 to 01:21:29;28, 0:21:29.989 long: 4 acts, 3 breaks, head and tail." in text
    assert "3 runs of black and 2 runs of silence." in text
    assert "goes up to -17.3 LKFS inside the acts; programme -24.0, -26.0 to -22.0 accepted." in text
    assert "ceiling -2.0" in text and "The places of 4 findings are marked by number." in text


def test_marks_of_a_verdict_have_the_anchors_of_its_findings() -> None:
    """Findings that fail, want a look or are let through and have places; counted as the page counts them."""
    made_up = made.measurement(made.four_acts((1200, 1024, 952, 780)))
    made.put_peak(made_up, 2, 500, -0.5)
    asked = {"true_peak": {"programme": {"unit": "dBTP", "max": -2.0}}}
    length = {"act_length": {"max": "1110 frames"}, **made.FOUR_ACTS}
    verdict = judge(made_up, made.loaded(structure=length, **asked))
    marks = {mark.anchor: mark for mark in marks_of(verdict)}
    for number, finding in enumerate(verdict.findings, 1):
        wanted = finding.outcome in (Outcome.FAIL, Outcome.ADVISORY, Outcome.WAIVED) and bool(finding.places)
        assert (f"finding-{number}" in marks) == wanted
    assert {mark.title for mark in marks.values()} >= {"Act length, act 1"}


@given(
    st.lists(st.one_of(st.floats(-80, 10, width=32), st.just(-np.inf), st.just(np.nan)), max_size=300),
    st.integers(1, 40),
)
def test_columns_lose_no_extreme(values: list[float], most: int) -> None:
    """Highest and lowest of all columns are those of all values, gaps and silence included; their outline can be
    read back to a tenth of a pixel."""
    array = np.array(values, np.float32)
    columns = columns_of(array, most)
    assert columns.count == min(most, len(values))
    known = array[~np.isnan(array)]
    if len(known):
        assert np.nanmax(columns.high) == known.max() and np.nanmin(columns.low) == known.min()
    scale = Scale(-60.0, 0.0, 120.0)
    edge = scale.of(columns.high)
    read_back = upper_edge(outline(edge, scale.of(columns.low)), columns.count)
    assert np.array_equal(read_back, edge, equal_nan=True)


def test_a_scale_puts_what_is_beyond_on_its_edge() -> None:
    """Top at 0, bottom at the height; -inf at the bottom."""
    scale = Scale(-40.0, 0.0, 80.0)
    assert [scale.y(value) for value in (0.0, 10.0, -20.0, -90.0)] == [0.0, 0.0, 40.0, 80.0]
    assert scale.of(Columns(np.array([-np.inf]), np.array([-np.inf])).high)[0] == 80.0


def _colours(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6})", block))


def _luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2)."""
    digits = colour.lstrip("#")
    digits = "".join(digit * 2 for digit in digits) if len(digits) == 3 else digits
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    return float(np.dot([0.2126, 0.7152, 0.0722], _linear(parts)))


def _linear(parts: list[float]) -> list[float]:
    return [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]


@pytest.mark.parametrize("mode", ["light", "dark", "print"])
def test_lines_stand_out_from_the_paper(mode: str) -> None:
    """Everything that has to be told apart has a contrast of 3:1 or more (WCAG 2.2, 1.4.11), in every mode."""
    css = (TEMPLATES / "style.css").read_text(encoding="utf-8")
    blocks = {
        "light": css.index(":root"),
        "dark": css.index("prefers-color-scheme: dark"),
        "print": css.index("@media print"),
    }
    colours = _colours(css[blocks[mode] : css.index("}", css.index("--fail", blocks[mode]))])
    paper = _luminance(colours["paper"])
    for name in ("ink", "soft", "fail", "advisory", "waived", "link"):
        one, two = sorted((paper, _luminance(colours[name])), reverse=True)
        assert (one + 0.05) / (two + 0.05) >= 3.0, name
    # Bars of peaks let the paper through.
    opacity = float(re.search(r"\.tl-peaks {[^}]*fill-opacity: ([\d.]+)", _drawing_css())[1])
    mixed = "#" + "".join(
        f"{round(opacity * ink + (1 - opacity) * ground):02x}"
        for ink, ground in zip(_bytes(colours["soft"]), _bytes(colours["paper"]), strict=True)
    )
    one, two = sorted((paper, _luminance(mixed)), reverse=True)
    assert (one + 0.05) / (two + 0.05) >= 3.0


def _bytes(colour: str) -> list[int]:
    digits = colour.lstrip("#")
    digits = "".join(digit * 2 for digit in digits) if len(digits) == 3 else digits
    return [int(digits[at : at + 2], 16) for at in (0, 2, 4)]


def _drawing_css() -> str:
    return (TEMPLATES / "drawing.css").read_text(encoding="utf-8")


def test_the_style_sheet_has_no_colour_and_no_address_of_its_own() -> None:
    """Colours come from the page, so that dark mode and paper change them all; nothing is loaded."""
    css = _drawing_css()
    assert not re.search(r"#[0-9a-fA-F]{3,8}\b|\brgb|\bhsl|url\(|@import", css)
    used = set(re.findall(r"tl-[a-z-]+|st-[a-z-]+", timeline_svg(timeline(), MARKS)))
    styled = set(re.findall(r"\.(tl-[a-z-]+|st-[a-z-]+)", css))
    assert styled <= used | {"tl-over", "tl-not-measured", "tl-pass", "tl-head", "tl-tail"} | {
        name for name in styled if name.startswith("st-")
    }
    assert set(WIDTHS) <= styled


def test_the_key_counts_the_places_that_are_not_drawn() -> None:
    """Eleven places of which three are held: the key says both numbers."""
    marks = (replace(MARKS[0], more=8), MARKS[1], replace(MARKS[2], spans=(Span(5, 6), Span(9, 12))))
    text = key(timeline(), marks)
    assert "fail, first of 11 places, 3 drawn 0" in text
    assert "fail, one place 0" in text and "waived, first of 2 places 0" in text
