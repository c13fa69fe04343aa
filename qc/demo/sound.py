"""Made-up sound: speech-shaped noise in syllables and phrases, and music-like tones; set to an exact loudness.

All float64, full scale 1.0, 48 kHz. The loudness is set with pyloudnorm, a meter that is not this tool's own,
so that the demo also compares the two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from qc.timing.spans import Span

RATE = 48000
FADE = RATE // 5
MIX_UNDER_VOICE = 0.7
HUSH = RATE // 8  # left silent at the end of an act, so that nothing is cut off


#: Seconds after which speech and music begin again, without a seam.
LOOP = 24


@dataclass(frozen=True)
class Stems:
    """Speech (samples,) and music (samples, 2) of one episode: a loop, long enough for its longest version."""

    episode: int
    samples: int

    @cached_property
    def speech(self) -> np.ndarray:
        """Noise with about the long-term spectrum of speech, in syllables of 4 a second and phrases of 3 s."""
        rng = np.random.default_rng(self.episode)
        count = LOOP * RATE
        spectrum = np.fft.rfft(rng.standard_normal(count))
        hertz = np.fft.rfftfreq(count, 1 / RATE)
        noise = np.fft.irfft(spectrum * np.where(hertz < 80, 0.0, 1.0 / (1.0 + (hertz / 500.0) ** 1.5)), count)
        seconds = np.arange(count) / RATE
        syllables = 0.55 - 0.45 * np.cos(2 * np.pi * 4 * seconds)
        phrases = np.clip(3.0 - 3.2 * np.cos(2 * np.pi * seconds / 3), 0.12, 1.0)
        return np.resize(noise / np.std(noise) * syllables * phrases * 0.1, self.samples)

    @cached_property
    def music(self) -> np.ndarray:
        """A plucked note every half second on each side, a quiet tone below."""
        seconds = np.arange(LOOP * RATE) / RATE
        rng = np.random.default_rng(1000 + self.episode)
        scale = 220.0 * 2 ** (np.array([0, 3, 5, 7, 10, 12]) / 12)
        beat = seconds * 2
        phase = beat % 1
        sides = []
        for side in (0, 1):
            note = scale[rng.integers(0, len(scale), 2 * LOOP)][beat.astype(np.int64)]
            pluck = np.exp(-3.0 * phase) * np.minimum(1.0, phase * 60) * np.sin(np.pi * note * phase)
            pluck *= np.minimum(1.0, (1 - phase) * 60)
            sides.append(0.06 * pluck + 0.02 * np.sin(2 * np.pi * 110.0 * seconds + side))
        return np.resize(np.stack(sides, axis=1), (self.samples, 2))


@dataclass(frozen=True)
class Mix:
    """Everything a version's channels are made from, each over the whole file.

    pieces  (samples, 2) for "mix" and "music", (samples,) for "voice"
    """

    pieces: dict[str, np.ndarray]

    def channel(self, name: str) -> np.ndarray:
        """ "L", "R", "music L", "music R", "described", "mono" or "silent"."""
        mix, music = self.pieces["mix"], self.pieces["music"]
        match name:
            case "L" | "R":
                return mix[:, "LR".index(name)]
            case "music L" | "music R":
                return music[:, "LR".index(name[-1])]
            case "mono":
                return mix.mean(axis=1)
            case "described":
                return MIX_UNDER_VOICE * mix.mean(axis=1) + self.pieces["voice"]
            case "silent":
                return np.zeros(len(mix))
        raise KeyError(name)


def mixed(stems: Stems, acts: Sequence[tuple[Span, int]], samples: int, lufs: float, tones: Sequence[Span] = ()) -> Mix:
    """The mix of one version at an exact programme loudness; silence outside the acts, apart from the tones.

    acts   place in the file and first sample of the content, both in samples; the loudness is that of the acts joined
    tones  where 1 kHz at -20 dBFS (a full-scale sine is 0) stands in the head, on every channel that carries the mix
    """
    mix = np.zeros((samples, 2))
    music = np.zeros((samples, 2))
    voice = np.zeros(samples)
    for place, content in acts:
        length = place.frames
        edge = np.ones(length)
        edge[:FADE] = np.linspace(0, 1, FADE)
        edge[-FADE - HUSH : -HUSH] = np.linspace(1, 0, FADE)
        edge[-HUSH:] = 0
        here = slice(place.first, place.end)
        from_content = slice(content, content + length)
        music[here] = stems.music[from_content] * edge[:, None]
        mix[here] = music[here] + (stems.speech[from_content] * edge)[:, None]
        voice[here] = 0.4 * stems.speech[from_content][::-1] * edge
    gain = 10 ** ((lufs - _loudness(np.concatenate([mix[place.first : place.end] for place, _ in acts]))) / 20)
    for piece in (mix, music, voice):
        piece *= gain
    for tone in tones:
        sine = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(tone.frames) / RATE)
        mix[tone.first : tone.end] = sine[:, None]
        voice[tone.first : tone.end] = (1 - MIX_UNDER_VOICE) * sine
    return Mix({"mix": mix, "music": music, "voice": voice})


def _loudness(sound: np.ndarray) -> float:
    """Integrated loudness in LUFS (ITU-R BS.1770) by pyloudnorm with its filters for any rate."""
    import pyloudnorm

    return float(pyloudnorm.Meter(RATE, filter_class="DeMan").integrated_loudness(sound))
