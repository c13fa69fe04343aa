"""The mixer's sheet: one page about one file, for somebody who was not there when it was checked.

Which meter comes first, because that is the first question; then whether one mix serves all outlets, then each
outlet: what was measured, what is asked for, the gain, and the peaks in the way once it is applied.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.figures.resolution import on_meter
from qc.judge.mix import MixRow, MixSheet, OneMix
from qc.judge.verdict import Finding, Outcome, Place, Verdict
from qc.report import wording
from qc.report.badge import Badge, badge
from qc.report.file_brief import file_brief
from qc.report.file_words import Described
from qc.report.media_file import MediaFile
from qc.report.overview import Link
from qc.report.run import RunBlock
from qc.report.sheet_words import Column, Grid, address, count, gain, listed, made_by, on_one_decimal, whole
from qc.report.templating import template
from qc.report.visible import sentence, visible

#: Requirements of the sound that are no level: what a mixer listens for, and what each is called.
_LISTEN = {
    "silence.": "silence",
    "audio.must_carry": "channels that must carry sound",
    "audio.must_be_silent": "channels that must be silent",
    "structure.act_ends": "sound at the ends of acts",
}

_FIGURES = (
    Column("Span"),
    Column("From", "code"),
    Column("To", "code"),
    Column("Integrated", "figure"),
    Column("Max short-term", "figure"),
    Column("Max momentary", "figure"),
    Column("Loudness range", "figure"),
    Column("True peak", "figure"),
    Column("Asked for", "figure"),
    Column("Met"),
    Column("Gain to target", "figure"),
)
_PEAKS = (
    Column("Timecode", "code"),
    Column("Where"),
    Column("Channel", "figure"),
    Column("After the gain", "figure"),
    Column("Over", "figure"),
)

ONE_DECIMAL = "Levels are shown as a meter shows them, with one decimal; the reports have two."


@dataclass(frozen=True)
class MixPart:
    """One channel group for one outlet."""

    title: str
    words: str
    channels: str
    facts: tuple[Described, ...]
    figures: Grid
    notes: tuple[str, ...]
    peaks: Grid | None
    more_peaks: str


@dataclass(frozen=True)
class Heard:
    """One thing to listen for that is no level, with the outlets that object to it."""

    badge: Badge
    title: str
    what: str
    outlets: str
    places: tuple[str, ...]
    more: str


@dataclass(frozen=True)
class MixPage:
    title: str
    file: str
    meters: tuple[str, ...]
    span: str
    one_mix: str
    one_mix_facts: tuple[Described, ...]
    conflicts: tuple[str, ...]
    parts: tuple[MixPart, ...]
    without: tuple[str, ...]
    heard: tuple[Heard, ...]
    judged: tuple[str, ...]
    facts: tuple[Described, ...]
    one_decimal: str
    made_by: str


def mix_html(
    verdicts: Sequence[Verdict], file: MediaFile, one_mix: OneMix | None, run: RunBlock, *, links: Sequence[Link] = ()
) -> bytes:
    """The page as UTF-8, outlets in the order of the verdicts; ``links`` lead to other pages of the run."""
    back = [address(link) for link in links]
    return template("mix.html").render(page=mix_page(verdicts, file, one_mix, run), back=back).encode()


def mix_page(verdicts: Sequence[Verdict], file: MediaFile, one_mix: OneMix | None, run: RunBlock) -> MixPage:
    sheets = [(verdict, sheet) for verdict in verdicts for sheet in verdict.mixes]
    wanted = {"Not complete", "Sound", "Duration", "Timecode of the first frame", "SHA-256"}
    return MixPage(
        title=f"Mixer's sheet: {visible(file.name)}",
        file=visible(file.name),
        meters=_meters([sheet for _, sheet in sheets]),
        span=_span(verdicts),
        one_mix=whole(one_mix.sentence) if one_mix else "",
        one_mix_facts=_one_mix_facts(one_mix) if one_mix else (),
        conflicts=_conflicts(one_mix) if one_mix else (),
        parts=tuple(_part(verdict, sheet, len(verdict.mixes) > 1) for verdict, sheet in sheets),
        without=tuple(_without(verdict) for verdict in verdicts if not verdict.mixes),
        heard=_heard(verdicts),
        judged=_judged(verdicts),
        facts=tuple(line for line in file_brief(file) if line[0] in wanted),
        one_decimal=ONE_DECIMAL,
        made_by=made_by(run),
    )


def _meters(sheets: Sequence[MixSheet]) -> tuple[str, ...]:
    """Each way of measuring once; LUFS and LKFS are two names of one scale."""
    ways: dict[str, str] = {}
    for sheet in sheets:
        ways.setdefault(sheet.meter.replace("LKFS", "LUFS"), sentence(sheet.meter))
    return tuple(ways.values())


def _span(verdicts: Sequence[Verdict]) -> str:
    """The span that loudness was measured over, if all outlets agree on it."""
    spans = {
        f"{visible(row.som)} to {visible(row.eom)}, {count(len(verdict.programme.acts), 'act')}"
        for verdict in verdicts
        for sheet in verdict.mixes
        for row in sheet.rows
        if row.span == "programme"
    }
    if len(spans) > 1:
        return "Acts differ between the outlets: each table below names its own span."
    return f"Programme measured: {spans.pop()}." if spans else ""


def _one_mix_facts(mix: OneMix) -> tuple[Described, ...]:
    lines: list[Described] = [("Outlets", listed(mix.outlets))]
    if mix.serves:
        lines += [("Gain", gain(mix.gain)), ("Gains that serve all", _window((mix.low, mix.high)))]
        lines += [("Programme then", on_one_decimal(mix.loudness, "LUFS"))] if mix.loudness is not None else []
    if mix.ceiling is not None:
        lines.append(("Lowest ceiling of all", on_one_decimal(mix.ceiling, "dBTP")))
        if mix.serves:
            lines.append(("Peaks over it then", str(mix.peaks) if mix.peaks else "none"))
    lines.append(("Channels", ", ".join(str(number) for number in mix.group)))
    return tuple(lines)


def _conflicts(mix: OneMix) -> tuple[str, ...]:
    """Those that the sentence above them does not tell already."""
    return tuple(whole(words) for words in mix.conflicts if words not in mix.sentence)


def _window(window: tuple[float | None, float | None]) -> str:
    low, high = window
    if low is None:
        return f"up to {gain(high)}" if high is not None else "any"
    if high is None:
        return f"from {gain(low)}"
    return gain(low) if on_meter(low) == on_meter(high) else f"{gain(low)} to {gain(high)}"


def _part(verdict: Verdict, sheet: MixSheet, several: bool) -> MixPart:
    channels = ", ".join(str(number) for number in sheet.channels)
    ceiling = "none asked for" if sheet.ceiling is None else f"{on_one_decimal(sheet.ceiling)} dBTP at most"
    window = "none" if sheet.window is None else _window(sheet.window)
    named = visible(verdict.profile.name)
    return MixPart(
        title=f"{named}, {visible(sheet.group)}" if several else named,
        words=whole(sheet.words),
        channels=channels,
        facts=(
            ("Mix", f"{visible(sheet.group)}, {'channel' if len(sheet.channels) == 1 else 'channels'} {channels}"),
            ("True peak", ceiling),
            ("Gain", gain(sheet.gain) if sheet.gain is not None else "not known"),
            ("Gains that meet loudness and peaks", window),
        ),
        figures=Grid(
            caption=f"As measured ({visible(sheet.unit)}, LU, dBTP)",
            columns=_FIGURES,
            rows=tuple(_row(row) for row in _rows(sheet)),
        ),
        notes=tuple(f"{sentence(row.span)[:-1]}: {visible(row.note)}" for row in sheet.rows if row.note),
        peaks=_peaks(sheet) if sheet.peaks else None,
        more_peaks=f"{count(sheet.more_peaks, 'more place')} like these." if sheet.more_peaks else "",
    )


def _rows(sheet: MixSheet) -> tuple[MixRow, ...]:
    """A single act of which nothing is asked says what the programme says."""
    acts = [row for row in sheet.rows if row.span != "programme"]
    if len(acts) == 1 and len(sheet.rows) == 2 and acts[0].accepted is None and not acts[0].note:
        return tuple(row for row in sheet.rows if row.span == "programme")
    return sheet.rows


def _row(row: MixRow) -> tuple[str, ...]:
    return (
        visible(row.span),
        visible(row.som),
        visible(row.eom),
        on_one_decimal(row.integrated),
        on_one_decimal(row.max_short_term),
        on_one_decimal(row.max_momentary),
        on_one_decimal(row.loudness_range),
        on_one_decimal(row.true_peak_dbtp),
        _asked(row),
        {True: "yes", False: "no", None: ""}[row.accepted],
        gain(row.gain) if row.gain is not None else "",
    )


def _asked(row: MixRow) -> str:
    """ "-24.0 ±2.0", "-24.0 -4.0/+1.0", "at most -22.0", "" if nothing is."""
    low, target, high = row.low, row.target, row.high
    if target is not None and low is not None and high is not None:
        below, above = on_meter(low - target), on_meter(high - target)
        spread = f"±{above:.1f}" if above == -below else f"{below:+.1f}/{above:+.1f}"
        return f"{on_one_decimal(target)} {spread}"
    if low is not None and high is not None:
        return f"{on_one_decimal(low)} to {on_one_decimal(high)}"
    if high is not None:
        return f"at most {on_one_decimal(high)}"
    return f"at least {on_one_decimal(low)}" if low is not None else ""


def _peaks(sheet: MixSheet) -> Grid:
    number = len(sheet.peaks) + sheet.more_peaks
    after = f" after {gain(sheet.gain)}" if sheet.gain else ""
    over = f"{count(number, 'peak')} over {on_one_decimal(sheet.ceiling)} dBTP{after}"
    return Grid(caption=over, columns=_PEAKS, rows=tuple(_peak(place, sheet.ceiling) for place in sheet.peaks))


def _peak(place: Place, ceiling: float | None) -> tuple[str, ...]:
    return (
        wording.place_range(place),
        visible(place.within) or f"frame {place.span.first}",
        "" if place.channel is None else str(place.channel),
        "" if place.value is None else on_one_decimal(place.value, "dBTP"),
        "" if place.value is None or ceiling is None else f"{_over(place.value - ceiling)} dB",
    )


def _over(excess: float) -> str:
    """One decimal; two where one would say that nothing is over."""
    return f"{on_meter(excess):.1f}" if on_meter(excess) > 0 else f"{excess:.2f}"


def _without(verdict: Verdict) -> str:
    """Why an outlet has no figures here."""
    named = visible(verdict.profile.name)
    sound = [item for item in verdict.findings if item.requirement.startswith(("loudness.", "true_peak."))]
    if not sound:
        return f"{named} asks for no loudness and no true peak."
    reasons = dict.fromkeys(item.reason for item in sound if item.outcome is Outcome.NOT_MEASURED and item.reason)
    return f"{named}: not measured. {' '.join(sentence(reason) for reason in reasons)}".strip()


def _heard(verdicts: Sequence[Verdict]) -> tuple[Heard, ...]:
    """Silence, lost channels, cut sound: everything that is not simply met, the same thing once."""
    together: dict[tuple[str, ...], tuple[Finding, list[str]]] = {}
    for verdict in verdicts:
        for finding in verdict.findings:
            if finding.outcome is Outcome.PASS or not finding.requirement.startswith(tuple(_LISTEN)):
                continue
            same = (finding.requirement, finding.subject, finding.outcome.value, _what(finding), repr(finding.places))
            together.setdefault(same, (finding, []))[1].append(verdict.profile.name)
    order = {outcome: place for place, outcome in enumerate(wording.ORDER)}
    items = sorted(together.values(), key=lambda item: order[item[0].outcome])
    return tuple(
        Heard(
            badge=badge(finding.outcome),
            title=wording.title(finding),
            what=_what(finding),
            outlets=listed(tuple(dict.fromkeys(names))),
            places=tuple(
                ", ".join([wording.place_range(place), *wording.place_details(place, finding.unit)])
                for place in finding.places
            ),
            more=f"{count(finding.more_places, 'more place')} like these." if finding.more_places else "",
        )
        for finding, names in items
    )


def _judged(verdicts: Sequence[Verdict]) -> tuple[str, ...]:
    """What was looked for and is met, and what no outlet asks for: that nothing is listed is no pass of it."""
    met, unasked = [], []
    for start, what in _LISTEN.items():
        asking: dict[str, bool] = {}
        for verdict in verdicts:
            own = [item.outcome for item in verdict.findings if item.requirement.startswith(start)]
            if own:
                asking[verdict.profile.name] = all(outcome is Outcome.PASS for outcome in own)
        good = tuple(name for name, passed in asking.items() if passed)
        if good:
            met.append(what if len(good) == len(verdicts) else f"{what} ({listed(good)})")
        if not asking:
            unasked.append(what)
    said = [f"Asked for and met: {', '.join(met)}."] if met else []
    said += [f"No outlet here asks about these, so they are not judged: {', '.join(unasked)}."] if unasked else []
    return tuple(said)


def _what(finding: Finding) -> str:
    if finding.outcome is Outcome.NOT_MEASURED:
        return sentence(finding.remarks) or "No reason was recorded."
    parts = [f"{wording.measured(finding)}, limit {wording.limit(finding)}."]
    parts += [sentence(finding.remarks)] if finding.remarks else []
    parts += [visible(finding.fix.sentence)] if finding.fix else []
    parts += [f"{wording.waiver_words(finding)}."] if finding.waiver else []
    return " ".join(parts)
