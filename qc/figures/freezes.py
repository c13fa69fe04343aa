"""Pictures that stand still: frames that repeat the one before them but for what a codec makes of it.

A camera's picture is never still: its noise changes every pixel a little in every frame, and no frame is exactly
like the one before. In a frozen picture nothing moves anywhere, and codecs hand at least every fourth frame on
untouched, whatever they do at the start of a group of pictures. That tells a freeze from a quiet shot by the
picture's own noise, without a threshold on the noise itself.

What was still from its first frame to its last is a title, a card or a photograph rather than a freeze; both are
found, and told apart.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qc.figures.black import runs_of
from qc.figures.frame_series import FrameSeries, shifted
from qc.timing.spans import Span

#: Nothing moves when the busiest cell changes by no more than so many codes of 8 bits, noise of the codec included
#: (MPEG-2 at 50 Mb/s: up to 0.45 on frozen pictures).
UNMOVED = 0.6
#: Step at the start of a group of pictures: whole picture, even, once in a while; highest cell, evenness, structure.
PULSE, PULSE_EVEN, PULSE_ALIKE, PULSE_APART = 5.0, 3.5, 0.97, 6
#: It takes a second frame where fields are woven, of so many codes each (MPEG-2, 640 x 360, 15 Mb/s: up to 1.04).
PULSE_OF_TWO = 1.5
#: A codec may take so many frames more on either side to settle, in which the busiest cell changes by no more than so
#: many codes and this part of what it does in as many frames beyond.
SETTLES, SETTLED, SETTLED_PART = 3, 2.0, 1 / 8
#: Share of pixels that are exactly equal, and share of a run's frames that have to reach it.
EXACT, EXACT_FRAMES = 0.985, 0.25
#: Change of a run's picture within half a second, per frame, from which it drifts rather than stands.
DRIFT = 0.05
#: A fade or a dissolve: correlation of one change with the next, and structure in common with the frame four on, which
#: a moving camera does not keep. A short fade goes straight, a longer one keeps more of the structure; an interlaced
#: camera that moves slowly has less of either (0.7 and 0.9). And codes that cells are apart from half a second on, as
#: the slowest moves are not.
FADES, FADE_APART, FADE_FRAMES = ((0.85, 0.7), (0.6, 0.95)), 12.0, 12


@dataclass(frozen=True)
class StillRun:
    """A picture that stands still, from the frame that is first seen to the last repeat of it.

    still  True if it is still from its own first frame to its last (cut or fade at both ends): a title, a card, a
           photograph; False if the picture moves before or after in the same shot
    """

    span: Span
    still: bool


def still_runs(series: FrameSeries, black: np.ndarray, at_least: int = 2) -> list[StillRun]:
    """Runs of ``at_least`` frames or more, in order; black is not one.

    black  (frames,) bool: frames that are black by the profile's rule
    """
    dark = np.asarray(black, bool)
    unmoved = _unmoved(series) & ~dark & ~shifted(dark, -1, False)
    equal = series.known("motion.equal", 0.0)
    found = []
    for calm in runs_of(unmoved):
        repeats = _with_edges(series, calm, dark)
        span = Span(max(0, repeats.first - 1), repeats.end)
        inside = slice(repeats.first, repeats.end)
        if span.frames < at_least or (equal[inside] >= EXACT).mean() < EXACT_FRAMES or _drifts(series, repeats):
            continue
        found.append(StillRun(span, _begins(series, span.first, dark) and _ends(series, span.end, dark)))
    return found


def _unmoved(series: FrameSeries) -> np.ndarray:
    """(frames,) bool: nothing moves from the frame before to this one, pulses of a codec apart."""
    busiest, mean = series.known("motion.busiest", np.inf), series.known("motion.mean", np.inf)
    calm = busiest <= UNMOVED
    pulse = ~calm & (busiest <= PULSE) & (busiest <= PULSE_EVEN * mean)
    pulse &= series.known("motion.like1", 0.0) >= PULSE_ALIKE
    for step in range(1, PULSE_APART):
        pulse &= shifted(calm, -step, False) | shifted(calm, step, False)
    begins, ends = pulse & shifted(calm, -1, False), pulse & shifted(calm, 1, False)
    small = busiest <= PULSE_OF_TWO
    two = begins & small & shifted(ends & small, 1, False)
    return np.asarray(calm | (begins & ends) | two | shifted(two, -1, False))


def _with_edges(series: FrameSeries, calm: Span, dark: np.ndarray) -> Span:
    """The run with what still repeats on either side, by the measure of the motion beside it."""
    busiest = np.where(dark | shifted(dark, -1, False), np.inf, series.known("motion.busiest", np.inf))

    def repeats(frame: int, beyond: slice) -> bool:
        most = float(busiest[beyond].max(initial=0.0))
        return bool(busiest[frame] <= min(SETTLED, SETTLED_PART * most)) and np.isfinite(most)

    first, end = calm.first, calm.end
    while first > max(0, calm.first - SETTLES):
        if not repeats(first - 1, slice(max(0, first - 1 - SETTLES), first - 1)):
            break
        first -= 1
    while end < min(series.frames, calm.end + SETTLES):
        if not repeats(end, slice(end + 1, end + 1 + SETTLES)):
            break
        end += 1
    return Span(first, end)


def _drifts(series: FrameSeries, repeats: Span) -> bool:
    """The run creeps on, though hardly from frame to frame."""
    far = series.known("motion.twelve", 0.0)[repeats.first + 12 : repeats.end]
    return bool(len(far) and np.median(far) > 12 * DRIFT)


def _begins(series: FrameSeries, first: int, dark: np.ndarray) -> bool:
    """The picture comes with a cut, a fade or from black, not out of a shot that moved."""
    return first == 0 or bool(dark[first - 1]) or _edge(series, first, first, -1)


def _ends(series: FrameSeries, end: int, dark: np.ndarray) -> bool:
    return end >= series.frames or bool(dark[end]) or _edge(series, end, end - 1, 1)


def _edge(series: FrameSeries, frame: int, still: int, way: int) -> bool:
    """The change to ``frame`` is a cut, or part of a fade or dissolve.

    still  the frame of the still picture beside it; way: -1 if the still picture begins here, 1 if it ends
    """
    near = slice(max(0, frame - 1), frame + 2)
    if series.cuts[frame] or series.mixed[near].any():
        return True
    course = series.known("motion.course", 0.0)[near].max()
    last = series.frames - 1
    alike = series.known("motion.like4", 0.0)[min(last, still if way < 0 else still + 4)]
    grid = series.series["motion.grid"]
    beyond = min(max(0, still + way * FADE_FRAMES), last)
    apart = np.abs(grid[still].astype(np.float32) - grid[beyond]).mean()
    straight = any(course >= least and alike >= kept for least, kept in FADES)
    return bool(straight and apart >= FADE_APART)
