"""Black inside acts: stray black, and fades longer than accepted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from qc.judge.case import Case
from qc.judge.cut_elsewhere import Cut, cut_elsewhere
from qc.judge.findings import finding, graded, not_measured
from qc.judge.headers import Judge
from qc.judge.lengths import Lengths, frames_text, lengths
from qc.judge.places import at
from qc.judge.verdict import Finding, Place
from qc.outlets.schema_kinds import DurationLimit
from qc.programme.structure import Gap
from qc.remedy.breaks import several_blacks, shorten_black, stray_black
from qc.remedy.fix import Fix

#: An edge is hard when the frame beside the black has at least this share of the light a few frames further off.
_HARD_SHARE = 0.6
_FURTHER = 6


def inside_acts(case: Case, key: str, requirement: DurationLimit) -> Iterator[Finding]:
    """Every run of black inside an act, by its length and its edges."""
    wanted = lengths(requirement, case.clock.rate)
    if case.no_programme:
        yield not_measured(key, requirement, case.no_programme, wanted.words, subject="acts", unit="frames")
        return
    gaps = case.structure.extra_gaps
    wrong = [gap for gap in gaps if _wrong(case, gap, wanted)]
    longest = max((gap.span.frames for gap in (wrong or gaps)), default=0)
    stray = [gap for gap in wrong if wanted.high is None or gap.span.frames <= wanted.high]
    high = wanted.high
    yield finding(
        key,
        requirement,
        graded(requirement, not wrong),
        longest,
        _limit_words(case, wanted),
        subject="acts",
        unit="frames",
        tolerance=wanted.tolerance,
        margin=None if high is None or stray else float(high - longest),
        span="each act",
        places=tuple(_place(case, gap) for gap in wrong),
        reason=_reason(case, wrong, stray, len(gaps), wanted),
        fix=_fix(case, wrong, wanted) if wrong else None,
    )


def _limit_words(case: Case, wanted: Lengths) -> str:
    """The length limit, and the rule for stray black where no shortest length takes its place."""
    shortest = case.profile.black.stray_frames
    if wanted.low is not None or not shortest:
        return wanted.words
    return f"{wanted.words}; {frames_text(shortest)} or fewer only as a fade"


def _wrong(case: Case, gap: Gap, wanted: Lengths) -> bool:
    frames = gap.span.frames
    if not wanted.accepts(frames):
        return True
    return wanted.low is None and frames <= case.profile.black.stray_frames and _hard_edges(case, gap)


def _hard_edges(case: Case, gap: Gap) -> bool:
    """The picture is as bright right beside the black as a few frames further off, on both sides."""
    first, end = gap.span.first, gap.span.end
    before = case.luma_mean(first - 1 - _FURTHER, first)
    after = case.luma_mean(end, end + 1 + _FURTHER)
    return _hard(before[::-1]) and _hard(after)


def _hard(light: np.ndarray) -> bool:
    """Light of the frame beside the black, then of those further off."""
    if len(light) < 2:
        return len(light) == 1
    return bool(light[0] >= _HARD_SHARE * light[1:].max())


def _place(case: Case, gap: Gap) -> Place:
    frames, silent = gap.span.frames, gap.silent_frames
    sound = "sound runs on" if not silent else "silent too" if silent >= frames else f"silent for {frames_text(silent)}"
    return case.places.place(gap.span, value=float(frames), note=f"{frames_text(frames)} of black, {sound}")


def _reason(case: Case, wrong: list[Gap], stray: list[Gap], gaps: int, wanted: Lengths) -> str:
    if stray:
        count = "a black" if len(stray) == 1 else f"{len(stray)} blacks"
        if wanted.low is not None:
            return f"{count} shorter than the shortest accepted"
        shortest = frames_text(case.profile.black.stray_frames)
        return f"{count} of {shortest} or fewer with a hard edge on both sides: no fade"
    if wrong or not gaps:
        return ""
    return f"{gaps} run{'' if gaps == 1 else 's'} of black inside acts, all of accepted length"


def _fix(case: Case, wrong: list[Gap], wanted: Lengths) -> Fix:
    blacks = [(at(_place(case, gap)), gap.span.frames, _away(case, gap, wanted)) for gap in wrong]
    if len(blacks) > 1:
        return several_blacks(blacks)
    ((where, frames, over),) = blacks
    if over >= frames:
        return stray_black(frames, where)
    return replace(shorten_black(where, over), consequences=cut_elsewhere(case, Cut(wrong[0].span.first, -over)))


def _away(case: Case, gap: Gap, wanted: Lengths) -> int:
    """Frames of the black to take away: what is over, or all of it where the rest would be stray."""
    frames = gap.span.frames
    over = wanted.over(frames) if wanted.high is not None and frames > wanted.high else frames
    left = frames - over
    stray = wanted.low is None and left <= case.profile.black.stray_frames and _hard_edges(case, gap)
    return frames if stray else over


JUDGES: dict[str, Judge] = {"black.inside_acts": inside_acts}
