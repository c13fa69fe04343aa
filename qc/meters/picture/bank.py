"""All picture meters of one file: each frame is reduced once and handed to every one of them.

A meter is a class with ``feed(planes)``, ``skip()`` for a picture that cannot be measured (damaged) and
``finish() -> dict[str, np.ndarray]``. The names of its arrays start with its own name and a dot; they are kept
as they are in the measurement (``PictureSeries.extra``) and read by qc.figures. It stores numbers, not opinions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

import numpy as np

from qc.meters.picture.planes import Planes

#: Rows and columns that a picture must have; one that is smaller is skipped.
SMALLEST = 4


@dataclass(frozen=True)
class PictureKind:
    """What the headers say of the picture, for meters that depend on it.

    rate      frames per second; None if it is not declared or varies
    matrix    as tagged ("bt709", "bt2020nc", "smpte170m" ...) or None
    transfer  as tagged ("bt709", "arib-std-b67" for HLG, "smpte2084" for PQ ...) or None
    """

    width: int
    height: int
    rate: Fraction | None
    matrix: str | None
    transfer: str | None


class PictureMeter(Protocol):
    def feed(self, planes: Planes) -> None: ...
    def skip(self) -> None: ...
    def finish(self) -> dict[str, np.ndarray]: ...


def picture_meters(kind: PictureKind) -> tuple[PictureMeter, ...]:
    """Every meter of this package but the luma histogram, which stands by itself."""
    from qc.meters.picture.active import ActivePictureMeter  # the meters know the kind, so they come after it
    from qc.meters.picture.cards import CardsMeter
    from qc.meters.picture.clipping import ClippingMeter
    from qc.meters.picture.fields import FieldOrderMeter
    from qc.meters.picture.flashing import FlashingMeter
    from qc.meters.picture.levels import LevelsMeter
    from qc.meters.picture.look import LookMeter
    from qc.meters.picture.motion import MotionMeter
    from qc.meters.picture.spike import SpikeMeter
    from qc.meters.picture.stripes import StripesMeter
    from qc.meters.picture.stuck import StuckPixelMeter

    return (
        CardsMeter(kind),
        FieldOrderMeter(kind),
        ActivePictureMeter(kind),
        StuckPixelMeter(kind),
        MotionMeter(),
        SpikeMeter(),
        LookMeter(),
        FlashingMeter(kind),
        StripesMeter(kind),
        LevelsMeter(kind),
        ClippingMeter(kind),
    )


class PictureBank:
    """Feeds all meters; a frame that is damaged is skipped by all of them."""

    def __init__(self, meters: Sequence[PictureMeter]) -> None:
        self._meters = tuple(meters)

    def feed(self, frames: Sequence[Planes | None]) -> None:
        """The next frames, None for one that is damaged. One meter after the other takes them all: what a meter needs
        stays in the processor's cache, which is a tenth cheaper."""
        for meter in self._meters:
            for planes in frames:
                if planes is None:
                    meter.skip()
                else:
                    meter.feed(planes)

    def finish(self) -> dict[str, np.ndarray]:
        """Arrays of all meters by name. Raises ValueError if two meters use one name: a fault of ours."""
        arrays: dict[str, np.ndarray] = {}
        for meter in self._meters:
            for name, array in meter.finish().items():
                if name in arrays:
                    raise ValueError(f"two picture meters call a series {name}")
                arrays[name] = array
        return arrays
