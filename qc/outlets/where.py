"""On which line of a TOML text a key stands.

The standard library's parser gives values without places. This scan reads only the skeleton of a
text: headers, keys, strings, brackets. It never raises; a key that it misses has no line.
"""

from __future__ import annotations

import re
from contextlib import suppress

Path = tuple[str | int, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_BLANK = " \t\r"


def key_lines(text: str) -> dict[Path, int]:
    """Line (from 1) of every table and key, by path; items of a list of tables carry their index."""
    scan = _Scan(text)
    with suppress(IndexError, RecursionError):  # a text that the parser refused: what was found is good enough
        scan.document()
    return scan.lines


class _Scan:
    def __init__(self, text: str) -> None:
        self.text = text + "\n"
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self._counts: dict[Path, int] = {}

    def document(self) -> None:
        table: Path = ()
        while self.at < len(self.text):
            char = self.text[self.at]
            if char == "\n":
                self._step()
            elif char in _BLANK:
                self.at += 1
            elif char == "#":
                self._to_line_end()
            elif char == "[":
                table = self._header()
                self._to_line_end()
            else:
                start = self.at
                self._assignment(table, 0)
                self._to_line_end()
                if self.at == start:
                    self.at += 1

    def _step(self) -> None:
        if self.text[self.at] == "\n":
            self.line += 1
        self.at += 1

    def _to_line_end(self) -> None:
        while self.text[self.at] != "\n":
            self.at += 1

    def _skip_blank(self, newlines: bool = False) -> None:
        while self.at < len(self.text):
            char = self.text[self.at]
            if char in _BLANK or (newlines and char == "\n"):
                self._step()
            elif newlines and char == "#":
                self._to_line_end()
            else:
                return

    def _header(self) -> Path:
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        names = self._dotted()
        path: Path = ()
        for place, name in enumerate(names):
            path = (*path, name)
            if many and place == len(names) - 1:
                self._counts[path] = self._counts.get(path, -1) + 1
                self.lines.setdefault(path, self.line)
            if path in self._counts:
                path = (*path, self._counts[path])
            self.lines.setdefault(path, self.line)
        return path

    def _assignment(self, table: Path, depth: int) -> None:
        path = table
        for name in self._dotted():
            path = (*path, name)
            self.lines.setdefault(path, self.line)
        self._skip_blank()
        if self.text[self.at] == "=":
            self.at += 1
            self._value(path, depth)

    def _dotted(self) -> list[str]:
        names: list[str] = []
        while True:
            self._skip_blank()
            char = self.text[self.at]
            if char in "\"'":
                names.append(self._string().strip("\"'"))
            elif bare := _BARE.match(self.text, self.at):
                names.append(bare[0])
                self.at = bare.end()
            else:
                return names
            self._skip_blank()
            if self.text[self.at] != ".":
                return names
            self.at += 1

    def _string(self) -> str:
        """Past one string of any of the four kinds; the text with its quotes."""
        start = self.at
        quote = self.text[self.at]
        mark = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.at += len(mark)
        while not self.text.startswith(mark, self.at):
            if self.text[self.at] == "\n" and len(mark) == 1:
                return self.text[start : self.at]  # never closed: the parser says so
            if self.text[self.at] == "\\" and quote == '"':
                self._step()
            self._step()
        self.at += len(mark)
        while len(mark) == 3 and self.text[self.at] == quote:  # quotes that end a long text
            self.at += 1
        return self.text[start : self.at]

    def _value(self, path: Path, depth: int) -> None:
        self._skip_blank()
        char = self.text[self.at]
        if char in "\"'":
            self._string()
        elif char == "[" and depth < 32:
            self._list(path, depth)
        elif char == "{" and depth < 32:
            self._inline_table(path, depth)
        else:
            while self.text[self.at] not in ",]}\n#":
                self.at += 1

    def _list(self, path: Path, depth: int) -> None:
        self.at += 1
        place = 0
        while True:
            self._skip_blank(newlines=True)
            if self.text[self.at] == "]":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                place += 1
                continue
            self.lines.setdefault((*path, place), self.line)
            start = self.at
            self._value((*path, place), depth + 1)
            if self.at == start:
                return

    def _inline_table(self, path: Path, depth: int) -> None:
        self.at += 1
        while True:
            self._skip_blank(newlines=True)
            if self.text[self.at] == "}":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            start = self.at
            self._assignment(path, depth + 1)
            if self.at == start:
                return
