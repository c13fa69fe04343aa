"""Sample rates the sound meters accept, and the grid they work on."""

from __future__ import annotations

from qc.errors import UserError

LOWEST, HIGHEST = 32_000, 192_000

#: Rows of 10 ms that the meters take at a time. Fixed, counted from the stream's first sample, so
#: that no figure depends on how a decoder cuts the stream.
STRETCH_ROWS = 50

#: Samples beyond each end of a stretch that an interpolated value at its edge needs
#: (12 taps a phase: 5 before, the sample itself, 6 after).
BEFORE, AFTER = 5, 6


class UnsupportedAudio(UserError):
    """Sound at a rate that the meters are not proven for."""


def samples_per_row(rate: int) -> int:
    """Samples in 10 ms. Raises UnsupportedAudio outside 32 to 192 kHz or if they are not whole."""
    if not LOWEST <= rate <= HIGHEST:
        raise UnsupportedAudio(
            f"sound at {rate} Hz cannot be measured",
            remedy=f"deliver {LOWEST} to {HIGHEST} Hz, usually 48000",
        )
    if rate % 100:
        raise UnsupportedAudio(
            f"sound at {rate} Hz cannot be measured: 10 ms is not a whole number of samples",
            remedy="deliver 48000 Hz",
        )
    return rate // 100
