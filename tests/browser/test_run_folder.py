"""The folder that a real ``qc check`` leaves, walked as a person does: from its index, by its links, in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import unquote

import pytest

from tests.kit.browser import PHONE, visit
from tests.kit.command import qc
from tests.kit.html_walk import walk
from tests.kit.page_questions import LINKS, OVERFLOW
from tests.kit.profiles import write_profile
from tests.kit.render import NTSC, episode

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext

#: Two outlets that want other levels, the second also another structure.
QUAY = """
[outlet]
name = "Quay"
code = "quay"

[picture.frame_rate]
accept = ["30000/1001"]

[loudness.programme]
target = -24.0
tolerance = 2.0
unit = "LKFS"
"""
PIER = (
    QUAY.replace("Quay", "Pier").replace("quay", "pier").replace("-24.0", "-16.0")
    + """
[audio.channels]
exact = 4
"""
)


@pytest.fixture(scope="module")
def walked(window: BrowserContext, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[Path, list[str]]]:
    """The folder, and every page reached from its index with what went wrong on it."""
    room = tmp_path_factory.mktemp("walk").resolve()
    files = [
        episode(room / "in" / name, acts=(40, 40), break_frames=10, rate=NTSC).path
        for name in ("BRLN_0203_CRV_HD_v01.mov", "BRLN 206 <b>50% & more</b>.mov")
    ]
    outlets = [write_profile(room, text, name) for text, name in ((QUAY, "quay.toml"), (PIER, "pier.toml"))]
    asked = [argument for outlet in outlets for argument in ("--outlet", outlet)]
    done = qc("check", *files, *asked, "--out", room / "out", "--markers", "--settle", 0, "--quiet", cwd=room)
    assert done.status == 1, done.words
    return room / "out", _walk(window, room / "out")


def _walk(window: BrowserContext, folder: Path) -> dict[Path, list[str]]:
    found: dict[Path, list[str]] = {}
    ahead = [folder / "index.html"]
    while ahead:
        path = ahead.pop()
        if path in found or not path.is_relative_to(folder):
            continue
        if path.suffix != ".html" or not path.is_file():
            found[path] = [] if path.is_file() else ["is not there"]
            continue
        seen = visit(window, path)
        links = seen.page.evaluate(LINKS)
        dead = [link["to"] for link in links if not link["found"]]
        seen.page.set_viewport_size({"width": PHONE, "height": 800})
        width = seen.page.evaluate(OVERFLOW)
        wide = [] if width["scroll"] <= width["room"] else [f"{width}"]
        found[path] = [*seen.errors, *seen.foreign, *dead, *wide]
        ahead += [
            (path.parent / unquote(link["to"].partition("#")[0])).resolve() for link in links if link["to"][0] != "#"
        ]
        seen.page.close()
    return found


def test_every_link_from_the_index_on_leads_to_a_sound_page(walked: tuple[Path, dict[Path, list[str]]]) -> None:
    """No dead link, no console error, no request, no sideways scrolling on a phone, wherever a reader goes."""
    assert {path.name: wrong for path, wrong in walked[1].items() if wrong} == {}


def test_every_paper_of_the_run_is_reached_from_the_index(walked: tuple[Path, dict[Path, list[str]]]) -> None:
    """What was written is what can be found: no paper lies in the folder without a link, none is hidden or half."""
    folder, found = walked
    written = {path for path in folder.rglob("*") if path.is_file()}

    assert written == set(found)
    for ending in ("quay.html", "pier.for-outlet.html", "pier.timing.csv", "mix.html", "viewing.html", "markers.edl"):
        assert sum(path.name.endswith(f".{ending}") for path in written) == 2, ending


def test_pages_of_the_house_lead_back_and_those_that_leave_it_lead_nowhere(
    walked: tuple[Path, dict[Path, list[str]]],
) -> None:
    """Report, mixer's sheet and viewing list lead to the index, the report also to what is sent on; a page for the
    station has no link to another file."""
    leads = {path.name: _links(path) for path in walked[1] if path.suffix == ".html" and path.parent != walked[0]}
    to_send = {name: links for name, links in leads.items() if name.endswith((".for-outlet.html", ".timing.html"))}

    assert len(to_send) == 8 and set(map(tuple, to_send.values())) == {()}
    for name in leads.keys() - to_send.keys():
        assert "../index.html" in leads[name], name
    for stem in {name.removesuffix(".timing.html") for name in to_send if name.endswith(".timing.html")}:
        ahead = {unquote(link) for link in leads[f"{stem}.html"]}
        assert {f"{stem}.for-outlet.html", f"{stem}.timing.html", f"{stem}.timing.csv"} <= ahead


def _links(path: Path) -> list[str]:
    links = [str(link.attributes["href"]) for link in walk(path.read_bytes()).all("a")]
    return [link for link in links if not link.startswith("#")]
