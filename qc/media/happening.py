"""What the reader meets on its way, before anybody caps or records it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True)
class Happening:
    """One thing met; the fields are those of qc.measurement.record.Event, for one occurrence."""

    kind: str
    stream: int | None
    frame: int | None
    seconds: Fraction | None
    detail: str


Tell = Callable[[Happening], None]
