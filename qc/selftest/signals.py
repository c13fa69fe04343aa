"""The published test signals: what each is, what it must read, how far off it may be.

Sources: EBU Tech 3341 v4 (2023), Table 1, signals 1-6 and 9-23; EBU Tech 3342 v4 (2023), Table 1, signals 1-4;
ITU-R BS.1770-5, Annex 1 (calibration). Signals 7 and 8 of Tech 3341 and 5 and 6 of Tech 3342 are recordings that
may not be passed on, so they are not here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from qc.selftest.tones import burst, steady, stepped, stereo

TECH_3341, TECH_3342, BS_1770 = "EBU Tech 3341", "EBU Tech 3342", "ITU-R BS.1770-5"


@dataclass(frozen=True)
class Signal:
    """One row of a published table.

    figures   what is read: "I", "M" and "S" (highest), "M steady" and "S steady" (every value once the
              window is full), "M in turn" and "S in turn" (highest of each segment), "LRA", "TP"
    expected  one value, or one per segment
    under, over  how far a reading may lie below and above
    make      rate -> samples of each separate file, (samples, channels)
    segment   seconds of one segment for "in turn", else None
    """

    source: str
    number: str
    what: str
    figures: tuple[str, ...]
    expected: tuple[float, ...]
    under: float
    over: float
    make: Callable[[int], Iterator[np.ndarray]]
    segment: float | None = None


def _steps(*parts: tuple[float, float | None]) -> Callable[[int], Iterator[np.ndarray]]:
    return lambda rate: iter([stereo(stepped(parts, rate))])


def _five_channels(rate: int) -> Iterator[np.ndarray]:
    tones = {level: stepped([(20, level)], rate) for level in (-28.0, -24.0, -30.0)}
    yield np.stack([tones[level] for level in (-28.0, -28.0, -24.0, -30.0, -30.0)], axis=1)


def _separate(lead: float, length: float) -> Callable[[int], Iterator[np.ndarray]]:
    """Twenty files: i times ``lead`` of silence, the tone, one second of silence."""
    return lambda rate: (stereo(stepped([(i * lead, None), (length, -23.0), (1, None)], rate)) for i in range(20))


def _in_turn(lead: float, length: float) -> Callable[[int], Iterator[np.ndarray]]:
    """One file of twenty segments, each 1 dB louder and its tone ``lead`` later than the last."""
    parts: list[tuple[float, float | None]] = []
    for i in range(20):
        parts += [(i * lead, None), (length, -38.0 + i), (length - i * lead, None)]
    return _steps(*parts)


def _peak(share: float, amplitude: float, degrees: float) -> Callable[[int], Iterator[np.ndarray]]:
    return lambda rate: iter([stereo(steady(share, amplitude, degrees, rate))])


def _burst(offset: int) -> Callable[[int], Iterator[np.ndarray]]:
    return lambda rate: iter([stereo(burst(offset, rate))])


def _calibration(rate: int) -> Iterator[np.ndarray]:
    yield stepped([(20, 0.0)], rate, hertz=997.0)[:, None]


_RISING = tuple(-38.0 + i for i in range(20))


def _loudness(
    number: int,
    what: str,
    figures: tuple[str, ...],
    expected: tuple[float, ...],
    make: Callable[[int], Iterator[np.ndarray]],
    segment: float | None = None,
) -> Signal:
    return Signal(TECH_3341, str(number), what, figures, expected, 0.1, 0.1, make, segment)


def _true_peak(number: int, what: str, expected: float, make: Callable[[int], Iterator[np.ndarray]]) -> Signal:
    return Signal(TECH_3341, str(number), what, ("TP",), (expected,), 0.4, 0.2, make)


def _range(number: int, expected: float, *levels: float) -> Signal:
    what = " ".join(f"{level:.0f}" for level in levels) + " dBFS"
    make = _steps(*((20, level) for level in levels))
    return Signal(TECH_3342, str(number), what, ("LRA",), (expected,), 1.0, 1.0, make)


SIGNALS = (
    # Within 0.01 at 48 kHz; filters derived for other rates, high-pass numerator as printed, move it by up to 0.02.
    Signal(BS_1770, "cal.", "997 Hz, 0 dBFS, mono", ("I",), (-3.01,), 0.03, 0.03, _calibration),
    _loudness(1, "-23 dBFS, 20 s", ("M", "S", "I"), (-23.0,), _steps((20, -23))),
    _loudness(2, "-33 dBFS, 20 s", ("M", "S", "I"), (-33.0,), _steps((20, -33))),
    _loudness(3, "relative gate", ("I",), (-23.0,), _steps((10, -36), (60, -23), (10, -36))),
    _loudness(4, "both gates", ("I",), (-23.0,), _steps((10, -72), (10, -36), (60, -23), (10, -36), (10, -72))),
    _loudness(5, "-26, -20, -26 dBFS", ("I",), (-23.0,), _steps((20, -26), (20.1, -20), (20, -26))),
    _loudness(6, "five channels", ("I",), (-23.0,), _five_channels),
    _loudness(9, "short-term, steady", ("S steady",), (-23.0,), _steps(*[(1.34, -20), (1.66, -30)] * 5)),
    _loudness(10, "20 files of 3 s", ("S",), (-23.0,), _separate(0.15, 3.0)),
    _loudness(11, "20 tones of 3 s", ("S in turn",), _RISING, _in_turn(0.15, 3.0), 6.0),
    _loudness(12, "momentary, steady", ("M steady",), (-23.0,), _steps(*[(0.18, -20), (0.22, -30)] * 25)),
    _loudness(13, "20 files of 400 ms", ("M",), (-23.0,), _separate(0.02, 0.4)),
    _loudness(14, "20 tones of 400 ms", ("M in turn",), _RISING, _in_turn(0.02, 0.4), 0.8),
    _true_peak(15, "fs/4, 0.50, 0 deg", -6.0, _peak(1 / 4, 0.5, 0.0)),
    _true_peak(16, "fs/4, 0.50, 45 deg", -6.0, _peak(1 / 4, 0.5, 45.0)),
    _true_peak(17, "fs/6, 0.50, 60 deg", -6.0, _peak(1 / 6, 0.5, 60.0)),
    _true_peak(18, "fs/8, 0.50, 67.5 deg", -6.0, _peak(1 / 8, 0.5, 67.5)),
    _true_peak(19, "fs/4, 1.41, 45 deg", 3.0, _peak(1 / 4, 1.41, 45.0)),
    _true_peak(20, "fs/4 in fs/6, offset 0", 0.0, _burst(0)),
    _true_peak(21, "fs/4 in fs/6, offset 1", 0.0, _burst(1)),
    _true_peak(22, "fs/4 in fs/6, offset 2", 0.0, _burst(2)),
    _true_peak(23, "fs/4 in fs/6, offset 3", 0.0, _burst(3)),
    _range(1, 10.0, -20, -30),
    _range(2, 5.0, -20, -15),
    _range(3, 20.0, -40, -20),
    _range(4, 15.0, -50, -35, -20, -35, -50),
)
