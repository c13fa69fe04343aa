"""Finding and verdict: what the judge says, whole, so that reports only format.

Rounding (stated in every report): loudness and peak are judged on the meter's resolution of 0.1,
shown with two decimals, and called "at the limit" within 0.05 of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from qc.judge.mix import MixSheet
from qc.judge.timeline import Timeline
from qc.judge.timing_form import TimingForm
from qc.programme.place import Place
from qc.remedy.fix import Fix
from qc.timing.spans import Span

__all__ = [
    "ActRow",
    "BreakRow",
    "Finding",
    "Outcome",
    "Place",
    "ProfileIdentity",
    "ProgrammeTable",
    "Verdict",
    "Waiver",
]


class Outcome(StrEnum):
    """Of a finding. A verdict has the first three and WAIVED never."""

    PASS = "pass"
    FAIL = "fail"
    ADVISORY = "advisory"
    NOT_MEASURED = "not measured"
    WAIVED = "waived"


@dataclass(frozen=True)
class Waiver:
    """Why a failing finding is let through: who, why, until when (ISO date)."""

    who: str
    why: str
    until: str


@dataclass(frozen=True)
class Finding:
    """The outcome of one requirement for one file.

    requirement  id in the profile ("true_peak.programme", "structure.break_length")
    check        name for ``qc explain`` ("true-peak")
    subject      what it applies to ("programme", "act 2", "break 1", "channel 3", "file")
    measured     number or text; None only if not measured
    limit        the limit in words: "-24.0 LKFS +/- 2.0", "MXF OP1a", "10 s exactly"
    tolerance    in words, "" if none
    margin       signed distance to the nearest limit in ``unit``, positive inside; None if not a number
    at_limit     the unrounded value is within 0.05 of the limit
    reason       why it was not measured, or what a person should look at; "" otherwise
    waiver_notes  waivers that do not apply and why, or what of it was waived: the crew's own affair
    """

    requirement: str
    check: str
    title: str
    subject: str
    outcome: Outcome
    level: str
    measured: float | int | str | None
    limit: str
    unit: str = ""
    tolerance: str = ""
    margin: float | None = None
    at_limit: bool = False
    span: str = "file"
    clause: str = ""
    source: str = ""
    places: tuple[Place, ...] = ()
    more_places: int = 0
    reason: str = ""
    fix: Fix | None = None
    waiver: Waiver | None = None
    waiver_notes: tuple[str, ...] = ()

    @property
    def remarks(self) -> str:
        """The reason, and what the crew has to know of its waivers."""
        return "; ".join(filter(None, (self.reason, *self.waiver_notes)))


@dataclass(frozen=True)
class ActRow:
    """One act as measured, in the outlet's convention; also a row of the timing sheet."""

    number: int
    som: str
    eom: str  # by the outlet's convention, exclusive or inclusive
    duration: str  # by the outlet's accounting
    frames: int  # frame-exact
    span: Span
    integrated: float | None
    max_short_term: float | None
    loudness_range: float | None
    true_peak_dbtp: float | None


@dataclass(frozen=True)
class BreakRow:
    """One break as measured; it follows the act of the same number."""

    number: int
    start: str
    duration: str
    frames: int
    span: Span
    eom: str = ""  # by the outlet's convention, as of an act


@dataclass(frozen=True)
class ProgrammeTable:
    """Acts, breaks and totals as measured.

    found_by  "black and silence in the picture", "declared timing sheet", "whole file (single part)" or ""
              if no structure could be found, with the reason in ``note``
    loudness_unit  of the acts' loudness as the outlet writes it, LUFS or LKFS: two names of one scale
    form  columns and totals of the timing sheet; None for the usual columns without totals
    """

    found_by: str
    note: str
    head: Span
    acts: tuple[ActRow, ...]
    breaks: tuple[BreakRow, ...]
    tail: Span
    trt: str
    trt_frames: int
    trt_other_accounting: str  # the same by the other rule, "" if they agree
    accounting: str
    eom: str
    counting: str
    loudness_unit: str = "LUFS"
    form: TimingForm | None = None


@dataclass(frozen=True)
class ProfileIdentity:
    """Which limits were applied: file name, hash over all files it was resolved from, its own document."""

    name: str
    code: str
    file: str
    sha256: str
    specification: str
    revision: str


@dataclass(frozen=True)
class Verdict:
    """All findings of one file for one outlet.

    outcome  FAIL if a must fails or a must is not measured; ADVISORY if something must be looked at;
             else PASS
    measurable  False if a must could not be measured: the exit status then says so
    timeline    what the drawing of the programme shows; None if nothing could be measured
    mixes       figures of each judged channel group for the mixer; empty without sound
    """

    file: str
    profile: ProfileIdentity
    outcome: Outcome
    measurable: bool
    findings: tuple[Finding, ...]
    programme: ProgrammeTable
    not_covered: tuple[str, ...]
    cautions: tuple[str, ...]
    timeline: Timeline | None = None
    mixes: tuple[MixSheet, ...] = ()

    def of(self, outcome: Outcome) -> tuple[Finding, ...]:
        return tuple(finding for finding in self.findings if finding.outcome == outcome)
