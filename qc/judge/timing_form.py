"""What a timing sheet holds beyond acts and breaks: the outlet's columns and traffic's totals."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TimingTotal:
    """One line at the foot of the sheet.

    name        "sum of acts", "sum of breaks", "programme with breaks" or "TRT"
    duration    by ``accounting``
    frames      frame for frame
    note        "" if nothing has to be said
    """

    name: str
    duration: str
    accounting: str
    frames: int
    note: str = ""


@dataclass(frozen=True)
class TimingForm:
    """How the outlet wants its sheet.

    columns     names of qc.outlets.schema, from left to right
    breaks      duration of each break by the outlet's accounting, in the order of the breaks
    """

    columns: tuple[str, ...]
    breaks: tuple[str, ...] = ()
    totals: tuple[TimingTotal, ...] = ()
