"""Test tones, made sample by sample from their published description; nothing is stored.

All return float64 (samples, channels) or (samples,), full scale 1.0, levels as the peak of the sine in dBFS.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

#: A part of a tone: seconds and level; None is silence.
Part = tuple[float, float | None]


def stepped(parts: Sequence[Part], rate: int, hertz: float = 1000.0) -> np.ndarray:
    """(samples,) one sine whose level steps from part to part; the phase runs through."""
    lengths = [round(seconds * rate) for seconds, _ in parts]
    gains = [0.0 if level is None else 10 ** (level / 20) for _, level in parts]
    return np.repeat(gains, lengths) * np.sin(2 * np.pi * hertz / rate * np.arange(sum(lengths)))


def stereo(mono: np.ndarray) -> np.ndarray:
    """The same in both channels."""
    return np.repeat(mono[:, None], 2, axis=1)


def steady(share_of_rate: float, amplitude: float, degrees: float, rate: int, seconds: float = 0.5) -> np.ndarray:
    """(samples,) a sine at a fraction of the sample rate, faded in and out over 10 ms."""
    count, fade = round(seconds * rate), rate // 100
    sine = amplitude * np.sin(2 * np.pi * share_of_rate * np.arange(count) + np.radians(degrees))
    ramp = (np.arange(fade) + 0.5) / fade
    sine[:fade] *= ramp
    sine[-fade:] *= ramp[::-1]
    return sine


def burst(offset: int, rate: int) -> np.ndarray:
    """(samples,) fs/6 at half scale around one period of fs/4 at full scale, phase running through.

    Made at four times the rate, low-passed (1025 taps, Kaiser beta 8, cut-off 0.45 of the rate),
    then every fourth sample from ``offset`` on is taken: EBU Tech 3341, Table 1, signals 20 to 23.
    """
    around = np.tile(0.5 * np.sin(2 * np.pi * np.arange(24) / 24), rate // 60)  # a tenth of a second or more
    ramp = np.minimum(1.0, np.arange(len(around)) / (4 * rate / 100))
    dense = np.concatenate([around * ramp, np.sin(2 * np.pi * np.arange(16) / 16), (around[::-1] * -ramp[::-1])])
    at = np.arange(1025) - 512
    low_pass = 0.225 * np.sinc(0.225 * at) * np.kaiser(1025, 8.0)
    size = len(dense) + 1024
    filtered = np.fft.irfft(np.fft.rfft(dense, size) * np.fft.rfft(low_pass / low_pass.sum(), size), size)
    return filtered[512 : 512 + len(dense)][offset::4]
