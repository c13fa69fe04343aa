"""What a profile expects of the programme's structure, in frames of this file."""

from __future__ import annotations

from qc.judge.lengths import Lengths, lengths
from qc.outlets.schema import Profile
from qc.outlets.schema_kinds import DurationLimit
from qc.programme.sheet import TimingSheet
from qc.programme.structure import ExpectedClock
from qc.timing.timecode import Clock, TimecodeError

Range = tuple[int | None, int | None]


def expected_clock(profile: Profile, clock: Clock, sheet: TimingSheet | None = None) -> ExpectedClock:
    """Limits of the profile in frames; what it does not state, or what cannot be counted here, is None."""
    asked, single = profile.structure, single_part(profile, sheet)
    acts = 1 if single else asked.acts.exact if asked.acts else None
    trt = _range(profile.duration.trt, clock)
    if trt is not None and profile.programme.accounting == "whole-second outward":
        slack = 2 * clock.counting.base * (acts or 1)
        trt = (None if trt[0] is None else max(0, trt[0] - slack), trt[1])
    return ExpectedClock(
        acts=acts,
        act_frames=_acts(profile, clock, acts),
        break_frames=None if single else _range(asked.break_length, clock),
        programme_frames=trt,
        head_frames=_range(asked.head, clock) or _leader(profile, clock),
        start_frame=start_frame(profile, clock),
    )


def single_part(profile: Profile, sheet: TimingSheet | None = None) -> bool:
    """The outlet takes one unbroken part, or says nothing of acts and breaks at all and no sheet does."""
    asked = profile.structure
    if asked.parts is not None:
        return set(asked.parts.accept) == {"single"}
    if asked.acts is not None:
        return asked.acts.exact == 1
    silent = not (asked.break_length or asked.break_content or asked.act or asked.act_length)
    return silent and (sheet is None or len(sheet.acts) < 2)


def act_limit(profile: Profile, number: int, clock: Clock) -> Lengths | None:
    """Accepted length of one act: its own line, else the one for all acts.

    Raises TimecodeError for a length that cannot be counted at this rate.
    """
    own = next((act for act in profile.structure.act if act.number == number), None)
    limit = own or profile.structure.act_length
    return lengths(limit, clock.rate) if limit else None


def start_frame(profile: Profile, clock: Clock) -> int | None:
    """Frame that carries the label the outlet wants at SOM; None if there is no such label here."""
    wanted = profile.timecode.start
    if wanted is None or clock.start is None:
        return None
    try:
        number = clock.counting.frame(wanted.at)
    except TimecodeError:
        return None
    day = clock.counting.frames_per_day
    frame = (number - clock.start) % day
    return frame if frame < day // 2 else frame - day


def _acts(profile: Profile, clock: Clock, acts: int | None) -> tuple[Range, ...]:
    if acts is None or acts > 64:
        return ()
    found: list[Range] = []
    for number in range(1, acts + 1):
        try:
            limit = act_limit(profile, number, clock)
        except TimecodeError:
            limit = None
        found.append((limit.low, limit.high) if limit else (None, None))
    return tuple(found) if any(pair != (None, None) for pair in found) else ()


def _leader(profile: Profile, clock: Clock) -> Range | None:
    """The elements of the head together, where the outlet states no length of the whole."""
    layout = profile.leader.layout
    parts = [_range(element.length, clock) for element in layout.element] if layout else []
    known = [part for part in parts if part is not None]
    if not known or len(known) < len(parts):
        return None
    lows, highs = [low for low, _ in known], [high for _, high in known]
    return sum(low or 0 for low in lows), None if None in highs else sum(high or 0 for high in highs)


def _range(limit: DurationLimit | None, clock: Clock) -> Range | None:
    if limit is None:
        return None
    try:
        found = lengths(limit, clock.rate)
    except TimecodeError:
        return None
    return found.low, found.high
