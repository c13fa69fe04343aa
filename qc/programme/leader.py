"""What stands before the programme and after it: bars, tone, slate, countdown, black, sync blip, hold.

Only looked for where the programme is not: bars on a screen in the story, or a title that stands still, are never
taken for a leader. What cannot be told is called "moving picture" or "still", and nothing is read from a slate.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

import numpy as np

from qc.figures.bars import Bars, recognise
from qc.figures.black import black_frames, runs_of
from qc.figures.cards import Cards, cards_of, detail, held
from qc.figures.counting import counts
from qc.figures.rows import frames_of, rows_of
from qc.figures.silence import silent_runs
from qc.figures.tone import Burst, Tone, bursts, tones
from qc.measurement.record import PictureSeries, SoundSeries
from qc.timing.spans import Span

#: A card stands still for at least so long; numbers of a countdown change every second.
_CARD_SECONDS = Fraction(3, 2)
#: Frames of picture between black that are a flash, at most.
_FLASH_FRAMES = 3
#: Change beside a card that is shorter than this (a mix, a fade, fields of two cards) belongs to it (our choice).
_MIX_SECONDS = Fraction(1, 2)
#: Bars have tone when it sounds for this share of them.
_TONE_SHARE = 0.8
#: A still picture with fewer cells apart from its middle is a plain colour, no slate.
_SLATE_DETAIL = 0.005
#: A cut changes so much of the picture at once; so many of them are tried from each end of a moving stretch.
_CUT_SHARE, _CUTS_TRIED = 0.3, 16
#: A picture held after the end stands for at least so many frames (our choice).
_HOLD_FRAMES = 12


class Kind(StrEnum):
    """What an element shows."""

    BARS = "bars"
    SLATE = "slate"
    STILL = "still"
    COUNT = "clock or countdown"
    BLACK = "black"
    MOVING = "moving picture"


#: What stands still between black.
_CARDS = (Kind.BARS, Kind.SLATE)


@dataclass(frozen=True)
class Element:
    """One stretch.

    bars   the pattern, of bars
    tone   rows of line-up tone in it, on the channel that has most of it; None without tone
    holds  the picture is that of the frame before the stretch, standing on
    """

    kind: Kind
    span: Span
    bars: Bars | None = None
    tone: Span | None = None
    holds: bool = False

    @property
    def name(self) -> str:
        """As a person says it: "bars and tone", "tone", "slate", "hold"."""
        if self.kind is Kind.BLACK and self.tone:
            return "tone"
        if self.holds:
            return "hold"
        return f"{self.kind.value} and tone" if self.tone else self.kind.value


@dataclass(frozen=True)
class Leader:
    """What a stretch outside the programme holds.

    elements  tile the span
    flashes   pictures of 1 to 3 frames between black: counted as part of that black, and what a sync blip shows
    faint     what a sync blip may show too: as short, in black but not enough for the rule to call it picture, or
              the number that a countdown ends on
    bursts    short sounds between silences
    tones     line-up tones, by channel
    damaged   frames whose picture could not be compared
    """

    span: Span
    elements: tuple[Element, ...] = ()
    flashes: tuple[Span, ...] = ()
    faint: tuple[Span, ...] = ()
    bursts: tuple[Burst, ...] = ()
    tones: tuple[Tone, ...] = ()
    damaged: int = 0


def read_leader(
    picture: PictureSeries,
    sound: SoundSeries | None,
    channels: Sequence[int],
    span: Span,
    rate: Fraction,
    *,
    pixel_percent: float,
    picture_percent: float,
    matrix: str = "BT.709",
) -> Leader | None:
    """What a span of frames shows; None if the record holds no small pictures.

    channels  of the programme sound, from 0
    rate      picture frames a second
    matrix    that the picture is tagged with
    The other numbers are the outlet's rule for black.
    """
    cards = cards_of(picture)
    if cards is None:
        return None
    span = Span(min(max(0, span.first), picture.frames), min(max(0, span.end), picture.frames))
    if not span.frames:
        return Leader(span)
    dark, flashes = _without_flashes(_black(picture, span, pixel_percent, picture_percent), span)
    found: list[Element] = []
    for stretch, is_black in _stretches(dark, span):
        found += [Element(Kind.BLACK, stretch)] if is_black else _shown(cards, stretch, rate, matrix)
    elements = _holding(_joined(found, rate), cards)
    rows = rows_of(span, rate)
    heard = tones(sound, channels, rows) if sound is not None else []
    return Leader(
        span=span,
        elements=tuple(_with_tone(element, heard, rate) for element in elements),
        flashes=tuple(flashes),
        faint=tuple(span for span in _faint(cards, elements) if not any(span.overlap(flash) for flash in flashes)),
        bursts=tuple(bursts(sound, channels, rows)) if sound is not None else (),
        tones=tuple(heard),
        damaged=cards.unmeasured(span),
    )


def trailing_hold(
    picture: PictureSeries,
    sound: SoundSeries | None,
    channels: Sequence[int],
    rate: Fraction,
    end: int,
    *,
    silence_below_dbfs: float,
) -> Span | None:
    """Frames up to ``end`` in which the last picture is held in silence; None if it is not, or not to be told.

    The hold begins with the first frame that repeats the one before.
    """
    cards = cards_of(picture)
    if cards is None or end <= 1:
        return None
    changed = np.flatnonzero(cards.differs[:end])
    first = int(changed[-1]) + 1 if len(changed) else 1
    if sound is not None and channels:
        rows = rows_of(Span(0, end), rate).end
        silent = silent_runs(sound, channels, silence_below_dbfs)
        last = next((run for run in reversed(silent) if run.first < rows <= run.end), None)
        if rows <= sound.rows:
            first = end if last is None else max(first, frames_of(last, rate).first)
    return Span(first, end) if end - first >= _HOLD_FRAMES else None


def _black(picture: PictureSeries, span: Span, pixel_percent: float, picture_percent: float) -> np.ndarray:
    return black_frames(picture, pixel_percent, picture_percent, span)


def _without_flashes(dark: np.ndarray, span: Span) -> tuple[np.ndarray, list[Span]]:
    """Black with short pictures inside taken as black, and those pictures."""
    closed, flashes = dark.copy(), []
    for run in runs_of(~dark):
        if run.frames <= _FLASH_FRAMES and run.first > 0 and run.end < len(dark):
            closed[run.first : run.end] = True
            flashes.append(Span(span.first + run.first, span.first + run.end))
    return closed, flashes


def _stretches(dark: np.ndarray, span: Span) -> Iterator[tuple[Span, bool]]:
    edges = [0, *(np.flatnonzero(np.diff(dark.astype(np.int8))) + 1).tolist(), len(dark)]
    for first, end in pairwise(edges):
        yield Span(span.first + first, span.first + end), bool(dark[first])


def _shown(cards: Cards, stretch: Span, rate: Fraction, matrix: str) -> Iterator[Element]:
    """Elements of a stretch that is not black: cards that stand still, and what moves between them."""
    card = _CARD_SECONDS * rate
    busy: int | None = None
    for piece in held(cards, stretch):
        if piece.frames < card:
            busy = piece.first if busy is None else busy
            continue
        if busy is not None:
            yield from _busy(cards, Span(busy, piece.first), rate, matrix)
        busy = None
        yield _still(cards, piece, matrix)
    if busy is not None:
        yield from _busy(cards, Span(busy, stretch.end), rate, matrix)


def _still(cards: Cards, span: Span, matrix: str) -> Element:
    shown = cards.picture[cards.within(span)]
    shown = shown[:: max(1, len(shown) // 3)]  # they are alike
    found = [bars for picture in shown if (bars := recognise(picture, matrix)) is not None]
    if 2 * len(found) > len(shown):
        return Element(Kind.BARS, span, bars=found[len(found) // 2])
    plain = not len(shown) or detail(shown[len(shown) // 2]) < _SLATE_DETAIL
    return Element(Kind.STILL if plain else Kind.SLATE, span)


def _busy(cards: Cards, span: Span, rate: Fraction, matrix: str) -> Iterator[Element]:
    """Bars with something that moves on them, a clock or countdown, a short still, or a moving picture."""
    numbers = cards.within(span)
    bars = [recognise(cards.picture[number], matrix) for number in numbers]
    if not any(bars):
        yield from _moving(cards, span, rate)
        return
    known = [int(cards.at[number]) for number, one in zip(numbers, bars, strict=True) if one]
    cuts = _cuts(cards, span)
    first = max([cut for cut in cuts if cut <= known[0]], default=span.first)
    end = min([cut for cut in cuts if cut > known[-1]], default=span.end)
    if first > span.first:
        yield from _moving(cards, Span(span.first, first), rate)
    yield Element(Kind.BARS, Span(first, end), bars=next(one for one in reversed(bars) if one))
    if end < span.end:
        yield from _moving(cards, Span(end, span.end), rate)


def _cuts(cards: Cards, span: Span) -> list[int]:
    """Frames inside at which much of the picture changes at once."""
    return (np.flatnonzero(cards.moved[span.first + 1 : span.end] >= _CUT_SHARE) + span.first + 1).tolist()


def _moving(cards: Cards, span: Span, rate: Fraction) -> Iterator[Element]:
    """A clock or countdown, alone or with a moving picture cut to it; the longer part that counts is taken."""
    if not cards.differs[span.first + 1 : span.end].any():
        yield Element(Kind.STILL, span)
        return
    cuts = _cuts(cards, span)
    inner = cuts if len(cuts) <= 2 * _CUTS_TRIED else [*cuts[:_CUTS_TRIED], *cuts[-_CUTS_TRIED:]]
    parts = [Span(span.first, cut) for cut in inner] + [Span(cut, span.end) for cut in inner]
    for part in (span, *sorted(parts, key=lambda part: -part.frames)):
        if counts(cards, part, rate):
            part = _trimmed(cards, part, span)
            if part.first > span.first:
                yield Element(Kind.MOVING, Span(span.first, part.first))
            yield Element(Kind.COUNT, part)
            if part.end < span.end:
                yield Element(Kind.MOVING, Span(part.end, span.end))
            return
    yield Element(Kind.MOVING, span)


def _trimmed(cards: Cards, part: Span, span: Span) -> Span:
    """Without frames of what was cut to it: between steps a countdown stands still, also at its cut edges."""
    first, end = part.first, part.end
    if cards.differs[first + 1 : end].mean() < 0.5:
        while first > span.first and first + 1 < end and cards.differs[first + 1]:
            first += 1
        while end < span.end and end - 1 > first and cards.differs[end - 1]:
            end -= 1
    return Span(first, end)


def _joined(found: Sequence[Element], rate: Fraction) -> list[Element]:
    """Short changes go to the card beside them; neighbours of one kind are one element, but two slates are two."""
    joined: list[Element] = []
    early: int | None = None  # where a change began that belongs to the card after it
    for place, element in enumerate(found):
        first = element.span.first if early is None else early
        early = None
        if element.kind in (Kind.MOVING, Kind.STILL) and element.span.frames < _MIX_SECONDS * rate:
            after = found[place + 1] if place + 1 < len(found) else None
            if after is not None and after.kind in _CARDS:
                early = first
                continue
            if joined and joined[-1].kind in _CARDS and joined[-1].span.end == first:
                joined[-1] = replace(joined[-1], span=Span(joined[-1].span.first, element.span.end))
                continue
        last = joined[-1] if joined else None
        if last is not None and last.kind is element.kind and element.kind in (Kind.BLACK, Kind.COUNT, Kind.MOVING):
            joined[-1] = replace(last, span=Span(last.span.first, element.span.end))
        else:
            joined.append(replace(element, span=Span(first, element.span.end)))
    return joined


def _holding(found: list[Element], cards: Cards) -> list[Element]:
    """The first element, told as a hold if it goes on showing the frame before the stretch."""
    if not found or found[0].kind not in (Kind.STILL, Kind.SLATE):
        return found
    first = found[0].span.first
    return [replace(found[0], holds=first > 0 and not cards.differs[first]), *found[1:]]


def _faint(cards: Cards, elements: Sequence[Element]) -> Iterator[Span]:
    """Short pictures that are no stretch of their own: before longer black, or at the end of a countdown."""
    for element in elements:
        if element.kind not in (Kind.COUNT, Kind.BLACK):
            continue
        pieces = held(cards, element.span)
        short = [piece.frames <= _FLASH_FRAMES for piece in pieces]
        if element.kind is Kind.COUNT:
            if short[-1] and np.median([piece.frames for piece in pieces]) > 2 * _FLASH_FRAMES:
                yield pieces[-1]
            continue
        for place in range(len(pieces) - 1):
            if short[place] and not short[place + 1] and not (place and short[place - 1]):
                yield pieces[place]


def _with_tone(element: Element, heard: Sequence[Tone], rate: Fraction) -> Element:
    rows = rows_of(element.span, rate)
    best = max(heard, key=lambda tone: tone.rows.overlap(rows), default=None)
    if best is None or best.rows.overlap(rows) < _TONE_SHARE * max(1, rows.frames):
        return element
    inside = Span(max(best.rows.first, rows.first), min(best.rows.end, rows.end))
    return replace(element, tone=inside)
