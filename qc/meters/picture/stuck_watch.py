"""Places of a picture that are watched, look by look, for whether something still stands alone there.

At most MOST_WATCHED places at a time: those that came back in several pictures stay, of the others the newest.
Memory and time do not grow with the programme.
"""

from __future__ import annotations

import cv2
import numpy as np

from qc.meters.picture.geometry_series import SPREAD

#: Codes of 8 bits that a pixel must differ from its neighbours' median to stand out.
STANDS_OUT = 14
#: By how many times it outdoes everything else near it.
DOMINANT = 2.2
#: Pixels from its middle: what may belong to it, and how far nothing else may stand out.
OWN, NEAR = 2, 6
#: Pixels that may belong to it.
LARGEST = 9
#: Places watched at once, and places handed over at the end.
MOST_WATCHED, MOST_TOLD = 1024, 256
#: Pictures that are told apart for a place, and the share of looks within one in which it has to be seen.
PICTURES, NEARLY_ALWAYS = 8, 0.9
#: What lies round a place must differ by this many codes in so many of its nine cells from picture to picture: a lamp
#: in the set, or a star, stands on its own ground whatever moves elsewhere or passes by.
OTHER_GROUND, OTHER_CELLS = 2.0, 7


class Look:
    """One picture in codes of 8 bits: itself, its medians, the difference; its frame and the number of its kind.

    small  averages of 8 x 8 in codes of 8 bits, float32
    """

    def __init__(
        self, luma: np.ndarray, small: np.ndarray, frame: int, picture: int, room: tuple[np.ndarray, np.ndarray]
    ) -> None:
        """``room`` from room_for() is written to; it serves one look at a time."""
        self.luma, self.small, self.frame, self.picture = luma, small, frame, picture
        self.median, self._framed = room
        cv2.medianBlur(luma, 5, dst=self.median)
        self.apart = self._framed[NEAR:-NEAR, NEAR:-NEAR]  # with a border of nothing round it
        cv2.absdiff(luma, self.median, dst=self.apart)

    def ground(self, places: np.ndarray) -> np.ndarray:
        """(places, 9) what each (column, row) stands on: the averages round it."""
        step = np.array([-1, 0, 1])
        last_row, last_column = (size - 1 for size in self.small.shape)
        rows = (places[:, 1, None] // 8 + step).clip(0, last_row)
        columns = (places[:, 0, None] // 8 + step).clip(0, last_column)
        return self.small[rows[:, :, None], columns[:, None, :]].reshape(-1, 9)

    def around(self, places: np.ndarray) -> Around:
        """Differences round each (column, row)."""
        line = self._framed.shape[1]
        at = ((places[:, 1] + NEAR) * line + places[:, 0] + NEAR).astype(np.int32)
        flat = self._framed.reshape(-1)
        own, beside = (flat.take(at + (rows * line + columns)[:, None]) for rows, columns in (_OWN, _BESIDE))
        return Around(own, beside)


def room_for(shape: tuple[int, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Arrays for the looks of one raster: fresh ones cost more than what is done in them."""
    return np.empty(shape, np.uint8), np.zeros((shape[0] + 2 * NEAR, shape[1] + 2 * NEAR), np.uint8)


class Around:
    """What lies round some places, and what follows from it.

    alone   (places,) bool: at most LARGEST pixels within OWN belong to it and nothing else within NEAR stands out
    beside  (places,) most that anything else stands out by
    sizes   (places,) pixels that differ by at least half of the one that differs most
    """

    def __init__(self, own: np.ndarray, beside: np.ndarray) -> None:
        self.beside = beside.max(axis=0).astype(np.float64)
        self.sizes = np.count_nonzero(own.astype(np.uint16) * 2 >= own.max(axis=0), axis=0)
        peak = own[_CENTRE].max(axis=0).astype(np.float64)
        self.alone = (peak >= STANDS_OUT) & (self.sizes <= LARGEST) & (self.beside * DOMINANT <= peak)


class Watched:
    """Places and what was seen there; one row each in every array."""

    def __init__(self) -> None:
        self._places = np.empty((0, 2), np.int64)  # column, row
        self._frames = np.empty((0, 3), np.int64)  # first, last, best
        self._counts = np.empty((0, 4), np.int64)  # seen, could be seen, pixels, seen brighter than its neighbours
        self._best = np.empty(0)  # largest difference
        self._sums = np.empty((0, 3))  # of difference, value, value squared
        self._ids = np.empty((0, PICTURES), np.int64)  # numbers of pictures, -1 for none
        self._in = np.empty((0, PICTURES, 2), np.int64)  # seen, could be seen, in each of them
        self._ground = np.empty((0, PICTURES, 9), np.float32)  # what it stands on in each of them

    def look_again(self, look: Look) -> None:
        """What of the places can be seen now, and what is."""
        if not len(self._places):
            return
        around = look.around(self._places)
        columns, rows = self._places.T
        usual, value, spread = self._means().T
        expected = np.where(spread <= SPREAD, np.abs(value - look.median[rows, columns]), np.abs(usual))
        visible = (expected >= 1.5 * STANDS_OUT) & (around.beside * DOMINANT <= expected)
        self._note(np.arange(len(self._places)), around.alone, around.alone | visible, around.sizes, look)

    def add(self, look: Look, places: np.ndarray) -> None:
        """Watch new places, unless one next to them is watched already."""
        if not len(places):
            return
        known = np.concatenate([self._places, places])
        earlier = np.arange(len(known)) < len(self._places) + np.arange(len(places))[:, None]
        near = np.abs(places[:, 0, None] - known[:, 0]) <= OWN
        near &= np.abs(places[:, 1, None] - known[:, 1]) <= OWN
        places = places[~(near & earlier).any(axis=1)]
        self._make_room(len(places))
        first, count = len(self._places), len(places)
        self._places = np.concatenate([self._places, places])
        self._frames = np.concatenate([self._frames, np.full((count, 3), look.frame)])
        self._counts = np.concatenate([self._counts, np.zeros((count, 4), np.int64)])
        self._best = np.concatenate([self._best, np.zeros(count)])
        self._sums = np.concatenate([self._sums, np.zeros((count, 3))])
        self._ids = np.concatenate([self._ids, np.full((count, PICTURES), -1)])
        self._in = np.concatenate([self._in, np.zeros((count, PICTURES, 2), np.int64)])
        self._ground = np.concatenate([self._ground, np.zeros((count, PICTURES, 9), np.float32)])
        yes = np.ones(count, bool)
        self._note(np.arange(first, first + count), yes, yes, look.around(places).sizes, look)

    def finish(self) -> dict[str, np.ndarray]:
        """See StuckPixelMeter."""
        different = (self._ids >= 0).sum(axis=1)
        order = np.lexsort((self._places[:, 0], self._places[:, 1], -self._counts[:, 0], -different))
        told = order[different[order] >= 2][:MOST_TOLD]
        seen, could, size, brighter = self._counts[told].T
        within, visible = self._in[told, :, 0], self._in[told, :, 1]
        steady = (within >= NEARLY_ALWAYS * visible) & (self._ids[told] >= 0)
        looks = (visible * steady).sum(axis=1)
        counts = np.stack([seen, could, different[told], steady.sum(axis=1), looks, size, brighter], axis=1)
        return {
            "stuck.place": self._places[told].astype(np.uint16),
            "stuck.frames": self._frames[told].astype(np.int32),
            "stuck.counts": counts.clip(0, 65535).astype(np.uint16),
            "stuck.level": self._means()[told].astype(np.float32),
        }

    def _means(self) -> np.ndarray:
        """(places, 3) where it was seen: mean difference, mean value and its spread."""
        mean = self._sums / np.maximum(self._counts[:, :1], 1)
        spread = np.sqrt(np.maximum(mean[:, 2] - mean[:, 1] ** 2, 0))
        return np.stack([mean[:, 0], mean[:, 1], spread], axis=1)

    def _note(self, at: np.ndarray, seen: np.ndarray, could: np.ndarray, sizes: np.ndarray, look: Look) -> None:
        """Keep one look at the places ``at``, all (n,)."""
        self._counts[at, 0] += seen
        self._counts[at, 1] += could
        hit = at[seen]
        columns, rows = self._places[hit].T
        value, median = (plane[rows, columns].astype(np.float64) for plane in (look.luma, look.median))
        difference = value - median
        self._frames[hit, 1] = look.frame
        self._counts[hit, 3] += difference > 0
        self._sums[hit] += np.stack([difference, value, value**2], axis=1)
        better = np.abs(difference) > self._best[hit]
        best = hit[better]
        self._best[best] = np.abs(difference)[better]
        self._frames[best, 2] = look.frame
        self._counts[best, 2] = sizes[seen][better]
        ground = look.ground(self._places[at])
        slot, new = self._slot(at, look.picture, ground, seen)
        kept = slot >= 0
        self._ids[at[new], slot[new]] = look.picture
        self._ground[at[new], slot[new]] = ground[new]
        self._in[at[kept], slot[kept], 0] += seen[kept]
        self._in[at[kept], slot[kept], 1] += could[kept]

    def _slot(
        self, at: np.ndarray, picture: int, ground: np.ndarray, seen: np.ndarray
    ) -> tuple[np.ndarray, np.ndarray]:
        """Where each place keeps this picture: the slot of the same picture, or of one in which it stands on the same
        ground, else a free one if it is seen there, else -1; and whether the slot is a new one."""
        ids = self._ids[at]
        other = (np.abs(self._ground[at] - ground[:, None]) >= OTHER_GROUND).sum(axis=2)
        known = (ids == picture) | ((ids >= 0) & (other < OTHER_CELLS))
        free = (ids < 0) & seen[:, None] & ~known.any(axis=1)[:, None]
        slot = np.where(known.any(axis=1), known.argmax(axis=1), free.argmax(axis=1))
        return np.where(known.any(axis=1) | free.any(axis=1), slot, -1), free.any(axis=1)

    def _make_room(self, count: int) -> None:
        most = MOST_WATCHED - count
        if len(self._places) <= most:
            return
        different = (self._ids >= 0).sum(axis=1)
        share = self._counts[:, 0] / np.maximum(self._counts[:, 1], 1)
        worth = np.where((different >= 2) & (share >= 0.1), different, 0)
        kept = np.sort(np.lexsort((-self._frames[:, 1], -worth))[:most])
        for name in ("_places", "_frames", "_counts", "_best", "_sums", "_ids", "_in", "_ground"):
            setattr(self, name, getattr(self, name)[kept])


def _offsets(inside: bool) -> tuple[np.ndarray, np.ndarray]:
    """Rows and columns, int32, from a place's middle: of what may belong to it, or of the rest within NEAR."""
    rows, columns = np.mgrid[-NEAR : NEAR + 1, -NEAR : NEAR + 1].astype(np.int32)
    own = np.maximum(np.abs(rows), np.abs(columns)) <= OWN
    wanted = own if inside else ~own
    return rows[wanted], columns[wanted]


_OWN, _BESIDE = _offsets(True), _offsets(False)
_CENTRE = np.maximum(np.abs(_OWN[0]), np.abs(_OWN[1])) <= 1
