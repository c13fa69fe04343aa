"""The published test signals through real files: written by FFmpeg, read by the one pass, judged by the table.

EBU Tech 3341 v4 Table 1 and Tech 3342 Table 1. One file per form holds the signals one after the other with a
second of silence between; each is read from its own rows, as an act would be.
"""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from qc.measurement.child import measure_file
from qc.measurement.record import SoundSeries
from qc.selftest.run import read
from qc.selftest.signals import SIGNALS, TECH_3341, TECH_3342, Signal
from tests.kit.render import run

#: Of the files of signals 10 and 13 these are taken; the others differ by where they start alone.
SEPARATE = (0, 7, 19)
CHOSEN = [(TECH_3341, number) for number in ("1", "9", "12", "13", *map(str, range(15, 24)))] + [(TECH_3342, "2")]

#: Name, rate, sample coding, and what FFmpeg needs beside the sound.
FORMS = [
    *[(f"wav-24-{rate}", ".wav", rate, "pcm_s24le") for rate in (44_100, 48_000, 96_000)],
    *[(f"wav-float-{rate}", ".wav", rate, "pcm_f32le") for rate in (44_100, 48_000, 96_000)],
    *[(f"mov-24-{rate}", ".mov", rate, "pcm_s24le") for rate in (44_100, 48_000, 96_000)],
    ("mov-float-48000", ".mov", 48_000, "pcm_f32le"),
    ("mxf-24-48000", ".mxf", 48_000, "pcm_s24le"),
]


def _write(samples: np.ndarray, rate: int, codec: str, path: Path, *, picture: bool) -> Path:
    raw = path.with_suffix(".raw")
    samples.astype("<f4").tofile(raw)
    sound = ["-f", "f32le", "-ar", str(rate), "-ac", str(samples.shape[1]), "-i", str(raw)]
    black = ["-f", "lavfi", "-t", str(len(samples) / rate), "-i", "color=black:s=320x180:r=25"] if picture else []
    coding = ["-c:v", "mpeg2video", "-pix_fmt", "yuv422p", "-b:v", "1M"] if picture else []
    run([*black, *sound, *coding, "-c:a", codec, str(path)])
    raw.unlink()
    return path


def _cut(sound: SoundSeries, first: int, end: int) -> SoundSeries:
    names = ("energy", "plain", "sample_peak", "true_peak", "full_scale_runs")
    return dataclasses.replace(sound, **{name: getattr(sound, name)[first:end] for name in names})


def _files(signal: Signal, rate: int) -> list[np.ndarray]:
    files = list(signal.make(rate))
    return [files[place] for place in SEPARATE] if len(files) > 1 else files


@pytest.mark.parametrize(("name", "ending", "rate", "codec"), FORMS, ids=[form[0] for form in FORMS])
def test_signals_read_from_a_file(name: str, ending: str, rate: int, codec: str, tmp_path: Path) -> None:
    """Every chosen signal lies within its published tolerance, in WAV, MOV and MXF, 24-bit and float."""
    step = rate // 100
    parts: list[np.ndarray] = []
    places: list[tuple[Signal, list[tuple[int, int]]]] = []
    at = 0
    for signal in (signal for signal in SIGNALS if (signal.source, signal.number) in CHOSEN):
        rows = []
        for samples in _files(signal, rate):
            count = -(-len(samples) // step)
            parts += [samples, np.zeros(((count + 100) * step - len(samples), 2))]
            rows.append((at, at + count))
            at += count + 100
        places.append((signal, rows))
    path = _write(np.concatenate(parts), rate, codec, tmp_path / f"{name}{ending}", picture=ending == ".mxf")

    measurement = measure_file(path, store=None, fresh=True)
    assert measurement.complete, measurement.incomplete_because
    assert measurement.sound is not None
    assert measurement.facts.sounds[0].rate == rate
    assert len(places) == len(CHOSEN)
    for signal, rows in places:
        for row in read(signal, [_cut(measurement.sound, first, end) for first, end in rows]):
            assert row.ok, (name, row)


REST = [signal for signal in SIGNALS if (signal.source, signal.number) not in CHOSEN]


@pytest.mark.parametrize("signal", REST, ids=lambda signal: f"{signal.source} {signal.number}")
def test_the_other_signals_as_files_of_their_own(signal: Signal, tmp_path: Path) -> None:
    """The signals left out above, each in the file the table describes, 24-bit WAV at 48 kHz, one to five channels."""
    sounds = []
    for place, samples in enumerate(_files(signal, 48_000)):
        path = _write(samples, 48_000, "pcm_s24le", tmp_path / f"{place}.wav", picture=False)
        sound = measure_file(path, store=None, fresh=True).sound
        assert sound is not None
        sounds.append(sound)
    for row in read(signal, sounds):
        assert row.ok, row
