"""A strict walk through an HTML page: every element closed in order, every attribute seen."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

#: Elements without an end tag (HTML Living Standard, 13.1.2, void elements).
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}


@dataclass(frozen=True)
class Element:
    tag: str
    attributes: dict[str, str | None]
    parents: tuple[str, ...]


@dataclass
class Walk(HTMLParser):
    """Elements and text of a page; ``faults`` lists tags that do not match."""

    elements: list[Element] = field(default_factory=list)
    text: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    styles: list[str] = field(default_factory=list)
    _open: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        super().__init__(convert_charrefs=True)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        if len(names) != len(set(names)):
            self.faults.append(f"<{tag}> has an attribute twice")
        self.elements.append(Element(tag, dict(attrs), tuple(self._open)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Elements inside a drawing may close themselves (HTML Living Standard, 13.1.2, foreign elements)."""
        if "svg" not in self._open:
            self.faults.append(f"<{tag}/> closes itself")
            return
        self.elements.append(Element(tag, dict(attrs), tuple(self._open)))

    def handle_endtag(self, tag: str) -> None:
        if not self._open or self._open[-1] != tag:
            self.faults.append(f"</{tag}> closes {self._open[-1] if self._open else 'nothing'}")
        else:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] == "style":
            self.styles.append(data)
        elif data.strip():
            self.text.append(" ".join(data.split(" ")).strip("\n"))

    def handle_comment(self, data: str) -> None:
        self.faults.append("a comment is left in the page")

    def all(self, tag: str) -> list[Element]:
        return [element for element in self.elements if element.tag == tag]


def walk(page: bytes) -> Walk:
    """Parses a UTF-8 page to its end."""
    result = Walk()
    result.feed(page.decode())
    result.close()
    result.faults += [f"<{tag}> is never closed" for tag in result._open]
    return result
