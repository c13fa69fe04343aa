"""All sound meters of one stream, fed together.

Takes blocks cut anywhere, hands the meters stretches of a fixed number of samples counted from the
stream's first sample: the series does not depend on the cuts, bit for bit.
"""

from __future__ import annotations

from typing import TypedDict

import numpy as np

from qc.meters.sound.energy import EnergyMeter
from qc.meters.sound.full_scale_runs import INTEGER_FULL_SCALE, full_scale_runs
from qc.meters.sound.level import mean_square, sample_peak
from qc.meters.sound.rates import AFTER, BEFORE, STRETCH_ROWS, samples_per_row
from qc.meters.sound.tone import zero_crossings
from qc.meters.sound.true_peak import TruePeakMeter

#: Channels worked on at once, which bounds memory at 64 channels.
TOGETHER = 8

#: A float sample beyond this (+120 dBFS) is damage, not sound; it is counted with NaN and Inf.
LARGEST = 1e6


class SoundRows(TypedDict):
    """Series of one stream, rows of 10 ms from its first sample. The last row may be partly filled: zeros follow."""

    energy: np.ndarray  # (rows, channels) float32
    plain: np.ndarray  # (rows, channels) float32
    sample_peak: np.ndarray  # (rows, channels) float32
    true_peak: np.ndarray  # (rows, channels) float32, never under sample_peak
    full_scale_runs: np.ndarray  # (rows, channels) uint16
    crossings: np.ndarray  # (rows, channels) uint8, changes of sign, at most 255
    invalid_samples: np.ndarray  # (channels,) int64
    samples: int  # per channel


class SoundBank:
    """K-weighted energy, plain level, sample peak, true peak, full-scale runs and zero crossings of one stream.

    rate        32000 to 192000 Hz, else UnsupportedAudio
    full_scale  magnitude from which a sample counts as full scale: INTEGER_FULL_SCALE, or
                FLOAT_FULL_SCALE for float sound
    """

    def __init__(self, rate: int, channels: int, *, full_scale: float = INTEGER_FULL_SCALE) -> None:
        self._step = samples_per_row(rate)
        self._channels = channels
        self._length = STRETCH_ROWS * self._step
        self._full_scale = full_scale
        self._energy = EnergyMeter(rate, channels)
        self._true_peak = TruePeakMeter(rate)
        self._wide = np.zeros((channels, BEFORE + self._length + AFTER))
        self._filled = BEFORE  # columns of self._wide that hold samples
        self._samples = 0
        self._invalid = np.zeros(channels, np.int64)
        self._tables: list[tuple[np.ndarray, ...]] = []

    def feed(self, block: np.ndarray) -> None:
        """Takes (samples, channels), full scale 1.0, any number of samples."""
        self._samples += len(block)
        taken = 0
        while taken < len(block):
            count = min(len(block) - taken, self._wide.shape[1] - self._filled)
            self._wide[:, self._filled : self._filled + count] = block[taken : taken + count].T
            self._clear_invalid(self._filled, self._filled + count)
            self._filled += count
            taken += count
            if self._filled == self._wide.shape[1]:
                self._measure()

    def finish(self) -> SoundRows:
        """The series. The bank is spent after this."""
        held = self._filled
        rows = -(-self._samples // self._step)
        # The samples kept for looking ahead may need a stretch of their own.
        while len(self._tables) * STRETCH_ROWS < rows:
            self._wide[:, self._filled :] = 0.0
            self._measure()
            held = max(BEFORE, held - self._length)
        tables = self._tables or [self._nothing()]
        energy, plain, sample, true, runs, crossings = (
            np.concatenate(parts, axis=1) for parts in zip(*tables, strict=True)
        )
        if 0 < rows < true.shape[1]:  # the waveform swings out after the last sample
            true[:, rows - 1] = true[:, rows - 1 :].max(axis=1)
        self._tables = []
        return SoundRows(
            energy=energy[:, :rows].T.copy(),
            plain=plain[:, :rows].T.copy(),
            sample_peak=sample[:, :rows].T.copy(),
            true_peak=true[:, :rows].T.copy(),
            full_scale_runs=runs[:, :rows].T.copy(),
            crossings=crossings[:, :rows].T.copy(),
            invalid_samples=self._invalid,
            samples=self._samples,
        )

    def _clear_invalid(self, first: int, end: int) -> None:
        """Counts NaN, Inf and absurd samples in these columns and puts nought in their place."""
        fresh = self._wide[:, first:end]
        # Comparisons with NaN are false, so the fast test fails on NaN too.
        if fresh.max() <= LARGEST and fresh.min() >= -LARGEST:
            return
        bad = ~(np.abs(fresh) <= LARGEST)
        self._invalid += bad.sum(axis=1)
        fresh[bad] = 0.0

    def _nothing(self) -> tuple[np.ndarray, ...]:
        shape = (self._channels, STRETCH_ROWS)
        return (*(np.zeros(shape, np.float32) for _ in range(4)), np.zeros(shape, np.uint16), np.zeros(shape, np.uint8))

    def _measure(self) -> None:
        """Puts one whole stretch through the meters and makes room for the next."""
        table = self._nothing()
        idle = self._energy.idle()
        idle &= ~self._wide.any(axis=1)
        awake = np.flatnonzero(~idle)
        for begin in range(0, len(awake), TOGETHER):
            self._measure_channels(awake[begin : begin + TOGETHER], table)
        self._tables.append(table)
        kept = BEFORE + AFTER
        self._wide[:, :kept] = self._wide[:, -kept:]
        self._filled = kept

    def _measure_channels(self, channels: np.ndarray, table: tuple[np.ndarray, ...]) -> None:
        energy, plain, sample, true, runs, crossings = table
        wide = self._wide if len(channels) == self._channels else self._wide[channels]
        now = np.ascontiguousarray(wide[:, BEFORE : BEFORE + self._length])
        energy[channels] = self._energy.rows(now, channels)
        plain[channels] = mean_square(now)
        peaks = sample_peak(now)
        sample[channels] = peaks
        between = self._true_peak.rows(wide)
        if not self._tables:
            between[:, 0] = np.maximum(between[:, 0], self._true_peak.before(wide))
        true[channels] = np.maximum(between, sample[channels])
        if peaks.max() >= self._full_scale:
            runs[channels] = full_scale_runs(wide, self._full_scale)
        crossings[channels] = zero_crossings(wide)
