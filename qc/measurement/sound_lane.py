"""One sound stream on its way into the series: the meters it goes through and what is counted beside them."""

from __future__ import annotations

from fractions import Fraction

import numpy as np

from qc.measurement.event_log import EventLog
from qc.media.happening import Happening
from qc.media.samples import SoundBlock, used_bits
from qc.meters.sound.bank import SoundBank, SoundRows
from qc.meters.sound.full_scale_runs import FLOAT_FULL_SCALE, INTEGER_FULL_SCALE
from qc.meters.sound.rates import UnsupportedAudio


class SoundLane:
    """The bank of one sound stream, with what the series needs beside it.

    channels  as the headers say: the columns of the flat channel list; a stream that decodes to
              another number is told of and cut or filled with silence
    """

    def __init__(self, stream: int, channels: int, log: EventLog) -> None:
        self.stream = stream
        self.channels = channels
        self.invalid = np.zeros(channels, np.int64)
        self._words = np.zeros(channels, np.int64)
        self._bits = 0
        self._bank: SoundBank | None = None
        self._unsupported = False
        self._fed = 0
        self._owed: list[tuple[int, int]] = []
        self._log = log

    def feed(self, rate: int, block: SoundBlock) -> None:
        samples, words, invalid = block.samples, block.words, block.invalid
        if samples.shape[1] != self.channels:
            samples, words, invalid = (_fit(array, self.channels) for array in (samples, words, invalid))
            if not self._fed:
                detail = f"the header says {self.channels} channels, {block.samples.shape[1]} were decoded"
                self._log.add(Happening("layout change", self.stream, None, Fraction(0), detail))
        bank = self._start(rate, block.bits == 0)
        self._words |= words
        self._bits = max(self._bits, block.bits)
        if invalid.any():
            detail = f"{int(invalid.sum())} samples are not numbers; counted as silence"
            at = Fraction(self._fed, rate)
            self._log.add(Happening("invalid samples", self.stream, None, at, detail))
            self.invalid += invalid
        if bank is not None:
            bank.feed(samples)
        self._fed += len(samples)

    def feed_silence(self, rate: int, channels: int, samples: int) -> None:
        if self._bank is None and not self._unsupported:
            self._owed.append((rate, samples))  # integer or float is not known before the first block
            return
        self._silence(rate, samples)

    def finish(self) -> SoundRows | None:
        return self._bank.finish() if self._bank is not None else None

    def used_bits(self) -> np.ndarray:
        return np.array([used_bits(int(words), self._bits) for words in self._words], np.int16)

    def _start(self, rate: int, is_float: bool) -> SoundBank | None:
        if self._bank is None and not self._unsupported:
            try:
                full = FLOAT_FULL_SCALE if is_float else INTEGER_FULL_SCALE
                self._bank = SoundBank(rate, self.channels, full_scale=full)
            except UnsupportedAudio as error:
                self._unsupported = True
                self._log.add(Happening("not decodable", self.stream, None, None, error.what))
            owed, self._owed = self._owed, []
            for owed_rate, samples in owed:
                self._silence(owed_rate, samples)
        return self._bank

    def _silence(self, rate: int, samples: int) -> None:
        self._fed += samples
        while samples > 0 and self._bank is not None:
            now = min(samples, rate)
            self._bank.feed(np.zeros((now, self.channels)))
            samples -= now


def _fit(array: np.ndarray, channels: int) -> np.ndarray:
    """The last axis cut or filled with zeros to this many channels."""
    have = array.shape[-1]
    if have >= channels:
        return array[..., :channels]
    return np.concatenate([array, np.zeros((*array.shape[:-1], channels - have), array.dtype)], axis=-1)
