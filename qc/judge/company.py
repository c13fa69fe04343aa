"""The outlets that one file is judged for together: what they share, and what a fix for one does to the others."""

from __future__ import annotations

from typing import TYPE_CHECKING

from qc.figures.shared import Figures
from qc.measurement.record import Measurement

if TYPE_CHECKING:
    from qc.judge.case import Case


class Company:
    """All cases of one measurement, in the order of the run."""

    def __init__(self, measurement: Measurement) -> None:
        self.figures = Figures(measurement.sound)
        self._cases: list[Case] = []

    def join(self, case: Case) -> None:
        self._cases.append(case)

    @property
    def cases(self) -> tuple[Case, ...]:
        return tuple(self._cases)

    def others(self, case: Case) -> tuple[Case, ...]:
        """All but this one."""
        return tuple(other for other in self._cases if other is not case)
