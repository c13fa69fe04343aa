"""Codes into light: what a screen gives off for a code value, in cd/m2, as the rules on flashing read it.

Every function takes the signal as a fraction of the nominal range (0 reference black, 1 nominal white), so bit
depth and range are settled once, in ``fractions_of``.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import cv2
import numpy as np

#: Luminance of nominal white for standard dynamic range. Source: ITU-R BT.1702-3, Annex 2.
SDR_WHITE = 200.0
#: Nominal peak for HLG. Source: ITU-R BT.1702-3, Guideline 1, note 3.
HLG_PEAK = 1000.0
#: Names of a transfer function in the headers that mean HLG and PQ; every other is shown as standard dynamic range.
_HLG = frozenset(("hlg", "arib-std-b67"))
_PQ = frozenset(("pq", "smpte2084"))

SDR, HLG, PQ = 0, 1, 2

#: OpenCV looks words up as well as bytes, several times faster than an index does, from its version 5 on.
WIDE_LUT = int(cv2.__version__.partition(".")[0]) >= 5


def model_of(transfer: str | None) -> int:
    """SDR, HLG or PQ by the transfer tag; a missing tag is SDR."""
    name = (transfer or "").casefold()
    return HLG if name in _HLG else PQ if name in _PQ else SDR


def fractions_of(bits: int, full_range: bool) -> np.ndarray:
    """(2**bits,) float64: every code as a fraction of the nominal range. Source: ITU-R BT.709-6, item 4.6."""
    codes = np.arange(1 << bits, dtype=np.float64)
    if full_range:
        return codes / ((1 << bits) - 1)
    step = 2.0 ** (bits - 8)
    return (codes / step - 16) / 219


def sdr(signal: np.ndarray) -> np.ndarray:
    """Source: ITU-R BT.1702-2 and -3, Annex 2, Table 1, as the formula that gives its values to +/-0.1 cd/m2
    (20.1 at 10-bit code 400, 160.4 at 863, 200 at 940): ITU-R BT.1886 with black at zero."""
    return SDR_WHITE * np.maximum(signal, 0.0) ** 2.4


def sdr_ofcom(signal: np.ndarray) -> np.ndarray:
    """Source: Ofcom, guidance notes to Section Two of the Broadcasting Code, Annex 1, as the formula that gives its
    table (20.1 at 234 mV, 160 at 631 mV of 700 mV); a code is 255 steps on the scale of 0 to 700 mV."""
    return 413.435 * (0.002745 * 255.0 * np.maximum(signal, 0.0) + 0.0189623) ** 2.2


def hlg(signal: np.ndarray) -> np.ndarray:
    """Source: ITU-R BT.2100-2, Table 5; system gamma 1.2 for the nominal peak of 1000 cd/m2, luma alone."""
    return HLG_PEAK * _hlg_scene(signal) ** 1.2


def pq(signal: np.ndarray) -> np.ndarray:
    """Absolute luminance. Source: ITU-R BT.2100-2, Table 4 (SMPTE ST 2084)."""
    m1, m2 = 2610 / 16384, 2523 / 4096 * 128
    c1, c2, c3 = 3424 / 4096, 2413 / 4096 * 32, 2392 / 4096 * 32
    power = np.clip(signal, 0.0, 1.0) ** (1 / m2)
    return 10000.0 * (np.maximum(power - c1, 0.0) / (c2 - c3 * power)) ** (1 / m1)


def _hlg_scene(signal: np.ndarray) -> np.ndarray:
    """Inverse of the HLG OETF, 1 at nominal white. Source: ITU-R BT.2100-2, Table 5."""
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    low = np.maximum(signal, 0.0)
    return np.where(low <= 0.5, low**2 / 3, (np.exp((np.maximum(low, 0.5) - c) / a) + b) / 12)


def _hlg_colour(signal: np.ndarray) -> np.ndarray:
    """Scene light is enough for chromaticity: the system gamma multiplies all three by one factor."""
    return HLG_PEAK * _hlg_scene(signal)


#: The two published readings of standard dynamic range, in the order of the meter's series; HDR has one.
_LUMINANCE: dict[int, tuple[Callable[[np.ndarray], np.ndarray], ...]] = {SDR: (sdr, sdr_ofcom), HLG: (hlg,), PQ: (pq,)}
_COLOUR = {SDR: sdr, HLG: _hlg_colour, PQ: pq}


@cache
def luminance_table(model: int, bits: int, full_range: bool) -> np.ndarray:
    """(2**bits, variants) float32: cd/m2 of every luma code in each published reading."""
    signal = fractions_of(bits, full_range)
    return np.ascontiguousarray(np.stack([light(signal) for light in _LUMINANCE[model]], axis=1), np.float32)


@cache
def light_lookup(model: int, bits: int, full_range: bool, reading: int | None = None) -> Lookup:
    """Light of whole planes of codes, cd/m2, in each published reading or in one of them."""
    table = luminance_table(model, bits, full_range)
    return Lookup(table if reading is None else np.ascontiguousarray(table[:, [reading]]))


@cache
def pair_lookup(model: int, full_range: bool) -> Lookup:
    """The sum of the light of two codes of 8 bits side by side, in each published reading, for both as one word."""
    table = luminance_table(model, 8, full_range)
    return Lookup((table[:, None] + table).reshape(1 << 16, -1))


class Lookup:
    """The rows of a table (codes, 1 or 2) float32 for planes of codes; a code beyond it is read as its last."""

    def __init__(self, table: np.ndarray) -> None:
        self.width: int = table.shape[1]
        # Two numbers are moved as one of 64 bits
        self._word: type = np.float64 if table.shape[1] == 2 else np.float32
        self._table: np.ndarray = table.view(self._word).ravel()
        self._wide: np.ndarray = self._table
        if len(self._table) > 256 and WIDE_LUT:
            self._wide = np.full(1 << 16, self._table[-1], self._word)
            self._wide[: len(self._table)] = self._table

    def fill(self, codes: np.ndarray, found: np.ndarray) -> np.ndarray:
        """``found`` (rows, columns * numbers) float32 from (rows, columns) codes, of any stride between rows."""
        out: np.ndarray = found.view(self._word)
        if len(self._wide) == 1 << 8 * codes.itemsize:
            cv2.LUT(codes, self._wide, out)
        else:
            self._table.take(codes, out=out, mode="clip")
        return found


#: Steps of the colour table: from -0.25 to 1.25 of the nominal range.
COLOUR_STEPS, COLOUR_FIRST, COLOUR_LAST = 1536, -0.25, 1.25


@cache
def colour_table(model: int) -> np.ndarray:
    """(COLOUR_STEPS + 1,) float32: light of R', G' or B' in evenly spaced steps, on a scale with white at 200 or
    the peak of the system."""
    return _COLOUR[model](np.linspace(COLOUR_FIRST, COLOUR_LAST, COLOUR_STEPS + 1)).astype(np.float32)
