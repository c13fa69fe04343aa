"""From a measurement and a profile to a verdict: a pure function, no media in sight.

Nothing is judged that the profile does not ask, with one exception: damage fails the file always.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from qc.errors import UserError, opening
from qc.judge import (
    active_picture,
    audio_layout,
    black,
    black_level,
    cadences,
    channels,
    duration,
    edges,
    flashing,
    freezes,
    integrity,
    leader,
    levels,
    line_up,
    loudness,
    picture_format,
    range_use,
    run_out,
    scan_measured,
    silence,
    single_frames,
    streams,
    structure,
    stuck_pixels,
    timecode,
    timing_sheet,
    true_peak,
    wrapper,
)
from qc.judge.asked import asked
from qc.judge.case import Case
from qc.judge.catalogue import CAUTIONS, kind_of
from qc.judge.company import Company
from qc.judge.findings import finding, not_measured
from qc.judge.flags_elsewhere import with_what_others_ask
from qc.judge.headers import Headers, Judge
from qc.judge.mix_sheet import mix_sheets
from qc.judge.programme_table import empty_table, programme_table
from qc.judge.timeline_of_case import timeline_of
from qc.judge.unseen import with_unseen_pictures
from qc.judge.verdict import Finding, Outcome, ProfileIdentity, Verdict
from qc.judge.waivers import WaiverRule, waived
from qc.measurement.record import Measurement
from qc.media.facts import FileFacts
from qc.outlets.load import LoadedProfile
from qc.outlets.schema_kinds import Flag, Requirement
from qc.programme.sheet import TimingSheet
from qc.remedy.exports import replace as replace_file
from qc.timing.timecode import TimecodeError

#: Requirement id without the key of a list -> its judge. The first need no decode.
HEADER_JUDGES: dict[str, Judge] = {
    **wrapper.HEADER_JUDGES,
    **streams.HEADER_JUDGES,
    **picture_format.HEADER_JUDGES,
    **timecode.HEADER_JUDGES,
    **audio_layout.HEADER_JUDGES,
    **integrity.HEADER_JUDGES,
    **duration.HEADER_JUDGES,
}
JUDGES: dict[str, Judge] = {
    **HEADER_JUDGES,
    **integrity.JUDGES,
    **timecode.JUDGES,
    **structure.JUDGES,
    **edges.JUDGES,
    **timing_sheet.JUDGES,
    **duration.JUDGES,
    **black.JUDGES,
    **loudness.JUDGES,
    **true_peak.JUDGES,
    **channels.JUDGES,
    **silence.JUDGES,
    **levels.JUDGES,
    **range_use.JUDGES,
    **black_level.JUDGES,
    **flashing.JUDGES,
    **leader.JUDGES,
    **line_up.JUDGES,
    **run_out.JUDGES,
    **scan_measured.JUDGES,
    **active_picture.JUDGES,
    **stuck_pixels.JUDGES,
    **cadences.JUDGES,
    **freezes.JUDGES,
    **single_frames.JUDGES,
}

#: Places that a finding lists; the rest is counted.
MOST_PLACES = 5

_DECODABLE = "integrity.decodable"
NOTHING_ASKED = "This profile asks for nothing that was measured here: the outcome says nothing about the file."


def judge_headers(facts: FileFacts, loaded: LoadedProfile, *, name: str = "") -> tuple[Finding, ...]:
    """Everything that needs no decode, to be shown before the long pass.

    A length that the headers do not tell is left to the pass, which counts it.
    """
    case = Headers(facts=facts, profile=loaded.profile, name=name)
    found: list[Finding] = []
    for key, requirement in loaded.profile.requirements():
        if kind_of(key) in HEADER_JUDGES:
            found += _judged(HEADER_JUDGES[kind_of(key)], case, key, requirement)
    counted_later = {*integrity.HEADER_JUDGES, *duration.HEADER_JUDGES}
    return tuple(
        _capped(item)
        for item in found
        if item.outcome is not Outcome.NOT_MEASURED or item.requirement not in counted_later
    )


def judge(
    measurement: Measurement,
    loaded: LoadedProfile,
    *,
    sheet: TimingSheet | None = None,
    waivers: Sequence[WaiverRule] = (),
    today: datetime.date | None = None,
) -> Verdict:
    """All findings of one file for one outlet.

    sheet    declared timing sheet: where to look for acts, and a claim to compare
    waivers  from read_waivers; they end with the day ``today`` (the day of the run) compares with
    """
    return verdict_of(case_of(measurement, loaded, sheet=sheet), loaded, waivers=waivers, today=today)


def case_of(
    measurement: Measurement, loaded: LoadedProfile, *, sheet: TimingSheet | None = None, company: Company | None = None
) -> Case:
    """One file for one outlet; in the company of others it shares what is measured alike."""
    case = Case(
        facts=measurement.facts,
        profile=loaded.profile,
        name=measurement.identity.name,
        measurement=measurement,
        sheet=sheet,
        company=company,
    )
    if company is not None:
        company.join(case)
    return case


def verdict_of(
    case: Case, loaded: LoadedProfile, *, waivers: Sequence[WaiverRule] = (), today: datetime.date | None = None
) -> Verdict:
    """All findings of a case, with what their fixes do at the other outlets of its company."""
    found: list[Finding] = []
    wanted = list(loaded.profile.requirements())
    if _DECODABLE not in {key for key, _ in wanted} and integrity.is_damaged(case):
        found += integrity.decodable(case, _DECODABLE, Flag())
    for key, requirement in wanted:
        found += [
            with_what_others_ask(case, requirement, with_unseen_pictures(case, item))
            for item in _judged(JUDGES[kind_of(key)], case, key, requirement)
        ]
    day = today or datetime.datetime.now(datetime.UTC).date()
    after = [_after_waivers(item, case, waivers, day) for item in found]
    verdict = _verdict(case.name, loaded, after, programme_table(case), case.measurement.complete)
    return replace(verdict, timeline=timeline_of(case), mixes=mix_sheets(case))


def judge_nothing(name: str, loaded: LoadedProfile, reason: UserError | str) -> Verdict:
    """There is no finished file to judge: nothing is said against it, and it does not pass."""
    said = _said(reason)
    whole = loaded.profile.integrity.decodable or Flag()
    found = [not_measured(_DECODABLE, whole.model_copy(update={"level": "must"}), said, integrity.COMPLETE)]
    return replace(
        _verdict(name, loaded, found, empty_table(loaded.profile, f"not judged: {said}"), False),
        outcome=Outcome.NOT_MEASURED,
    )


def judge_unreadable(name: str, loaded: LoadedProfile, reason: UserError | str) -> Verdict:
    """A file of which nothing could be measured: integrity fails, everything else is not measured."""
    said = _said(reason)
    wanted = dict(loaded.profile.requirements())
    decodable = wanted.pop(_DECODABLE, None) or Flag()
    found = [
        finding(
            _DECODABLE,
            decodable.model_copy(update={"level": "must"}),
            Outcome.FAIL,
            "nothing could be read",
            integrity.COMPLETE,
            reason=said,
            fix=replace_file("Deliver a complete, readable file; then check it again."),
        )
    ]
    found += [
        not_measured(key, requirement, f"the file could not be read: {said}", asked(requirement))
        for key, requirement in wanted.items()
    ]
    return _verdict(name, loaded, found, empty_table(loaded.profile, f"the file could not be read: {said}"), False)


def _said(reason: UserError | str) -> str:
    if not isinstance(reason, UserError):
        return reason
    return f"{reason.what}. {opening(reason.remedy)}" if reason.remedy else reason.what


def _judged(judge: Judge, case: Headers, key: str, requirement: Requirement) -> list[Finding]:
    """A limit that cannot be counted at this picture rate is not measured, and says why."""
    try:
        return list(judge(case, key, requirement))
    except TimecodeError as error:
        return [not_measured(key, requirement, error.what, asked(requirement))]


def _after_waivers(found: Finding, case: Case, waivers: Sequence[WaiverRule], today: datetime.date) -> Finding:
    """Damage cannot be waived: a damaged file never passes."""
    if found.requirement == _DECODABLE:
        return _capped(found)
    return _capped(waived(found, waivers, case.profile.outlet.code, case.measurement.identity, case.clock, today))


def _capped(found: Finding) -> Finding:
    more = len(found.places) - MOST_PLACES
    if more <= 0:
        return found
    return replace(found, places=found.places[:MOST_PLACES], more_places=found.more_places + more)


def _verdict(name: str, loaded: LoadedProfile, found: Sequence[Finding], table: Any, complete: bool) -> Verdict:
    unmeasured = [item for item in found if item.outcome is Outcome.NOT_MEASURED]
    measurable = complete and not any(item.level == "must" for item in unmeasured)
    profile = loaded.profile
    cautions = CAUTIONS if len(unmeasured) < len(found) else (*CAUTIONS, NOTHING_ASKED)
    if not measurable or any(item.outcome is Outcome.FAIL for item in found):
        outcome = Outcome.FAIL
    elif any(item.outcome is Outcome.ADVISORY for item in found) or len(unmeasured) == len(found):
        outcome = Outcome.ADVISORY
    else:
        outcome = Outcome.PASS
    return Verdict(
        file=name,
        profile=ProfileIdentity(
            name=profile.outlet.name,
            code=profile.outlet.code,
            file=loaded.file,
            sha256=loaded.sha256,
            specification=profile.outlet.specification,
            revision=profile.outlet.revision,
        ),
        outcome=outcome,
        measurable=measurable,
        findings=tuple(found),
        programme=table,
        not_covered=tuple(profile.outlet.not_covered),
        cautions=cautions,
    )
