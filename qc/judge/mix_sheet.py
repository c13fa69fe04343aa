"""What the mixer gets: figures of programme and acts, the gain for the whole mix, and the peaks in its way."""

from __future__ import annotations

from collections.abc import Sequence

from qc.figures.groups import ChannelGroup
from qc.figures.reading import Reading
from qc.judge.case import Case
from qc.judge.demands import Demand, demands
from qc.judge.duration import times
from qc.judge.limits import number
from qc.judge.mix import MixRow, MixSheet
from qc.judge.peaks_left import peaks_left, stated_ceiling
from qc.programme.place import Place
from qc.remedy.fix import Window
from qc.remedy.gain import decibels, decibels_over, gain_to, window_words
from qc.remedy.gain_window import accepted_gains, common, nearest
from qc.timing.spans import Span

#: Editions: ITU-R BS.1770-5 (2023), EBU Tech 3341 (2023), EBU Tech 3342 (2023).
_GATES = "ITU-R BS.1770-5, gated at -70 {unit} and 10 LU under the ungated level"
_WINDOWS = "EBU Tech 3341 (2023): short-term 3 s, momentary 400 ms; EBU Tech 3342 (2023): loudness range"
#: From this sample rate on the samples serve as true peaks (ITU-R BS.1770-5, Annex 2).
_FAST = 176_400


def mix_sheets(case: Case) -> tuple[MixSheet, ...]:
    """One for each judged group; none where the sound cannot be judged."""
    if case.no_sound or case.sound is None:
        return ()
    return tuple(_sheet(case, group) for group in case.groups if max(group.channels) < case.sound.channels)


def _sheet(case: Case, group: ChannelGroup) -> MixSheet:
    asked = demands(case, group)
    unit = unit_of(case)
    ceiling = stated_ceiling(case)
    top = case.figures.true_peak(group, case.programme).value
    loud = case.figures.integrated(group, case.programme)
    gain = whole_gain(asked) if loud.value is not None else None
    peaks: tuple[Place, ...] = ()
    more = 0
    if ceiling is not None and top is not None:
        peaks, more = peaks_left(case, group, case.programme, ceiling, gain or 0.0)
    rows = tuple(_rows(case, group, asked))
    return MixSheet(
        group=group.name,
        channels=tuple(channel + 1 for channel in group.channels),
        meter=meter_words(case, group, unit),
        unit=unit,
        ceiling=ceiling,
        rows=rows,
        gain=gain,
        window=_untouched(asked, ceiling, top),
        peaks=tuple(sorted(peaks, key=lambda place: (place.span.first, place.channel or 0))),
        more_peaks=more,
        words=_words(case, group, asked, rows, gain, ceiling, top, len(peaks) + more),
    )


def unit_of(case: Case) -> str:
    """LUFS or LKFS as the outlet writes it: two names of one scale."""
    asked = case.profile.loudness
    limits = (asked.programme, asked.act, asked.max_short_term, asked.max_momentary)
    return next((limit.unit for limit in limits if limit is not None), "LUFS")


def meter_words(case: Case, group: ChannelGroup, unit: str) -> str:
    """How the figures were measured, with standard and edition."""
    channels = ", ".join(str(channel + 1) for channel in group.channels)
    surround = "" if set(group.weights) == {1.0} else ", weighted by their places"
    rates = {sound.rate for sound in case.facts.sounds}
    plain = bool(rates) and min(rates) >= _FAST
    peak = (
        "true peak by Annex 2, from the samples as they are" if plain else ("true peak by Annex 2, 4 times oversampled")
    )
    return (
        f"{_GATES.format(unit=unit)}, channels {channels} together{surround}; {peak}; {_WINDOWS}. "
        "Acts joined, without head, breaks and tail."
    )


def whole_gain(asked: Sequence[Demand]) -> float:
    """Gain for the whole mix: 0 if every limit is met as it is, else to the target as near as all limits allow."""
    if all(demand.accepts() for demand in asked):
        return 0.0
    whole = next((demand for demand in asked if demand.requirement == "loudness.programme"), None)
    wanted = 0.0
    if whole is not None and not whole.accepts():
        wanted = gain_to(whole.measured, whole.bounds.low, whole.bounds.high, whole.target)
    window = common(demand.gains for demand in asked)
    if window is None:
        return wanted
    return nearest(window, wanted)


def _untouched(
    asked: Sequence[Demand], ceiling: float | None, top: float | None
) -> tuple[float | None, float | None] | None:
    """Gains that loudness and ceiling accept without touching a peak."""
    windows: list[Window | None] = [demand.gains for demand in asked]
    if ceiling is not None and top is not None:
        windows.append(accepted_gains(top, None, ceiling))
    found = common(windows)
    return None if found is None else (found.low, found.high)


def _rows(case: Case, group: ChannelGroup, asked: Sequence[Demand]) -> list[MixRow]:
    counted = times(case).acts
    rows = [_row(case, group, asked, "programme", case.programme, counted[0].som, counted[-1].eom)]
    for act, time in zip(case.structure.acts, counted, strict=True):
        rows.append(_row(case, group, asked, f"act {act.number}", (case.rows(act.span),), time.som, time.eom))
    return rows


def _row(
    case: Case, group: ChannelGroup, asked: Sequence[Demand], part: str, spans: tuple[Span, ...], som: str, eom: str
) -> MixRow:
    figures = case.figures
    loud = figures.integrated(group, spans)
    short, momentary = figures.max_short_term(group, spans), figures.max_momentary(group, spans)
    spread, peak = figures.loudness_range(group, spans), figures.true_peak(group, spans)
    limit = next((demand for demand in asked if demand.part == part and demand.figure == "loudness"), None)
    gain = None
    if limit is not None:
        gain = gain_to(limit.measured, limit.bounds.low, limit.bounds.high, limit.target)
    return MixRow(
        span=part,
        som=som,
        eom=eom,
        integrated=_value(loud),
        max_short_term=_value(short),
        max_momentary=_value(momentary),
        loudness_range=_value(spread),
        true_peak_dbtp=_value(peak),
        low=None if limit is None else limit.bounds.low,
        target=None if limit is None else limit.target,
        high=None if limit is None else limit.bounds.high,
        gain=gain,
        accepted=None if limit is None else limit.accepts(),
        note=_note({"loudness": loud, "short-term": short, "loudness range": spread, "true peak": peak}),
    )


def _value(reading: Reading) -> float | None:
    return None if reading.value is None else round(reading.value, 4)


def _note(readings: dict[str, Reading]) -> str:
    """Why figures are missing; figures that are missing for the same reason are named together."""
    reasons: dict[str, list[str]] = {}
    for name, reading in readings.items():
        if reading.value is None:
            reasons.setdefault(reading.reason, []).append(name)
    return "; ".join(f"{', '.join(names)}: {reason}" for reason, names in reasons.items())


def _words(
    case: Case,
    group: ChannelGroup,
    asked: Sequence[Demand],
    rows: Sequence[MixRow],
    gain: float | None,
    ceiling: float | None,
    top: float | None,
    count: int,
) -> str:
    """ "Raise the mix 0.9 dB (window +0.4 to +1.4 dB): hold 0.7 dB of peaks first (3 places)."."""
    mix = case.mix(group)
    if gain is None:
        return f"No gain can be told for the {mix}: {rows[0].note}."
    peaks = ""
    if ceiling is not None and top is not None:
        over = decibels_over(top + gain, ceiling)
        if count:
            places = "1 place" if count == 1 else f"{count} places"
            peaks = f"hold {over:.1f} dB of peaks over {number(ceiling)} dBTP ({places})"
        else:
            becomes = "becomes" if gain else "is"
            peaks = f"true peak {becomes} {decibels(top + gain)} dBTP, under the ceiling of {number(ceiling)}"
    left = [demand for demand in asked if not demand.accepts(gain)]
    if gain:
        said = f"{'Raise' if gain > 0 else 'Lower'} the {mix} {abs(gain):.1f} dB"
        said += window_words(common(demand.gains for demand in asked)) + (f": {peaks}" if peaks else "")
    elif not asked:
        said = f"No loudness is asked for; {peaks}" if peaks else "Neither loudness nor a ceiling is asked for"
    elif not left:
        said = f"The loudness of the {mix} is accepted as it is" + (f"; {peaks}" if peaks else "")
    else:
        said = f"Leave the level of the {mix}" + (f"; {peaks}" if peaks else "")
    return ". ".join([said, *(_own(demand, gain) for demand in left)]) + "."


def _own(demand: Demand, gain: float) -> str:
    """What a gain on the whole does not bring inside."""
    own = gain_to(demand.measured + gain, demand.bounds.low, demand.bounds.high, demand.target)
    becomes = f"{number(demand.measured + gain)} {demand.unit}"
    if demand.figure != "loudness":
        high = demand.bounds.high
        return f"Its {demand.figure} is then {becomes}" + (f", limit {number(high)}" if high is not None else "")
    name = demand.part[0].upper() + demand.part[1:]
    after = "more" if gain else "of its own"
    return f"{name} is then {becomes}: give it {decibels(own)} dB {after}"
