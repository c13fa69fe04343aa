"""One file judged for all outlets of a run: each by itself, and what a fix for one does to the others."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from qc.judge.company import Company
from qc.judge.judging import case_of, verdict_of
from qc.judge.mix import OneMix
from qc.judge.one_mix import one_mix
from qc.judge.verdict import Verdict
from qc.judge.waivers import WaiverRule
from qc.measurement.record import Measurement
from qc.outlets.load import LoadedProfile
from qc.programme.sheet import TimingSheet


@dataclass(frozen=True)
class Together:
    """Verdicts in the order of the profiles.

    one_mix  whether one level of the mix serves all; None for one outlet, or without sound that two of them judge
    """

    verdicts: tuple[Verdict, ...]
    one_mix: OneMix | None


def judge_together(
    measurement: Measurement,
    profiles: Sequence[LoadedProfile],
    *,
    sheet_of: Callable[[LoadedProfile], TimingSheet | None] = lambda _: None,
    waivers: Sequence[WaiverRule] = (),
    today: datetime.date | None = None,
) -> Together:
    """Every outlet's verdict; figures that several of them judge alike are worked out once.

    sheet_of  the declared timing sheet as an outlet reads it, None without one; what it raises is not caught
    """
    company = Company(measurement)
    cases = [case_of(measurement, loaded, sheet=sheet_of(loaded), company=company) for loaded in profiles]
    verdicts = tuple(
        verdict_of(case, loaded, waivers=waivers, today=today) for case, loaded in zip(cases, profiles, strict=True)
    )
    return Together(verdicts, one_mix(cases))
