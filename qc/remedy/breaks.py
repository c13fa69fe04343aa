"""Breaks: longer or shorter by n frames, black and silent, missing or one too many."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from qc.remedy.fix import Fix

#: Places that a sentence names; a report lists them all.
_LISTED = 4


def change_break(number: int, frames: int, over: int) -> Fix:
    """Break ``number`` has ``over`` frames too many (positive) or too few (negative)."""
    return _change(f"break {number}", frames, over)


def change_edge(name: str, frames: int, over: int) -> Fix:
    """Lengthen or shorten the head or tail, whatever stands in it."""
    return _change(name, frames, over)


def _change(where: str, frames: int, over: int) -> Fix:
    action = "shorten" if over > 0 else "lengthen"
    fix = Fix(action, -over, "frames", where, "", {"frames": float(frames - over)})
    return replace(fix, sentence=gap_sentence(fix))


def gap_sentence(fix: Fix) -> str:
    """The instruction for a break, the head or the tail, from its record."""
    assert fix.amount is not None
    by, becomes = abs(int(fix.amount)), int(fix.after["frames"])
    what = f"the black of {fix.where}" if fix.where.startswith("break ") else f"the {fix.where}"
    count = f"{by} frame{'' if by == 1 else 's'}"
    return f"{fix.action.capitalize()} {what} by {count}, from {becomes - int(fix.amount)} to {becomes}."


def clean_break(number: int, bright: bool, loud: bool) -> Fix:
    """Something stands in a break."""
    what = "black and silent" if bright and loud else "black" if bright else "silent"
    return Fix("replace", None, "", f"break {number}", f"Make break {number} {what} from its first frame to its last.")


def put_in_break(numbers: tuple[int, ...], frames: int | None) -> Fix:
    """Expected breaks that no black fits."""
    which = f"break {numbers[0]}" if len(numbers) == 1 else "breaks " + ", ".join(str(number) for number in numbers)
    length = f" of {frames} frames" if frames is not None else ""
    return Fix(
        "replace", None, "", which, f"Put in {which}{length} of black, or give a timing sheet if the cut is right."
    )


def shorten_black(where: str, over: int) -> Fix:
    """Black inside an act that is ``over`` frames too long."""
    count = f"{over} frame{'' if over == 1 else 's'}"
    sentence = f"Shorten the black at {where} by {count}, or give a timing sheet if it is a break."
    return Fix("shorten", float(-over), "frames", where, sentence)


def stray_black(frames: int, within: str) -> Fix:
    """Black that stands where picture should be."""
    where = within or "the programme"
    return Fix("replace", -frames, "frames", where, f"Close the gap: replace {_black(frames)} at {where} with picture.")


def several_blacks(blacks: Sequence[tuple[str, int, int]]) -> Fix:
    """Black at several places: of each where it is, its frames, and how many to take away (all: put picture there)."""
    where, frames, over = blacks[0]
    each = [
        f"replace {_black(frames)} at {where} with picture"
        if over >= frames
        else f"shorten the black at {where} by {over} frame{'' if over == 1 else 's'}"
        for where, frames, over in blacks[:_LISTED]
    ]
    more = f"; {len(blacks) - _LISTED} more places are listed" if len(blacks) > _LISTED else ""
    action = "replace" if over >= frames else "shorten"
    sentence = f"{len(blacks)} blacks: {'; '.join(each)}{more}."
    return Fix(action, float(-over), "frames", where, sentence)


def _black(frames: int) -> str:
    return "the black frame" if frames == 1 else f"the {frames} black frames"
