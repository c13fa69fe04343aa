"""Made programmes with decoys at random: the true breaks are found, exactly, whatever else is black.

Truth by construction. Decoys are never equivalent to a break: their length is outside what the outlet
accepts and they are no more silent than the breaks are. (An equivalent decoy cannot be told apart by
anybody; that case stands in test_find.)
"""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from qc.programme.find import find_structure
from qc.programme.structure import ExpectedClock, Gap
from qc.timing.spans import Span
from tests.programme.made import Made, gap, made, tiles


@st.composite
def programmes(draw: st.DrawFn) -> tuple[Made, ExpectedClock]:
    """A programme of 2 to 5 acts with up to 25 decoys, and the clock of an outlet that it meets."""
    acts = draw(st.lists(st.integers(1_500, 12_000), min_size=2, max_size=5))
    length = draw(st.sampled_from([1, 2, 15, 30, 60, 150, 300]))
    tolerance = draw(st.sampled_from([0, 1, 2])) if length > 2 else 0
    low, high = length - tolerance, length + tolerance
    silent = draw(st.booleans())
    breaks = draw(st.lists(st.integers(low, high), min_size=len(acts) - 1, max_size=len(acts) - 1))
    head, tail = draw(st.sampled_from([0, 1, 60, 300])), draw(st.sampled_from([0, 1, 150, 900]))
    file = made(acts, breaks, head=head, tail=tail, silent=silent)
    file = file.also(*_decoys(draw, file, (low, high), silent))
    trt = sum(acts)
    state = draw(st.sets(st.sampled_from(["act lengths", "trt", "start"])))
    spread = draw(st.sampled_from([0, 1, 60, 1_000]))
    expected = ExpectedClock(
        acts=len(acts),
        break_frames=(low, high),
        act_frames=tuple((frames - spread, frames + spread) for frames in acts) if "act lengths" in state else (),
        programme_frames=(trt, trt) if "trt" in state else None,
        start_frame=head if "start" in state else None,
    )
    return file, expected


def _decoys(draw: st.DrawFn, file: Made, window: tuple[int, int], silent: bool) -> list[Gap]:
    decoys = []
    lengths = st.integers(1, 700).filter(lambda frames: not window[0] <= frames <= window[1])
    for act in file.acts:
        at = act.first + 5
        for _ in range(draw(st.integers(0, 5))):
            frames = draw(lengths)
            at += draw(st.integers(3, 2_500))
            if at + frames + 5 > act.end:
                break
            quiet = draw(st.sampled_from([0, frames // 2, frames])) if silent else 0
            decoys.append(gap(at, frames, quiet))
            at += frames
    return decoys


@settings(max_examples=200, deadline=None, derandomize=True)
@given(programmes())
def test_true_breaks_are_found_among_decoys(case: tuple[Made, ExpectedClock]) -> None:
    """Acts, breaks, head and tail to the frame; every decoy stays inside its act."""
    file, expected = case
    structure = find_structure(file.frames, file.gaps, expected, False)
    assert structure.found_by == "picture"
    assert tuple(item.span for item in structure.breaks) == file.breaks
    assert tuple(act.span for act in structure.acts) == file.acts
    assert tiles(structure, file.frames)
    assert structure.missing_breaks == ()
    inside = [item for item in file.gaps if any(item.span.overlap(act) for act in file.acts)]
    assert list(structure.extra_gaps) == inside


@settings(max_examples=120, deadline=None, derandomize=True)
@given(st.data())
def test_a_removed_break_is_named_among_decoys(data: st.DataObject) -> None:
    """With stated act lengths and 10 s breaks, one break painted over is missing and the others are found."""
    acts = data.draw(st.lists(st.integers(3_000, 12_000), min_size=3, max_size=5))
    gone = data.draw(st.integers(1, len(acts) - 1))
    breaks = [300] * (len(acts) - 1)
    breaks[gone - 1] = 0
    file = made(acts, breaks)
    decoys = [
        item
        for item in _decoys(data.draw, file, (300, 300), False)
        if item.span.frames < 60 and all(abs(item.span.first - act.first) > 1_000 for act in file.acts)
        and all(abs(item.span.first - act.end) > 1_000 for act in file.acts)
    ]  # fmt: skip
    expected = ExpectedClock(
        acts=len(acts), break_frames=(300, 300), act_frames=tuple((frames - 50, frames + 50) for frames in acts)
    )
    structure = find_structure(file.frames, file.also(*decoys).gaps, expected, False)
    assert structure.missing_breaks == (gone,)
    kept = tuple(span for number, span in enumerate(file.breaks, start=1) if number != gone)
    assert tuple(item.span for item in structure.breaks) == kept


@st.composite
def any_gaps(draw: st.DrawFn) -> tuple[int, list[Gap]]:
    """A file with any blacks at all."""
    frames = draw(st.integers(1, 5_000))
    cuts = sorted(draw(st.sets(st.integers(0, frames), max_size=40)))
    gaps = [
        Gap(Span(first, end), draw(st.integers(0, end - first)))
        for first, end in zip(cuts[::2], cuts[1::2], strict=False)
    ]
    return frames, gaps


window = st.none() | st.tuples(st.none() | st.integers(0, 900), st.none() | st.integers(0, 900)).map(
    lambda pair: pair if None in pair else (min(pair), max(pair))
)
clocks = st.builds(
    ExpectedClock,
    acts=st.none() | st.integers(0, 7),
    act_frames=st.lists(window.filter(bool), max_size=7).map(tuple),
    break_frames=window,
    programme_frames=window,
    head_frames=window,
    start_frame=st.none() | st.integers(-100, 6_000),
)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(any_gaps(), clocks, st.booleans())
def test_any_picture_and_any_clock_give_a_whole_structure(
    file: tuple[int, list[Gap]], expected: ExpectedClock, single_part: bool
) -> None:
    """Whatever comes: parts lie end to end, or there are no acts and a reason; every black has one place."""
    frames, gaps = file
    structure = find_structure(frames, gaps, expected, single_part)
    assert structure.head.end <= structure.tail.first
    if not structure.acts:
        assert structure.note and not structure.found_by
        return
    assert tiles(structure, frames)
    assert all(act.span.frames > 0 for act in structure.acts)
    assert not structure.breaks or not single_part
    black = sum(item.span.frames for item in gaps)
    placed = sum(item.span.frames for item in (*structure.breaks, *structure.extra_gaps))
    outside = sum(g.span.overlap(part) for g in gaps for part in (structure.head, structure.tail))
    assert placed + outside == black
