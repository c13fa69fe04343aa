"""When the file itself has to be made again: a new export, or only a new wrapper round the same pictures."""

from __future__ import annotations

from collections.abc import Sequence

from qc.remedy.fix import Fix


def re_export(what: str, where: str = "file") -> Fix:
    """``what`` completes "Re-export with ..."."""
    return Fix("re-export", None, "", where, f"Re-export with {what}.")


def re_wrap(what: str, where: str = "file") -> Fix:
    """``what`` completes "Re-wrap as ..."; picture and sound are copied as they are."""
    sentence = f"Re-wrap as {what}; picture and sound need no new encode."
    return Fix("re-wrap", None, "", where, sentence, no_export=True)


def replace(sentence: str, where: str = "file") -> Fix:
    """Another file has to come: a fresh copy, a complete export."""
    return Fix("replace", None, "", where, sentence)


def look(sentence: str, where: str) -> Fix:
    """A person has to look or listen and decide."""
    return Fix("look", None, "", where, sentence)


def one_of(values: Sequence[str | int]) -> str:
    """For a sentence: "a", "a or b", "a, b or c"."""
    words = [str(value) for value in values]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"
