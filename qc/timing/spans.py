"""Half-open spans of frames."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, order=True)
class Span:
    """Frames ``first`` up to but not including ``end``, counted from the file's first frame."""

    first: int
    end: int

    def __post_init__(self) -> None:
        if self.end < self.first:
            raise ValueError(f"a span cannot end ({self.end}) before it starts ({self.first})")

    @property
    def frames(self) -> int:
        return self.end - self.first

    @property
    def last(self) -> int:
        """The last frame inside; meaningless for an empty span."""
        return self.end - 1

    def overlap(self, other: Span) -> int:
        """Frames that both spans hold."""
        return max(0, min(self.end, other.end) - max(self.first, other.first))

    def contains(self, frame: int) -> bool:
        return self.first <= frame < self.end

    def seconds(self, rate: Fraction) -> tuple[Fraction, Fraction]:
        """Start and end in seconds from the first frame, exact."""
        return self.first / rate, self.end / rate
