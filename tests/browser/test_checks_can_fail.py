"""The checks of pages, held against a page that is wrong in every way that they look for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.kit import browser as kit
from tests.kit.browser import PHONE, violations, violations_of_colour, visit
from tests.kit.page_questions import FOCUSED, LINKS, OVERFLOW, REACHABLE

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext

WRONG = """<!DOCTYPE html>
<html lang="en"><head><meta charset="utf-8"><title>Wrong</title>
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; img-src *">
<meta name="color-scheme" content="light dark">
<style>
a:focus { outline: none } .pale { color: #bbb; background: #fff } .wide { width: 600px }
@media (prefers-color-scheme: dark) { body { background: #111; color: #eee } .dim { color: #333 } }
</style></head><body><main><h1>Wrong</h1>
<p class="pale">Too pale</p><p class="dim">Too dark in the dark</p><p class="wide">Too wide</p>
<p><a href="#nowhere">Leads nowhere</a> <a href="gone.html">Not there</a> <a href="#">Top</a></p>
<img src="http://station.invalid/logo.png"><script>document.title = "ran"</script>
</main></body></html>"""


@pytest.fixture
def wrong(window: BrowserContext, tmp_path: Path):
    path = tmp_path / "wrong.html"
    path.write_text(WRONG, encoding="utf-8")
    seen = visit(window, path)
    yield seen
    seen.page.close()


def test_a_wrong_page_is_seen_to_be_wrong(wrong) -> None:
    """A request, a blocked script, dead links, lost focus, contrast in both schemes, an image without words, width."""
    page = wrong.page
    assert wrong.foreign == ["http://station.invalid/logo.png"]
    assert any("Content Security Policy" in error for error in wrong.errors)
    assert [link["found"] for link in page.evaluate(LINKS)] == [False, True, False]

    light = "\n".join(violations(page))
    assert "color-contrast" in light and "Too pale" in light and "image-alt" in light
    assert "in the dark" not in light
    page.emulate_media(color_scheme="dark")
    assert "Too dark in the dark" in "\n".join(violations_of_colour(page))

    assert page.evaluate(REACHABLE) == 3
    page.keyboard.down("Tab")
    assert page.evaluate(FOCUSED)["number"] == 0
    assert not page.evaluate(FOCUSED)["seen"]

    page.set_viewport_size({"width": PHONE, "height": 800})
    found = page.evaluate(OVERFLOW)
    assert found["scroll"] > found["room"] and "Too wide" in "".join(found["wide"])


def test_no_browser_is_a_failure_in_ci_and_a_skip_elsewhere(monkeypatch: pytest.MonkeyPatch) -> None:
    """A machine that gates must not pass for want of a browser; a person's own machine may do without."""
    monkeypatch.setenv("AIRWORTHY_CHROMIUM", "/nowhere/chromium")
    monkeypatch.setenv("CI", "true")
    with pytest.raises(pytest.fail.Exception, match="no chromium"), kit.browser():
        pass
    monkeypatch.delenv("CI")
    with pytest.raises(pytest.skip.Exception, match="no chromium"), kit.browser():
        pass
