"""The capped list of what a pass met."""

from __future__ import annotations

from fractions import Fraction

from qc.measurement.event_log import KEPT, EventLog
from qc.media.happening import Happening


def test_a_long_list_is_capped_and_counts_the_rest() -> None:
    """A thousand errors of one kind make twenty events whose counts sum to a thousand; other kinds are untouched."""
    log = EventLog()
    for number in range(1000):
        log.add(Happening("decode error", 0, number, Fraction(number, 25), "damaged picture"))
    log.add(Happening("timestamp gap", 0, 5, Fraction(1, 5), "gap"))
    log.add(Happening("decode error", 1, None, Fraction(0), "other stream"))
    events = log.events()

    errors = [event for event in events if event.kind == "decode error" and event.stream == 0]
    assert len(errors) == KEPT
    assert sum(event.count for event in errors) == 1000
    assert "980 more" in errors[-1].detail
    assert len(events) == KEPT + 2


def test_events_come_in_order_of_time_whoever_told_first() -> None:
    """Two threads may tell in any order; the record is the same."""
    happenings = [
        Happening("timestamp gap", 1, None, Fraction(3), "c"),
        Happening("timestamp gap", 0, 50, Fraction(2), "b"),
        Happening("changed during run", None, None, None, "a"),
    ]
    first, second = EventLog(), EventLog()
    for happening in happenings:
        first.add(happening)
    for happening in reversed(happenings):
        second.add(happening)

    assert first.events() == second.events()
    assert [event.detail for event in first.events()] == ["a", "b", "c"]
