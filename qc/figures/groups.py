"""Which channels make one programme sound, and with what weights.

Source: ITU-R BS.1770-5, Annex 1 (L R C 1.0; Ls Rs 1.41; LFE left out) and Annex 3, Table 4.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class ChannelGroup:
    """Channels (index in the flat list, from 0) with their BS.1770 weights, in the same order.

    An LFE has weight 0: out of loudness, still in the peaks.
    """

    name: str
    channels: tuple[int, ...]
    weights: tuple[float, ...]
