"""Files to measure on: ten seconds encoded once, then looped without encoding to the length asked for."""

from __future__ import annotations

import subprocess
from pathlib import Path

import imageio_ffmpeg

RATE = "30000/1001"
#: Moving test picture with noise, so that a codec has work to do; 1080 lines, 29.97 pictures a second.
PICTURE = f"testsrc2=s=1920x1080:r={RATE},noise=alls=6:allf=t"
FORMS = {
    "h264": (
        ".mov",
        "-c:v libx264 -preset veryfast -b:v 15M -maxrate 15M -bufsize 15M -g 60 -flags +cgop -pix_fmt yuv420p",
    ),
    "mpeg2": (
        ".mxf",
        "-c:v mpeg2video -profile:v 0 -level:v 2 -b:v 50M -minrate 50M -maxrate 50M -bufsize 17825792 "
        "-g 15 -bf 2 -flags +cgop -sc_threshold 1000000000 -pix_fmt yuv422p",
    ),
    "prores": (".mov", "-c:v prores_ks -profile:v 3 -pix_fmt yuv422p10le"),
}
SOUNDS = {"stereo": 1, "mono8": 8}
_ESSENCE_SECONDS = 10


def made(folder: Path, form: str, sound: str, seconds: int) -> Path:
    """A file of that form and length, kept in the folder once it is made."""
    suffix, picture = FORMS[form]
    path = folder / f"{form}-{sound}-{seconds}s{suffix}"
    if path.exists():
        return path
    folder.mkdir(parents=True, exist_ok=True)
    essence = folder / f"{form}-essence.mov"
    if not essence.exists():
        source = ["-f", "lavfi", "-i", PICTURE, "-t", str(_ESSENCE_SECONDS), *picture.split()]
        _ffmpeg(essence, source)
    loops = -(-seconds // _ESSENCE_SECONDS) - 1
    noise = f"anoisesrc=c=pink:a=0.2:r=48000:s={{}},aformat=channel_layouts={'stereo' if sound == 'stereo' else 'mono'}"
    count = SOUNDS[sound]
    arguments = ["-stream_loop", str(loops), "-i", str(essence)]
    for number in range(count):
        arguments += ["-f", "lavfi", "-i", noise.format(number + 1)]
    arguments += ["-map", "0:v"]
    for number in range(count):
        arguments += ["-map", f"{number + 1}:a"]
    frames = seconds * 30000 // 1001
    _ffmpeg(path, [*arguments, "-c:v", "copy", "-c:a", "pcm_s24le", "-frames:v", str(frames), "-t", str(seconds)])
    return path


def reference_command(path: Path, sound: str) -> list[str]:
    """FFmpeg doing three of our measurements on the same file: blackdetect, silencedetect, ebur128 with true peak."""
    listen = "silencedetect=n=-60dB:d=0.5,ebur128=peak=true"
    command = [program(), "-v", "error", "-nostdin", "-i", str(path), "-map", "0:v", "-vf", "blackdetect"]
    if sound == "stereo":
        return [*command, "-map", "0:a", "-af", listen, "-f", "null", "-"]
    pairs = [f"[0:a:{2 * n}][0:a:{2 * n + 1}]amerge=inputs=2,{listen}[pair{n}]" for n in range(SOUNDS[sound] // 2)]
    command += ["-filter_complex", ";".join(pairs)]
    for number in range(len(pairs)):
        command += ["-map", f"[pair{number}]"]
    return [*command, "-f", "null", "-"]


def program() -> str:
    return str(imageio_ffmpeg.get_ffmpeg_exe())


def _ffmpeg(path: Path, arguments: list[str]) -> None:
    part = path.with_name(f"part-{path.name}")
    subprocess.run([program(), "-v", "error", "-nostdin", "-y", *arguments, str(part)], check=True)
    part.rename(path)
