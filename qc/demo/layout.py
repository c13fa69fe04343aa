"""Where everything stands in one rendered file: stretches of picture, acts, breaks, planted faults; in frames."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import accumulate

from qc.demo.outlet_forms import OutletForm
from qc.demo.picture import Stretch
from qc.demo.version import Content, Version, Where
from qc.timing.spans import Span
from qc.timing.timecode import Clock, Counting


@dataclass(frozen=True)
class Layout:
    """
    acts   each with the content frame it starts at
    tones  frames of the head with line-up tone: bars, and the sync blip
    """

    clock: Clock
    stretches: tuple[Stretch, ...]
    acts: tuple[tuple[Span, int], ...]
    tones: tuple[Span, ...]

    @property
    def frames(self) -> int:
        return sum(stretch.frames for stretch in self.stretches)

    def span(self, at: Where) -> Span:
        """Frames of the file that something stands in. Raises LookupError for a place that this file has not."""
        if isinstance(at, Content):
            return self._content(at)
        acts = [span for span, _ in self.acts]
        programme = Span(acts[0].first, acts[-1].end)
        part, _, number = at.partition(" ")
        match part:
            case "file":
                return Span(0, self.frames)
            case "programme":
                return programme
            case "SOM":
                return Span(programme.first, programme.first + 1)
            case "act":
                return acts[int(number) - 1]
            case "break":
                return Span(acts[int(number) - 1].end, acts[int(number)].first)
        raise LookupError(f"no part is called {at}")

    def _content(self, at: Content) -> Span:
        for span, content in self.acts:
            first = span.first + at.first - content
            if span.first <= first and first + at.frames <= span.end:
                return Span(first, first + at.frames)
        raise LookupError(f"content frames from {at.first} lie in no act")


def layout(form: OutletForm, version: Version) -> Layout:
    start = version.start or form.start
    counting = Counting.for_rate(form.rate, drop=";" in start)
    clock = Clock(form.rate, counting, counting.frame(start))
    stretches = [Stretch(kind, frames) for kind, frames in form.head]
    ends = list(accumulate(stretch.frames for stretch in stretches))
    at = ends[-1] if ends else 0
    heard = [(end, stretch) for end, stretch in zip(ends, stretches, strict=True) if stretch.kind in ("bars", "blip")]
    tones = tuple(Span(end - stretch.frames, end) for end, stretch in heard)
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
    return Layout(clock, tuple(stretches), tuple(acts), tones)
