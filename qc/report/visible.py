"""Text from outside (file names, tags, titles) made harmless and visible before anybody sees it.

A file name can hold a newline, an escape sequence for the terminal, or a right-to-left override that
makes ``gpj.exe`` look like ``exe.jpg``. Such characters are shown by their number, ``<U+202E>``, so that
the reader sees what is there. Escaping for HTML or XML comes after this and is the writer's own work.
"""

from __future__ import annotations

import re

#: C0 and C1 controls, directional marks and overrides (Unicode UAX #9), line and paragraph separators,
#: byte-order mark, lone surrogates (bytes of a name that are not UTF-8), noncharacters.
_HIDDEN = re.compile(
    "[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2028\u2029\u2066-\u2069\ufeff\ud800-\udfff\ufffe\uffff]"
)
_SURROGATE = re.compile("[\ud800-\udfff]")

#: Longest piece of foreign text that a report repeats, in characters.
LONGEST = 500


def visible(text: str, longest: int = LONGEST) -> str:
    """The text on one line with hidden characters shown by number, cut at ``longest`` characters."""
    text = text.strip("\r\n\t ")
    if len(text) > longest:
        text = text[: longest - 1] + "…"
    return _HIDDEN.sub(lambda match: f"<U+{ord(match[0]):04X}>", text)


def encodable(text: str) -> str:
    """The text as it is, except that lone surrogates, which UTF-8 cannot hold, are shown by number."""
    return _SURROGATE.sub(lambda match: f"<U+{ord(match[0]):04X}>", text)


def sentence(text: str, longest: int = LONGEST) -> str:
    """The text with a capital at its start and a full stop at its end; a first word like "dBFS" stays."""
    text = visible(text, longest)
    first = text.split(" ", 1)[0]
    if first.isalpha() and first.islower():
        text = text[0].upper() + text[1:]
    return text if not text or text[-1] in ".!?…" else f"{text}."
