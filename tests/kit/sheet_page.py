"""What holds for the index and every sheet: well formed, harmless, readable without colours."""

from __future__ import annotations

import re

from tests.kit.html_walk import Walk, walk

_FORBIDDEN = {"script", "link", "iframe", "object", "embed", "base", "form", "video", "audio"}
_ADDRESS = re.compile(r"#[a-z0-9-]+|\./?[^:]*|[^:/][^:]*")


def text_of(page: bytes) -> str:
    """Everything a reader sees, on one line."""
    return " ".join(" ".join(walk(page).text).split())


def checked(page: bytes) -> Walk:
    """The page, once it is well formed (HTML Living Standard, 13.1.2), fetches and runs nothing (CSP Level 3,
    6.1.3), names the headers of its tables (WCAG 2.2, 1.3.1), and no link leaves its folder or lacks its place."""
    seen = walk(page)
    assert page.startswith(b"<!DOCTYPE html>\n<html lang=") and page.endswith(b"</html>\n")
    assert seen.faults == []
    ids = [element.attributes["id"] for element in seen.elements if "id" in element.attributes]
    assert len(ids) == len(set(ids))
    assert _FORBIDDEN.isdisjoint({element.tag for element in seen.elements})
    for element in seen.elements:
        assert not [name for name in element.attributes if name.startswith("on") or name in ("style", "srcset")]
        assert str(element.attributes.get("src", "data:image/jpeg;base64,")).startswith("data:image/jpeg;base64,")
    for link in seen.all("a"):
        href = link.attributes["href"]
        assert href and _ADDRESS.fullmatch(href), href
        assert not href.startswith("#") or href[1:] in ids
    policy = next(meta.attributes["content"] for meta in seen.all("meta") if "http-equiv" in meta.attributes)
    assert policy and policy.startswith("default-src 'none'; style-src 'unsafe-inline'; img-src data:;")
    assert "url(" not in "".join(seen.styles) and "@import" not in "".join(seen.styles)
    assert all(header.attributes.get("scope") in {"col", "row"} for header in seen.all("th"))
    assert len(seen.all("table")) == len(seen.all("caption"))
    assert [len(seen.all(tag)) for tag in ("h1", "main", "header", "footer")] == [1, 1, 1, 1]
    return seen


def harmless(page: bytes) -> None:
    """Foreign text stays text: no tag of its own, no template computed, no control, no direction override."""
    checked(page)
    body = page.split(b"</style>")[-1].decode()
    assert "<script" not in body and "{{ 7*7 }}" in body
    assert "\u202e" not in body and "\x1b" not in body
