"""Everything that a fix, a mixer's sheet and the common mix hold is in the JSON document, by its schema."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

from jsonschema import Draft202012Validator

from qc.judge.mix import MixRow, MixSheet, OneMix
from qc.judge.together import judge_together
from qc.programme.place import Area
from qc.remedy.fix import Consequence, Fix
from qc.report.document import SCHEMA_FILE, report_json
from tests.kit import verdicts
from tests.kit.made import FOUR_ACTS, black, four_acts, measurement, put_peak
from tests.kit.outlets import all_six, outlet

SCHEMA = json.loads(SCHEMA_FILE.read_text(encoding="utf-8"))


def made_document(**profile: Any) -> dict[str, Any]:
    made = measurement([black(30), *four_acts(acts=(1110, 1024, 1200, 780), lufs=-20.0, peak=-8.0)])
    put_peak(made, 1, 3000, -0.5)
    wanted = {
        **FOUR_ACTS,
        "act": [{"number": 3, "max": "952 frames"}, {"number": 4, "max": "900 frames"}],
        "head": {"max": "10 frames"},
    }
    profiles = [*all_six(wanted), outlet("FERNHATCH PICTURES", timecode={"counting": {"accept": ["non-drop-frame"]}})]
    found = judge_together(made, profiles)
    name = found.verdicts[0].file
    content = report_json([verdicts.media(name=name)], found.verdicts, verdicts.RUN, {name: found.one_mix})
    assert list(Draft202012Validator(SCHEMA).iter_errors(json.loads(content))) == []
    document: dict[str, Any] = json.loads(content)
    return document


def fields_of(record: type) -> set[str]:
    return {field.name for field in dataclasses.fields(record)}


def test_every_field_of_the_records_is_in_the_document() -> None:
    """By name; where the document's name says the unit, it is the field with its unit."""
    document = made_document()
    fix = next(f["fix"] for f in document["verdicts"][0]["findings"] if f["fix"] and f["fix"]["consequences"])
    assert set(fix) == fields_of(Fix)
    assert set(fix["consequences"][0]) == fields_of(Consequence)
    sheet = document["verdicts"][0]["mixes"][0]
    assert set(sheet) == fields_of(MixSheet) - {"ceiling"} | {"ceiling_dbtp"}
    assert set(sheet["rows"][0]) == fields_of(MixRow)
    mix = document["files"][0]["one_mix"]
    assert set(mix) == fields_of(OneMix) - {"ceiling", "group"} | {"ceiling_dbtp", "channels"}


def test_the_numbers_of_a_fix_are_in_the_document() -> None:
    """Window, figures after, limits, peaks with timecode and channel, room, and what it does elsewhere."""
    findings = made_document()["verdicts"][3]["findings"]
    gain = next(f["fix"] for f in findings if f["requirement"] == "loudness.programme")
    assert (gain["amount"], gain["window"]) == (-3.0, {"low": -3.5, "high": -2.5})
    assert gain["limits"] == {"true_peak_dbtp": -3.0}
    assert gain["after"] == {"integrated": -23.0, "true_peak_dbtp": -3.5}
    assert {item["code"]: item["accepted"] for item in gain["consequences"]} == {
        "corvane-5": True,
        "meadowline-public": True,
        "velmark-kanal": True,
        "kerrawind": True,
        "hoshinami-net": True,
        "fernhatch-pictures": None,
    }
    act = next(f["fix"] for f in findings if f["requirement"] == "structure.act.3")
    assert act["room"] == [{"where": "act 4", "frames": 120}] and act["no_export"] is False


def test_the_same_judgement_gives_the_same_bytes() -> None:
    """No order of a set or of arrival reaches the document."""
    assert json.dumps(made_document()) == json.dumps(made_document())


def test_a_place_tells_the_area_of_the_picture() -> None:
    """In parts of width and height; null where the whole picture is meant."""
    place = verdicts.place(100, area=Area(0.1, 0.2, 0.3, 0.4))
    content = report_json([], [verdicts.verdict(findings=(verdicts.finding(places=(place,)),))], verdicts.RUN)
    document = json.loads(content)
    assert list(Draft202012Validator(SCHEMA).iter_errors(document)) == []
    told = document["verdicts"][0]["findings"][0]["places"][0]["area"]
    assert told == {"left": 0.1, "top": 0.2, "width": 0.3, "height": 0.4}
