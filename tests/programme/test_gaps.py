"""Candidate gaps from the picture and sound series, and from a rendered file."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from qc.measurement.child import measure_file
from qc.measurement.record import LumaBins, PictureSeries, SoundSeries
from qc.programme.find import find_structure
from qc.programme.gaps import find_gaps, silent_frames, without_noise
from qc.programme.structure import ExpectedClock, Gap
from qc.timing.spans import Span
from tests.kit.render import NTSC, episode

RULE = {"pixel_percent": 10.0, "picture_percent": 98.0, "silence_below_dbfs": -60.0}


def picture_of(black: list[Span], frames: int) -> PictureSeries:
    """Frames of 100 pixels, all at reference black (16) inside the spans and at mid grey elsewhere, 8 bit."""
    edges = np.arange(257, dtype=np.int32)
    luma = np.zeros((frames, 256), dtype=np.uint32)
    code = np.full(frames, 126)
    for span in black:
        code[span.first : span.end] = 16
    luma[np.arange(frames), code] = 100
    return PictureSeries(
        luma=luma,
        bins=LumaBins(8, edges, False),
        counted=np.full(frames, 100, dtype=np.uint32),
        darkest=code.astype(np.uint16),
        brightest=code.astype(np.uint16),
        time=np.arange(frames, dtype=np.int64) * 1001,
        time_base=Fraction(1, 30000),
    )


def sound_of(silent: list[Span], rows: int, channels: int = 2) -> SoundSeries:
    """-20 dBFS everywhere except in the spans (rows of 10 ms), which are digital silence."""
    plain = np.full((rows, channels), 0.01, dtype=np.float32)
    for span in silent:
        plain[span.first : span.end] = 0
    runs = np.zeros((rows, channels), dtype=np.uint16)
    extent = np.array([[0, rows]] * channels, dtype=np.int64)
    each = np.full(channels, rows * 480, dtype=np.int64)
    bits = np.full(channels, 24, dtype=np.int16)
    return SoundSeries(plain, plain, plain, plain, runs, extent, each, each * 0, bits)


def test_blacks_with_their_silence() -> None:
    """A silent break, a sounding fade, a black that is half silent: 25 pictures a second are 4 rows each."""
    picture = picture_of([Span(100, 150), Span(200, 210), Span(300, 320)], 400)
    sound = sound_of([Span(400, 600), Span(1200, 1240)], 1600)
    gaps = find_gaps(picture, sound, [0, 1], Fraction(25), **RULE)
    assert gaps == [Gap(Span(100, 150), 50), Gap(Span(200, 210), 0), Gap(Span(300, 320), 10)]


def test_one_sounding_channel_is_enough() -> None:
    """Silence is silence of all programme channels; a channel that is not of the programme does not matter."""
    picture, sound = picture_of([Span(100, 150)], 400), sound_of([Span(400, 600)], 1600)
    sound.plain[450:500, 1] = 0.01
    assert find_gaps(picture, sound, [0, 1], Fraction(25), **RULE)[0].silent_frames < 50
    assert find_gaps(picture, sound, [0], Fraction(25), **RULE)[0].silent_frames == 50


def test_without_sound_every_black_is_silent() -> None:
    """No sound stream or no programme channel: nothing sounds."""
    picture = picture_of([Span(10, 20)], 40)
    assert find_gaps(picture, None, [], Fraction(25), **RULE) == [Gap(Span(10, 20), 10)]
    assert find_gaps(picture, sound_of([], 160), [], Fraction(25), **RULE) == [Gap(Span(10, 20), 10)]


def test_sound_at_the_edges_belongs_to_the_act() -> None:
    """At 29.97 a frame's edge cuts a row in two: the row shared with the act does not make the break sound."""
    gap = Span(101, 131)
    first, end = int(101 * 100 / NTSC), -int(-131 * 100 // NTSC)
    assert silent_frames([gap], [Span(first + 1, end - 1)], 1_000, NTSC) == [30]
    assert silent_frames([gap], [Span(first + 5, end - 1)], 1_000, NTSC)[0] in (28, 29)


def test_sound_that_ends_early_is_silent_from_there() -> None:
    """The series is shorter than the picture; nothing fails."""
    assert silent_frames([Span(10, 20), Span(90, 100)], [], 60, Fraction(25)) == [5, 10]


@pytest.mark.parametrize("rate", [Fraction(24000, 1001), Fraction(25), NTSC, Fraction(50), Fraction(120), Fraction(1)])
def test_full_silence_and_full_sound_at_any_rate(rate: Fraction) -> None:
    """All frames silent or none, also where a frame is shorter than a row."""
    rows = int(60 * 100 / rate) + 101
    assert silent_frames([Span(5, 55)], [Span(0, rows)], rows, rate) == [50]
    assert silent_frames([Span(5, 55)], [], rows, rate) == [0]


def test_noise_inside_a_break_does_not_part_it() -> None:
    """Up to two frames that miss the rule inside long black are bridged; short blacks near one another are not."""
    assert without_noise([Span(0, 150), Span(152, 300)]) == [Span(0, 300)]
    assert without_noise([Span(0, 150), Span(153, 300)]) == [Span(0, 150), Span(153, 300)]
    assert without_noise([Span(0, 1), Span(3, 300)]) == [Span(0, 1), Span(3, 300)]
    assert without_noise([]) == []


def test_acts_of_a_rendered_file(media_dir: Path) -> None:
    """Decoded from disk: acts, breaks, head and tail to the frame, among a fade and a stray black with sound."""
    file = episode(
        media_dir / "programme-acts.mov",
        acts=(90, 80, 100),
        break_frames=30,
        lead=15,
        tail=20,
        raster=(256, 144),
        extra_blacks=((40, 6), (150, 1), (260, 20)),
    )
    measurement = measure_file(file.path, store=None)
    assert measurement.picture is not None and measurement.rate is not None
    gaps = find_gaps(measurement.picture, measurement.sound, [0, 1], measurement.rate, **RULE)
    expected = ExpectedClock(acts=3, break_frames=(30, 30))
    structure = find_structure(measurement.picture.frames, gaps, expected, False)
    assert tuple((act.span.first, act.span.end) for act in structure.acts) == file.acts
    assert tuple((item.span.first, item.span.end) for item in structure.breaks) == file.breaks
    assert [item.silent_frames for item in structure.breaks] == [30, 30]
    assert (structure.head.frames, structure.tail.frames) == (15, 20)
    assert [(item.span.first, item.span.frames) for item in structure.extra_gaps] == [(40, 6), (150, 1), (260, 20)]
    assert structure.unlike == ()
