"""Whether one level of the same mix serves all outlets that a file is checked for, and which.

Each limit accepts a window of gains, and windows on a line meet all together as soon as every two of them
meet: where there is no common gain, some pair of outlets says why.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

from qc.figures.groups import ChannelGroup
from qc.figures.resolution import on_meter
from qc.judge.case import Case
from qc.judge.demands import Demand, demands
from qc.judge.gain_elsewhere import same_channels
from qc.judge.mix import OneMix
from qc.judge.one_mix_words import Level, conflict_words, not_counted, not_served, own_conflict, served
from qc.judge.peaks_left import count_left, stated_ceiling
from qc.remedy.fix import Window
from qc.remedy.gain_window import accepted_gains, common, holds, inset, middle, nearest

#: Room in dB that the advice leaves to every limit where it can: what EBU R 128 v5 (2023) reckons with between meters.
_ROOM = 0.2


@dataclass(frozen=True)
class Seat:
    """One outlet with the channels that all of them judge."""

    case: Case
    group: ChannelGroup

    @property
    def name(self) -> str:
        return self.case.profile.outlet.name

    @cached_property
    def demands(self) -> tuple[Demand, ...]:
        return demands(self.case, self.group)

    @cached_property
    def gains(self) -> Window | None:
        """Gains that every loudness limit of this outlet accepts; None if there is none."""
        return common(demand.gains for demand in self.demands)

    @property
    def ceiling(self) -> float | None:
        return stated_ceiling(self.case)

    @cached_property
    def loudness(self) -> float | None:
        return self.case.figures.integrated(self.group, self.case.programme).value

    @cached_property
    def top(self) -> float | None:
        return self.case.figures.true_peak(self.group, self.case.programme).value

    def peaks(self, gain: float) -> int:
        """Places over this outlet's own ceiling after a gain."""
        if self.ceiling is None or self.top is None:
            return 0
        return count_left(self.case, self.group, self.case.programme, self.ceiling, gain)

    @property
    def untouched(self) -> Window | None:
        """Gains after which no peak is over the ceiling."""
        return Window(None, None) if self.top is None else accepted_gains(self.top, None, self.ceiling)


def one_mix(cases: Sequence[Case]) -> OneMix | None:
    """None with fewer than two outlets that judge the same channels, or if those channels are silent."""
    seats, left_out = _seats(cases)
    if len(seats) < 2 or all(seat.loudness is None for seat in seats):
        return None
    conflicts = _conflicts(seats)
    window = common(seat.gains for seat in seats)
    ceilings = [seat.ceiling for seat in seats if seat.ceiling is not None]
    gain = None if window is None else _advised(seats, window)
    told = gain if gain is not None else _best(seats)
    level = Level(
        gain=told,
        loudness=tuple(sorted(seat.loudness + told for seat in seats if seat.loudness is not None)),
        outlets=tuple(seat.name for seat in seats),
        right=tuple(seat.name for seat in seats if holds(seat.gains, told)),
        peaks=tuple((seat.name, seat.ceiling, seat.peaks(told)) for seat in seats if seat.ceiling is not None),
        left_out=left_out,
    )
    lowest = min(ceilings, default=None)
    if window is None or gain is None:
        return _made(seats, None, None, level, lowest, conflicts, not_served(level, conflicts))
    room = _roomy(seats, window)
    untouched = [seat.untouched for seat in seats]
    roomy = common([room, *untouched])
    clean = roomy or common([window, *untouched])
    over = any(count for *_, count in level.peaks)
    instead = nearest(clean, gain) if clean and over else None
    clear = nearest(roomy, gain) if roomy and not holds(room, gain) else None
    return _made(seats, window, gain, level, lowest, conflicts, served(level, window, instead, clear))


def _made(
    seats: Sequence[Seat],
    window: Window | None,
    gain: float | None,
    level: Level,
    ceiling: float | None,
    conflicts: tuple[str, ...],
    sentence: str,
) -> OneMix:
    return OneMix(
        group=tuple(sorted(channel + 1 for channel in seats[0].group.channels)),
        outlets=level.outlets,
        serves=gain is not None,
        low=None if window is None else window.low,
        high=None if window is None else window.high,
        gain=gain,
        loudness=None if gain is None else round(level.loudness[0], 2),
        ceiling=ceiling,
        peaks=0 if gain is None else max((count for _, asked, count in level.peaks if asked == ceiling), default=0),
        conflicts=conflicts,
        sentence=sentence,
    )


def _seats(cases: Sequence[Case]) -> tuple[tuple[Seat, ...], tuple[str, ...]]:
    """The outlets that ask something of the channels that most of them judge; and why others are left out."""
    asking = [case for case in cases if not case.no_sound and (case.profile.true_peak.programme or _loudness(case))]
    sets = [tuple(sorted(group.channels)) for case in asking for group in case.groups if _decoded(case, group)]
    if not sets:
        return (), ()
    most = max(dict.fromkeys(sets), key=sets.count)
    seats = []
    left_out: dict[str, list[str]] = {}
    for case in cases:
        group = same_channels(case, ChannelGroup("", most, ()))
        name = case.profile.outlet.name
        if case in asking and group is not None:
            seats.append(Seat(case, group))
        elif case.no_sound:
            left_out.setdefault(case.no_sound, []).append(name)
        elif case in asking:
            left_out.setdefault("other channels are judged there", []).append(name)
    return tuple(seats), tuple(not_counted(names, reason) for reason, names in left_out.items())


def _loudness(case: Case) -> bool:
    asked = case.profile.loudness
    whole = (asked.programme, asked.act) if asked.anchor == "full programme" else ()
    return any((*whole, asked.max_short_term, asked.max_momentary))


def _decoded(case: Case, group: ChannelGroup) -> bool:
    return case.sound is not None and max(group.channels) < case.sound.channels


def _advised(seats: Sequence[Seat], window: Window) -> float:
    """0 dB if all accept the mix as it is; else on the target if all have the same, with room to every limit."""
    if holds(window, 0.0):
        return 0.0
    room = _roomy(seats, window)
    return middle(_exact(seats, window)) if room is None else nearest(room, _to_target(seats))


def _exact(seats: Sequence[Seat], window: Window) -> Window:
    """The part of the window that is inside every limit before rounding too; all of it where there is none."""
    exact = common([window, *(demand.exact for seat in seats for demand in seat.demands)])
    return window if exact is None else exact


def _roomy(seats: Sequence[Seat], window: Window) -> Window | None:
    """Gains that leave room on both sides for what meters differ; None if the window is too narrow."""
    return inset(_exact(seats, window), _ROOM)


def _to_target(seats: Sequence[Seat]) -> float:
    """The gain to the one target that all programmes are asked for; 0 if they differ."""
    asked = [demand for seat in seats for demand in seat.demands if demand.target is not None and demand.programme]
    if len({demand.target for demand in asked}) != 1:
        return 0.0
    away = [demand.target - demand.measured for demand in asked if demand.target is not None]
    return on_meter(sum(away) / len(away))


def _best(seats: Sequence[Seat]) -> float:
    """A gain that is right for most outlets, the nearest to 0 dB, moved to where it has room for these."""
    edges = {0.0}
    for seat in seats:
        if seat.gains is not None:
            edges |= {edge for edge in (seat.gains.low, seat.gains.high) if edge is not None}
    best = min(edges, key=lambda gain: (-sum(holds(seat.gains, gain) for seat in seats), abs(gain), gain))
    right = [seat for seat in seats if holds(seat.gains, best)]
    window = common(seat.gains for seat in right)
    return _advised(right, window) if right and window is not None else best


def _conflicts(seats: Sequence[Seat]) -> tuple[str, ...]:
    """Outlets that no gain serves, then pairs that no gain serves."""
    alone = [own_conflict(seat.name, seat.demands) for seat in seats if seat.gains is None]
    able = [seat for seat in seats if seat.gains is not None]
    pairs = [
        conflict_words(first.name, first.demands, second.name, second.demands)
        for first, second in combinations(able, 2)
        if common((first.gains, second.gains)) is None
    ]
    return (*alone, *pairs)
