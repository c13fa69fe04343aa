"""Whatever a run writes, read by parsers of the standard library: its structure and its texts.

Two runs over the same bytes under other names have to give papers of one structure: then no name or title has become
markup, a cell, an event or a key. A kind of paper that is not known here is an error: teach it to be read first.
"""

from __future__ import annotations

import csv
import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

#: Elements that hold no text for a reader; their content is the paper's own, byte for byte.
_OWN = {"script", "style"}

#: But for one string, in the margin of printed pages: letters, digits, spaces, and all else by number, so that nothing
#: in it ends it (CSS Syntax Level 3, 4.3.5 and 4.3.7).
_IN_MARGIN = re.compile(r'(?<=@bottom-left { content: )"((?:[A-Za-z0-9 ]|\\[0-9A-F]{1,6} )*)"(?=;)')


@dataclass(frozen=True)
class Paper:
    """structure  equal for two papers that differ in texts only
    texts      what a reader or a program is given, unescaped
    rows       cells of a table
    links      addresses in HTML
    """

    structure: tuple[Any, ...]
    texts: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...] = ()
    links: tuple[str, ...] = ()


def read(path: Path) -> Paper:
    """Raises AssertionError for a kind that nobody has taught this to read, and for one that cannot be parsed."""
    content = path.read_bytes()
    match path.suffix:
        case ".html":
            return _html(content)
        case ".csv":
            rows = tuple(tuple(row) for row in csv.reader(io.StringIO(content.decode(), newline=""), strict=True))
            return Paper(tuple(len(row) for row in rows), tuple(cell for row in rows for cell in row), rows)
        case ".xml":
            assert b"<!" not in content, "a document type or CDATA"
            elements = list(ET.fromstring(content).iter())
            texts = [text for element in elements for text in (element.text, *element.attrib.values()) if text]
            return Paper(tuple((element.tag, tuple(element.attrib)) for element in elements), tuple(texts))
        case ".json" | ".otio":
            texts: list[str] = []
            return Paper(_json(json.loads(content, parse_constant=_refuse), texts), tuple(texts))
        case ".edl":
            lines = content.decode("ascii").split("\r\n")
            return Paper(tuple(kind for kind in map(_edl_kind, lines) if kind), tuple(lines))
    raise AssertionError(f"nobody has taught the tests to read {path.name}")


def _refuse(word: str) -> None:
    raise AssertionError(f"{word} in JSON")


def _json(value: Any, texts: list[str]) -> tuple[Any, ...]:
    """Keys and kinds of values; texts are collected."""
    if isinstance(value, dict):
        return ("object", tuple((key, _json(inner, texts)) for key, inner in value.items()))
    if isinstance(value, list):
        return ("list", tuple(_json(inner, texts) for inner in value))
    if isinstance(value, str):
        texts.append(value)
    return (type(value).__name__,)


def _edl_kind(line: str) -> str:
    """Lines that a reader of edit lists acts on: title, counting, events, locators, clip names."""
    if re.match(r"\d{3} ", line):
        return line
    found = re.match(r"(TITLE:|FCM: .*|\* LOC: \S+ \S+|\* [A-Z ]+:)", line)
    return found[1] if found else ""


@dataclass
class _Reader(HTMLParser):
    structure: list[Any] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)
    links: list[str] = field(default_factory=list)
    _inside: str = ""

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.structure.append((tag, tuple(name for name, _ in attrs)))
        self.texts += [value for _, value in attrs if value]
        self.links += [value for name, value in attrs if name in ("href", "src", "xlink:href") and value]
        self._inside = tag if tag in _OWN else ""

    def handle_endtag(self, tag: str) -> None:
        self.structure.append(f"/{tag}")
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.texts += [
                re.sub(r"\\(\w+) ", lambda by: chr(int(by[1], 16)), text) for text in _IN_MARGIN.findall(data)
            ]
            self.structure.append((self._inside, _IN_MARGIN.sub("a string", data)))
        else:
            self.texts.append(data)

    def handle_comment(self, data: str) -> None:
        self.structure.append(("comment", data))

    def handle_decl(self, decl: str) -> None:
        self.structure.append(("declaration", decl))

    def handle_pi(self, data: str) -> None:
        self.structure.append(("instruction", data))

    def unknown_decl(self, data: str) -> None:
        self.structure.append(("unknown", data))


def _html(content: bytes) -> Paper:
    reader = _Reader()
    reader.feed(content.decode())
    reader.close()
    return Paper(tuple(reader.structure), tuple(reader.texts), (), tuple(reader.links))
