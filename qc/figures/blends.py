"""Standards conversion by blending frames: told by the rhythm in which changes agree with the changes before them.

Where the picture between two moments is mixed from both, a change has much in common with the next; at the pictures
that were taken over as they are it has little. The period is that of the two rates (25 to 29.97 frames: six), so
the correlation of successive changes has a line in its spectrum there, far above what stands beside it.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from qc.figures.black import runs_of
from qc.figures.cadence import Cadence
from qc.figures.frame_series import FrameSeries
from qc.timing.spans import Span

#: Change of the busiest cell, codes, from which correlation of changes tells something.
MOVING = 1.0
#: Structure that a frame and the one before have in common, so that no cut is taken for a change.
ALIKE = 0.3
#: Share of a window in which something moves.
KNOWN = 0.5


@dataclass(frozen=True)
class _Rhythm:
    """Period in frames, how far it may be off, the window it is looked for in; and what makes it one: the line against
    the mean beside it in a window, windows in a row that have it, the line over all of these together (a rhythm of the
    picture itself, of wings or steps, does not keep time for so long), and the swing of the correlation at the rhythm.
    """

    period: float
    off: float
    window: int
    line: float = 14.0
    windows: int = 4
    whole: float = 60.0
    swing: float = 0.12


#: 24 to 25: few beats in a window. On the open film blended so lines of 12 to 48 and swings of 0.15 to 0.19; on it and
#: the demo as they are, where a line is over 10 the swing is under 0.03.
_ONCE_A_SECOND = _Rhythm(24.5, 0.03, 750, line=11.0, windows=2, whole=20.0, swing=0.13)

#: What conversions to each rate, in whole frames a second, leave. Arithmetic of the rates: 25 frames to 29.97 make
#: six from five, 24 make five from four; 29.97 to 25 five from six, 24 to 25 a beat of 24 to 25. Conversions from
#: field to field are not among them: in whole frames they leave too little.
RHYTHMS = {
    25: (_Rhythm(5.0, 0.008, 150), _ONCE_A_SECOND),
    30: (_Rhythm(5.0, 0.008, 150), _Rhythm(6.0, 0.008, 150)),
    50: (_Rhythm(5.0, 0.008, 150),),
    60: (_Rhythm(6.0, 0.008, 150),),
}
#: Overtone of the rhythm, against the swing, at most: a blend swings evenly, by 0.15 to 0.3 on the open film, while a
#: clock in the picture ticks.
OVERTONE = 0.5
_BESIDE = 8  # widths of the window's own line


def blended(series: FrameSeries, rate: Fraction, taken: list[Cadence]) -> list[Cadence]:
    """Stretches that were converted by blending, in order. None where no conversion to this rate is known.

    taken  cadences of repeated frames: a rhythm that repeats make is theirs
    """
    course = series["motion.course"].astype(np.float64)
    known = np.isfinite(course) & (series.known("motion.busiest", 0.0) > MOVING)
    known &= series.known("motion.like1", 0.0) > ALIKE
    for cadence in taken:
        known[cadence.span.first : cadence.span.end] = False
    course = np.where(known, course, 0.0)
    tried = [
        (line, span, rhythm)
        for rhythm in RHYTHMS.get(round(rate), ())
        for line, span in _stretches(course, known, rhythm)
    ]
    found: list[Cadence] = []
    for _, span, rhythm in sorted(tried, key=lambda item: -item[0]):
        if not any(span.overlap(other.span) for other in found):
            found.append(Cadence(span, "blended", Fraction(rhythm.period).limit_denominator(100)))
    return sorted(found, key=lambda cadence: cadence.span)


def _stretches(course: np.ndarray, known: np.ndarray, rhythm: _Rhythm) -> list[tuple[float, Span]]:
    """Where the rhythm holds, and how strong it is there."""
    step = rhythm.window // 3
    firsts = range(0, max(1, len(course) - rhythm.window + 1), step)
    has = np.array(
        [_line(course, known, Span(first, first + rhythm.window), rhythm) >= rhythm.line for first in firsts]
    )
    found = []
    for run in runs_of(has, rhythm.windows):
        span = Span(run.first * step, min(len(course), run.last * step + rhythm.window))
        line = _line(course, known, span, rhythm)
        if line >= rhythm.whole and _swings(course, known, span, rhythm):
            found.append((line, span))
    return found


def _line(course: np.ndarray, known: np.ndarray, span: Span, rhythm: _Rhythm) -> float:
    """Power of the rhythm against the mean power beside it; 0 where too little moves."""
    weight = known[span.first : span.end].astype(np.float64)
    if weight.sum() < KNOWN * span.frames:
        return 0.0
    values = _without_trend(course[span.first : span.end], weight, rhythm.period) * weight
    power = _power(values)
    width, centre = 1 / rhythm.window, 1 / rhythm.period
    reach = centre * rhythm.off
    low, high = max(centre - _BESIDE * width - reach, 2 * width), min(centre + _BESIDE * width + reach, 0.5)
    near = _within(power, centre - 2 * width - reach, centre + 2 * width + reach)
    around = _within(power, low, high)
    beside = np.concatenate([power[around.start : near.start], power[near.stop : around.stop]])
    return float(power[_own(power, rhythm)].max() / max(float(beside.mean()), 1e-12))


def _swings(course: np.ndarray, known: np.ndarray, span: Span, rhythm: _Rhythm) -> bool:
    weight = known[span.first : span.end].astype(np.float64)
    power = _power(_without_trend(course[span.first : span.end], weight, rhythm.period) * weight)
    swing, overtone = (2 * float(power[_own(power, rhythm, times)].max()) ** 0.5 / weight.sum() for times in (1, 2))
    return swing >= rhythm.swing and overtone <= OVERTONE * swing


def _without_trend(values: np.ndarray, weight: np.ndarray, period: float) -> np.ndarray:
    """Less a moving average over about five periods, counted where something is known."""
    box = np.ones(2 * round(2.5 * period) + 1)
    total = np.convolve(values * weight, box, "same")
    return np.asarray(values - total / np.maximum(np.convolve(weight, box, "same"), 1.0))


def _power(values: np.ndarray) -> np.ndarray:
    """(n,) power at evenly spaced frequencies from 0 to half a turn a frame, an eighth of a line apart or less."""
    return np.asarray(np.abs(np.fft.rfft(values, 1 << (8 * len(values) - 1).bit_length())) ** 2)


def _own(power: np.ndarray, rhythm: _Rhythm, times: int = 1) -> slice:
    """Where the rhythm may be, or its overtone."""
    centre, reach = times / rhythm.period, times * rhythm.off / rhythm.period
    return _within(power, centre - reach, centre + reach)


def _within(power: np.ndarray, low: float, high: float) -> slice:
    """Frequencies in turns a frame."""
    lines = 2 * (len(power) - 1)
    return slice(int(low * lines), int(high * lines) + 2)
