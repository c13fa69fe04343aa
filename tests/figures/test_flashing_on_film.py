"""Real pictures: the busiest seconds of the open film are no flashing, and flashes laid over them are found."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from qc.figures.flashing import FlashRule, detail_events, flash_events, long_sequences, readings
from tests.kit.flashes import measured

pytestmark = pytest.mark.realmedia

RATE, RULE = Fraction(24), FlashRule()
#: Seconds of the film with the most changes of luminance: a white flash behind a face (five changes), a swing
#: through leaves, falling leaves, a chase.
BUSY = (186.0, 195.0, 420.0, 442.0, 453.0)


def pictures(film: Path, at: float, frames: int) -> Iterator[np.ndarray]:
    """Luma of every second row and column."""
    import av

    from qc.media.luma_view import luma_view

    with av.open(str(film)) as container:
        stream = container.streams.video[0]
        container.seek(int(at / stream.time_base), stream=stream)
        for number, frame in enumerate(container.decode(stream)):
            if number >= frames:
                return
            yield luma_view(frame).codes[::2, ::2].copy()


@pytest.mark.parametrize("at", BUSY)
def test_the_busiest_seconds_of_the_film_are_no_flashing(film, at):
    """The film is broadcast as it is; whatever moves in it is no flash of more than a quarter of the screen, seven
    changes within a second."""
    series = measured(pictures(film, at, 120), RATE, bits=8)
    for reading in readings(series):
        assert not flash_events(series, reading, RATE, RULE)
        assert not detail_events(series, reading, RATE, RULE)
        assert not long_sequences(series, reading, RATE, RULE)


@pytest.mark.parametrize("period", [5, 6])
@pytest.mark.parametrize("way", ["one frame", "dying away", "swinging"])
def test_a_strobe_over_moving_pictures_is_found(film, way, period):
    """Light added to everything four or five times a second, with and without a tail, in linear light."""
    for at in (60.0, 442.0):
        made = []
        for number, luma in enumerate(pictures(film, at, 48)):
            phase = number % period
            strength = {
                "one frame": float(phase == 0),
                "dying away": 0.5**phase,
                "swinging": 0.5 - 0.5 * np.cos(2 * np.pi * phase / period),
            }[way]
            linear = np.clip((luma.astype(float) - 16) / 219, 0, None) ** 2.4 + 0.6 * strength
            made.append(np.rint(16 + 219 * np.clip(linear, 0, 1.05) ** (1 / 2.4)).astype(np.uint8))
        assert flash_events(measured(made, RATE, bits=8), "bt1702", RATE, RULE)
