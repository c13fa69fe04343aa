"""Acts and programme that are too long or too short: by how much, and where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.remedy.fix import Fix
from qc.timing.timecode import Counting


@dataclass(frozen=True)
class ActLengths:
    """One act as measured, and what is accepted, in frames; None is open."""

    number: int
    frames: int
    low: int | None = None
    high: int | None = None

    def room(self, longer: bool) -> int | None:
        """Frames that the act may grow or shrink; None if nothing bounds it, 0 if it is at its limit."""
        bound = self.high if longer else self.low
        if bound is None:
            return None
        return max(0, bound - self.frames if longer else self.frames - bound)


def change_act(act: ActLengths, over: int, others: Sequence[ActLengths], counting: Counting) -> Fix:
    """``over`` frames too many (positive) or too few (negative) in this act."""
    length = f"{_label(abs(over), counting)} ({_frames(abs(over))})"
    if over > 0:
        action, sentence = "shorten", f"Act {act.number} is {length} over: take it out"
    else:
        action, sentence = "lengthen", f"Act {act.number} is {length} under: add it"
    room = _room(others, longer=over > 0, counting=counting)
    if room:
        sentence += f", or move it {'to' if over > 0 else 'from'} a neighbour: {room}"
    return Fix(action, -over, "frames", f"act {act.number}", sentence + ".", {"act_frames": float(act.frames - over)})


def _room(others: Sequence[ActLengths], longer: bool, counting: Counting) -> str:
    """Room as "act 4 has 00:09;00 of room" or "act 4 can give 00:09;00", widest first, of acts with a limit."""
    rooms = [(act.room(longer), act.number) for act in others]
    known = sorted(((room, -number) for room, number in rooms if room), reverse=True)
    words = "has {} of room" if longer else "can give {}"
    return ", ".join(f"act {-number} {words.format(_label(room, counting))}" for room, number in known)


def change_programme(over: int, trt_frames: int, acts: Sequence[ActLengths], counting: Counting) -> Fix:
    """The sum of the acts is ``over`` frames too long (positive) or too short (negative)."""
    length = f"{_label(abs(over), counting)} ({_frames(abs(over))})"
    if over > 0:
        action, sentence = "shorten", f"The programme is {length} over: take it out"
    else:
        action, sentence = "lengthen", f"The programme is {length} under: add it"
    room = _room(acts, longer=over < 0, counting=counting)
    if room:
        sentence += f"; {room}"
    return Fix(action, -over, "frames", "programme", sentence + ".", {"trt_frames": float(trt_frames - over)})


def change_seconds(over: int, trt: str) -> Fix:
    """The programme counted in whole seconds per act is ``over`` seconds too long (positive) or too short."""
    amount = f"{abs(over)} second{'' if abs(over) == 1 else 's'}"
    verb = "take out" if over > 0 else "add"
    side = "over" if over > 0 else "under"
    sentence = (
        f"By whole seconds per act the programme is {trt}, {amount} {side}: {verb} {amount}, "
        "or move act starts and ends onto whole seconds."
    )
    return Fix("shorten" if over > 0 else "lengthen", -over, "s", "programme", sentence)


def _label(frames: int, counting: Counting) -> str:
    label = counting.duration(frames)
    return label[3:] if label.startswith("00:") else label


def _frames(count: int) -> str:
    return f"{count} frame" if count == 1 else f"{count} frames"
