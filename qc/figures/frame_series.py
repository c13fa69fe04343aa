"""The series of the motion, spike and look meters of one file, ready to be read by figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

#: A cell of the coarse grid has changed by more than so many codes.
CELL_CHANGES = 6
#: A frame of two shots: structure these have in common at most, codes that they are apart, how much of each is in
#: it at least, and what is left that is of neither, against what they are apart.
UNLIKE, APART, EACH, NEITHER = 0.35, 3.0, 0.1, 0.1
#: Of what moves fast and evenly each frame is a mixture of those beside it, too: the two changes together are over the
#: greater of those beside them by so much (motion: twice).
BEYOND_MOTION = 2.5
#: Or, where the shots are alike: by how much these two changes are over those beside them, and what they share.
SUDDEN, ONE_WAY = 3.5, 0.8

_NEEDED = ("motion.mean", "motion.grid", "spike.cell", "look.solid")


@dataclass(frozen=True)
class FrameSeries:
    """Series by name, each (frames,) float32; NaN where a frame has nothing to be compared with.

    series  as kept in a measurement (PictureSeries.extra); see the meters for what each means
    """

    series: Mapping[str, np.ndarray]

    @classmethod
    def of(cls, series: Mapping[str, np.ndarray]) -> FrameSeries | None:
        """None where they were not measured."""
        return cls(series) if all(name in series for name in _NEEDED) else None

    @property
    def frames(self) -> int:
        return len(self.series["motion.mean"])

    def __getitem__(self, name: str) -> np.ndarray:
        return self.series[name].astype(np.float32)

    def known(self, name: str, otherwise: float) -> np.ndarray:
        """The series with a number where there is none."""
        return np.nan_to_num(self[name], nan=otherwise, posinf=otherwise)

    @cached_property
    def moves(self) -> np.ndarray:
        """How much something moves anywhere: the busiest cell less noise, codes; NaN unknown."""
        return less_noise(self["motion.busiest"], self["motion.quiet"])

    @cached_property
    def cuts(self) -> np.ndarray:
        """(frames,) bool: another shot begins here, or a change as great.

        Between pictures that have nothing in common the correlation of structure is within 0.1 of nothing in 99 of
        100 pairs of frames taken at random from the open film.
        """
        return (self.known("motion.like1", 1.0) <= 0.15) & (self.known("motion.mean", 0.0) >= 3.0)

    @cached_property
    def swaps(self) -> np.ndarray:
        """(frames,) bool: most of the picture changes at once, and not as it does when light comes or goes.

        So soft a picture that its structure is that of the lettering on it changes like this at a cut, too: parts
        brighter and parts darker, or into another distribution of light.
        """
        grid = self.series["motion.grid"].reshape(self.frames, -1).astype(np.float32)
        change = np.diff(grid, axis=0, prepend=grid[:1])
        up, down = ((side > CELL_CHANGES).mean(axis=1) for side in (change, -change))
        other = (np.minimum(up, down) >= 0.15) | (_related(grid) <= 0.5)
        return np.asarray((up + down >= 0.5) & other & ~np.isnan(self["motion.mean"]))

    @cached_property
    def mixed(self) -> np.ndarray:
        """(frames,) bool: a mixture of the frame before and the frame after, which are of two shots.

        Where film was spread over fields, or fields were shot, a cut may fall between the fields of a frame; where
        a rate was converted by blending, between two moments. Of any other picture no mixture of the two comes near.
        """
        grid = self.series["motion.grid"].reshape(self.frames, -1).astype(np.float32)
        before, after = (np.concatenate(both) for both in ((grid[:1], grid[:-1]), (grid[1:], grid[-1:])))
        apart = after - before
        share = ((grid - before) * apart).sum(axis=1) / np.maximum((apart**2).sum(axis=1), 1e-6)
        left = np.abs(grid - before - share[:, None] * apart).mean(axis=1)
        far = np.abs(apart).mean(axis=1)
        good = (far >= APART) & (share >= EACH) & (share <= 1 - EACH) & (left <= NEITHER * far)
        mean = self.known("motion.mean", 0.0)
        beside = np.maximum(shifted(mean, -1, 0.0), shifted(mean, 2, 0.0))
        good &= mean + shifted(mean, 1, 0.0) >= BEYOND_MOTION * beside
        sudden = (mean >= SUDDEN * shifted(mean, -1, 0.0)) & (shifted(mean, 1, 0.0) >= SUDDEN * shifted(mean, 2, 0.0))
        one_way = shifted(self.known("motion.course", 0.0), 1, 0.0) >= ONE_WAY
        return np.asarray(good & ((shifted(self.known("motion.like2", 1.0), 1, 1.0) <= UNLIKE) | (sudden & one_way)))


def _related(grid: np.ndarray) -> np.ndarray:
    """(frames,) correlation of the light over the picture with that of the frame before.

    What stands out far, as lettering does, counts no more than twice what the picture does in general. Of cuts in
    the open film that change half of the picture 5 in 6 stay under 0.5, of moves in it 1 in 20.
    """
    own = grid - np.median(grid, axis=1, keepdims=True)
    most = 2 * np.median(np.abs(own), axis=1, keepdims=True) + 1
    own = np.clip(own, -most, most)
    power = (own**2).sum(axis=1)
    together = (own[1:] * own[:-1]).sum(axis=1) / (np.sqrt(power[1:] * power[:-1]) + grid.shape[1])
    return np.concatenate([np.ones(min(1, len(grid)), np.float32), together])


def less_noise(busiest: np.ndarray, quiet: np.ndarray) -> np.ndarray:
    """The busiest cell beyond what noise makes of it: cells of even noise differ by less than a third."""
    return np.maximum(busiest - 1.3 * quiet, 0.0)


def largest_near(values: np.ndarray, first: int, end: int) -> np.ndarray:
    """For each frame k the largest of frames k + first .. k + end - 1 that are there; 0 if none is."""
    found = np.zeros(len(values), values.dtype)
    for step in range(first, end):
        found = np.maximum(found, shifted(values, step, 0.0))
    return found


def smallest_near(values: np.ndarray, first: int, end: int, beyond: float) -> np.ndarray:
    """The smallest likewise; ``beyond`` stands for frames before the first and after the last."""
    found = np.full(len(values), np.inf, np.float64)
    for step in range(first, end):
        found = np.minimum(found, shifted(values, step, beyond))
    return found


def shifted(values: np.ndarray, step: int, beyond: float) -> np.ndarray:
    """Entry k holds what entry k + step held."""
    out = np.full_like(values, beyond)
    count = len(values)
    if step >= 0:
        out[: max(0, count - step)] = values[step:]
    else:
        out[min(count, -step) :] = values[:step]
    return out
