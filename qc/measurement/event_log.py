"""What the pass met, capped: a file that is damaged in every frame makes a short list, not 38,662 lines."""

from __future__ import annotations

from fractions import Fraction
from typing import Protocol

from qc.measurement.record import Event

#: Events kept one by one per kind and stream; the last of them stands for all that follow.
KEPT = 20


class Met(Protocol):
    """What the reader tells (qc.media.happening.Happening has this shape)."""

    @property
    def kind(self) -> str: ...
    @property
    def stream(self) -> int | None: ...
    @property
    def frame(self) -> int | None: ...
    @property
    def seconds(self) -> Fraction | None: ...
    @property
    def detail(self) -> str: ...


class EventLog:
    """Takes happenings in any order, gives events by kind, stream and order of arrival."""

    def __init__(self) -> None:
        self._lists: dict[tuple[str, int | None], list[Met]] = {}
        self._beyond: dict[tuple[str, int | None], int] = {}

    def add(self, met: Met) -> None:
        key = (met.kind, met.stream)
        kept = self._lists.setdefault(key, [])
        if len(kept) < KEPT:
            kept.append(met)
        else:
            self._beyond[key] = self._beyond.get(key, 0) + 1

    def events(self) -> tuple[Event, ...]:
        """All events, sorted by time (those without one first), the same in every run."""
        made = []
        for key, kept in self._lists.items():
            for at, met in enumerate(kept):
                beyond = self._beyond.get(key, 0) if at == KEPT - 1 else 0
                detail = f"{met.detail}; {beyond} more alike after it" if beyond else met.detail
                made.append(Event(met.kind, met.stream, met.frame, met.seconds, 1 + beyond, detail))
        return tuple(sorted(made, key=_order))


def _order(event: Event) -> tuple[Fraction, str, int, int, str]:
    seconds = event.seconds if event.seconds is not None else Fraction(-1)
    stream = event.stream if event.stream is not None else -1
    return seconds, event.kind, stream, event.frame if event.frame is not None else -1, event.detail
