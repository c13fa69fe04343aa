"""Where everything stands in one rendered file: stretches of picture, acts, breaks; in frames."""

from __future__ import annotations

from dataclasses import dataclass

from qc.demo.episodes import Version
from qc.demo.outlet_forms import OutletForm
from qc.demo.picture import Stretch
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting


@dataclass(frozen=True)
class Layout:
    """acts  each with the content frame it starts at"""

    clock: Clock
    stretches: tuple[Stretch, ...]
    acts: tuple[tuple[Span, int], ...]
    bars: Span | None

    @property
    def frames(self) -> int:
        return sum(stretch.frames for stretch in self.stretches)


def layout(form: OutletForm, version: Version) -> Layout:
    start = version.start or form.start
    counting = Counting.for_rate(form.rate, drop=";" in start)
    clock = Clock(form.rate, counting, counting.frame(start))
    stretches = [Stretch(kind, frames) for kind, frames in form.head]
    at = sum(stretch.frames for stretch in stretches)
    bars = Span(0, stretches[0].frames) if stretches and stretches[0].kind == "bars" else None
    acts: list[tuple[Span, int]] = []
    content = 0
    lengths = version.acts or form.acts
    for number, length in enumerate(lengths, 1):
        acts.append((Span(at, at + length), content))
        stretches.append(Stretch("programme", length, content))
        at, content = at + length, content + length
        if number < len(lengths):
            gap = form.breaks if isinstance(form.breaks, int) else -at % round(60 * form.rate)
            stretches.append(Stretch("black", gap))
            at += gap
    if form.tail:
        stretches.append(Stretch("black", form.tail))
    return Layout(clock, tuple(stretches), tuple(acts), bars)
