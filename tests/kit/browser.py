"""A real Chromium, driven by Playwright: one browser for all tests of a worker, pages opened from disk.

Nothing but files and data: URLs is let through, every request is written down. The browser is the system's own:
AIRWORTHY_CHROMIUM, else chromium, chromium-browser or google-chrome on the path. Without one the tests are
skipped; in CI (environment variable CI) that is a failure.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext, Page

NAMES = ("chromium", "chromium-browser", "google-chrome")
FLAGS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

#: Widths in CSS pixels: a phone (WCAG 2.2, 1.4.10 asks for 320 at least for text; 360 is the common phone), a tablet,
#: a desk.
PHONE, TABLET, DESK = 360, 768, 1440
HEIGHT = 900


def executable() -> str | None:
    """Path of the browser; a path in AIRWORTHY_CHROMIUM that is no program is an error, not another browser."""
    asked = os.environ.get("AIRWORTHY_CHROMIUM")
    if asked:
        return shutil.which(asked)
    return next(filter(None, map(shutil.which, NAMES)), None)


@contextmanager
def browser() -> Iterator[Browser]:
    """The browser with an empty profile of its own; skips, or fails in CI, where there is none."""
    path = executable()
    if path is None:
        reason = "no chromium: install one, or set AIRWORTHY_CHROMIUM (make test says how)"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    from playwright.sync_api import sync_playwright

    flags = [*FLAGS, "--no-sandbox"] if os.geteuid() == 0 else list(FLAGS)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=flags, chromium_sandbox=os.geteuid() != 0)
        try:
            yield chromium
        finally:
            chromium.close()


def context(chromium: Browser) -> BrowserContext:
    """Where pages are opened: on a desk, in light colours, without a network, nothing moving under a measurement."""
    made = chromium.new_context(
        color_scheme="light", viewport={"width": DESK, "height": HEIGHT}, reduced_motion="reduce", offline=True
    )
    made.set_default_timeout(20_000)
    return made


@dataclass
class Visit:
    """One page, opened, with what went wrong since: console errors, exceptions, and every request it made."""

    page: Page
    path: Path
    errors: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    @property
    def foreign(self) -> list[str]:
        """Requests for anything but the page itself and data in it."""
        own = self.path.as_uri()
        return [url for url in self.requests if not url.startswith("data:") and url.partition("#")[0] != own]


def visit(opened: BrowserContext, path: Path) -> Visit:
    """Opens a file; requests that would leave the machine are refused and written down."""
    page = opened.new_page()
    seen = Visit(page, path)
    page.on(
        "console", lambda message: seen.errors.append(message.text) if message.type in ("error", "warning") else None
    )
    page.on("pageerror", lambda error: seen.errors.append(str(error)))
    page.on("request", lambda request: seen.requests.append(request.url))
    page.route(lambda url: not url.startswith(("file:", "data:")), lambda route: route.abort())
    page.goto(path.as_uri())
    return seen


def violations(page: Page) -> list[str]:
    """What axe-core finds by its rules for WCAG 2.0 to 2.2, A and AA, and by its best practice: a line per place."""
    from axe_playwright_python.sync_playwright import Axe

    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    asked = {"type": "tag", "values": tags}
    by_name = {"target-size": {"enabled": True}}  # this one is off unless it is asked for by name
    options = {"resultTypes": ["violations"], "runOnly": asked, "rules": by_name}
    return _lines(Axe().run(page, options=options).response)


def violations_of_colour(page: Page) -> list[str]:
    """The rules that depend on colours alone, for a page that has been through violations()."""
    rules = '{runOnly: ["color-contrast", "link-in-text-block"], resultTypes: ["violations"]}'
    return _lines(page.evaluate(f"axe.run({rules})"))


def _lines(response: dict[str, Any]) -> list[str]:
    return [
        f"{found['id']}: {found['help']}: {node['html'][:160]}"
        for found in response["violations"]
        for node in found["nodes"][:5]
    ]
