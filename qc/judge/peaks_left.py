"""Peaks over a ceiling once a gain is on: the same peaks that re-judging the changed mix would find."""

from __future__ import annotations

from collections.abc import Sequence

from qc.figures.groups import ChannelGroup
from qc.figures.peaks import Peak
from qc.figures.resolution import reads_over
from qc.judge.case import Case
from qc.judge.limits import number
from qc.measurement.record import STEPS_PER_SECOND
from qc.programme.place import Place
from qc.remedy.fix import MOST_PEAKS
from qc.remedy.gain import Ceiling
from qc.timing.spans import Span

#: Longer events than this say how long they are.
_ONE_PLACE_ROWS = 20


def stated_ceiling(case: Case) -> float | None:
    """The highest true peak asked for, dBTP. The tolerance of measurement is the meter's, not the mix's:
    a remedy aims at the limit itself."""
    limit = case.profile.true_peak.programme
    return None if limit is None or limit.max is None else float(limit.max)


def ceiling_of(case: Case, group: ChannelGroup, spans: Sequence[Span]) -> Ceiling:
    """What a change of gain over these spans meets."""
    stated, top = stated_ceiling(case), case.figures.true_peak(group, spans).value
    if stated is None:
        return Ceiling(None, top)
    return Ceiling(stated, top, lambda gain: peaks_left(case, group, spans, stated, gain))


def peaks_left(
    case: Case, group: ChannelGroup, spans: Sequence[Span], ceiling: float, gain: float
) -> tuple[tuple[Place, ...], int]:
    """Places over the ceiling after the gain, worst first, at most MOST_PEAKS, and how many more there are."""
    worst, total = case.figures.worst_peaks(group, spans, reads_over(ceiling) - gain, MOST_PEAKS)
    return tuple(peak_place(case, peak, gain) for peak in worst), total - len(worst)


def count_left(case: Case, group: ChannelGroup, spans: Sequence[Span], ceiling: float, gain: float) -> int:
    """How many places are over the ceiling after the gain."""
    return case.figures.worst_peaks(group, spans, reads_over(ceiling) - gain, MOST_PEAKS)[1]


def peak_place(case: Case, peak: Peak, gain: float = 0.0) -> Place:
    """The frame of the highest sample; how long the event is, where that is longer."""
    note = ""
    if peak.span.frames > _ONE_PLACE_ROWS:
        note = f"over the limit for {number(peak.span.frames / STEPS_PER_SECOND, 2)} s"
    return case.places.row(peak.row, channel=peak.channel + 1, value=round(peak.dbtp + gain, 2), note=note)
