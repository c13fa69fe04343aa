"""JUnit XML for build servers. The form has no published standard: common practice, no source."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

from qc.judge.verdict import Outcome
from qc.report.junit import junit_xml
from tests.kit import verdicts


def root_of(*judged) -> ET.Element:
    return ET.fromstring(junit_xml(judged, {verdicts.NAME: verdicts.media()}, verdicts.RUN))


def test_one_suite_per_file_and_outlet_and_one_case_per_finding():
    """Totals of suites and document agree with what stands in them."""
    root = root_of(verdicts.verdict(), verdicts.passing_verdict())
    first, second = root.findall("testsuite")

    assert [case.get("name") for case in first.findall("testcase")] == [
        f"{finding.requirement} ({finding.subject})" for finding in verdicts.FINDINGS
    ]
    assert {name: first.get(name) for name in ("tests", "failures", "errors", "skipped")} == {
        "tests": "12",
        "failures": "4",
        "errors": "1",
        "skipped": "3",
    }
    assert (second.get("tests"), second.get("failures"), second.get("errors")) == ("4", "0", "0")
    assert (root.get("tests"), root.get("failures"), root.get("errors"), root.get("skipped")) == ("16", "4", "1", "3")


def test_each_outcome_has_its_own_element():
    """fail: failure; must not measured: error; should not measured, advisory, waived: skipped; pass: none."""
    elements = {}
    for case, finding in zip(root_of(verdicts.verdict()).iter("testcase"), verdicts.FINDINGS, strict=True):
        elements.setdefault((finding.outcome, finding.level), set()).update(child.tag for child in case)

    assert elements[Outcome.FAIL, "must"] == {"failure"}
    assert elements[Outcome.NOT_MEASURED, "must"] == {"error"}
    assert elements[Outcome.NOT_MEASURED, "should"] == {"skipped"}
    assert elements[Outcome.ADVISORY, "should"] == {"skipped"}
    assert elements[Outcome.WAIVED, "must"] == {"skipped"}
    assert elements[Outcome.PASS, "must"] == set()


def test_a_waiver_names_who_why_and_until_when():
    """A waived finding is skipped in public, not hidden."""
    waived = next(case for case in root_of(verdicts.verdict()).iter("testcase") if "black" in case.get("name"))

    message = waived.find("skipped").get("message")
    assert "R. Ashgrove" in message
    assert "designed fade to black" in message
    assert "2026-12-31" in message


def test_text_that_xml_cannot_hold_is_made_harmless():
    """Source: XML 1.0 (Fifth Edition), production 2: controls, surrogates and U+FFFE are no characters of XML."""
    nasty = "a\x00b\x1bc\ud800d\ufffee<![CDATA[ ]]> & \"'"
    finding = replace(verdicts.FINDINGS[2], title=nasty, subject=nasty, measured=nasty, reason=nasty)
    content = junit_xml(
        [verdicts.hostile_verdict(), verdicts.verdict(file=nasty, findings=(finding,))], {}, verdicts.RUN
    )

    root = ET.fromstring(content)

    assert len(root.findall("testsuite/testcase")) == 2
    assert "<![CDATA[ ]]> & \"'" in root.findall("testsuite")[1].get("name")
    assert not any(ord(character) < 32 and character != "\n" for character in content.decode())


def test_the_provenance_stands_in_the_properties():
    """A build server keeps which bytes and which profile were judged."""
    properties = {
        item.get("name"): item.get("value") for item in root_of(verdicts.verdict()).find("testsuite/properties")
    }

    assert properties["file sha256"] == verdicts.media().sha256
    assert properties["profile sha256"] == verdicts.PROFILE.sha256
