"""Acts, breaks and totals as measured: the table of a report and the rows of a timing sheet."""

from __future__ import annotations

from qc.judge.case import Case
from qc.judge.duration import times
from qc.judge.timing_form import TimingForm, TimingTotal
from qc.judge.verdict import ActRow, BreakRow, ProgrammeTable
from qc.outlets.schema import Profile
from qc.programme.accounting import ProgrammeTime
from qc.programme.slot import slot_time
from qc.programme.structure import Act
from qc.timing.spans import Span

_FOUND_BY = {
    "picture": "black and silence in the picture",
    "sheet": "declared timing sheet",
    "whole file": "whole file (single part)",
}


def programme_table(case: Case) -> ProgrammeTable:
    """Everything in the outlet's convention; loudness of the first judged group."""
    found, clock = case.structure, case.clock
    counted = times(case)
    acts = tuple(
        ActRow(
            number=act.number,
            som=row.som,
            eom=row.eom,
            duration=row.duration,
            frames=row.frames,
            span=act.span,
            **_figures(case, act),
        )
        for act, row in zip(found.acts, counted.acts, strict=True)
    )
    breaks = tuple(
        BreakRow(
            number=item.number,
            start=clock.at(item.span.first),
            duration=clock.counting.duration(item.span.frames),
            frames=item.span.frames,
            span=item.span,
            eom=clock.at(item.span.end if counted.eom == "exclusive" else item.span.last),
        )
        for item in found.breaks
    )
    return ProgrammeTable(
        found_by=_FOUND_BY.get(found.found_by, found.found_by),
        note="; ".join(filter(None, [found.note, *found.unlike])),
        head=found.head,
        acts=acts,
        breaks=breaks,
        tail=found.tail,
        trt=counted.trt if acts else "",
        trt_frames=counted.trt_frames,
        trt_other_accounting=counted.trt_other_accounting if acts else "",
        accounting=counted.accounting,
        eom=counted.eom,
        counting=counted.counting,
        loudness_unit=_loudness_unit(case.profile),
        form=_form(case, counted),
    )


def _form(case: Case, counted: ProgrammeTime) -> TimingForm:
    """Columns as the outlet orders them; totals add up frame for frame, and by the outlet's accounting."""
    columns, acts = tuple(case.profile.timing_sheet.columns), case.structure.acts
    if not acts:
        return TimingForm(columns)
    slot, duration = slot_time(acts, case.clock, counted.accounting), case.clock.counting.duration
    between = dict(zip((act.number for act in acts), slot.breaks, strict=False))
    how, frames = counted.accounting, counted.trt_frames
    overlap = f"acts share {slot.overlap} s as they are counted" if slot.overlap else ""
    return TimingForm(
        columns,
        tuple(between.get(item.number, duration(item.span.frames)) for item in case.structure.breaks),
        (
            TimingTotal("sum of acts", duration(frames), "frame-exact", frames),
            TimingTotal("sum of breaks", slot.breaks_total, how, slot.breaks_frames, overlap),
            TimingTotal("programme with breaks", slot.total, how, slot.total_frames),
            TimingTotal("TRT", counted.trt, how, frames),
        ),
    )


def _loudness_unit(profile: Profile) -> str:
    """The name that the outlet's own limits use; LUFS where it has none."""
    asked = profile.loudness
    limits = (asked.act, asked.programme, asked.max_short_term, asked.max_momentary)
    return next((limit.unit for limit in limits if limit is not None), "LUFS")


def _figures(case: Case, act: Act) -> dict[str, float | None]:
    if case.no_sound or case.sound is None:
        return dict.fromkeys(("integrated", "max_short_term", "loudness_range", "true_peak_dbtp"))
    group, spans = case.groups[0], (case.rows(act.span),)
    readings = {
        "integrated": case.figures.integrated(group, spans),
        "max_short_term": case.figures.max_short_term(group, spans),
        "loudness_range": case.figures.loudness_range(group, spans),
        "true_peak_dbtp": case.figures.true_peak(group, spans),
    }
    return {name: None if reading.value is None else round(reading.value, 4) for name, reading in readings.items()}


def empty_table(profile: Profile, note: str) -> ProgrammeTable:
    """The table of a file that could not be measured."""
    return ProgrammeTable(
        found_by="",
        note=note,
        head=Span(0, 0),
        acts=(),
        breaks=(),
        tail=Span(0, 0),
        trt="",
        trt_frames=0,
        trt_other_accounting="",
        accounting=profile.programme.accounting,
        eom=profile.programme.eom,
        counting="",
        form=TimingForm(tuple(profile.timing_sheet.columns)),
    )
