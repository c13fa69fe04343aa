"""One browser and one written run for all tests of this folder."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.kit.browser import browser, context
from tests.kit.pages import MadePage, write_run

if TYPE_CHECKING:
    from playwright.sync_api import Browser, BrowserContext


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    with browser() as started:
        yield started


@pytest.fixture(scope="session")
def window(chromium: Browser) -> Iterator[BrowserContext]:
    opened = context(chromium)
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def made_run(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[MadePage, Path]]:
    """The folder of a made run, and where each of its pages lies."""
    folder = tmp_path_factory.mktemp("run").resolve()
    return folder, write_run(folder)
