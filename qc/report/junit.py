"""JUnit XML: one test suite per file and outlet, one test case per finding.

The form build servers read has no published standard; elements and attributes follow common practice.

    fail                         failure
    not measured, a must         error
    not measured, a should       skipped
    advisory                     skipped, with what to look at
    waived                       skipped, with who, why and until when
    pass                         an empty test case
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Mapping

from qc.judge.verdict import Finding, Outcome, Verdict
from qc.report import wording
from qc.report.media_file import MediaFile
from qc.report.run import RunBlock
from qc.report.visible import visible

#: Everything that XML 1.0, production 2 (Char) does not allow.
_ILLEGAL = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")

#: Places named in the text of one case.
MOST_PLACES = 10


def junit_xml(verdicts: Iterable[Verdict], files: Mapping[str, MediaFile], run: RunBlock) -> bytes:
    """The document as UTF-8.

    files  by name; a verdict whose file is not in it has no checksum among its properties
    """
    root = ET.Element("testsuites", {"name": _attribute(f"{run.tool} {run.version}")})
    for verdict in verdicts:
        root.append(_suite(verdict, files.get(verdict.file), run))
    for total in ("tests", "failures", "errors", "skipped"):
        root.set(total, str(sum(int(suite.get(total, "0")) for suite in root)))
    ET.indent(root)
    return ET.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n"


def _suite(verdict: Verdict, file: MediaFile | None, run: RunBlock) -> ET.Element:
    suite = ET.Element("testsuite", {"name": _attribute(f"{verdict.file} / {verdict.profile.name}")})
    properties = ET.SubElement(suite, "properties")
    for name, value in (
        ("file", verdict.file),
        ("file sha256", (file.sha256 if file else None) or ""),
        ("outlet", verdict.profile.name),
        ("profile", verdict.profile.file),
        ("profile sha256", verdict.profile.sha256),
        ("outcome", verdict.outcome.value),
    ):
        ET.SubElement(properties, "property", {"name": name, "value": _attribute(value)})
    for finding in verdict.findings:
        suite.append(_case(finding, verdict))
    cases = suite.findall("testcase")
    suite.set("tests", str(len(cases)))
    for total, element in (("failures", "failure"), ("errors", "error"), ("skipped", "skipped")):
        suite.set(total, str(sum(case.find(element) is not None for case in cases)))
    suite.set("timestamp", run.started)
    return suite


def _case(finding: Finding, verdict: Verdict) -> ET.Element:
    name = f"{finding.requirement} ({finding.subject})" if finding.subject else finding.requirement
    section = finding.requirement.partition(".")[0]
    case = ET.Element(
        "testcase", {"classname": _attribute(f"{verdict.profile.code}.{section}"), "name": _attribute(name)}
    )
    element = _element(finding)
    if element:
        result = ET.SubElement(case, element, {"message": _attribute(_message(finding))})
        if element != "skipped":
            result.set("type", _attribute(finding.check))
        result.text = _ILLEGAL.sub("", "\n".join(_body(finding)))
    return case


def _element(finding: Finding) -> str:
    if finding.outcome == Outcome.FAIL:
        return "failure"
    if finding.outcome == Outcome.NOT_MEASURED and finding.level == "must":
        return "error"
    return "" if finding.outcome == Outcome.PASS else "skipped"


def _message(finding: Finding) -> str:
    if finding.outcome == Outcome.WAIVED:
        return wording.waiver_words(finding) or "waived"
    if finding.outcome == Outcome.NOT_MEASURED:
        return f"not measured: {visible(finding.remarks) or 'no reason given'}"
    words = f"{wording.title(finding)}: {wording.measured(finding)}, limit {wording.limit(finding)}"
    return words if finding.outcome == Outcome.FAIL else f"advisory: {words}"


def _body(finding: Finding) -> list[str]:
    lines = [f"{wording.title(finding)}: {wording.measured(finding)}, limit {wording.limit(finding)}"]
    if finding.remarks:
        lines.append(visible(finding.remarks))
    shown = finding.places[:MOST_PLACES]
    lines += [
        f"at {wording.place_range(place)} ({', '.join(wording.place_details(place, finding.unit))})" for place in shown
    ]
    more = len(finding.places) - len(shown) + finding.more_places
    if more:
        lines.append(f"and {more} more")
    if finding.fix:
        lines.append(visible(finding.fix.sentence))
    if finding.clause:
        lines.append(f"clause {visible(finding.clause)}")
    return lines


def _attribute(text: str) -> str:
    """One line that an XML attribute can hold."""
    return _ILLEGAL.sub("", visible(text, 2000))
