"""What to change, as a record that every sentence about it is made from."""

from __future__ import annotations

from dataclasses import dataclass, field

from qc.programme.place import Place


@dataclass(frozen=True)
class Window:
    """Amounts, in the unit of the fix, that the requirement accepts; None where it is open."""

    low: float | None
    high: float | None


@dataclass(frozen=True)
class Room:
    """Where ``frames`` can be moved to (an act that may grow) or taken from (one that may shrink)."""

    where: str
    frames: int


@dataclass(frozen=True)
class Consequence:
    """What the fix does at another outlet for which the same file is checked in this run.

    accepted  the requirements that the fix touches are then met there; None if they are not asked there
    words     the whole of it for a reader, starting with a small letter, without full stop:
              "programme becomes -23.3 LUFS, as asked", "3 peaks over -3.0 dBTP", "asks for non-drop-frame"
    after     figures there once it is done, name -> value
    """

    outlet: str
    code: str
    accepted: bool | None
    words: str
    after: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Fix:
    """One instruction.

    action        "change gain", "lower peaks", "lengthen", "shorten", "move", "re-flag", "re-export",
                  "re-wrap", "replace", "look"
    amount        signed number in ``unit``; None if the action has none
    unit          "dB", "frames", "s", ""
    where         what it applies to: "stereo mix", "act 3", "break 2", "file"
    sentence      the whole instruction for a reader, made from the other fields, ending in a full stop
    after         figures once it is done, name -> value, e.g. {"true_peak_dbtp": -2.4}
    window        amounts that fit this requirement
    limits        what the figures after it are held to, by the same names; and "gain_db", the lowest gain that the
                  loudness of the mix allows instead
    peaks         places over the ceiling once it is done, worst first, value in dBTP after it; at most MOST_PEAKS
    more_peaks    places beyond those
    room          where the same length can be moved to or from, widest first
    no_export     nothing has to be exported again: a flag, a label or a wrapper is changed
    consequences  per other outlet of the run; empty if there is none, or the fix cannot touch another
    """

    action: str
    amount: float | None
    unit: str
    where: str
    sentence: str
    after: dict[str, float] = field(default_factory=dict)
    window: Window | None = None
    peaks: tuple[Place, ...] = ()
    more_peaks: int = 0
    room: tuple[Room, ...] = ()
    no_export: bool = False
    consequences: tuple[Consequence, ...] = ()
    limits: dict[str, float] = field(default_factory=dict)


#: Peaks that a fix lists; the rest is counted. A mixer who has more has another problem than peaks.
MOST_PEAKS = 20
