"""Pictures or a file through the meters of motion, spikes and look, and every figure that is made of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from pathlib import Path

import av
import numpy as np

from qc.figures.blends import blended
from qc.figures.cadence import Cadence, Signs, broken_at, repeat_cadences, signs
from qc.figures.frame_series import FrameSeries
from qc.figures.freezes import StillRun, still_runs
from qc.figures.hits import Hit, digital_hits
from qc.figures.repeats import Repeat, dropped_frames, repeated_frames
from qc.figures.solids import SolidRun, solid_runs
from qc.figures.spoiled import Spoiled, spoiled_frames
from qc.figures.stray_fields import stray_pictures
from qc.figures.strays import Stray
from qc.media.picture_view import picture_view
from qc.meters.picture.look import LookMeter
from qc.meters.picture.motion import MotionMeter
from qc.meters.picture.planes import Planes
from qc.meters.picture.spike import SpikeMeter
from tests.kit.render import program

#: Luma codes of 8 bits up to which a pixel is black, and share of a black picture: FFmpeg's blackdetect by default.
BLACK_CODE, BLACK_SHARE = 37, 0.98


@dataclass(frozen=True)
class Frames:
    """All figures on single frames; ``black`` (frames,) bool."""

    series: FrameSeries
    black: np.ndarray
    rate: Fraction

    @cached_property
    def signs(self) -> Signs:
        return signs(self.series)

    @cached_property
    def repeating(self) -> list[Cadence]:
        return repeat_cadences(self.signs)

    @property
    def cadences(self) -> list[Cadence]:
        """Of three seconds and more."""
        return [one for one in self.repeating if one.span.frames >= 3 * self.rate]

    @property
    def blends(self) -> list[Cadence]:
        return blended(self.series, self.rate, self.repeating)

    @property
    def broken(self) -> list[int]:
        return broken_at(self.repeating)

    @property
    def repeats(self) -> list[Repeat]:
        return repeated_frames(self.series, self.signs, self.repeating)

    @property
    def drops(self) -> list[int]:
        return dropped_frames(self.series, self.repeating)

    @property
    def hits(self) -> list[Hit]:
        """As the judge tells them: what is black is judged as that."""
        return [hit for hit in digital_hits(self.series) if not self.black[hit.frame]]

    @property
    def spoiled(self) -> list[Spoiled]:
        return spoiled_frames(self.series)

    @property
    def solids(self) -> list[SolidRun]:
        return [run for run in solid_runs(self.series, 95.0, self.black) if run.hard]

    @property
    def strays(self) -> list[Stray]:
        """As the judge tells them: damage and pictures of one colour have checks of their own."""
        own = {hit.frame for hit in self.hits} | {spoiled.frame for spoiled in self.spoiled}
        own |= {at for run in self.solids for at in range(run.span.first, run.span.end)}
        strays = stray_pictures(self.series, 4, self.black)
        return [one for one in strays if not own & set(range(one.span.first, one.span.end))]

    def stills(self, at_least: int) -> list[StillRun]:
        return still_runs(self.series, self.black, at_least)

    def alarms(self) -> dict[str, list[int]]:
        """First frame of everything that the base of picture faults would point out, by kind; what is empty left out.

        Cadences of five seconds other than 2:3; pictures that stop for two seconds.
        """
        five = [one for one in [*self.repeating, *self.blends] if one.span.frames >= 5 * self.rate]
        found = {
            "cadence": [one.span.first for one in five if one.kind != "2:3"],
            "broken": self.broken,
            "freeze": [run.span.first for run in self.stills(round(2 * self.rate)) if not run.still],
            "repeat": [one.span.first for one in self.repeats],
            "drop": self.drops,
            "stray": [one.span.first for one in self.strays],
            "hit": [hit.frame for hit in self.hits],
            "spoiled": [one.frame for one in self.spoiled],
            "solid": [run.span.first for run in self.solids],
        }
        return {kind: frames for kind, frames in found.items() if frames}


def frames_of(pictures: Iterable[Planes], rate: Fraction | int = 25) -> Frames:
    meters = (MotionMeter(), SpikeMeter(), LookMeter())
    black = []
    for planes in pictures:
        code = BLACK_CODE << (planes.bits - 8)
        black.append(bool(np.count_nonzero(planes.luma <= code) >= BLACK_SHARE * planes.luma.size))
        for meter in meters:
            meter.feed(planes)
    series = {name: array for meter in meters for name, array in meter.finish().items()}
    return Frames(FrameSeries(series), np.array(black, bool), Fraction(rate))


def frames_of_file(path: Path) -> Frames:
    """Decoded by the libraries that the tool decodes with."""
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        pictures = (Planes(number, *picture_view(frame)) for number, frame in enumerate(container.decode(stream)))
        return frames_of(pictures, Fraction(stream.average_rate or 25))


def frames_by_ffmpeg(arguments: list[str], size: tuple[int, int], rate: Fraction | int = 25) -> Frames:
    """What FFmpeg makes of ``arguments`` (its inputs and filters), not coded again: 8 bits, 4:2:0."""
    return frames_of(raw_pictures(arguments, size), rate)


def raw_pictures(arguments: list[str], size: tuple[int, int]) -> Iterator[Planes]:
    import subprocess

    command = [program(), "-hide_banner", "-loglevel", "error", "-nostdin", *arguments]
    command += ["-an", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", f"{size[0]}x{size[1]}", "pipe:"]
    child = subprocess.Popen(command, stdout=subprocess.PIPE)
    assert child.stdout is not None
    number = 0
    try:
        while block := child.stdout.read(size[0] * size[1] * 3 // 2):
            yield planes_420(np.frombuffer(block, np.uint8), size, number)
            number += 1
    finally:
        child.stdout.close()
        child.wait()
    assert not child.returncode and number, arguments


def planes_420(codes: np.ndarray, size: tuple[int, int], number: int = 0, interlaced: bool = False) -> Planes:
    """One picture of 8 bits, 4:2:0, as FFmpeg lays it out."""
    (width, height), flat = size, codes.ravel()
    luma, blue, red = np.split(flat, [width * height, width * height * 5 // 4])
    half = height // 2, width // 2
    return Planes(number, luma.reshape(height, width), blue.reshape(half), red.reshape(half), 8, interlaced=interlaced)
