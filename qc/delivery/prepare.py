"""From the words of the user to what will be done: everything that can be wrong is refused before decoding."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from pathlib import Path

from qc.delivery.inventory import Inventory, take_inventory
from qc.delivery.run import Ask
from qc.errors import UserError
from qc.judge.waivers import WaiverRule, read_waivers
from qc.measurement.child import RunLimits
from qc.measurement.store import Store
from qc.outlets.load import LoadedProfile, load_profile
from qc.timing.durations import Duration
from qc.timing.timecode import TimecodeError

#: A file is "far over" its longest accepted length from this factor on. Choice of this tool.
FAR_OVER = 2


class SeveralProblems(UserError):
    """More than one thing is wrong with what was asked; each in its own words."""

    def __init__(self, problems: Sequence[UserError]) -> None:
        super().__init__("\n\n".join(str(problem) for problem in problems))

    def __str__(self) -> str:
        return self.what


def prepare(
    given: Sequence[Path],
    outlets: Sequence[str],
    *,
    sheet: Path | None = None,
    waivers: Path | None = None,
    strict: bool = False,
    fresh: bool = False,
    settle: float = 0.0,
) -> tuple[Inventory, Ask]:
    """Raises UserError naming every profile that is wrong, and what else cannot be done as asked."""
    profiles = load_all(outlets)
    inventory = take_inventory(given)
    if not inventory.files:
        raise UserError("there is no media file to check", remedy="give a file, or a folder that holds one")
    if sheet is not None and len(inventory.files) > 1:
        raise UserError("a timing sheet belongs to one file", where="--sheet", remedy="check that file on its own")
    if sheet is not None and not sheet.is_file():
        raise UserError("there is no such timing sheet", where=str(sheet))
    granted: tuple[WaiverRule, ...] = ()
    if waivers is not None:
        granted = read_waivers(waivers)
    ask = Ask(
        profiles=profiles,
        store=Store(),
        fresh=fresh,
        strict=strict,
        settle=settle,
        sheet=sheet,
        waivers=granted,
        limits=RunLimits(longest=longest(profiles)),
    )
    return inventory, ask


def load_all(outlets: Iterable[str]) -> tuple[LoadedProfile, ...]:
    """Each profile once, in the order given. Raises the one problem, or all of them together."""
    profiles: dict[str, LoadedProfile] = {}
    problems: list[UserError] = []
    for outlet in outlets:
        try:
            loaded = load_profile(outlet)
        except UserError as error:
            problems.append(error)
        else:
            profiles.setdefault(loaded.sha256, loaded)
    if len(problems) == 1:
        raise problems[0]
    if problems:
        raise SeveralProblems(problems)
    return tuple(profiles.values())


def longest(profiles: Iterable[LoadedProfile]) -> Fraction | None:
    """Seconds after which no outlet needs the rest of a file; None if one of them states no length."""
    lengths = []
    for loaded in profiles:
        limit = loaded.profile.duration.file
        text = limit and (limit.max or limit.exact)
        if not text:
            return None
        lengths.append(_seconds(text) * FAR_OVER)
    return max(lengths, default=None)


def _seconds(text: str) -> Fraction:
    """About how long this is: the rate of the file is not known yet, and far over is far over."""
    for rate in (Fraction(30000, 1001), Fraction(25)):
        try:
            return Duration(text).frames(rate) / rate
        except TimecodeError:
            continue
    return Fraction(3600)
