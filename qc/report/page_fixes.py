"""What to change: one instruction for all findings that ask for it, what it leads to, and what it does elsewhere."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from qc.judge.verdict import Place
from qc.remedy.fix import Consequence, Fix, Window
from qc.report import wording
from qc.report.page_table import Table
from qc.report.visible import visible

#: How the sentence of a re-export opens (qc.remedy.exports).
_RE_EXPORT = "Re-export with "

#: A reason of this many characters still fits beside an instruction.
_SHORT = 60

#: Units of a window that a meter reads, with their decimals.
_ONE_DECIMAL = {"dB", "LU", "s"}


@dataclass(frozen=True)
class Elsewhere:
    """What a fix does at other outlets that say the same of it. met: "met", "not met", "" if there is no answer."""

    met: str
    outlets: str
    words: str


@dataclass(frozen=True)
class FixWords:
    """One fix.

    fits     amounts that the requirement accepts, in words, "" if unknown
    peaks    places over the ceiling once it is done
    answers  outlet and whether it would accept the result, None if that is not known
    """

    sentence: str
    action: str
    after: str
    fits: str
    no_export: bool
    peaks: Table | None
    more_peaks: int
    elsewhere: tuple[Elsewhere, ...]
    answers: tuple[tuple[str, bool | None], ...]


def fix_words(fix: Fix, unit: str) -> FixWords:
    """unit  of the finding that the fix belongs to"""
    return FixWords(
        sentence=visible(fix.sentence),
        action=visible(fix.action),
        after=wording.after(fix.after, unit),
        fits=_fits(fix.window, visible(fix.unit)) if fix.window else "",
        no_export=fix.no_export,
        peaks=peaks_table(fix.peaks, f"Peaks over the ceiling after it ({len(fix.peaks) + fix.more_peaks})")
        if fix.peaks
        else None,
        more_peaks=fix.more_peaks,
        elsewhere=_elsewhere(fix.consequences),
        answers=tuple((visible(each.outlet), each.accepted) for each in fix.consequences),
    )


def in_one_export(sentences: Sequence[str]) -> str:
    """Several re-exports are one: "Re-export with codec AVC; a picture rate of 25."."""
    return f"{_RE_EXPORT}{'; '.join(words.removeprefix(_RE_EXPORT).rstrip('.') for words in sentences)}."


def is_export(words: str) -> bool:
    return words.startswith(_RE_EXPORT)


def elsewhere_in_short(fixes: Sequence[FixWords]) -> str:
    """Which other outlets would accept all of these fixes: "met at A, B; not met at C: 3 peaks over -3.0 dBTP".

    Why one refuses is said only where there is one reason and it is short; the finding has all of it.
    """
    answers: dict[str, list[bool | None]] = {}
    for outlet, accepted in (answer for fix in fixes for answer in fix.answers):
        answers.setdefault(outlet, []).append(accepted)
    refused = [outlet for outlet, given in answers.items() if False in given]
    met = [outlet for outlet, given in answers.items() if all(given)]
    why = {each.words for fix in fixes for each in fix.elsewhere if each.met == "not met"}
    reason = why.pop() if len(why) == 1 else ""
    parts = [f"met at {', '.join(met)}"] if met else []
    if refused:
        parts.append(f"not met at {', '.join(refused)}" + (f": {reason}" if 0 < len(reason) <= _SHORT else ""))
    return "; ".join(parts)


def peaks_table(places: Sequence[Place], caption: str) -> Table:
    """Places with a value in dBTP."""
    return Table(
        caption=caption,
        head=("Timecode", "Frame", "Within", "Channel", "True peak"),
        rows=tuple(
            (
                visible(place.timecode),
                str(place.span.first),
                visible(place.within),
                "" if place.channel is None else str(place.channel),
                "" if place.value is None else wording.number(float(place.value), "dBTP"),
            )
            for place in places
        ),
    )


def _fits(window: Window, unit: str) -> str:
    def amount(value: float) -> str:
        figure = f"{value:+.1f}" if unit in _ONE_DECIMAL else f"{value:+.0f}"
        return f"{figure} {unit}".strip()

    if window.low is not None and window.high is not None:
        return f"{amount(window.low)} to {amount(window.high)}"
    if window.low is not None:
        return f"{amount(window.low)} or more"
    return f"{amount(window.high)} or less" if window.high is not None else ""


def _elsewhere(consequences: Sequence[Consequence]) -> tuple[Elsewhere, ...]:
    """Outlets of which the same is said stand together; those that would refuse it come first."""
    met = {False: "not met", True: "met", None: ""}
    together: dict[tuple[str, str], list[str]] = {}
    for each in sorted(consequences, key=lambda each: (False, None, True).index(each.accepted)):
        together.setdefault((met[each.accepted], visible(each.words)), []).append(visible(each.outlet))
    return tuple(Elsewhere(kind, ", ".join(outlets), words) for (kind, words), outlets in together.items())
