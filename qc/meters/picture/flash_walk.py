"""What counts as a change of luminance, cell by cell: a walk over alternating extremes.

A change is a move from the last extreme that is large enough by the rule; then the next has to go the other way.
Taking each as soon as it is large enough gives the largest number of alternating changes that a sequence holds.
All cells walk at once; a step costs a few passes over some thousand numbers.
"""

from __future__ import annotations

import numpy as np

from qc.meters.picture.display_light import SDR

#: Least change, and the luminance of the darker state from which standard dynamic range knows no flash, cd/m2.
#: Source: ITU-R BT.1702-3, Guideline 1; Ofcom, guidance notes to Section Two, Annex 1.
LEAST, DARKER_BELOW = 20.0, 160.0
#: For HDR with a darker state of 160 cd/m2 or more a Michelson contrast over 1/17 counts: that is one state being
#: 1/8 over the other, and 20 over 160. Source: ITU-R BT.1702-3, Guideline 1.
HDR_PART = 1 / 8

_NONE = np.empty(0, np.intp)


class LuminanceWalk:
    """Takes (cells,) float32 in cd/m2, moment by moment; each step says which cells changed up and which down.

    Flat arrays of any number of cells (both published readings may stand behind each other).
    """

    def __init__(self, cells: int, model: int) -> None:
        self._hdr = model != SDR
        self._started = False
        self._high, self._low = np.zeros(cells, np.float32), np.zeros(cells, np.float32)
        self._was_up, self._was_down = np.zeros(cells, bool), np.zeros(cells, bool)
        self._move = np.empty(cells, np.float32)

    def step(self, light: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Indices of the cells that changed up, and down, with this moment."""
        high, low = self._high, self._low
        if not self._started:
            high[:], low[:] = light, light
            self._started = True
            return _NONE, _NONE
        np.maximum(high, light, out=high)
        np.minimum(low, light, out=low)
        risen = self._large(np.subtract(light, low, out=self._move), light, low, low, self._was_up)
        fallen = self._large(np.subtract(high, light, out=self._move), light, high, light, self._was_down)
        for changed in (risen, fallen):
            if len(changed):
                high[changed] = low[changed] = light[changed]
        self._was_up[risen], self._was_down[risen] = True, False
        self._was_up[fallen], self._was_down[fallen] = False, True
        return risen, fallen

    def _large(
        self, move: np.ndarray, light: np.ndarray, extreme: np.ndarray, darker: np.ndarray, spent: np.ndarray
    ) -> np.ndarray:
        """Indices of the moves that are a change."""
        at: np.ndarray = (move >= LEAST).nonzero()[0]
        if not len(at):
            return at
        again = spent[at]
        # The extreme of a way already gone counts for nothing until the next change: set, it is not looked at again
        extreme[at[again]] = light[at[again]]
        at = at[~again]
        below = darker[at]
        return at[move[at] >= below * np.float32(HDR_PART) if self._hdr else below < DARKER_BELOW]
