"""Digital hits: one frame with damage that neither of its neighbours has.

What a decoder or a tape machine leaves of a lost block has straight edges on the grid of blocks. So a spike in one
frame counts when its strongest line lies on that grid and stands out, in luma and colour together or very clearly
in one of them; or when most of the picture is made of blocks all at once. Sparks, birds and balls have no such edges.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from qc.figures.frame_series import FrameSeries, largest_near, shifted
from qc.timing.spans import Span

#: Edges on the grid of blocks against those inside blocks, all and the strongest line, from which they tell.
GRID, LINE = 2.2, 1.4
#: Highest cell, in codes, from which damage can be seen at all; and from which colour by itself tells: codecs move
#: colour in blocks, too.
SEEN, COLOURED = 10.0, 40.0
#: How far over the measures above luma has to be by how far its cell stands out from those in the frames around, and
#: colour alone, and each of the two together. On 50,000 frames of the open film, coded in five ways, luma reaches 1.42
#: in fast motion (where it is 0.9 of those), 1.08 from 1.3 on, 0.9 from 3 on and 0.73 from 9 on; faint cells less.
LUMA = ((10.0, 0.9), (3.0, 1.1), (1.3, 1.25), (0.0, 1.6))
ALONE, TOGETHER = 1.45, 0.9
#: Damage in one field alone is half as high. From so many codes and so far over the frames around, luma and colour tell
#: from so much on. On 76,000 frames of the open film, coded in nine ways, luma reaches 0.9 there and colour 1.25.
FAINT, FAR_OVER, FAINT_LUMA, FAINT_COLOUR = 20.0, 6.0, 1.1, 2.0
#: Frames around that a cell is compared with, those right beside apart; and by how much it stands out, for colour.
AROUND, APART = 5, 2.0
#: Block edges of the whole picture, against those of the frames beside it, in a picture that is all blocks; what comes
#: and goes at the edges of blocks, against inside (a stray frame of a soft picture, badly coded: up to 1.1); and its
#: structure, codes, which one colour does not have.
ALL_BLOCKS, ON_BLOCKS, TEXTURED = 1.6, 1.3, 1.0

_PARTS = ("", "cb_", "cr_")


@dataclass(frozen=True)
class Hit:
    """A frame with damage.

    across, down  where it is strongest, 0 to 1 of the picture; None if it is everywhere
    codes         how far the damage is from the picture there, codes of 8 bits
    """

    frame: int
    across: float | None
    down: float | None
    codes: float

    @property
    def span(self) -> Span:
        return Span(self.frame, self.frame + 1)


def digital_hits(series: FrameSeries) -> list[Hit]:
    """Frames with damage, in order."""
    luma, blue, red = (_strength(series, part) for part in _PARTS)
    over = [_over(series, part) for part in _PARTS]
    apart = [values >= APART for values in over]
    cells = [series.known(f"spike.{part}cell", 0.0) for part in _PARTS]
    coloured = [values >= COLOURED for values in cells]
    faint = [(values >= FAINT) & (far >= FAR_OVER) for values, far in zip(cells, over, strict=True)]
    colour = np.maximum(*(np.where(apart[at] & coloured[at], part, 0.0) for at, part in ((1, blue), (2, red))))
    both = apart[0] & (luma >= TOGETHER) & (np.maximum(blue, red) >= TOGETHER)
    least = np.select([over[0] >= step for step, _ in LUMA], [need for _, need in LUMA])
    seen = (luma >= np.where(coloured[0], least, np.maximum(least, ALONE))) | both | (colour >= ALONE)
    seen |= faint[0] & (luma >= FAINT_LUMA) | (faint[1] & (blue >= FAINT_COLOUR)) | (faint[2] & (red >= FAINT_COLOUR))
    local = seen & _comes_and_goes(series)
    everywhere = _all_blocks(series)
    cell = np.max(cells, axis=0)
    places = series.series["spike.place"]
    found = []
    for frame in _strongest(np.flatnonzero(local | everywhere), cell):
        across, down = (float(value) / 255 for value in places[frame])
        near = bool(local[frame]) and series["spike.cell"][frame] >= SEEN
        found.append(Hit(frame, across if near else None, down if near else None, float(cell[frame])))
    return found


def _strength(series: FrameSeries, part: str) -> np.ndarray:
    grid, line = series.known(f"spike.{part}grid", 0.0), series.known(f"spike.{part}line", 0.0)
    seen = series.known(f"spike.{part}cell", 0.0) >= SEEN
    return np.where(seen, np.minimum(grid / GRID, line / LINE), 0.0)


def _over(series: FrameSeries, part: str) -> np.ndarray:
    """The highest cell against those in the frames around; those right beside are part of it."""
    cell = series.known(f"spike.{part}cell", 0.0)
    return np.asarray(
        cell / np.maximum(np.maximum(largest_near(cell, -AROUND, -1), largest_near(cell, 2, AROUND + 1)), 1)
    )


def _comes_and_goes(series: FrameSeries) -> np.ndarray:
    """The picture changes about as much to the frame as from it, or neither is a cut: beside a cut, the frame after
    a damaged one would else seem damaged."""
    mean, cuts = series.known("motion.mean", 0.0), series.cuts
    after = shifted(mean, 1, 0.0)
    return np.asarray((np.minimum(mean, after) >= 0.5 * np.maximum(mean, after)) | ~(cuts | shifted(cuts, 1, False)))


def _strongest(frames: np.ndarray, cell: np.ndarray) -> list[int]:
    """Of frames side by side the one that stands out most."""
    kept: list[int] = []
    for frame in frames.tolist():
        if kept and frame == kept[-1] + 1:
            kept[-1] = max(kept[-1], frame, key=lambda at: float(cell[at]))
        else:
            kept.append(frame)
    return kept


def _all_blocks(series: FrameSeries) -> np.ndarray:
    """Another picture for one frame, with far more block edges than the pictures beside it, which are one shot."""
    alike, returns = series.known("motion.like1", 1.0), series.known("motion.like2", 0.0)
    edges = series.known("look.edges8", 1.0)
    beside = np.maximum(shifted(edges, -1, 1.0), shifted(edges, 1, 1.0))
    change = (alike < 0.3) & (shifted(alike, 1, 1.0) < 0.3) & (shifted(returns, 1, 0.0) >= 0.5)
    textured = series.known("motion.structure", 0.0) >= TEXTURED
    on_blocks = series.known("spike.grid", 0.0) >= ON_BLOCKS
    return np.asarray(change & textured & on_blocks & (edges >= ALL_BLOCKS * beside))
