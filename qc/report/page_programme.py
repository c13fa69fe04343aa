"""The programme as measured: drawn to scale, and in tables per act with its loudness, limits and gain."""

from __future__ import annotations

from dataclasses import dataclass

from markupsafe import Markup

from qc.judge.mix import MixRow, MixSheet
from qc.judge.verdict import ActRow, ProgrammeTable, Verdict
from qc.report import wording
from qc.report.edition import Edition
from qc.report.file_words import Described
from qc.report.page_table import Table
from qc.report.visible import sentence, visible
from qc.timing.spans import Span

NOT_DRAWN = "Nothing could be measured that a drawing would show."


@dataclass(frozen=True)
class SoundWords:
    """One channel group: its table, how it was measured, and what to do with it (the crew's edition alone)."""

    table: Table
    meter: str
    advice: str


@dataclass(frozen=True)
class ProgrammeWords:
    """drawing  the timeline, None if there is none to draw"""

    drawing: Markup | None
    not_drawn: str
    no_structure: str
    acts: Table | None
    sounds: tuple[SoundWords, ...]
    breaks: Table | None
    timing: tuple[Described, ...]


def programme_words(verdict: Verdict, edition: Edition, drawing: Markup | None) -> ProgrammeWords:
    table = verdict.programme
    with_sound = not verdict.mixes
    return ProgrammeWords(
        drawing=drawing,
        not_drawn="" if drawing else NOT_DRAWN,
        no_structure="" if table.acts else sentence(table.note or "no programme structure was found"),
        acts=_acts(table, with_sound) if table.acts else None,
        sounds=tuple(_sound(sheet, edition) for sheet in verdict.mixes),
        breaks=_breaks(table) if table.breaks else None,
        timing=_timing(table),
    )


def _acts(table: ProgrammeTable, with_sound: bool) -> Table:
    """Timing of each act; its sound too where no table of its own shows it."""
    sound = ("Integrated", "Max short-term", "Loudness range", "True peak") if with_sound else ()
    head = ("Act", "SOM", f"EOM ({visible(table.eom)})", "Duration", "Frames", "First frame", *sound)

    def row(act: ActRow) -> tuple[str, ...]:
        timing = (str(act.number), act.som, act.eom, act.duration, str(act.frames), str(act.span.first))
        figures = (
            _level(act.integrated, table.loudness_unit),
            _level(act.max_short_term, table.loudness_unit),
            _level(act.loudness_range, "LU"),
            _level(act.true_peak_dbtp, "dBTP"),
        )
        return tuple(visible(cell) for cell in timing) + (figures if with_sound else ())

    return Table("Acts as measured", head, tuple(row(act) for act in table.acts))


def _sound(sheet: MixSheet, edition: Edition) -> SoundWords:
    channels = ", ".join(map(str, sheet.channels))
    caption = (
        f"Sound per act: {visible(sheet.group)}, {'channel' if len(sheet.channels) == 1 else 'channels'} {channels}"
    )
    internal = edition is Edition.INTERNAL
    head = ("Span", "Integrated", "Asked for", "Met", *(("Gain to it",) if internal else ()))
    head += ("Max short-term", "Max momentary", "Loudness range", f"True peak{_ceiling(sheet)}")

    def row(each: MixRow) -> tuple[str, ...]:
        met = {True: "yes", False: "no", None: ""}[each.accepted]
        return (
            visible(each.span),
            _level(each.integrated, sheet.unit),
            _asked(each, sheet),
            met,
            *((_gain(each.gain),) if internal else ()),
            _level(each.max_short_term, sheet.unit),
            _level(each.max_momentary, sheet.unit),
            _level(each.loudness_range, "LU"),
            _level(each.true_peak_dbtp, "dBTP"),
        )

    notes = [f"{visible(each.span)}: {visible(each.note)}" for each in sheet.rows if each.note]
    meter = " ".join(sentence(text) for text in (sheet.meter, "; ".join(notes)) if text)
    return SoundWords(Table(caption, head, tuple(row(each) for each in sheet.rows)), meter, visible(sheet.words))


def _ceiling(sheet: MixSheet) -> str:
    return "" if sheet.ceiling is None else f" (limit {sheet.ceiling:.1f} dBTP)"


def _asked(row: MixRow, sheet: MixSheet) -> str:
    """ "-24.0 ± 2.0 LKFS", "-28.0 to -23.0 LKFS", "-24.0 LKFS or less", "" if nothing is asked."""
    low, target, high, unit = row.low, row.target, row.high, visible(sheet.unit)
    if low is not None and high is not None:
        if target is not None and round(high - target, 6) == round(target - low, 6):
            return f"{target:.1f} ±\u00a0{high - target:.1f} {unit}"
        return f"{low:.1f} to {high:.1f} {unit}"
    if low is not None:
        return f"{low:.1f} {unit} or more"
    if high is not None:
        return f"{high:.1f} {unit} or less"
    return "" if target is None else f"{target:.1f} {unit}"


def _gain(gain: float | None) -> str:
    return "" if gain is None else f"{gain + 0.0:+.1f} dB".replace("+0.0", "0.0").replace("-0.0", "0.0")


def _level(value: float | None, unit: str) -> str:
    return "not measured" if value is None else wording.number(float(value), unit)


def _breaks(table: ProgrammeTable) -> Table:
    return Table(
        caption="Breaks as measured",
        head=("After act", "Start", "Duration", "Frames", "First frame"),
        rows=tuple(
            (str(row.number), visible(row.start), visible(row.duration), str(row.frames), str(row.span.first))
            for row in table.breaks
        ),
    )


def _timing(table: ProgrammeTable) -> tuple[Described, ...]:
    lines: list[Described] = []
    if table.acts:
        lines += [
            ("Running time (TRT)", f"{visible(table.trt)}, {wording.frames(table.trt_frames)}"),
            ("TRT by the other accounting", visible(table.trt_other_accounting) or "the same"),
            ("Found by", visible(table.found_by)),
            ("Before the programme", _stretch(table.head)),
            ("After the programme", _stretch(table.tail)),
        ]
        lines += [("Note", visible(table.note))] if table.note else []
    lines += [
        ("Counting", visible(table.counting) or "unknown"),
        ("Accounting", visible(table.accounting)),
        ("End of an act (EOM)", visible(table.eom)),
    ]
    return tuple(lines)


def _stretch(span: Span) -> str:
    return f"{wording.frames(span.frames)} from frame {span.first}" if span.frames else "nothing"
