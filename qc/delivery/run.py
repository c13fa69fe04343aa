"""The main job: every file measured once, judged for every outlet, one status for the whole run."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from qc.delivery.evidence import stills_of
from qc.delivery.names import names_in_run
from qc.delivery.settle import DEFAULT_SECONDS, require_settled
from qc.delivery.status import NOT_MEASURED, most_serious, status_of
from qc.errors import CannotMeasure, NotJudged
from qc.judge.mix import OneMix
from qc.judge.verdict import Finding, Verdict
from qc.measurement.child import Progress, RunLimits, measure_file
from qc.measurement.record import Measurement
from qc.media.facts import FileFacts
from qc.media.sniff import readable_file
from qc.report.media_file import MediaFile, media_file, unreadable_file
from qc.report.still import Stills

if TYPE_CHECKING:
    from qc.judge.together import Together
    from qc.judge.waivers import WaiverRule
    from qc.measurement.store import Store
    from qc.outlets.load import LoadedProfile
    from qc.programme.sheet import TimingSheet
    from qc.timing.timecode import Clock


@dataclass(frozen=True)
class Ask:
    """What one run is asked to do.

    sheet    timing sheet declared for the file, None to find acts in the picture
    waivers  records of qc.judge.waivers
    settle   seconds a file has to have been left alone, 0 not to look
    """

    profiles: tuple[LoadedProfile, ...]
    store: Store | None = None
    fresh: bool = False
    strict: bool = False
    settle: float = DEFAULT_SECONDS
    sheet: Path | None = None
    waivers: tuple[WaiverRule, ...] = ()
    limits: RunLimits = field(default_factory=RunLimits)


@dataclass(frozen=True)
class CheckedFile:
    """One file with a verdict for every outlet.

    trouble  why it could not be measured, "" if it was
    one_mix  whether one level of the mix serves all outlets; None for one outlet or without sound
    stills   pictures beside findings, by frame
    """

    path: Path
    file: MediaFile
    verdicts: tuple[Verdict, ...]
    libraries: dict[str, str]
    status: int
    trouble: str
    one_mix: OneMix | None = None
    stills: Stills = field(default_factory=dict)


class Listener:
    """Told what happens while it happens; every method may be left as it is."""

    def begins(self, name: str, number: int, total: int) -> None:
        """A file's turn."""

    def headers(self, profile: LoadedProfile, findings: tuple[Finding, ...]) -> None:
        """What the headers alone say for one outlet, before the long pass."""

    def progress(self, progress: Progress) -> None:
        """A few times a second during the long pass."""

    def note(self, text: str) -> None:
        """Something the user should know that changes no verdict."""

    def ends(self, checked: CheckedFile) -> None:
        """All verdicts of one file."""


def check_files(files: Sequence[Path], ask: Ask, listener: Listener | None = None) -> tuple[CheckedFile, ...]:
    """Checks every file, whatever happens to another; KeyboardInterrupt alone ends the run early."""
    listener = listener or Listener()
    names = names_in_run(files)
    sizes: set[int] = set()
    results = []
    for number, path in enumerate(files, 1):
        listener.begins(names[path], number, len(files))
        result = _check(path, names[path], ask, sizes, listener)
        if result.file.size is not None:
            sizes.add(result.file.size)
        results.append(result)
        listener.ends(result)
    return tuple(results)


def run_status(results: Sequence[CheckedFile]) -> int:
    return most_serious(result.status for result in results)


def _check(path: Path, name: str, ask: Ask, sizes: set[int], listener: Listener) -> CheckedFile:
    try:
        require_settled(path, ask.settle)
        readable_file(path)
        measurement = _measure(path, name, ask, sizes, listener)
    except CannotMeasure as error:
        return _unreadable(path, name, ask, error)
    measurement = replace(measurement, identity=replace(measurement.identity, name=name))
    judged = _judge(measurement, ask)
    statuses = [status_of(verdict, ask.strict) for verdict in judged.verdicts]
    if not measurement.complete:
        statuses.append(NOT_MEASURED)
    return CheckedFile(
        path=path,
        file=media_file(measurement),
        verdicts=judged.verdicts,
        libraries=measurement.libraries,
        status=most_serious(statuses),
        trouble="",
        one_mix=judged.one_mix,
        stills=stills_of(path, measurement, judged.verdicts, ask),
    )


def _measure(path: Path, name: str, ask: Ask, sizes: set[int], listener: Listener) -> Measurement:
    """Two names for the same bytes cost one pass: the second is found in the store, even with ``fresh``."""
    on_facts = _header_judge(name, ask, listener)
    fresh = ask.fresh and _size(path) not in sizes
    return measure_file(
        path,
        store=ask.store,
        fresh=fresh,
        on_facts=on_facts,
        on_progress=listener.progress,
        on_note=listener.note,
        limits=ask.limits,
    )


def _header_judge(name: str, ask: Ask, listener: Listener) -> Callable[[FileFacts], None]:
    """What happens as soon as the headers are read; a timing sheet that cannot be used ends the run here."""
    from qc.judge import judge_headers
    from qc.judge.headers import Headers

    def on_facts(facts: FileFacts) -> None:
        for profile in ask.profiles:
            clock = Headers(facts=facts, profile=profile.profile).header_clock if ask.sheet else None
            if clock is not None:
                _sheet(clock, profile, ask)
            listener.headers(profile, judge_headers(facts, profile, name=name))

    return on_facts


def _judge(measurement: Measurement, ask: Ask) -> Together:
    from qc.judge.together import judge_together

    return judge_together(
        measurement,
        ask.profiles,
        sheet_of=lambda profile: _sheet(measurement.clock, profile, ask),
        waivers=ask.waivers,
    )


def _sheet(clock: Clock, profile: LoadedProfile, ask: Ask) -> TimingSheet | None:
    """The declared sheet as this outlet reads it. Raises SheetError with every problem in it."""
    if ask.sheet is None:
        return None
    from qc.programme.sheet import read_sheet

    return read_sheet(ask.sheet, clock, profile.profile.programme.eom)


def _unreadable(path: Path, name: str, ask: Ask, error: CannotMeasure) -> CheckedFile:
    from qc.judge import judge_nothing, judge_unreadable

    reason = f"{error.what}; {error.remedy}" if error.remedy else error.what
    judge = judge_nothing if isinstance(error, NotJudged) else judge_unreadable
    verdicts = tuple(judge(name, profile, reason) for profile in ask.profiles)
    trouble = str(CannotMeasure(error.what, where=name, remedy=error.remedy))
    return CheckedFile(path, unreadable_file(name, reason, _size(path)), verdicts, {}, NOT_MEASURED, trouble)


def _size(path: Path) -> int | None:
    try:
        return path.stat().st_size
    except (OSError, ValueError):
        return None
