"""One frame and its smaller copies, made once and shared by all picture meters.

Every copy is a box average of codes, so a value in it is a convex mix of the picture's own values. An interlaced frame
keeps its fields apart where time matters.
"""

from __future__ import annotations

from functools import cached_property

import cv2
import numpy as np

from qc.meters.picture.averages import Scratch, first_halved, halved, paired, pairs_halved

#: Rows of the small plane: the first of the copies that has no more. 150 at least, unless the raster has fewer.
SMALL_ROWS = 300
#: Rows and columns that a field's copy is halved from on: the smallest has 135 rows of 480 at 1080 lines.
FIELD_ROWS, FIELD_COLUMNS = 270, 640


class Planes:
    """One decoded picture as code values.

    number      of the frame, from 0
    luma        (h, w) uint8 (8 bits) or uint16 (9 to 16 bits), rows contiguous, any row stride
    cb, cr      of the format's own size; None without colour
    bits        of a code; full_range: codes run from 0 to 2**bits - 1
    interlaced  two fields as flagged; top_first: which of them is earlier
    afd         active format description of the picture, four bits; None without one
    scratch     shared by the frames of one file, which are then reduced one after the other
    """

    def __init__(
        self,
        number: int,
        luma: np.ndarray,
        cb: np.ndarray | None,
        cr: np.ndarray | None,
        bits: int,
        full_range: bool = False,
        interlaced: bool = False,
        top_first: bool = True,
        afd: int | None = None,
        scratch: Scratch | None = None,
    ) -> None:
        self.number = number
        self.luma, self.cb, self.cr = luma, cb, cr
        self.bits, self.full_range = bits, full_range
        self.interlaced, self.top_first = interlaced, top_first
        self.afd = afd
        self._scratch = scratch or Scratch()

    @property
    def height(self) -> int:
        return int(self.luma.shape[0])

    @property
    def width(self) -> int:
        return int(self.luma.shape[1])

    @cached_property
    def half(self) -> np.ndarray:
        """(h // 2, w // 2) averages of the whole frame."""
        return halved(self.luma)

    @cached_property
    def quarter(self) -> np.ndarray:
        """(h // 4, w // 4) averages of 4 x 4."""
        return self._quarter_and_fields[0]

    @property
    def fields(self) -> tuple[np.ndarray, np.ndarray]:
        """Upper and lower field (rows 0, 2, ... and 1, 3, ...) of an interlaced frame, in averages of 2 x 2 of its own
        rows, halved as long as it has enough of both: (h // 8, w // 4) at 1080 lines. Empty of a progressive one."""
        return self._quarter_and_fields[1:]

    @cached_property
    def eighth(self) -> np.ndarray:
        """(h // 8, w // 8) averages of 8 x 8."""
        return halved(self.quarter)

    @cached_property
    def chroma_half(self) -> tuple[np.ndarray, np.ndarray] | None:
        """Cb and Cr in averages of 2 x 2 pixels of the frame, (h // 2, w // 2); None without colour."""
        if self.cb is None or self.cr is None:
            return None
        return self._fitted(self.cb, 2), self._fitted(self.cr, 2)

    @cached_property
    def chroma_quarter(self) -> tuple[np.ndarray, np.ndarray] | None:
        """Cb and Cr in averages of 4 x 4 pixels of the frame, (h // 4, w // 4); None without colour.

        Of chroma on every line (4:2:2) only every second one is read, as many as 4:2:0 has, or every second pair where
        there are fields: what is told from these copies is as large as a block.
        """
        if self.cb is None or self.cr is None:
            return None
        return self._quartered(self.cb), self._quartered(self.cr)

    @cached_property
    def chroma_eighth(self) -> tuple[np.ndarray, np.ndarray] | None:
        """(h // 8, w // 8); None without colour."""
        both = self.chroma_quarter
        return None if both is None else (halved(both[0]), halved(both[1]))

    @property
    def unit(self) -> float:
        """Codes of this depth to one code of 8 bits."""
        return 2.0 ** (max(self.bits, 8) - 8)

    @cached_property
    def small_steps(self) -> int:
        """How many times the small plane is halved: 2 for 720 and 1080 lines."""
        steps, rows = 0, self.height
        while rows > SMALL_ROWS:
            steps, rows = steps + 1, rows // 2
        return steps

    @cached_property
    def small(self) -> np.ndarray:
        """The copy that time is compared on: 150 to 300 rows, whatever the raster, in codes of 8 bits, whatever the
        depth (an average of many pixels, rounded, tells as much of a deep picture). Never the decoder's memory."""
        small = self._in_8_bits(self._copy(self.small_steps))
        return small.copy() if self.small_steps == 0 else small

    @cached_property
    def tiny(self) -> np.ndarray:
        """The next smaller copy, in codes of 8 bits."""
        return self._in_8_bits(self._copy(self.small_steps + 1))

    @cached_property
    def tiny_chroma(self) -> tuple[np.ndarray, np.ndarray] | None:
        """Cb and Cr in the size of the tiny plane, in codes of 8 bits; None without colour."""
        steps = self.small_steps + 1
        both = self.chroma_half if steps == 1 else self.chroma_quarter if steps == 2 else self.chroma_eighth
        if both is None:
            return None
        for _ in range(steps - 3):
            both = halved(both[0]), halved(both[1])
        return self._in_8_bits(both[0]), self._in_8_bits(both[1])

    def half_window(self, part: int, lines: slice, columns: slice) -> np.ndarray:
        """A window of the copy of half size, of luma (0), Cb (1) or Cr (2); without making the whole of it where that
        can be helped."""
        plane = (self.luma, self.cb, self.cr)[part]
        assert plane is not None
        height, width = self.height // 2, self.width // 2
        across, down = (slice(2 * window.start, 2 * window.stop) for window in (columns, lines))
        if part == 0:
            whole = (lines.stop - lines.start, columns.stop - columns.start) == (height, width)
            return self.half if whole else halved(plane[down, across])
        if plane.shape == (height, width):
            return plane[lines, columns]
        if plane.shape == (2 * height, width):
            return paired(plane[down, columns], self.bits)
        assert self.chroma_half is not None
        return self.chroma_half[part - 1][lines, columns]

    def _copy(self, steps: int) -> np.ndarray:
        copy = self.luma if steps == 0 else self.half if steps == 1 else self.quarter if steps == 2 else self.eighth
        for _ in range(steps - 3):
            copy = halved(copy)
        return copy

    def _in_8_bits(self, plane: np.ndarray) -> np.ndarray:
        return plane if plane.dtype == np.uint8 else cv2.convertScaleAbs(plane, alpha=1 / self.unit)

    @cached_property
    def _quarter_and_fields(self) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Made together: what is fetched from memory for one is there for all. Without fields these are empty."""
        if not self.interlaced:
            nothing = self.luma[:0]
            return self._twice_halved(self.luma), nothing, nothing
        if self.height % 4 or self.width < 4:
            upper, lower = (halved(self.luma[parity::2]) for parity in (0, 1))
            return self._twice_halved(self.luma), _reduced(upper), _reduced(lower)
        # both in averages of 2 x 2 of their own rows, line by line
        woven = self._scratch.room((self.height // 2, self.width // 2), self.luma.dtype)
        first_halved(self.luma, woven, fields=True)
        return halved(woven), _reduced(woven[0::2]), _reduced(woven[1::2])

    def _twice_halved(self, plane: np.ndarray) -> np.ndarray:
        if min(plane.shape) < 2:
            return halved(plane)
        room = self._scratch.room((plane.shape[0] // 2, plane.shape[1] // 2), plane.dtype)
        quarter = halved(first_halved(plane, room))
        return quarter.copy() if quarter.base is room else quarter

    def _quartered(self, plane: np.ndarray) -> np.ndarray:
        lines, pixels = plane.shape
        if (2 * lines, 2 * pixels) == (self.height, self.width):  # 4:2:0
            return first_halved(plane, np.empty((lines // 2, pixels // 2), plane.dtype)) if lines > 1 else plane
        if plane.shape == (self.height, self.width):
            return self._twice_halved(plane)
        if (lines, 2 * pixels) == (self.height, self.width) and lines % 4 == 0:
            room = np.empty((lines // 4, pixels // 2), plane.dtype)
            if not self.interlaced:
                return first_halved(plane, room, step=2)
            return pairs_halved(plane, room, self._scratch.room((lines // 2, pixels), plane.dtype, "pairs"))
        return halved(self._fitted(plane, 2))

    def _fitted(self, plane: np.ndarray, step: int) -> np.ndarray:
        """A plane brought to a part of the frame by box averages; rows alone in pairs, several times faster."""
        height, width = max(1, self.height // step), max(1, self.width // step)
        if plane.shape == (height, width):
            return plane
        if plane.shape[0] // 2 == height and plane.shape[1] == width and height > 1:
            return paired(plane[: 2 * height], self.bits)
        return cv2.resize(plane, (width, height), interpolation=cv2.INTER_AREA)


def _reduced(field: np.ndarray) -> np.ndarray:
    """A field's copy, in memory of its own."""
    if field.shape[0] < FIELD_ROWS or field.shape[1] < FIELD_COLUMNS:
        return field.copy()
    while field.shape[0] >= FIELD_ROWS and field.shape[1] >= FIELD_COLUMNS:
        field = halved(field)
    return field
