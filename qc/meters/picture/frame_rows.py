"""One row of small numbers a frame, kept compactly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

_CHUNK = 2048


class FrameRows:
    """Numbers by name for each frame, stored as float16: three digits. A name that is not set is NaN.

    A row is an ordinary dict that may be filled until the next but one is begun, so that a meter can still write
    to the frame before.
    """

    def __init__(self, names: Sequence[str]) -> None:
        self._names = tuple(names)
        self._chunks: list[np.ndarray] = []
        self._frames = 0  # stored
        self._open: list[dict[str, float]] = []

    def next(self) -> dict[str, float]:
        """The row of the frame that comes."""
        self._open.append({})
        if len(self._open) > 2:
            self._store(self._open.pop(0))
        return self._open[-1]

    @property
    def before(self) -> dict[str, float] | None:
        """The row of the frame before the last; None at the first."""
        return self._open[-2] if len(self._open) > 1 else None

    def finish(self, meter: str) -> dict[str, np.ndarray]:
        """(frames,) float16 of each name, called "<meter>.<name>"."""
        while self._open:
            self._store(self._open.pop(0))
        whole = np.concatenate(self._chunks) if self._chunks else np.zeros((0, len(self._names)), np.float16)
        return {
            f"{meter}.{name}": np.ascontiguousarray(whole[: self._frames, column])
            for column, name in enumerate(self._names)
        }

    def _store(self, row: dict[str, float]) -> None:
        at = self._frames % _CHUNK
        if at == 0:
            self._chunks.append(np.full((_CHUNK, len(self._names)), np.nan, np.float16))
        self._chunks[-1][at] = [row.get(name, np.nan) for name in self._names]
        self._frames += 1
