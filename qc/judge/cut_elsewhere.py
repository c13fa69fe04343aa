"""What frames taken out or put in do to the lengths that the other outlets of the run ask for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from qc.judge.case import Case
from qc.judge.expected_clock import act_limit
from qc.judge.lengths import Lengths, frames_text, lengths
from qc.outlets.schema_kinds import DurationLimit
from qc.programme.accounting import programme_time
from qc.programme.structure import Act
from qc.remedy.fix import Consequence
from qc.timing.spans import Span
from qc.timing.timecode import Counting, TimecodeError


@dataclass(frozen=True)
class Cut:
    """``frames`` put in (positive) or taken out (negative) of whatever stands at frame ``at`` of the file;
    -1 is before its first frame.

    anywhere  in which act is left open: only sums are told
    """

    at: int
    frames: int
    anywhere: bool = False


@dataclass(frozen=True)
class Told:
    """One length after the cut. good is None if nothing is asked of it."""

    words: str
    good: bool | None
    figure: tuple[str, float] | None = None


def cut_elsewhere(case: Case, cut: Cut) -> tuple[Consequence, ...]:
    """One for each other outlet."""
    return tuple(_at(other, cut) for other in case.others)


def _at(other: Case, cut: Cut) -> Consequence:
    outlet = other.profile.outlet
    if other.no_programme:
        return Consequence(outlet.name, outlet.code, None, f"cannot be told: {other.no_programme}")
    try:
        told = list(_lengths(other, cut))
    except TimecodeError as error:
        return Consequence(outlet.name, outlet.code, None, f"cannot be told: {error.what}")
    asked = [item for item in told if item.good is not None]
    words = "; ".join(item.words for item in asked or told) or "nothing of it is in this programme"
    if told and not asked:
        words += ", and nothing is asked of it there"
    good = all(item.good for item in asked) if asked else None
    after = dict(item.figure for item in told if item.figure is not None)
    return Consequence(outlet.name, outlet.code, good, words, after)


def _lengths(other: Case, cut: Cut) -> Iterator[Told]:
    found = other.structure
    act = next((act for act in found.acts if act.span.contains(cut.at)), None)
    gap = next((item for item in found.breaks if item.span.contains(cut.at)), None)
    acts = tuple(_moved(item, cut) for item in found.acts)
    if act is not None:
        yield _trt(other, acts)
        if not cut.anywhere:
            limit = act_limit(other.profile, act.number, other.clock)
            yield _told(other, f"act {act.number}", act.span.frames + cut.frames, limit, "act_frames")
    elif gap is not None:
        limit = _limit(other, other.profile.structure.break_length)
        yield _told(other, f"break {gap.number}", gap.span.frames + cut.frames, limit, "frames")
    elif found.head.contains(cut.at) or (cut.at < found.acts[0].span.first):
        limit = _limit(other, other.profile.structure.head)
        yield _told(other, "head", found.head.frames + cut.frames, limit, "frames")
    else:
        limit = _limit(other, other.profile.structure.tail)
        yield _told(other, "tail", found.tail.frames + cut.frames, limit, "frames")
    slot = other.profile.duration.slot
    if slot is not None and (act is not None or gap is not None):
        both = acts[-1].span.end - acts[0].span.first
        yield _told(other, "acts and breaks together", both, _limit(other, DurationLimit(exact=slot.exact)), None)
    if not cut.anywhere and (act is not None or gap is not None):
        yield from _starts(other, acts)


def _moved(act: Act, cut: Cut) -> Act:
    """The act with the frames gone or come: inside it its end moves, before it the whole of it."""
    span = act.span
    if span.contains(cut.at):
        return Act(act.number, Span(span.first, max(span.first, span.end + cut.frames)))
    if cut.at < span.first:
        first = max(0, span.first + cut.frames)
        return Act(act.number, Span(first, first + span.frames))
    return act


def _trt(other: Case, acts: tuple[Act, ...]) -> Told:
    counts = other.profile.programme
    measured = programme_time(acts, other.clock, counts.accounting, counts.eom)
    limit = _limit(other, other.profile.duration.trt)
    figure = ("trt_frames", float(measured.trt_frames))
    if limit is None:
        return Told(f"TRT becomes {measured.trt}", None, figure)
    amiss = limit.amiss(measured.trt_counted_frames)
    return Told(f"TRT becomes {measured.trt}, {_against(amiss, other.clock.counting)}", amiss == 0, figure)


def _told(other: Case, what: str, frames: int, limit: Lengths | None, name: str | None) -> Told:
    words = f"{what} becomes {other.clock.counting.duration(frames)}"
    if what.startswith("acts"):
        words = words.replace("becomes", "become")
    figure = None if name is None else (name, float(frames))
    if limit is None:
        return Told(words, None, figure)
    amiss = limit.amiss(frames)
    return Told(f"{words}, {_against(amiss, other.clock.counting)}", amiss == 0, figure)


def _against(amiss: int, counting: Counting) -> str:
    """ "as asked", "2 frames over" or, from a second on, "00:00:14;00 (420 frames) over"."""
    if not amiss:
        return "as asked"
    length = frames_text(abs(amiss))
    if abs(amiss) >= counting.base:
        length = f"{counting.duration(abs(amiss))} ({length})"
    return f"{length} {'over' if amiss > 0 else 'under'}"


def _limit(other: Case, limit: DurationLimit | None) -> Lengths | None:
    return None if limit is None else lengths(limit, other.clock.rate)


def _starts(other: Case, acts: tuple[Act, ...]) -> Iterator[Told]:
    """Acts that start on whole seconds or minutes now and would not any more."""
    asked, clock = other.profile.structure.act_starts, other.clock
    if asked is None or clock.start is None:
        return
    pairs = zip(other.structure.acts, acts, strict=True)
    lost = [
        str(now.number)
        for was, now in pairs
        if on_whole(other, was.span.first, asked.accept) and not on_whole(other, now.span.first, asked.accept)
    ]
    if lost:
        which = f"act {lost[0]} starts" if len(lost) == 1 else f"acts {', '.join(lost[:-1])} and {lost[-1]} start"
        yield Told(f"{which} off the {' or '.join(asked.accept)} unless the break takes it up", False)


def on_whole(case: Case, frame: int, accept: list[str]) -> bool:
    """The frame is the first of a second or minute of the labels, as asked."""
    label, before = case.clock.at(frame), case.clock.at(frame - 1)
    minute, second = label[:5] != before[:5], label[:8] != before[:8]
    return (minute and "whole minute" in accept) or (second and "whole second" in accept)
