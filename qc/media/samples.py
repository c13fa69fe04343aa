"""Decoded sound frames as one float64 block, full scale 1.0."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from av.audio.frame import AudioFrame

#: libav sample format without the planar "p": type of one sample and bits of its word (0: float).
_WORDS: dict[str, tuple[np.dtype, int]] = {
    "u8": (np.dtype(np.uint8), 8),
    "s16": (np.dtype(np.int16), 16),
    "s32": (np.dtype(np.int32), 32),
    "s64": (np.dtype(np.int64), 64),
    "flt": (np.dtype(np.float32), 0),
    "dbl": (np.dtype(np.float64), 0),
}


@dataclass(frozen=True)
class SoundBlock:
    """A stretch of one stream.

    samples  (samples, channels) float64, full scale 1.0; invalid samples are 0
    words    (channels,) int64, all integer words of the stretch OR-ed together (0 for float)
    bits     of a word, 0 for float
    invalid  (channels,) int64, NaN or Inf samples
    """

    samples: np.ndarray
    words: np.ndarray
    bits: int
    invalid: np.ndarray


def raw_samples(frame: AudioFrame) -> np.ndarray:
    """(samples, channels) view of a frame's memory in its own word type (a copy if planar)."""
    name = frame.format.name
    word, _ = _WORDS[name.removesuffix("p")]
    count, channels = frame.samples, frame.layout.nb_channels
    if name.endswith("p") and channels > 1:
        planes = [np.frombuffer(memoryview(plane), word)[:count] for plane in frame.planes]
        return np.stack(planes, axis=1)
    return np.frombuffer(memoryview(frame.planes[0]), word)[: count * channels].reshape(count, channels)


def to_block(parts: Sequence[np.ndarray]) -> SoundBlock:
    """One block of several raw stretches of the same word type."""
    raw = parts[0] if len(parts) == 1 else np.concatenate(parts)
    channels = raw.shape[1]
    none = np.zeros(channels, np.int64)
    if raw.dtype.kind == "f":
        samples = raw.astype(np.float64)
        finite = np.isfinite(samples)
        if finite.all():
            return SoundBlock(samples, none, 0, none)
        samples[~finite] = 0.0
        return SoundBlock(samples, none, 0, np.count_nonzero(~finite, axis=0).astype(np.int64))
    bits = raw.dtype.itemsize * 8
    if raw.dtype == np.uint8:
        raw = (raw.astype(np.int16) - 128).astype(np.int8)
    words = np.bitwise_or.reduce(raw, axis=0).astype(np.int64)
    samples = np.multiply(raw, 0.5 ** (bits - 1), dtype=np.float64)
    return SoundBlock(samples, words, bits, none)


def used_bits(words: int, bits: int) -> int:
    """Deepest bit in use of words OR-ed together: 24 for 24-bit sound in 32-bit words; 0 if all are zero."""
    if not words or not bits:
        return 0
    return bits - ((words & -words).bit_length() - 1)
