"""The probe against FFmpeg's own account of the same file, and against published facts of the open film.

Source: the stream lines that the packaged FFmpeg program (9.0) prints for an input.
"""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from qc.media.probe import probe
from tests.kit.render import EIGHT_MONO, NTSC, PAL, STEREO, SURROUND, episode


def stream_lines(ffmpeg: str, path: Path) -> list[str]:
    done = subprocess.run(
        [ffmpeg, "-hide_banner", "-nostdin", "-i", str(path)], capture_output=True, text=True, check=False
    )
    return [line.strip() for line in done.stderr.splitlines() if re.match(r"\s*Stream #0:\d+", line)]


@pytest.mark.parametrize(
    ("form", "rate", "scan", "sounds"),
    [
        ("mov-prores", NTSC, "top first", STEREO),
        ("mov-prores", PAL, "progressive", EIGHT_MONO),
        ("mxf-mpeg2", PAL, "bottom first", STEREO),
        ("mxf-dnxhd", NTSC, "progressive", EIGHT_MONO),
        ("mp4-h264", Fraction(24), "progressive", SURROUND),
    ],
)
def test_probe_agrees_with_ffmpeg(ffmpeg: str, media_dir: Path, form: str, rate: Fraction, scan: str, sounds) -> None:
    """Raster, rate, pixel format, sample rate and channel count are FFmpeg's for each stream."""
    path = media_dir / f"words-{form}-{rate.denominator}-{scan[:3]}.{form[:3]}"
    facts = probe(episode(path, form=form, rate=rate, scan=scan, sounds=sounds, acts=(12,), break_frames=[]).path)
    lines = stream_lines(ffmpeg, path)

    (picture,) = facts.pictures
    video = next(line for line in lines if "Video:" in line)
    assert f" {picture.width}x{picture.height}" in video
    assert picture.pixel_format in video
    said = float(re.search(r"([\d.]+) fps", video)[1])  # type: ignore[index]
    assert float(picture.frame_rate or 0) == pytest.approx(said, abs=0.005)
    sound_lines = [line for line in lines if "Audio:" in line]
    assert len(sound_lines) == len(facts.sounds)
    for sound, line in zip(facts.sounds, sound_lines, strict=True):
        assert f"{sound.rate} Hz" in line
        words = {1: ("mono", "1 channel"), 2: ("stereo", "2 channels"), 6: ("5.1",)}[sound.channels]
        assert any(word in line for word in words)


@pytest.mark.realmedia
def test_the_open_film(film: Path) -> None:
    """Big Buck Bunny (c) Blender Foundation, CC BY 3.0: facts as ffprobe 5.1 gives them."""
    facts = probe(film)

    picture = facts.picture
    assert picture is not None
    assert facts.wrapper == "MP4"
    assert (picture.codec, picture.profile) == ("AVC", "Main")
    assert (picture.width, picture.height, picture.frame_rate) == (1280, 720, Fraction(24))
    assert picture.declared_frames == 14315
    assert float(picture.duration or 0) == pytest.approx(596.458, abs=0.001)
    assert picture.scan_by_stream == "progressive"
    assert picture.colour_primaries == picture.colour_transfer == picture.colour_matrix == "BT.709"
    (sound,) = facts.sounds
    assert (sound.codec, sound.channels, sound.rate, sound.layout) == ("AAC", 2, 44100, "stereo")
    assert float(sound.duration or 0) == pytest.approx(596.474, abs=0.001)
    assert facts.timecodes == ()
    assert facts.edit_list is None
