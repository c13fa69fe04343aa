"""What to change, as a record the sentence is made from."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Fix:
    """One instruction.

    action   "change gain", "lower peaks", "lengthen", "shorten", "move", "re-flag", "re-export",
             "re-wrap", "replace", "look"
    amount   signed number in ``unit``; None if the action has none
    unit     "dB", "frames", ""
    where    what it applies to: "stereo mix", "act 3", "break 2", "file"
    sentence the whole instruction for a reader, ending in a full stop
    after    figures once it is done, name -> value, e.g. {"true_peak_dbtp": -2.4}
    """

    action: str
    amount: float | None
    unit: str
    where: str
    sentence: str
    after: dict[str, float] = field(default_factory=dict)
