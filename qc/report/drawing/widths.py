"""Which words fit: a drawing is as wide as its page, its letters are not.

Everything that a label's place depends on is known when the drawing is made, except how wide it will be shown.
So each label is tried at three widths, and the style sheet shows it where it fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

#: Class of a label that fits -> the narrowest plot in pixels for which that class is shown (drawing.css):
#: a phone, a tablet or a printed page, a desk.
WIDTHS = {"tl-at-s": 250.0, "tl-at-m": 500.0, "tl-at-l": 810.0}

#: Pixels of one letter of the small type of a drawing, on average and with room.
LETTER = 6.9


@dataclass(frozen=True)
class Wanted:
    """A label: where on the plot (0.0 to 1.0), its wordings from longest to shortest, what it is anchored at."""

    at: float
    wordings: tuple[str, ...]
    anchor: str = "middle"


def in_room(wordings: Sequence[str], share: float, margin: float = 8.0) -> dict[str, str]:
    """Wording -> classes of the widths at which it is the longest that fits a part that is ``share`` of the plot."""
    fitting: dict[str, str] = {}
    for name, width in WIDTHS.items():
        for words in wordings:
            if len(words) * LETTER + margin <= share * width:
                fitting[words] = f"{fitting[words]} {name}" if words in fitting else name
                break
    return fitting


def in_line(labels: Iterable[Wanted], first: Sequence[int] = (), gap: float = 9.0) -> dict[tuple[int, str], str]:
    """(index of the label, wording) -> classes of the widths at which it meets no other.

    first  labels that go before all others, in this order; the rest follow from left to right
    """
    wanted = list(labels)
    order = [*first, *(index for index in range(len(wanted)) if index not in set(first))]
    fitting: dict[tuple[int, str], str] = {}
    for name, width in WIDTHS.items():
        taken: list[tuple[float, float]] = []
        for index in order:
            label = wanted[index]
            for words in label.wordings:
                size = len(words) * LETTER
                start = label.at * width - {"start": 0.0, "middle": size / 2, "end": size}[label.anchor]
                if all(start >= end + gap or start + size + gap <= begin for begin, end in taken):
                    taken.append((start, start + size))
                    key = (index, words)
                    fitting[key] = f"{fitting[key]} {name}" if key in fitting else name
                    break
    return fitting
