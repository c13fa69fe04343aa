"""Every page that a run writes, in a real browser: nothing fetched, nothing broken, for every reader, on every width.

Sources: WCAG 2.2 (W3C) by axe-core, an outside checker, and by the keyboard; CSP Level 3 by the browser itself.
"""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote, urlsplit

import pytest

from tests.kit.browser import DESK, HEIGHT, PHONE, TABLET, Visit, violations, violations_of_colour, visit
from tests.kit.page_questions import FOCUSED, LINKS, OVERFLOW, PAPER_COLOUR, PICTURES, REACHABLE
from tests.kit.pages import INDEX_PAGE, MadePage, made_pages

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext

#: Most bytes of a page (with 30 stills), so that it can be mailed.
MOST_BYTES = 3_000_000

#: Paper in millimetres: ISO 216, and ANSI/ASME Y14.1 (8.5 by 11 inches).
PAPER = {"A4": (210, 297), "Letter": (216, 279)}

#: The margin left and right of a printed page in millimetres, as the pages' style sheet asks for.
MARGIN = 14

#: A printed page with no more lines than this, that in its margin among them, is a leftover of the one before.
STRAY = 5

#: More pages than this for a made verdict of a dozen findings is a broken print style, not a long report.
MOST_PAGES = 12


@pytest.fixture(scope="module", params=[page for page in made_pages() if not page.alike], ids=str)
def opened(
    request: pytest.FixtureRequest, window: BrowserContext, made_run: tuple[Path, dict[MadePage, Path]]
) -> Iterator[tuple[Visit, MadePage]]:
    """One page of the run, open in light colours; the tests of a page share it."""
    seen = visit(window, made_run[1][request.param])
    yield seen, request.param
    seen.page.close()


def test_no_page_is_left_out(made_run: tuple[Path, dict[MadePage, Path]]) -> None:
    """Every HTML file that the paperwork writes is one of the pages that the tests below open."""
    folder, where = made_run

    assert sorted(folder.rglob("*.html")) == sorted(where.values())
    assert set(where) == set(made_pages())


def test_nothing_is_fetched_and_nothing_goes_wrong(opened: tuple[Visit, MadePage]) -> None:
    """No message in the console, no violation of the page's own policy, no request but for the page itself."""
    seen, _ = opened

    assert seen.errors == []
    assert seen.foreign == []
    assert seen.page.title()


def dead_links(seen: Visit, folder: Path) -> list[dict[str, object]]:
    """Links to a place on the page that is not there, to no file of the run, out of its folder, or without words."""
    dead = []
    for link in seen.page.evaluate(LINKS):
        parts = urlsplit(link["to"] or "")
        target = (seen.path.parent / unquote(parts.path)).resolve()
        inside = (parts.scheme, parts.netloc) == ("", "") and target.is_file() and target.is_relative_to(folder)
        on_page = bool(parts.fragment) and not parts.path
        if not (link["to"] and link["words"] and link["found"] and (on_page or inside)):
            dead.append(link)
    return dead


def test_every_link_leads_somewhere(opened: tuple[Visit, MadePage], made_run: tuple[Path, object]) -> None:
    """A place on the page exists, a paper of the run lies in its folder; no link leaves it, none is without words."""
    assert dead_links(opened[0], made_run[0]) == []


def test_pages_that_look_like_others_are_sound_too(
    window: BrowserContext, made_run: tuple[Path, dict[MadePage, Path]]
) -> None:
    """They are not examined in every way again, but fetch nothing, say nothing in the console and have no dead link."""
    folder, where = made_run
    for made, path in where.items():
        if made.alike:
            seen = visit(window, path)
            assert (seen.errors, seen.foreign, dead_links(seen, folder)) == ([], [], []), str(made)
            seen.page.close()


def test_the_keyboard_reaches_everything_and_shows_where_it_is(opened: tuple[Visit, MadePage]) -> None:
    """Tab goes through every link in the order of the page, each visibly focused and scrolled into view.

    Source: WCAG 2.2, 2.1.1, 2.4.3, 2.4.7, 2.4.11.
    """
    seen, _ = opened
    count = seen.page.evaluate(REACHABLE)
    for number in range(count):
        seen.page.keyboard.down("Tab")
        focused = seen.page.evaluate(FOCUSED)
        assert focused["number"] == number, focused
        assert focused["seen"] and focused["inside"], focused


def test_axe_finds_nothing_in_light_or_dark_colours(opened: tuple[Visit, MadePage]) -> None:
    """All rules in light, those of colour again in dark; dark really is another page colour.

    Source: WCAG 2.0, 2.1 and 2.2, level A and AA, and best practice, by axe-core.
    """
    page = opened[0].page
    light = page.evaluate(PAPER_COLOUR)
    assert violations(page) == []
    page.emulate_media(color_scheme="dark")
    try:
        assert page.evaluate(PAPER_COLOUR) != light
        assert violations_of_colour(page) == []
    finally:
        page.emulate_media(color_scheme="light")


@pytest.mark.parametrize("width", [PHONE, TABLET, DESK])
def test_nothing_is_wider_than_the_window(opened: tuple[Visit, MadePage], width: int) -> None:
    """No sideways scrolling on a phone, a tablet or a desk, and nothing hidden to get there. WCAG 2.2, 1.4.10."""
    page = opened[0].page
    page.set_viewport_size({"width": width, "height": HEIGHT})
    try:
        found = page.evaluate(OVERFLOW)
    finally:
        page.set_viewport_size({"width": DESK, "height": HEIGHT})

    assert found["scroll"] <= found["room"] == width, found
    assert found["cut"] == 0, found


def test_a_narrow_index_leaves_out_what_was_not_checked(
    window: BrowserContext, made_run: tuple[Path, dict[MadePage, Path]]
) -> None:
    """One under the other, outlets that a file was not checked for would hide those that it was; a table keeps them."""
    seen = visit(window, made_run[1][INDEX_PAGE])
    cells = {}
    for width in (PHONE, DESK):
        seen.page.set_viewport_size({"width": width, "height": HEIGHT})
        cells[width] = [cell.inner_text() for cell in seen.page.locator(".cells tbody td:visible").all()]
    seen.page.close()

    assert "not checked" in cells[DESK] and "not checked" not in cells[PHONE]
    assert len(cells[PHONE]) == sum(text != "not checked" for text in cells[DESK]) > 1


def test_nothing_is_wider_than_the_paper(opened: tuple[Visit, MadePage]) -> None:
    """In its print style nothing sticks out of the narrower paper between its margins: no cell is cut."""
    page = opened[0].page
    page.emulate_media(media="print")
    page.set_viewport_size({"width": round((PAPER["A4"][0] - 2 * MARGIN) * 96 / 25.4), "height": HEIGHT})
    try:
        found = page.evaluate(OVERFLOW)
    finally:
        page.emulate_media(media="null")  # neither: printing would keep "screen"
        page.set_viewport_size({"width": DESK, "height": HEIGHT})

    assert found["scroll"] <= found["room"], found
    assert found["wide"] == [], found


def test_it_prints(opened: tuple[Visit, MadePage]) -> None:
    """A PDF of the paper asked for, of a sane number of pages, the verdict on the first; every page says of which file
    and which of how many it is, none holds a stray line or two. Source for the margin: CSS Paged Media Level 3, 6.

    On A4 every page, on Letter too those that are long.
    """
    from pypdf import PdfReader

    seen, made = opened
    for paper in PAPER if made.case in ("the run", "every outcome") else ["A4"]:
        printed = PdfReader(io.BytesIO(seen.page.pdf(format=paper, prefer_css_page_size=True)))
        texts = [unicodedata.normalize("NFKC", page.extract_text()) for page in printed.pages]  # no ligatures

        assert 1 <= len(texts) <= MOST_PAGES
        assert [round(float(edge) / 72 * 25.4) for edge in printed.pages[0].mediabox[2:]] == list(PAPER[paper])
        assert made.says in texts[0]
        assert all(text.strip() for text in texts)
        for number, text in enumerate(texts, 1):
            assert re.search(rf"^{number} of {len(texts)}", text, re.MULTILINE)
            assert made.case == "hostile" or seen.page.title().removeprefix(f"{made.says}: ") in text
            assert len(text.splitlines()) > STRAY, text


def test_every_still_is_shown(opened: tuple[Visit, MadePage]) -> None:
    """Stills are in the page, pass its own policy, decode, and have words; the full report has some."""
    seen, made = opened
    pictures = seen.page.evaluate(PICTURES)

    assert [picture for picture in pictures if not picture["shown"] or not picture["words"]] == []
    if made.case == "every outcome" and made.label.startswith("Report") and not made.outlet:
        assert len(pictures) >= 3


def test_it_can_be_mailed(opened: tuple[Visit, MadePage]) -> None:
    """A page is one file under 3 MB."""
    assert opened[0].path.stat().st_size < MOST_BYTES
