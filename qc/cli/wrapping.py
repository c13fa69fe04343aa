"""Messages at the width of the terminal: lines that are too long go on below, indented; no name or number is broken."""

from __future__ import annotations

import os
import re
import textwrap
from collections.abc import Iterable
from typing import TextIO

#: Where nobody watches, or the terminal does not say.
WIDTH = 80
_NARROWEST = 40
#: Stands for a space inside a name, which is no place to break; private use, so in no message.
_FAST = "\ue000"
_QUOTED = re.compile(r"'[^'\n]{1,60}'|\"[^\"\n]{1,60}\"")


def width_of(stream: TextIO) -> int:
    """Columns of the terminal behind a stream, 80 where there is none."""
    try:
        columns = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):  # a pipe, a file, a stream without a descriptor
        return WIDTH
    return max(columns, _NARROWEST) if columns else WIDTH


def wrapped(text: str, width: int = WIDTH, names: Iterable[str] = ()) -> str:
    """The text with every line within ``width`` where its words allow it.

    names  paths in the text, which may hold spaces; quoted words are kept whole as well
    """
    for name in names:
        if " " in name:
            text = text.replace(name, name.replace(" ", _FAST))
    text = _QUOTED.sub(lambda match: match[0].replace(" ", _FAST), text)
    return "\n".join(_line(line, width) for line in text.split("\n")).replace(_FAST, " ")


def _line(line: str, width: int) -> str:
    if len(line) <= width:
        return line
    indent = line[: len(line) - len(line.lstrip(" "))]
    return textwrap.fill(
        line.lstrip(" "),
        width,
        initial_indent=indent,
        subsequent_indent=indent + "  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
