"""Heads through real files: rendered by FFmpeg, decoded by the one pass, compared with FFmpeg's bars and its astats.

Bars are FFmpeg's own sources (SMPTE RP 219, EBU); level and crossings of the tone are measured by its filter astats;
the offset of the blip is where it was put.
"""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain
from pathlib import Path

import numpy as np
import pytest

from qc.figures.tone import tones
from qc.measurement.record import PictureSeries, SoundSeries
from qc.programme.leader import Kind, Leader, read_leader
from qc.timing.spans import Span
from tests.kit.heads import (
    BLACK,
    NTSC,
    PAL,
    RASTER,
    SLATE,
    WHITE,
    Picture,
    clock,
    countdown,
    film,
    head_file,
    lavfi,
    measured,
    picture_series,
    put_tone,
    silence,
    still,
)
from tests.kit.render import program, run, wave_file


@dataclass(frozen=True)
class Case:
    """One rendered head: 60 frames of bars and tone, 50 of slate, 30 of countdown or clock, 30 of black with a blip
    six frames before 20 frames of programme; ``late`` is the sound of the blip in ms."""

    coding: str
    bars: str
    pattern: str
    rate: Fraction
    tone_dbfs: float
    late: float
    hand: bool = False


CASES = (
    Case("MPEG-2 4:2:2", "smptehdbars", "SMPTE RP 219", NTSC, -20.0, 0.0),
    Case("H.264", "pal75bars", "EBU 100/0/75/0", PAL, -18.0, 20.0, hand=True),
    Case("H.264 10 bit", "pal100bars", "EBU 100/0/100/0", PAL, -18.0, -40.0),
    Case("ProRes", "smptehdbars", "SMPTE RP 219", NTSC, -20.0, 20.0, hand=True),
)
HEAD = 170


@dataclass(frozen=True)
class Made:
    case: Case
    path: Path
    picture: PictureSeries
    sound: SoundSeries

    def read(self, span: Span) -> Leader:
        rate = self.case.rate
        found = read_leader(self.picture, self.sound, [0, 1], span, rate, pixel_percent=10, picture_percent=98)
        assert found is not None
        return found


@pytest.fixture(scope="module", params=CASES, ids=lambda case: f"{case.coding}, {case.bars}")
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Made:
    case: Case = request.param
    rate = case.rate
    samples = silence(HEAD + 20, rate)
    put_tone(samples, 0, float(60 / rate), case.tone_dbfs)
    put_tone(samples, float((HEAD - 6) / rate) + case.late / 1000, float(1 / rate), case.tone_dbfs)
    counting = clock(30, rate, 60) if case.hand else countdown(30, 3)
    pictures = chain(
        *(still(lavfi(case.bars), 60), still(SLATE, 50), counting),
        *(still(BLACK, 24), still(WHITE, 1), still(BLACK, 5), film(20)),
    )
    folder = tmp_path_factory.mktemp("heads")
    path = head_file(folder / f"head-{CASES.index(case)}", pictures, samples, rate, case.coding)
    return Made(case, path, *measured(path))


def astats(path: Path, seconds: float, stream: int = 0) -> dict[str, float]:
    """Figures of FFmpeg's filter astats over the first seconds of a sound stream."""
    words = run(["-i", str(path), "-map", f"0:a:{stream}", "-af", f"atrim=0:{seconds},astats", "-f", "null", "-"])
    return {
        name: float(value)
        for name, value in re.findall(r"\] (RMS level dB|Peak level dB|Zero crossings): (-?[\d.]+)", words)
    }


def test_every_element_to_the_frame(made: Made) -> None:
    """Bars and tone, slate, countdown or clock, black: what was rendered, whatever the codec made of it."""
    found = made.read(Span(0, HEAD))
    assert [(element.name, element.span) for element in found.elements] == [
        ("bars and tone", Span(0, 60)),
        ("slate", Span(60, 110)),
        ("clock or countdown", Span(110, 140)),
        ("black", Span(140, 170)),
    ]
    assert found.flashes == (Span(164, 165),) and found.damaged == 0


def test_bars_keep_their_name_through_coding(made: Made) -> None:
    """Pattern as FFmpeg names it, levels within the tolerance of coding."""
    bars = made.read(Span(0, HEAD)).elements[0].bars
    assert bars is not None and bars.exact and bars.name == made.case.pattern and bars.off <= 4


def test_tone_agrees_with_astats(made: Made) -> None:
    """RMS level within 0.02 dB, frequency from astats' zero crossings within a crossing, on both channels."""
    seconds = 1.9
    for tone in made.read(Span(0, HEAD)).tones:
        other = astats(made.path, seconds, tone.channel)
        assert tone.rms_dbfs == pytest.approx(other["RMS level dB"], abs=0.02)
        assert tone.peak_dbfs == pytest.approx(other["Peak level dB"], abs=0.02)
        assert tone.hertz == pytest.approx(other["Zero crossings"] / 2 / seconds, abs=0.6)
        assert tone.peak_dbfs == pytest.approx(made.case.tone_dbfs, abs=0.02)
    assert {tone.channel for tone in made.read(Span(0, HEAD)).tones} == {0, 1}


def test_blip_offset_is_what_was_planted(made: Made) -> None:
    """0, +20 and -40 ms of sound against picture, read to a millisecond through the file."""
    found = made.read(Span(0, HEAD))
    (flash,), (burst,) = found.flashes, found.bursts
    offset = 1000 * (burst.onset - float(flash.first / made.case.rate))
    assert offset == pytest.approx(made.case.late, abs=burst.resolution_ms)
    assert burst.resolution_ms == 1.0
    assert burst.seconds == pytest.approx(float(1 / made.case.rate), abs=0.0015)


def test_the_programme_shows_nothing_of_it(made: Made) -> None:
    """Twenty frames of film behind the head."""
    assert [element.kind for element in made.read(Span(HEAD, HEAD + 20)).elements] == [Kind.MOVING]


@pytest.mark.parametrize("rate", [44100, 48000])
@pytest.mark.parametrize("encoding", ["pcm_s24le", "pcm_s16le"])
def test_tone_at_other_rates_agrees_with_astats(rate: int, encoding: str, tmp_path: Path) -> None:
    """-20 dBFS at 1 kHz as a WAV of 44.1 and 48 kHz, 16 and 24 bits."""
    sine = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(2 * rate) / rate)
    path = wave_file(tmp_path / "tone.wav", np.stack([sine, 0.5 * sine], axis=1), rate, encoding)
    from qc.measurement.one_pass import measure
    from qc.media.probe import probe

    sound = measure(path, probe(path)).sound
    assert sound is not None
    left, right = tones(sound, [0, 1], Span(0, 200))
    assert (left.peak_dbfs, left.rms_dbfs) == (pytest.approx(-20, abs=0.02), pytest.approx(-23.01, abs=0.02))
    assert right.peak_dbfs == pytest.approx(-26.02, abs=0.02)
    assert left.hertz == pytest.approx(1000, abs=0.6)
    overall = astats(path, 2)
    assert left.rms_dbfs == pytest.approx(10 * np.log10(10 ** (overall["RMS level dB"] / 10) * 2 / 1.25), abs=0.05)


def real(path: Path, first: float, frames: int) -> list[Picture]:
    """Frames of the open film, made small by FFmpeg."""
    width, height = RASTER
    command = [program(), "-v", "error", "-ss", str(first), "-i", str(path), "-an", "-vf", f"scale={width}:{height}"]
    command += ["-frames:v", str(frames), "-pix_fmt", "yuv422p", "-f", "rawvideo", "-"]
    raw = subprocess.run(command, capture_output=True, check=True).stdout
    codes = np.frombuffer(raw, np.uint8).reshape(-1, 2 * width * height)
    split = width * height, width * height * 3 // 2
    return [
        (one[: split[0]].reshape(height, width), *(part.reshape(height, -1) for part in np.split(one[split[0] :], 2)))
        for one in codes
    ]


@pytest.mark.parametrize("first", [60, 140, 250, 400])
def test_a_real_film_is_a_moving_picture(first: int, film: Path) -> None:
    """Six seconds of the open film, four times: no bars, no clock, no countdown."""
    series = picture_series(real(film, first, 180), Fraction(30))
    found = read_leader(series, None, [], Span(0, series.frames), Fraction(30), pixel_percent=10, picture_percent=98)
    assert found is not None
    assert {element.kind for element in found.elements} <= {Kind.MOVING, Kind.STILL}
