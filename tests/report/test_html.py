"""The HTML report: whole, harmless, readable."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest

from qc.judge.verdict import Outcome
from qc.report import wording
from qc.report.edition import Edition
from qc.report.html import report_html
from qc.report.overview import Link
from qc.report.templating import TEMPLATES, template
from tests.kit import verdicts
from tests.kit.html_walk import Walk, walk
from tests.kit.whole_verdict import stills, whole_verdict

PAGES = {
    "every outcome": verdicts.verdict(),
    "all passed": verdicts.passing_verdict(),
    "hostile": verdicts.hostile_verdict(),
    "everything to show": whole_verdict(),
    "no findings": verdicts.verdict(findings=(), programme=verdicts.nothing_found(), not_covered=(), cautions=()),
}


LINKS = (Link("Mixer's sheet", "BRLN%200203.mix.html"), Link("Timing sheet", "BRLN%200203.timing.html"))


def page_of(name: str, edition: Edition = Edition.INTERNAL) -> tuple[bytes, Walk]:
    media = verdicts.media(name=verdicts.HOSTILE, facts=verdicts.facts(verdicts.HOSTILE))
    page = report_html(
        PAGES[name],
        media if name == "hostile" else verdicts.media(),
        verdicts.RUN,
        edition=edition,
        stills=stills() if name == "everything to show" else {},
        links=LINKS,
    )
    return page, walk(page)


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize("name", PAGES)
def test_every_element_is_closed_in_order_and_ids_are_unique(name, edition):
    """The page is well formed. Source: HTML Living Standard, 13.1.2."""
    page, seen = page_of(name, edition)

    ids = [element.attributes["id"] for element in seen.elements if "id" in element.attributes]
    assert page.startswith(b"<!DOCTYPE html>\n<html lang=")
    assert page.endswith(b"</html>\n")
    assert seen.faults == []
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("edition", Edition)
@pytest.mark.parametrize("name", PAGES)
def test_nothing_is_fetched_and_nothing_runs(name, edition):
    """No script, nothing that loads but pictures inside the page, no address but places on the page and papers
    beside it, no URL in the style; CSP on top.

    Source: Content Security Policy Level 3, 6.1.3 (default-src 'none' refuses every fetch not named).
    """
    page, seen = page_of(name, edition)

    forbidden = {
        "script",
        "link",
        "iframe",
        "object",
        "embed",
        "base",
        "form",
        "video",
        "audio",
        "foreignobject",
        "image",
    }
    assert forbidden.isdisjoint({element.tag for element in seen.elements})
    for element in seen.elements:
        names = set(element.attributes)
        assert not [name for name in names if name.startswith("on") or name in {"style", "srcset", "xlink:href"}]
        if "src" in names:
            assert element.tag == "img"
            assert element.attributes["src"].startswith("data:image/jpeg;base64,")
    ids = {element.attributes.get("id") for element in seen.elements}
    papers = {link.href for link in LINKS} if edition is Edition.INTERNAL else set()
    hrefs = [element.attributes["href"] for element in seen.elements if "href" in element.attributes]
    assert papers <= set(hrefs)
    assert [href for href in hrefs if href not in papers and (href[0] != "#" or href[1:] not in ids)] == []
    assert "url(" not in "".join(seen.styles)
    assert "@import" not in "".join(seen.styles)
    policy = next(meta.attributes["content"] for meta in seen.all("meta") if "http-equiv" in meta.attributes)
    assert policy.startswith("default-src 'none'; style-src 'unsafe-inline'; img-src data:")
    assert re.search(rb"https?:", page) is None


def test_foreign_text_is_shown_as_text():
    """Markup, template marks, controls and direction overrides in every field stay visible and do nothing."""
    page, seen = page_of("hostile")
    text = "\n".join(seen.text)

    assert b"<script" not in page
    assert b"49" not in re.sub(rb"[0-9a-f]{64}|\d{3,}", b"", page.split(b"</style>")[1])  # {{ 7*7 }} was not computed
    assert "\"><script>alert('x')</script>{{ 7*7 }}{% raw %}<U+202E>gpj.exe<U+001B>[31m<U+000A>=cmd()&amp;" in text
    assert "\u202e" not in page.decode()
    assert "\x1b" not in page.decode()


def test_templates_do_not_switch_escaping_off():
    """No template marks a value as safe or turns autoescape off."""
    for file in TEMPLATES.iterdir():
        assert not re.search(r"\|\s*safe|autoescape|Markup", file.read_text(encoding="utf-8")), file.name


def test_an_undefined_value_is_an_error():
    """A field that the template misspells stops the report instead of leaving a cell empty."""
    from jinja2 import UndefinedError

    with pytest.raises(UndefinedError):
        template("report.html").render()


def test_outcome_fixes_and_what_was_not_measured_come_first():
    """Order of the page: outcome, what to change, what was not measured with equal weight, then the programme and
    every finding. Headings go down one level at a time. Source: WCAG 2.2, 1.3.1 (technique G141)."""
    _, seen = page_of("every outcome")
    headings = [element for element in seen.elements if re.fullmatch("h[1-6]", element.tag)]
    levels = [int(element.tag[1]) for element in headings]
    sections = [element.attributes.get("id") for element in headings if element.tag == "h2"]

    assert levels.count(1) == 1
    assert levels[0] == 1
    assert all(later - before <= 1 for before, later in pairwise(levels))
    assert sections == [
        *("change", "unmeasured", "look", "not-covered"),
        *("scale", "programme", "findings", "cautions", "about-file", "rounding", "provenance"),
    ]


def test_tables_name_their_headers():
    """Every table has a caption and headers with scope. Source: WCAG 2.2, 1.3.1 (technique H63)."""
    _, seen = page_of("everything to show")

    assert len(seen.all("table")) == len(seen.all("caption")) == 8
    assert all(header.attributes.get("scope") in {"col", "row"} for header in seen.all("th"))
    assert [len(seen.all(tag)) for tag in ("header", "main", "footer", "nav")] == [1, 1, 1, 2]
    names = [element.attributes.get("aria-label") for element in seen.all("nav")]
    assert len(set(names)) == 2


def test_the_first_stop_of_the_keyboard_leads_past_the_head():
    """A link to what to change comes first. Source: WCAG 2.2, 2.4.1 (technique G1)."""
    _, seen = page_of("everything to show")

    assert seen.all("a")[0].attributes == {"class": "skip", "href": "#change"}


def test_an_outcome_is_a_word_and_a_letter():
    """Outcome words stand in the text, so colour carries nothing alone. Source: WCAG 2.2, 1.4.1."""
    _, seen = page_of("every outcome")
    text = " ".join(seen.text)

    assert seen.text[0].startswith("FAIL: ")
    for words in ("F 4 fail", "N 2 not measured", "A 1 advisory", "W 1 waived", "P 4 pass"):
        assert words in text


def test_a_finding_shows_everything_that_is_needed_to_act_on_it():
    """Measured, limit, margin, unit, span, clause, timecode, frame, offset, act-relative time, channel, fix."""
    _, seen = page_of("every outcome")
    text = " ".join(seen.text)

    for words in (
        "-1.40 dBTP",
        "at most -2.0 dBTP",
        "0.60 dB outside",
        "Exhibit C, 4.2",
        "01:08:01;16 , frame 14430, 0:08:01.481 from the first frame, act 2 +00:02:41;05, channel 2, -1.40 dBTP",
        "Lower the stereo mix by 0.6 dB",
        "Then: integrated -24.22 LKFS, true peak -2.00 dBTP",
        "14 more",
        "at the limit",
        "Waived by R. Ashgrove, Fernhatch Pictures until 2026-12-31",
    ):
        assert words in text


def test_a_long_list_of_places_is_cut_and_counted():
    """40 places and 14 more: 12 are written out and 42 counted."""
    many = verdicts.finding(
        outcome=Outcome.FAIL, places=tuple(verdicts.place(30 * step) for step in range(40)), more_places=14
    )
    seen = walk(report_html(verdicts.verdict(findings=(many,)), verdicts.media(), verdicts.RUN))

    assert "42 more" in seen.text
    assert sum("places" in str(element.attributes.get("class")) for element in seen.all("ul")) == 1
    assert sum(element.parents[-2:] == ("div", "ul") for element in seen.all("li")) == 13


def test_the_same_instruction_is_given_once():
    """Two findings that one export puts right make one instruction that names both."""
    fix = verdicts.FINDINGS[5].fix
    twice = tuple(verdicts.finding(outcome=Outcome.FAIL, subject=f"act {act}", fix=fix) for act in (1, 2))
    seen = walk(report_html(verdicts.verdict(findings=twice), verdicts.media(), verdicts.RUN))

    assert sum("ul" in element.parents and element.attributes.get("class") == "do" for element in seen.all("p")) == 1
    assert [link.attributes["href"] for link in seen.all("a") if "finding" in link.attributes["href"]] == [
        "#finding-1",
        "#finding-2",
    ]


def test_the_same_kind_of_work_stands_together():
    """Export, gain, export in the findings: both exports first, then the gain."""
    export, gain = verdicts.FINDINGS[5].fix, verdicts.FINDINGS[2].fix
    fixes = (export, gain, replace(export, sentence="Export with eight channels."))
    mixed = tuple(verdicts.finding(outcome=Outcome.FAIL, fix=fix) for fix in fixes)
    seen = walk(report_html(verdicts.verdict(findings=mixed), verdicts.media(), verdicts.RUN))

    order = [link.attributes["href"] for link in seen.all("a") if "finding" in link.attributes["href"]]
    assert order == ["#finding-1", "#finding-3", "#finding-2"]


def test_several_exports_are_one_and_say_what_they_are_for():
    """Five findings that ask for a new export make one instruction; nobody exports five times."""
    export = verdicts.FINDINGS[5].fix
    asked = ("codec AVC", "8-bit picture", "a picture rate of 25")
    findings = tuple(
        verdicts.finding(outcome=Outcome.FAIL, subject=what, fix=replace(export, sentence=f"Re-export with {what}."))
        for what in asked
    )
    seen = walk(report_html(verdicts.verdict(findings=findings), verdicts.media(), verdicts.RUN))

    assert "Re-export with codec AVC; 8-bit picture; a picture rate of 25." in seen.text
    assert sum("ul" in element.parents and element.attributes.get("class") == "do" for element in seen.all("p")) == 1


@pytest.mark.parametrize(
    ("figures", "words"),
    [
        ({"frames": 150.0}, "150 frames"),
        ({"trt_frames": 50400}, "TRT 50400 frames"),
        ({"true_peak_dbtp": -2.0, "integrated_lkfs": -24.25}, "integrated -24.25 LKFS, true peak -2.00 dBTP"),
        ({"integrated": -23.0, "peaks_to_hold": 3.0}, "integrated -23.00 LKFS, peaks to hold 3"),
        ({"gain": 1.5}, "gain 1.50"),
    ],
)
def test_figures_after_a_fix_have_name_and_unit(figures, words):
    """The unit is the last part of a figure's name."""
    assert wording.after(figures, "LKFS") == words


def _variables(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{3,6});", block))


def _luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    channels = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    linear = [value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4 for value in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_text_stands_out_from_the_paper_in_light_dark_and_print():
    """Every text colour reaches 4.5:1 on paper and band. Source: WCAG 2.2, 1.4.3, and its relative luminance."""
    css = (TEMPLATES / "style.css").read_text(encoding="utf-8")
    themes = [_variables(block) for block in re.findall(r":root \{(.*?)\}", css, re.DOTALL)]

    assert len(themes) == 3
    for theme in themes:
        for ground in ("paper", "band"):
            for name, colour in theme.items():
                if name in {"paper", "band", "rule"}:
                    continue
                light, dark = sorted((_luminance(colour), _luminance(theme[ground])), reverse=True)
                assert (light + 0.05) / (dark + 0.05) >= 4.5, (name, ground)
