"""One version as a file: pictures and sound made here, encoded by FFmpeg; the graph is ffmpeg-python's."""

from __future__ import annotations

import subprocess
import tempfile
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

from qc.demo.ffmpeg_program import ffmpeg_program
from qc.demo.layout import Layout, layout
from qc.demo.outlet_forms import FORMS, OutletForm
from qc.demo.picture import Pictures
from qc.demo.raster import Raster
from qc.demo.sound import RATE, Mix, Stems, mixed
from qc.demo.version import Version
from qc.errors import UserError
from qc.timing.spans import Span

MINI = Raster(320, 180)

#: Seconds of sound that the longest version needs, with room.
STEM_SECONDS = 175


class RenderFailed(UserError):
    """FFmpeg could not make a file; its last words are kept."""

    exit_status = 3


def file_name(version: Version) -> str:
    return name_by(FORMS[version.outlet], version.episode)


def name_by(form: OutletForm, episode: int) -> str:
    return form.name.format(episode=episode, number=episode % 100) + form.codec.ending


def stems_of(episode: int) -> Stems:
    return Stems(episode, STEM_SECONDS * RATE)


def render(
    version: Version,
    folder: Path,
    stems: Stems,
    raster: Raster = MINI,
    form: OutletForm | None = None,
    on_frame: Callable[[int, int], None] | None = None,
) -> Path:
    """The file of one version; written under another name until it is whole.

    on_frame  told frames done and frames in all, now and then
    """
    form = form or FORMS[version.outlet]
    plan = layout(form, version)
    path = folder / name_by(form, version.episode)
    part = folder / f".{path.stem}.part{path.suffix}"
    folder.mkdir(parents=True, exist_ok=True)
    pictures = Pictures(raster, version.episode, plan.clock, version.staging).all(plan.stretches)
    try:
        with tempfile.TemporaryDirectory(prefix="airworthy-") as room:
            tracks = _tracks(_mix(stems, plan, version.lufs), form, Path(room))
            _encode(path.name, _command(form, version, plan, raster, tracks, part), pictures, plan.frames, on_frame)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
    return path


def _mix(stems: Stems, plan: Layout, lufs: float) -> Mix:
    rate = plan.clock.rate
    acts = [(_samples(span, rate), _sample(content, rate)) for span, content in plan.acts]
    return mixed(stems, acts, _sample(plan.frames, rate), lufs, [_samples(span, rate) for span in plan.tones])


def _sample(frame: int, rate: Fraction) -> int:
    return round(frame * RATE / rate)


def _samples(span: Span, rate: Fraction) -> Span:
    return Span(_sample(span.first, rate), _sample(span.end, rate))


def _tracks(mix: Mix, form: OutletForm, room: Path) -> list[Path]:
    """One raw file per different track; alike tracks share it."""
    files = {name: room / f"{number}.f32" for number, name in enumerate(dict.fromkeys(form.tracks))}
    for name, file in files.items():
        mix.channel(name).astype("<f4").tofile(file)
    return [files[name] for name in form.tracks]


def _command(
    form: OutletForm, version: Version, plan: Layout, raster: Raster, tracks: list[Path], part: Path
) -> list[str]:
    import ffmpeg

    picture = ffmpeg.input(
        "pipe:", format="rawvideo", pix_fmt="yuv422p", s=f"{raster.width}x{raster.height}", framerate=str(form.rate)
    )
    picture = picture.filter("setfield", "tff").filter("setsar", "1").filter(
        "setparams", color_primaries="bt709", color_trc="bt709", colorspace="bt709", range="limited"
    )  # fmt: skip
    inputs = {track: ffmpeg.input(str(track), format="f32le", ar=RATE, ac=1).audio for track in dict.fromkeys(tracks)}
    options = {
        **form.codec.options,
        "pix_fmt": form.codec.pixels,
        "c:a": "pcm_s24le",
        "timecode": version.start or form.start,
        "threads": 2,
        "fflags": "+bitexact",
        "flags:a": "+bitexact",
    }
    output = ffmpeg.output(picture, *[inputs[track] for track in tracks], str(part), **options)
    arguments = output.global_args("-hide_banner", "-v", "error", "-nostats").overwrite_output()
    return [str(word) for word in arguments.compile(cmd=ffmpeg_program())]


def _encode(
    name: str, command: list[str], pictures: Iterator[bytes], frames: int, on_frame: Callable[[int, int], None] | None
) -> None:
    with tempfile.TemporaryFile() as words:
        # In a session of its own, an interrupt from the keyboard ends us first, and then we end it.
        child = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=words, start_new_session=True
        )
        assert child.stdin is not None
        try:
            for number, picture in enumerate(pictures, 1):
                child.stdin.write(picture)
                if on_frame and number % 100 == 0:
                    on_frame(number, frames)
            child.stdin.close()
        except BrokenPipeError:
            pass  # it has stopped; its words say why
        except BaseException:
            child.kill()
            raise
        finally:
            status = child.wait()
        words.seek(0)
        said = words.read().decode(errors="replace").strip()
    if status:
        first = said.splitlines()[0] if said else f"status {status}"
        raise RenderFailed(f"FFmpeg could not render ({first.strip()})", where=name)
