"""What one outlet asks of the loudness of one channel group, each limit beside its figure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.figures.shared import Figures
from qc.judge.case import Case
from qc.judge.limits import Bounds, number_bounds, weigh
from qc.outlets.schema_kinds import LoudnessLimit
from qc.remedy.fix import Window
from qc.remedy.gain_window import accepted_gains, exact_gains
from qc.timing.spans import Span

Ask = Callable[[Figures, ChannelGroup, Sequence[Span]], Reading]


@dataclass(frozen=True)
class Demand:
    """One limit on one figure that a gain moves.

    part      "programme" or "act 2"
    figure    "loudness", "highest 3 s" or "highest 400 ms"
    measured  LUFS
    """

    requirement: str
    part: str
    figure: str
    spans: tuple[Span, ...]
    measured: float
    bounds: Bounds
    target: float | None
    unit: str

    def accepts(self, gain: float = 0.0) -> bool:
        """Whether the figure meets the limit after a gain in dB."""
        return weigh(self.measured + gain, self.bounds, meter=True).inside

    @property
    def gains(self) -> Window | None:
        """Gains that this limit accepts; None if there is none."""
        return accepted_gains(self.measured, self.bounds.low, self.bounds.high)

    @property
    def exact(self) -> Window | None:
        """Gains that bring the figure inside before any rounding; None if there is none."""
        return exact_gains(self.measured, self.bounds.low, self.bounds.high)

    @property
    def programme(self) -> bool:
        """Whether it asks for the loudness of the whole programme."""
        return self.requirement == "loudness.programme"

    @property
    def name(self) -> str:
        """ "programme", "act 2", "highest 3 s"."""
        return self.part if self.figure == "loudness" else self.figure


def demands(case: Case, group: ChannelGroup) -> tuple[Demand, ...]:
    """Every loudness limit of the outlet that could be measured; none of a limit that dialogue is the anchor of."""
    if case.no_sound or case.sound is None:
        return ()
    return case.figures.once(("demands", id(case), group), lambda: tuple(_demands(case, group)))


def _demands(case: Case, group: ChannelGroup) -> Iterator[Demand]:
    asked = case.profile.loudness
    everything = ("programme", case.programme)
    acts = [(f"act {act.number}", (case.rows(act.span),)) for act in case.structure.acts]
    if asked.anchor == "full programme":
        yield from _of(case, group, "loudness.programme", asked.programme, "loudness", Figures.integrated, [everything])
        yield from _of(case, group, "loudness.act", asked.act, "loudness", Figures.integrated, acts)
    short, momentary = asked.max_short_term, asked.max_momentary
    yield from _of(case, group, "loudness.max_short_term", short, "highest 3 s", Figures.max_short_term, [everything])
    yield from _of(
        case, group, "loudness.max_momentary", momentary, "highest 400 ms", Figures.max_momentary, [everything]
    )


def _of(
    case: Case,
    group: ChannelGroup,
    requirement: str,
    limit: LoudnessLimit | None,
    figure: str,
    ask: Ask,
    parts: Sequence[tuple[str, tuple[Span, ...]]],
) -> Iterator[Demand]:
    if limit is None:
        return
    bounds = number_bounds(limit)
    target = None if limit.target is None else float(limit.target)
    for part, spans in parts:
        reading = ask(case.figures, group, spans)
        if reading.value is not None:
            yield Demand(requirement, part, figure, spans, reading.value, bounds, target, limit.unit)


_ASK: dict[str, Ask] = {
    "loudness": Figures.integrated,
    "highest 3 s": Figures.max_short_term,
    "highest 400 ms": Figures.max_momentary,
}


def after_gain(case: Case, group: ChannelGroup, gain: float, over: Sequence[Span] | None = None) -> tuple[Demand, ...]:
    """The same demands with the figures that a gain makes.

    over  rows that the gain is on; None for the whole mix
    """
    return tuple(_after(case, group, demand, gain, over) for demand in demands(case, group))


def _after(case: Case, group: ChannelGroup, demand: Demand, gain: float, over: Sequence[Span] | None) -> Demand:
    shared = sum(span.overlap(other) for span in demand.spans for other in over or ())
    if over is None or shared == sum(span.frames for span in demand.spans):
        return replace(demand, measured=demand.measured + gain)
    if not shared:
        return demand
    key = ("after gain", demand.figure, group, demand.spans, tuple(over), round(gain, 6))
    reading = case.figures.once(
        key, lambda: _ASK[demand.figure](case.figures.after_gain(group, over, gain), group, demand.spans)
    )
    return demand if reading.value is None else replace(demand, measured=reading.value)
