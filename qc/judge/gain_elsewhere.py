"""What a change of the mix does at the other outlets of the run: a gain, or peaks that are held."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain

from qc.figures.groups import ChannelGroup
from qc.figures.resolution import on_meter, reads_over
from qc.judge.case import Case
from qc.judge.demands import Demand, after_gain
from qc.judge.limits import number, number_bounds, weigh
from qc.judge.peaks_left import count_left, stated_ceiling
from qc.remedy.fix import Consequence
from qc.timing.spans import Span


def gain_elsewhere(
    case: Case, group: ChannelGroup, gain: float, over: Sequence[Span] | None = None
) -> tuple[Consequence, ...]:
    """One for each other outlet that judges these channels.

    over  rows that the gain is on; None for the whole mix
    """
    found = []
    for other in case.others:
        same = same_channels(other, group)
        if same is not None:
            found.append(_gain_at(other, same, gain, over))
        elif (touched := _overlapping(other, group)) is not None:
            found.append(_consequence(other, None, f"judges {touched.name} with other channels: measure it again"))
    return tuple(found)


def peaks_elsewhere(case: Case, group: ChannelGroup, held_to: float) -> tuple[Consequence, ...]:
    """Peaks of this outlet's programme are held to a level in dBTP: which other ceilings are then met."""
    found = []
    for other in case.others:
        same = same_channels(other, group)
        if same is not None:
            found.append(_held_at(other, same, held_to, case.programme))
    return tuple(found)


def same_channels(case: Case, group: ChannelGroup) -> ChannelGroup | None:
    """The group of this outlet that has exactly these channels, in any order; None if it judges none such."""
    wanted = sorted(group.channels)
    return next((own for own in case.groups if sorted(own.channels) == wanted), None)


def _overlapping(case: Case, group: ChannelGroup) -> ChannelGroup | None:
    return next((own for own in case.groups if not set(own.channels).isdisjoint(group.channels)), None)


def _consequence(case: Case, accepted: bool | None, words: str, after: dict[str, float] | None = None) -> Consequence:
    outlet = case.profile.outlet
    return Consequence(outlet.name, outlet.code, accepted, words, after or {})


def _gain_at(case: Case, group: ChannelGroup, gain: float, over: Sequence[Span] | None) -> Consequence:
    if case.no_sound:
        return _consequence(case, None, f"cannot be told: {case.no_sound}")
    changed = after_gain(case, group, gain, over)
    said, after = _loudness_words(case, group, gain, over, changed)
    peak_words, peak_after, peaks_good = _peaks_after(case, group, gain, over)
    if not changed and peaks_good is None:
        return _consequence(case, None, f"{said}; neither loudness nor peak is asked for there", after | peak_after)
    good = all(demand.accepts() for demand in changed) and peaks_good is not False
    return _consequence(case, good, "; ".join(filter(None, [said, peak_words])), after | peak_after)


def _loudness_words(
    case: Case, group: ChannelGroup, gain: float, over: Sequence[Span] | None, changed: Sequence[Demand]
) -> tuple[str, dict[str, float]]:
    """ "programme becomes -23.3 LUFS, as asked; act 2 becomes -21.9 LKFS, 0.1 over -22.0"."""
    whole = [demand for demand in changed if demand.requirement == "loudness.programme"]
    if whole:
        value, unit = whole[0].measured, whole[0].unit
        words = f"programme becomes {number(value)} {unit}, {_against(whole[0])}"
    else:
        measured = _programme(case, group, gain, over)
        if measured is None:
            return "programme loudness cannot be told", {}
        value, unit = measured, next((demand.unit for demand in changed), "LUFS")
        words = f"programme becomes {number(value)} {unit}"
    rest = [demand for demand in changed if demand.requirement != "loudness.programme"]
    acts = [demand for demand in rest if demand.requirement == "loudness.act"]
    if acts and all(demand.accepts() for demand in acts):
        words += ", each act as asked" if not whole or not whole[0].accepts() else " in each act too"
    told = [
        f"{demand.name} becomes {number(demand.measured)} {demand.unit}, {_against(demand)}"
        for demand in rest
        if not demand.accepts()
    ]
    return "; ".join([words, *told]), {"integrated": round(value, 2)}


def _programme(case: Case, group: ChannelGroup, gain: float, over: Sequence[Span] | None) -> float | None:
    """Programme loudness after the gain where the outlet states no limit for it."""
    if over is None:
        reading = case.figures.integrated(group, case.programme)
        return None if reading.value is None else reading.value + gain
    return case.figures.after_gain(group, over, gain).integrated(group, case.programme).value


def _against(demand: Demand) -> str:
    """ "as asked", "0.5 over -22.5" or "0.2 under -23.5"."""
    if demand.accepts():
        return "as asked"
    low, high, shown = demand.bounds.low, demand.bounds.high, on_meter(demand.measured)
    if high is not None and shown > high:
        return f"{number(shown - high)} over {number(high)}"
    assert low is not None
    return f"{number(low - shown)} under {number(low)}"


def _peaks_after(
    case: Case, group: ChannelGroup, gain: float, over: Sequence[Span] | None
) -> tuple[str, dict[str, float], bool | None]:
    """Words, figures, and whether the outlet's own rule accepts the highest peak; None if it asks for none."""
    spans = case.programme
    inside = spans if over is None else overlaps(spans, over)
    outside = () if over is None else without(spans, over)
    tops = [
        reading.value + shift
        for parts, shift in ((inside, gain), (outside, 0.0))
        if parts and (reading := case.figures.true_peak(group, parts)).value is not None
    ]
    stated = stated_ceiling(case)
    if not tops:
        return ("", {}, None) if stated is None else ("no peak at all", {}, True)
    top = max(tops)
    after = {"true_peak_dbtp": round(top, 2)}
    limit = case.profile.true_peak.programme
    if stated is None or limit is None:
        return "", after, None
    count = count_left(case, group, inside, stated, gain) if inside else 0
    count += count_left(case, group, outside, stated, 0.0) if outside else 0
    words, good = _ceiling_words(count, stated, top), weigh(top, number_bounds(limit), meter=True).inside
    if count and good:
        words += ", inside the tolerance of measurement"
    return words, after | ({"peaks_to_hold": float(count)} if count else {}), good


def _held_at(case: Case, group: ChannelGroup, held_to: float, own: Sequence[Span]) -> Consequence:
    if case.no_sound:
        return _consequence(case, None, f"cannot be told: {case.no_sound}")
    stated, limit = stated_ceiling(case), case.profile.true_peak.programme
    if stated is None or limit is None:
        return _consequence(case, None, "no ceiling is asked for there")
    inside, outside = overlaps(case.programme, own), without(case.programme, own)
    tops = []
    for parts, most in ((inside, held_to), (outside, None)):
        top = case.figures.true_peak(group, parts).value if parts else None
        if top is not None:
            tops.append(top if most is None else min(top, most))
    if not tops:
        return _consequence(case, True, "no peak at all")
    count = 0
    if inside and held_to > reads_over(stated):
        count += count_left(case, group, inside, stated, 0.0)
    count += count_left(case, group, outside, stated, 0.0) if outside else 0
    top = max(tops)
    good = weigh(top, number_bounds(limit), meter=True).inside
    words = _ceiling_words(count, stated, top)
    if count and good:
        words += ", inside the tolerance of measurement"
    after = {"true_peak_dbtp": round(top, 2)} | ({"peaks_to_hold": float(count)} if count else {})
    return _consequence(case, good, words, after)


def _ceiling_words(count: int, ceiling: float, top: float) -> str:
    if not count:
        return f"true peak becomes {number(top)} dBTP, as asked"
    return f"{count} peak{'' if count == 1 else 's'} over {number(ceiling)} dBTP, the highest {number(top)}"


def overlaps(spans: Sequence[Span], others: Sequence[Span]) -> tuple[Span, ...]:
    """The parts of the spans that the others hold."""
    pairs = ((span, other) for span in spans for other in others if span.overlap(other))
    return tuple(Span(max(span.first, other.first), min(span.end, other.end)) for span, other in pairs)


def without(spans: Sequence[Span], others: Sequence[Span]) -> tuple[Span, ...]:
    """The parts of the spans that none of the others holds."""
    left = tuple(spans)
    for other in others:
        left = tuple(chain.from_iterable(_less(span, other) for span in left))
    return left


def _less(span: Span, other: Span) -> list[Span]:
    if not span.overlap(other):
        return [span]
    parts = [(span.first, max(span.first, other.first)), (min(span.end, other.end), span.end)]
    return [Span(first, end) for first, end in parts if end > first]
