"""An instruction of a finding that has several places, as it reads at one of them.

The sentence of a fix is made for the first place. At another one it names that place instead, or says of which
place it speaks where more in it than the place belongs to the first.
"""

from __future__ import annotations

import re

from qc.judge.verdict import Finding, Place

#: How a sentence counts the other places behind the first (qc.judge.places).
_OTHERS = re.compile(r" and at \d+ more\b")

_LABEL = re.compile(r"\d\d:\d\d:\d\d[:;.]\d+")


def fix_at(finding: Finding, place: Place) -> str:
    """The instruction for one place of the finding; "" if the finding has none."""
    if finding.fix is None:
        return ""
    sentence, first = _OTHERS.sub("", finding.fix.sentence), finding.places[0]
    if place == first or place.timecode in sentence:
        return sentence
    named = [other for other in finding.places if other.timecode in sentence]
    own = _moved(sentence, first, place) if named == [first] else sentence
    if own is not None and not (_LABEL.search(own.replace(place.timecode, "").replace(place.within or "-", ""))):
        return own
    return f"Said of {first.timecode}, the first of {len(finding.places) + finding.more_places} places: {sentence}"


def _moved(sentence: str, first: Place, place: Place) -> str | None:
    """The sentence of the first place with what belongs to another; None if that cannot be told apart."""
    rest = sentence
    for was in (first.note, first.within, first.timecode):
        rest = rest.replace(was, "") if was else rest
    if first.within and not place.within:
        return None
    if first.span.frames != place.span.frames and _says_its_length(rest, first):
        return None
    for was, now in ((first.note, place.note), (first.within, place.within), (first.timecode, place.timecode)):
        sentence = sentence.replace(was, now) if was else sentence
    return sentence


def _says_its_length(rest: str, place: Place) -> bool:
    count = place.span.frames
    return bool(re.search(rf"\b{count}\b" if count > 1 else r"\bframe\b", rest))
