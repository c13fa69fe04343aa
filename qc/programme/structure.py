"""The programme as found: head, acts, breaks, tail, and what did not fit."""

from __future__ import annotations

from dataclasses import dataclass

from qc.timing.spans import Span


@dataclass(frozen=True)
class ExpectedClock:
    """What an outlet (or a sheet) expects, in frames of this file. Unknown is None.

    acts            number of acts, None if any
    act_frames      per act (low, high) accepted length; empty if not stated
    break_frames    (low, high) accepted length of a break, None if not stated or no breaks
    programme_frames (low, high) accepted sum of acts, None if not stated
    head_frames     (low, high) before the programme, None if not stated
    start_frame     frame that should be SOM by the timecode, None if not stated or no timecode
    """

    acts: int | None = None
    act_frames: tuple[tuple[int | None, int | None], ...] = ()
    break_frames: tuple[int | None, int | None] | None = None
    programme_frames: tuple[int | None, int | None] | None = None
    head_frames: tuple[int | None, int | None] | None = None
    start_frame: int | None = None


@dataclass(frozen=True)
class Gap:
    """A run of black, and how much of it is silent too."""

    span: Span
    silent_frames: int


@dataclass(frozen=True)
class Act:
    number: int
    span: Span


@dataclass(frozen=True)
class Break:
    """The gap after the act of the same number."""

    number: int
    span: Span
    silent_frames: int


@dataclass(frozen=True)
class ProgrammeStructure:
    """Head, acts, breaks and tail tile the file without overlap.

    With a missing break one act stands for two: it has the number of the first, the next number is left out.
    Without acts the programme as a whole lies between head and tail; it is empty if none was found.

    found_by  "picture" (black and silence), "sheet" (declared, breaks not visible), "whole file"
              (single part), "" if nothing could be told: then acts is empty and ``note`` says why
    missing_breaks   numbers of expected breaks that no gap fits
    extra_gaps       gaps inside acts that are not breaks: fades, night, stray black
    extra_breaks     those of the extra gaps that look just like a break: one act more than the outlet expects
    unlike           notes in words: "break 2 is 150 frames where 300 are expected"
    """

    found_by: str
    note: str
    head: Span
    acts: tuple[Act, ...]
    breaks: tuple[Break, ...]
    tail: Span
    missing_breaks: tuple[int, ...] = ()
    extra_gaps: tuple[Gap, ...] = ()
    unlike: tuple[str, ...] = ()
    extra_breaks: tuple[Gap, ...] = ()
