"""True peak: the largest magnitude of the waveform between the samples.

Source: ITU-R BS.1770-5, Annex 2: oversample to at least 192 kHz, low-pass, take magnitudes. Below 176.4 kHz
four times with the Annex's table of 48 taps (at 88.2 and 96 kHz two times would do for the Annex, but would miss
EBU Tech 3341's signals 21 and 23 made at those rates); from 176.4 kHz on the samples serve as they are. The
Annex attenuates by 12.04 dB first only for fixed-point arithmetic. The table's phases do not sum to one and
are not to be "normalised": two conforming meters may differ by some tenths of a dB.
"""

from __future__ import annotations

import numpy as np

from qc.meters.sound.rates import AFTER, BEFORE, STRETCH_ROWS, samples_per_row

#: ITU-R BS.1770-5, Annex 2: the interpolating filter, phases 0 and 1, newest sample first. Phases 3 and 2
#: are these reversed. The four values of a step lie 1/8, 3/8, 5/8 and 7/8 of a sample after its sample.
_PHASE_0 = (
    0.0017089843750,
    0.0109863281250,
    -0.0196533203125,
    0.0332031250000,
    -0.0594482421875,
    0.1373291015625,
    0.9721679687500,
    -0.1022949218750,
    0.0476074218750,
    -0.0266113281250,
    0.0148925781250,
    -0.0083007812500,
)
_PHASE_1 = (
    -0.0291748046875,
    0.0292968750000,
    -0.0517578125000,
    0.0891113281250,
    -0.1665039062500,
    0.4650878906250,
    0.7797851562500,
    -0.2003173828125,
    0.1015625000000,
    -0.0582275390625,
    0.0330810546875,
    -0.0189208984375,
)
ANNEX_2 = np.array([_PHASE_0, _PHASE_1, _PHASE_1[::-1], _PHASE_0[::-1]])  # (phases, taps)

TAPS = BEFORE + 1 + AFTER
#: Interpolated samples (of the input rate) per window; a window of the matrix product holds TAPS - 1 more.
LONGEST_HOP, SHORTEST_HOP = 16, 9


def interpolator(rate: int) -> np.ndarray | None:
    """(phases, taps) for a sample rate in Hz; None where no oversampling is needed."""
    return ANNEX_2 if rate < 176_400 else None


class TruePeakMeter:
    """Largest interpolated magnitude per 10 ms; a value belongs to the row in which it lies."""

    def __init__(self, rate: int) -> None:
        self._step = samples_per_row(rate)
        phases = interpolator(rate)
        self._matrix: np.ndarray | None = None
        if phases is None:
            return
        hops = [hop for hop in range(SHORTEST_HOP, LONGEST_HOP + 1) if self._step % hop == 0]
        hop = hops[-1] if hops else min(LONGEST_HOP, self._step)
        # Where no hop divides the row, the row's last window reaches back over the one before it.
        starts = np.minimum(np.arange(-(-self._step // hop)) * hop, self._step - hop)
        self._starts, self._even = starts, bool(hops)
        self._hop = hop
        banded = np.zeros((len(phases), hop, hop + TAPS - 1))
        for sample in range(hop):
            banded[:, sample, sample : sample + TAPS] = phases[:, ::-1]
        self._room: dict[int, tuple[np.ndarray, np.ndarray]] = {}  # by windows: work space, used again
        self._matrix = banded.reshape(-1, hop + TAPS - 1).astype(np.float32)
        self._edge = phases[:, ::-1].T.astype(np.float32)

    def rows(self, wide: np.ndarray) -> np.ndarray:
        """(channels, STRETCH_ROWS) float32 of (channels, BEFORE + samples + AFTER); without the samples' own peak."""
        channels = len(wide)
        if self._matrix is None:
            return np.zeros((channels, STRETCH_ROWS), np.float32)
        windows = np.lib.stride_tricks.sliding_window_view(wide, self._hop + TAPS - 1, axis=1)
        if self._even:
            chosen = windows[:, :: self._hop]
        else:
            chosen = windows[:, (np.arange(STRETCH_ROWS)[:, None] * self._step + self._starts).ravel()]
        count = channels * chosen.shape[1]
        if count not in self._room:
            self._room[count] = (
                np.empty((channels, *chosen.shape[1:]), np.float32),
                np.empty((len(self._matrix), count), np.float32),
            )
        single, between = self._room[count]
        single[...] = chosen
        np.matmul(self._matrix, single.reshape(count, -1).T, out=between)  # (phases * hop, windows)
        peaks = np.abs(between, out=between).max(axis=0)
        return peaks.reshape(channels, STRETCH_ROWS, -1).max(axis=2)

    def before(self, wide: np.ndarray) -> np.ndarray:
        """(channels,) largest value ahead of the first sample, where the waveform swings in."""
        if self._matrix is None:
            return np.zeros(len(wide), np.float32)
        ahead = np.zeros((len(wide), AFTER + TAPS - 1), np.float32)
        ahead[:, TAPS - 1 :] = wide[:, BEFORE : BEFORE + AFTER]
        windows = np.lib.stride_tricks.sliding_window_view(ahead, TAPS, axis=1)
        return np.abs(windows @ self._edge).max(axis=(1, 2))
