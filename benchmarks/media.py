"""Files to measure on: ten seconds encoded once, then looped without encoding to the length asked for."""

from __future__ import annotations

import subprocess
from pathlib import Path

import imageio_ffmpeg

from tests.kit.film import film_path

#: Ten seconds of the open film that the tests use, brought to 1080 lines at 29.97 pictures a second: real pictures,
#: for noise and full-level colours cost more than an episode does.
FIRST_SECOND = 120
SCALED = "scale=1920:1080:flags=bicubic"
PROGRESSIVE = f"{SCALED},fps=30000/1001"
INTERLACED = f"fps=60000/1001,{SCALED},tinterlace=interleave_top,setfield=tff"
FORMS = {
    "h264": (
        ".mov",
        f"-vf {PROGRESSIVE} -c:v libx264 -preset veryfast -b:v 15M -maxrate 15M -bufsize 15M -g 60 -flags +cgop "
        "-pix_fmt yuv420p",
    ),
    "mpeg2": (
        ".mxf",
        f"-vf {INTERLACED} -c:v mpeg2video -profile:v 0 -level:v 2 -b:v 50M -minrate 50M -maxrate 50M "
        "-bufsize 17825792 -g 15 -bf 2 -flags +cgop+ildct+ilme -sc_threshold 1000000000 -pix_fmt yuv422p",
    ),
    "prores": (".mov", f"-vf {PROGRESSIVE} -c:v prores_ks -profile:v 3 -pix_fmt yuv422p10le"),
}
SOUNDS = {"stereo": 1, "mono8": 8}
_ESSENCE_SECONDS = 10


def made(folder: Path, form: str, sound: str, seconds: int) -> Path:
    """A file of that form and length, kept in the folder once it is made."""
    suffix, picture = FORMS[form]
    path = folder / f"{form}-film-{sound}-{seconds}s{suffix}"
    if path.exists():
        return path
    folder.mkdir(parents=True, exist_ok=True)
    essence = folder / f"{form}-film.mov"
    if not essence.exists():
        film = ["-ss", str(FIRST_SECOND), "-t", str(_ESSENCE_SECONDS), "-i", str(film_path()), "-an"]
        source = [*film, *picture.split()]
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
    """FFmpeg measuring some of what a check does on the same file: six of its own filters."""
    look, listen = "signalstats,blackdetect,freezedetect,idet,cropdetect", "ebur128=peak=true"
    command = [program(), "-v", "error", "-nostdin", "-i", str(path), "-map", "0:v", "-vf", look]
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
