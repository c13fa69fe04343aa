"""Acts and programme that are too long or too short: by how much, and where there is room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from qc.remedy.fix import Fix, Room, Window
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
    """``over`` frames too many (positive) or too few (negative) in this act; room is where they may go or come from."""
    fix = Fix(
        "shorten" if over > 0 else "lengthen",
        -over,
        "frames",
        f"act {act.number}",
        "",
        {"act_frames": float(act.frames - over)},
        window=_window(act.frames, act.low, act.high),
        room=_room(others, longer=over > 0),
    )
    return replace(fix, sentence=act_sentence(fix, counting))


def act_sentence(fix: Fix, counting: Counting) -> str:
    """The instruction for an act, from its record; lengths as labels of the file's counting."""
    assert fix.amount is not None
    frames, longer = abs(int(fix.amount)), fix.amount < 0
    length, what = f"{counting.duration(frames)} ({_frames(frames)})", fix.where[0].upper() + fix.where[1:]
    sentence = f"{what} is {length} {'over: take it out' if longer else 'under: add it'}{_window_words(fix)}"
    if fix.room:
        sentence += f", or move it {'to' if longer else 'from'} a neighbour: {_room_words(fix, longer, counting)}"
    return sentence + "."


def change_programme(
    over: int,
    trt_frames: int,
    acts: Sequence[ActLengths],
    counting: Counting,
    accepted: tuple[int | None, int | None] = (None, None),
) -> Fix:
    """The sum of the acts is ``over`` frames too long (positive) or too short (negative).

    accepted  lowest and highest sum, None is open
    """
    fix = Fix(
        "shorten" if over > 0 else "lengthen",
        -over,
        "frames",
        "programme",
        "",
        {"trt_frames": float(trt_frames - over)},
        window=_window(trt_frames, *accepted),
        room=_room(acts, longer=over < 0),
    )
    return replace(fix, sentence=programme_sentence(fix, counting))


def programme_sentence(fix: Fix, counting: Counting) -> str:
    """The instruction for the sum of the acts, from its record."""
    assert fix.amount is not None
    frames, long = abs(int(fix.amount)), fix.amount < 0
    length = f"{counting.duration(frames)} ({_frames(frames)})"
    sentence = f"The {fix.where} is {length} {'over: take it out' if long else 'under: add it'}{_window_words(fix)}"
    if fix.room:
        sentence += f"; {_room_words(fix, not long, counting)}"
    return sentence + "."


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


def _room(acts: Sequence[ActLengths], longer: bool) -> tuple[Room, ...]:
    """Acts with a limit that may grow (or shrink), widest first."""
    rooms = [(act.room(longer), act.number) for act in acts]
    known = sorted(((room, -number) for room, number in rooms if room), reverse=True)
    return tuple(Room(f"act {-number}", room) for room, number in known)


def _room_words(fix: Fix, longer: bool, counting: Counting) -> str:
    """ "act 4 has 00:00:09;00 of room" or "act 4 can give 00:00:09;00"."""
    words = "has {} of room" if longer else "can give {}"
    return ", ".join(f"{room.where} {words.format(counting.duration(room.frames))}" for room in fix.room)


def _window(frames: int, low: int | None, high: int | None) -> Window | None:
    """Frames to add (positive) or take out (negative) that lead to an accepted length; None without two ends."""
    if low is None or high is None or low == high:
        return None
    return Window(float(low - frames), float(high - frames))


def _window_words(fix: Fix) -> str:
    """ " (275 to 325 frames fit)", "" if there is no choice."""
    if fix.window is None or fix.window.low is None or fix.window.high is None:
        return ""
    least, most = sorted(abs(int(end)) for end in (fix.window.low, fix.window.high))
    return f" ({least} to {_frames(most)} fit)"


def _frames(count: int) -> str:
    return f"{count} frame" if count == 1 else f"{count} frames"
