"""Corrected copies of a file, made as a mixer or an editor would, with FFmpeg: other gain, other cut, other label.

The graph is ffmpeg-python's, the program that of the package imageio-ffmpeg. Nothing of this project is asked.
"""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import ffmpeg
import numpy as np

from tests.kit.render import SOUND_RATE, program, run


def _made(output: object, path: Path) -> Path:
    command = output.global_args("-hide_banner", "-nostdin", "-v", "error").overwrite_output().compile(cmd=program())
    done = subprocess.run([str(word) for word in command], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-1500:]
    return path


def with_gain(
    path: Path, out: Path, decibels: float, *, sounds: int, label: str, seconds: tuple[float, float] | None = None
) -> Path:
    """The same pictures with the sound moved by a constant gain, stored in 24 bits.

    sounds   number of sound streams
    label    start timecode, which a new file has to be told
    seconds  only this stretch; both ends have to lie in silence
    """
    source = ffmpeg.input(str(path))
    options = {"volume": f"{decibels}dB", "precision": "double"}
    if seconds is not None:
        options["enable"] = f"between(t,{seconds[0]},{seconds[1]})"
    tracks = [source[f"a:{number}"].filter("volume", **options) for number in range(sounds)]
    return _made(ffmpeg.output(source["v"], *tracks, str(out), vcodec="copy", acodec="pcm_s24le", timecode=label), out)


def with_gains(path: Path, out: Path, gains: Sequence[float], *, label: str) -> Path:
    """The same pictures with the one sound stream several times over, each at its own gain in dB."""
    source = ffmpeg.input(str(path))
    parts = source["a:0"].filter_multi_output("asplit", len(gains))
    tracks = [
        parts.stream(number).filter("volume", volume=f"{gain}dB", precision="double")
        for number, gain in enumerate(gains)
    ]
    return _made(ffmpeg.output(source["v"], *tracks, str(out), vcodec="copy", acodec="pcm_s24le", timecode=label), out)


def recut(
    path: Path, out: Path, pieces: Sequence[tuple[int, int] | int], rate: Fraction, label: str, encoder: dict[str, str]
) -> Path:
    """The file cut anew in whole frames; its one sound stream is cut with it.

    pieces  (first, end) of the source's frames, or a number of frames of black and silence
    """
    source = ffmpeg.input(str(path))
    taken = [piece for piece in pieces if not isinstance(piece, int)]
    pictures, sounds = source["v"].filter_multi_output("split", len(taken)), []
    tracks = source["a:0"].filter_multi_output("asplit", len(taken))
    parts = []
    number = 0
    for piece in pieces:
        if isinstance(piece, int):
            black = ffmpeg.input(f"color=black:size=320x180:rate={rate}", f="lavfi").video
            quiet = ffmpeg.input(f"anullsrc=r={SOUND_RATE}:cl=stereo", f="lavfi").audio
            parts.append(black.filter("trim", end_frame=piece).filter("format", "yuv420p").filter("setsar", "1"))
            sounds.append(quiet.filter("atrim", end_sample=_sample(piece, rate)))
            continue
        first, end = piece
        picture = pictures.stream(number).filter("trim", start_frame=first, end_frame=end)
        parts.append(picture.filter("setpts", "PTS-STARTPTS"))
        sound = tracks.stream(number).filter("atrim", start_sample=_sample(first, rate), end_sample=_sample(end, rate))
        sounds.append(sound.filter("asetpts", "PTS-STARTPTS"))
        number += 1
    both = [stream for pair in zip(parts, sounds, strict=True) for stream in pair]
    joined = ffmpeg.concat(*both, v=1, a=1).node
    return _made(ffmpeg.output(joined[0], joined[1], str(out), acodec="pcm_s24le", timecode=label, **encoder), out)


def _sample(frame: int, rate: Fraction) -> int:
    return round(frame * SOUND_RATE / rate)


def copied(path: Path, out: Path, *, label: str = "", before: Sequence[str] = (), after: Sequence[str] = ()) -> Path:
    """Every stream as it is in a new wrapper: nothing is decoded.

    label   start timecode of the copy
    before  options that FFmpeg wants in front of the input, ``after`` behind it
    """
    words = ["-timecode", label] if label else []
    run([*before, "-i", str(path), "-map", "0:v", "-map", "0:a?", "-c", "copy", *words, *after, str(out)])
    return out


def stream_hashes(path: Path) -> list[str]:
    """Checksum of the coded bytes of each picture and sound stream (FFmpeg's streamhash muxer)."""
    command = [program(), "-v", "error", "-nostdin", "-i", str(path), "-map", "0:v", "-map", "0:a?", "-c", "copy"]
    done = subprocess.run([*command, "-f", "streamhash", "-"], capture_output=True, text=True, check=True)
    return [line.split(",", 1)[1] for line in done.stdout.splitlines()]


def decoded(path: Path, sounds: int = 1) -> np.ndarray:
    """(samples, channels) float64 of the first sound streams, decoded by FFmpeg."""
    tracks = []
    for number in range(sounds):
        command = [program(), "-v", "error", "-nostdin", "-i", str(path), "-map", f"0:a:{number}", "-f", "f64le", "-"]
        raw = subprocess.run(command, capture_output=True, check=True).stdout
        tracks.append(np.frombuffer(raw, "<f8"))
    if sounds > 1:
        return np.stack(tracks, axis=1)
    return tracks[0].reshape(-1, 2)
