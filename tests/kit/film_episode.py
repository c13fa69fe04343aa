"""An episode cut from the open film: acts, breaks, levels and planted faults known by construction.

Four acts of the film with one second of black between them, in the form that the invented outlet
CORVANE 5 asks for, cut down to one minute: 01:00;00 drop-frame, 320x180, eight mono streams. Sound is
levelled act by act with libebur128, so the truth about loudness is a reference library's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyebur128

from qc.timing.timecode import Counting
from tests.kit.film import film_path
from tests.kit.render import FORMS, NTSC, SOUND_RATE, render, run

DROP = Counting(30, drop=True)
HOUR = DROP.frame("01:00:00;00")
#: SOM and exclusive EOM of each act; every label is a whole second.
ACTS = (
    ("01:00:00;00", "01:00:15;00"),
    ("01:00:16;00", "01:00:31;00"),
    ("01:00:32;00", "01:00:47;00"),
    ("01:00:48;00", "01:01:03;00"),
)
#: Seconds into the film where each act begins: moving picture, no black, no long silence.
CUTS = (20.0, 140.0, 200.0, 240.0)
TARGET = -24.0


@dataclass(frozen=True)
class Faults:
    """What is planted. Frames count from the file's first.

    act_gain     dB on top of the target, per act
    longer       frames that act 3 is longer than it should be
    short_break  frames taken from break 2
    black_frame  one frame of act 2 that is black, counted from the act's start; None for none
    """

    act_gain: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    longer: int = 0
    short_break: int = 0
    black_frame: int | None = None


@dataclass(frozen=True)
class FilmEpisode:
    path: Path
    acts: tuple[tuple[int, int], ...]
    frames: int
    act_lufs: tuple[float, ...]
    programme_lufs: float
    true_peak: float  # of the programme, dBTP, libebur128


def loudness(sound: np.ndarray) -> tuple[float, float]:
    """Integrated LUFS and true peak dBTP of (samples, 2), by libebur128."""
    mode = pyebur128.MeasurementMode.MODE_I | pyebur128.MeasurementMode.MODE_TRUE_PEAK
    state = pyebur128.R128State(2, SOUND_RATE, mode)
    state.add_frames(np.ascontiguousarray(sound, np.float64).ravel(), len(sound))
    peak = max(pyebur128.get_true_peak(state, channel) for channel in (0, 1))
    return pyebur128.get_loudness_global(state), 20 * float(np.log10(peak))


def film_episode(folder: Path, name: str, form: str, faults: Faults = Faults(), scan: str = "top first") -> FilmEpisode:
    """Renders (or finds) one version of the episode."""
    bounds = _bounds(faults)
    frames = bounds[-1][1]
    sound, act_lufs = _sound(folder, bounds, frames, faults)
    programme = np.concatenate([sound[_sample(first) : _sample(end)] for first, end in bounds])
    whole, peak = loudness(programme)
    kind = FORMS[form]
    path = folder / f"{name}-{form}{kind.suffix}"
    raw = folder / f"{name}.f64"
    sound.astype("<f8").tofile(raw)
    arguments = ["-i", str(_picture(folder, bounds, faults))]
    arguments += ["-f", "f64le", "-ar", str(SOUND_RATE), "-ch_layout", "stereo", "-i", str(raw)]
    streams = ["[1:a]pan=mono|c0=c0[a0]", "[1:a]pan=mono|c0=c1[a1]"]
    streams += [f"anullsrc=r={SOUND_RATE}:cl=mono,atrim=end_sample={len(sound)}[a{n}]" for n in range(2, 8)]
    fields = {"top first": "tff", "progressive": "prog"}[scan]
    tags = "setparams=color_primaries=bt709:color_trc=bt709:colorspace=bt709:range=limited"
    graph = [f"[0:v]setfield={fields},setsar=1,{tags}[v]", *streams]
    arguments += ["-filter_complex", ";".join(graph), "-map", "[v]"]
    for number in range(8):
        arguments += ["-map", f"[a{number}]"]
    arguments += ["-pix_fmt", kind.pixels, *kind.picture]
    if scan != "progressive":
        arguments += ["-flags:v", "+ildct+ilme"]
        if "libx264" in kind.picture:
            arguments += ["-x264opts", "tff=1"]
    arguments += ["-c:a", "pcm_s24le", "-timecode", "01:00:00;00", "-threads", "2"]
    try:
        render(path, arguments)
    finally:
        raw.unlink(missing_ok=True)
    return FilmEpisode(path, bounds, frames, act_lufs, whole, peak)


def _bounds(faults: Faults) -> tuple[tuple[int, int], ...]:
    placed, moved = [], 0
    for number, (som, eom) in enumerate(ACTS, 1):
        first, end = DROP.frame(som) - HOUR + moved, DROP.frame(eom) - HOUR + moved
        if number == 3:
            first -= faults.short_break
            end += faults.longer - faults.short_break
            moved += faults.longer - faults.short_break
        placed.append((first, end))
    return tuple(placed)


def _sample(frame: int) -> int:
    return round(frame * SOUND_RATE / NTSC)


def _picture(folder: Path, bounds: Sequence[tuple[int, int]], faults: Faults) -> Path:
    """Lossless picture of the whole programme, black between the acts."""
    path = folder / f"picture-{bounds[-1][1]}-{bounds[2][0]}-{faults.black_frame}.mkv"
    if path.exists():
        return path
    inputs: list[str] = []
    chains, joined = [], []
    size = "scale=320:180:flags=area,setsar=1,format=yuv422p"
    for number, ((first, end), cut) in enumerate(zip(bounds, CUTS, strict=True)):
        inputs += ["-ss", str(cut), "-t", "20", "-i", str(film_path())]
        hole = ""
        if number == 1 and faults.black_frame is not None:
            hole = f",drawbox=color=black:t=fill:enable='eq(n,{faults.black_frame})'"
        chains.append(
            f"[{number}:v]fps=30000/1001,{size},trim=end_frame={end - first},setpts=PTS-STARTPTS{hole}[p{number}]"
        )
        joined.append(f"[p{number}]")
        if number < 3:
            black = bounds[number + 1][0] - end
            chains.append(f"color=black:size=320x180:rate=30000/1001,format=yuv422p,trim=end_frame={black}[b{number}]")
            joined.append(f"[b{number}]")
    graph = ";".join([*chains, f"{''.join(joined)}concat=n={len(joined)}:v=1:a=0[v]"])
    return render(path, [*inputs, "-filter_complex", graph, "-map", "[v]", "-c:v", "ffv1", "-threads", "2"])


def _sound(
    folder: Path, bounds: Sequence[tuple[int, int]], frames: int, faults: Faults
) -> tuple[np.ndarray, tuple[float, ...]]:
    """(samples, 2) of the programme, exactly silent outside the acts, and each act's loudness."""
    whole = np.zeros((_sample(frames), 2))
    read = []
    for (first, end), cut, gain in zip(bounds, CUTS, faults.act_gain, strict=True):
        raw = folder / f"cut-{cut}.f64"
        if not raw.exists():
            run(["-ss", str(cut), "-t", "20", "-i", str(film_path()), "-vn", "-ar", str(SOUND_RATE), "-ac", "2",
                 "-f", "f64le", str(raw)])  # fmt: skip
        act = np.fromfile(raw, "<f8").reshape(-1, 2)[: _sample(end) - _sample(first)]
        for _ in range(4):  # soft limiting moves the loudness a little: level again until it stays
            act = act * 10 ** ((TARGET + gain - loudness(act)[0]) / 20)
            act = 0.6 * np.tanh(act / 0.6)
        whole[_sample(first) : _sample(end)] = act
        read.append(loudness(act)[0])
    return whole, tuple(read)
