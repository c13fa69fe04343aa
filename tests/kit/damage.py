"""Seeded damage to a media file: bytes flipped, zeroed, shuffled, inserted, removed; files cut short."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

KINDS = ("cut short", "flip", "flip header", "zero", "repeat", "remove", "swap", "noise")


@dataclass(frozen=True)
class Damage:
    """One damaged copy: what was done, said so that a failing case can be made again from its seed."""

    seed: int
    kind: str
    words: str
    content: bytes

    @property
    def cut_short(self) -> bool:
        return self.kind == "cut short"


def damage(original: bytes, seed: int) -> Damage:
    """The damaged copy that belongs to a seed; every kind comes round in turn."""
    rng = np.random.default_rng(seed)
    kind = KINDS[seed % len(KINDS)]
    size = len(original)
    data = np.frombuffer(original, np.uint8).copy()
    length = int(min(size // 4, 2 ** rng.integers(0, 16)))
    at = int(rng.integers(0, size - length)) if size > length else 0
    words = f"{kind} of {length} bytes at {at}"
    match kind:
        case "cut short":
            keep = int(rng.integers(1, size))
            return Damage(seed, kind, f"cut short to {keep} of {size} bytes", original[:keep])
        case "flip" | "flip header":
            spread = size if kind == "flip" else min(size, 4096)
            places = rng.integers(0, spread, int(rng.integers(1, 24)))
            data[places] ^= rng.integers(1, 256, len(places), dtype=np.uint8)
            words = f"{kind} of {len(places)} bytes"
        case "zero":
            data[at : at + length] = 0
        case "repeat":
            data = np.concatenate([data[: at + length], data[at:]])
        case "remove":
            data = np.delete(data, np.s_[at : at + length])
        case "swap":
            other = int(rng.integers(0, size - length))
            data[at : at + length], data[other : other + length] = (
                data[other : other + length].copy(),
                data[at : at + length].copy(),
            )
        case "noise":
            data[at : at + length] = rng.integers(0, 256, length, dtype=np.uint8)
    return Damage(seed, kind, words, data.tobytes())
