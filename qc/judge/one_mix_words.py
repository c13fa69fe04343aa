"""One mix for all outlets, in the words of a colleague."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.figures.resolution import on_meter
from qc.judge.demands import Demand
from qc.judge.limits import number
from qc.remedy.fix import Window
from qc.remedy.gain import decibels, window_words

_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


@dataclass(frozen=True)
class Level:
    """A gain and what it does.

    loudness  programme loudness after it for each outlet, LUFS, lowest first (they differ where spans differ)
    outlets   names of all; right: of those whose loudness limits it meets
    peaks     (outlet, its ceiling in dBTP, places over it after the gain)
    left_out  outlets that are not counted and why, each a sentence without full stop
    """

    gain: float
    loudness: tuple[float, ...]
    outlets: tuple[str, ...]
    right: tuple[str, ...]
    peaks: tuple[tuple[str, float, int], ...]
    left_out: tuple[str, ...]


def served(level: Level, window: Window, instead: float | None, clear: float | None) -> str:
    """The advice where one level is right for all.

    instead  a gain of the window at which no peak is over any ceiling; None if there is none, or if none is over now
    clear    a gain with room to every limit and no peak over a ceiling; None if there is none, or if the one advised
             has the room
    """
    room = window_words(window)
    right = f"its loudness ({_loudness(level)}) is right for {_all(len(level.outlets))}"
    turn = f"{_turn(level.gain)}{room}: then" if level.gain else f"Leave the level of the mix{room}:"
    parts = [f"{turn} {right}", _peaks(level)]
    if instead is not None and instead != level.gain:
        parts.append(f"at {decibels(instead)} dB no peak is over any ceiling")
    elif clear is not None:
        parts.append(f"at {decibels(clear)} dB its loudness is clear of every limit")
    return _sentence("; ".join(filter(None, parts)), level)


def not_served(level: Level, conflicts: Sequence[str]) -> str:
    """Why no level is right for all, and what comes nearest."""
    said = f"No one level is right for {_all(len(level.outlets))}: {'; '.join(conflicts)}"
    rest = [name for name in level.outlets if name not in level.right]
    if level.right and rest:
        turn = f"{_turn(level.gain)}: then" if level.gain else "As it is,"
        count = f"{_count(len(level.right))} of {_count(len(level.outlets))}"
        verb = "needs a mix of its own" if len(rest) == 1 else "need mixes of their own"
        parts = [f"{turn} its loudness ({_loudness(level)}) is right for {count}", _peaks(level)]
        said += f". {'; '.join(filter(None, parts))}; {listed(rest)} {verb}"
    return _sentence(said, level)


def conflict_words(first: str, firsts: Sequence[Demand], second: str, seconds: Sequence[Demand]) -> str:
    """Two outlets that no gain serves: who needs it louder, who takes it no louder."""
    low, high = _lowest(firsts), _highest(seconds)
    louder, quieter = first, second
    if not _apart(low, high):
        low, high, louder, quieter = _lowest(seconds), _highest(firsts), second, first
    assert low is not None and high is not None
    if low.name == high.name == "programme" and on_meter(low.measured) == on_meter(high.measured):
        return f"{louder} asks for {_range(low)}, {quieter} for {_range(high)}"
    return (
        f"{louder} needs {_needs(low)} for {low.name} ({number(low.measured)}, asked for {_range(low)}), "
        f"{quieter} takes {_takes(high)} for {high.name} ({number(high.measured)}, asked for {_range(high)})"
    )


def own_conflict(name: str, asked: Sequence[Demand]) -> str:
    """One outlet whose own limits no gain on the whole mix meets together."""
    never = next((demand for demand in asked if demand.gains is None), None)
    if never is not None:
        return f"{name} asks for {_range(never)}, which no step of 0.1 dB meets"
    low, high = _lowest(asked), _highest(asked)
    assert low is not None and high is not None
    return (
        f"{name} by itself: {low.name} ({number(low.measured)} {low.unit}) needs {_needs(low)}, "
        f"{high.name} ({number(high.measured)} {high.unit}) takes {_takes(high)}"
    )


def not_counted(names: Sequence[str], reason: str) -> str:
    """Outlets that are left out for the same reason."""
    return f"{listed(names)} {'is' if len(names) == 1 else 'are'} not counted: {reason}"


def listed(names: Sequence[str]) -> str:
    """ "A", "A and B", "A, B and C"."""
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _lowest(asked: Sequence[Demand]) -> Demand | None:
    """The demand that needs the mix loudest; of equals the first, which is the programme."""
    bound = [demand for demand in asked if demand.gains is not None and demand.gains.low is not None]
    return max(bound, key=_low, default=None)


def _highest(asked: Sequence[Demand]) -> Demand | None:
    """The demand that takes the mix no louder than the others do."""
    bound = [demand for demand in asked if demand.gains is not None and demand.gains.high is not None]
    return min(bound, key=_high, default=None)


def _low(demand: Demand) -> float:
    assert demand.gains is not None and demand.gains.low is not None
    return demand.gains.low


def _high(demand: Demand) -> float:
    assert demand.gains is not None and demand.gains.high is not None
    return demand.gains.high


def _apart(low: Demand | None, high: Demand | None) -> bool:
    return low is not None and high is not None and _low(low) > _high(high)


def _needs(demand: Demand) -> str:
    return f"at least {decibels(_low(demand))} dB"


def _takes(demand: Demand) -> str:
    return f"at most {decibels(_high(demand))} dB"


def _range(demand: Demand) -> str:
    low, high = demand.bounds.low, demand.bounds.high
    if low is not None and high is not None:
        return f"{number(low)} to {number(high)} {demand.unit}"
    if high is not None:
        return f"at most {number(high)} {demand.unit}"
    assert low is not None
    return f"at least {number(low)} {demand.unit}"


def _turn(gain: float) -> str:
    return f"{'Raise' if gain > 0 else 'Lower'} the mix {abs(gain):.1f} dB"


def _loudness(level: Level) -> str:
    low, high = number(level.loudness[0]), number(level.loudness[-1])
    return f"{low} LUFS" if low == high else f"{low} to {high} LUFS"


def _peaks(level: Level) -> str:
    """ "TIDEWOLD ONE still has 3 peaks over -3.0 dBTP"; "" where no ceiling is asked for."""
    alike: dict[tuple[float, int], list[str]] = {}
    for name, ceiling, count in level.peaks:
        if count:
            alike.setdefault((ceiling, count), []).append(name)
    still = "still " if level.gain else ""
    told = [
        f"{listed(names)} {still}{'has' if len(names) == 1 else 'have'} "
        f"{count} peak{'' if count == 1 else 's'} over {number(ceiling)} dBTP"
        for (ceiling, count), names in sorted(alike.items())
    ]
    if told:
        return "; ".join(told)
    return "no peak is over any ceiling" if level.peaks else ""


def _all(count: int) -> str:
    return "both outlets" if count == 2 else f"all {_count(count)} outlets"


def _count(count: int) -> str:
    return _COUNTS[count] if count < len(_COUNTS) else str(count)


def _sentence(said: str, level: Level) -> str:
    return ". ".join([said, *level.left_out]) + "."
