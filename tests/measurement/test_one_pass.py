"""The one pass over whole files: what was decoded, where it lies, and what was met on the way."""

from __future__ import annotations

import hashlib
import os
import threading
import time
from collections.abc import Sequence
from fractions import Fraction
from itertools import count
from pathlib import Path

import numpy as np
import pytest

from qc.measurement import one_pass
from qc.measurement.one_pass import PassRecord, measure
from qc.media import reader
from qc.media.hashed_file import HashedFile
from qc.media.probe import probe
from qc.meters.picture.bank import PictureBank
from qc.meters.picture.planes import Planes
from tests.kit.render import EIGHT_MONO, FORMS, STEREO, episode, render, run, wave_file


def pass_over(path: Path, longest: Fraction | None = None) -> PassRecord:
    return measure(path, probe(path), longest)


def kinds(record: PassRecord) -> set[str]:
    return {event.kind for event in record.events}


@pytest.fixture(scope="session")
def forms(media_dir: Path) -> dict[str, Path]:
    return {
        form: episode(
            media_dir / f"pass-{form}{FORMS[form].suffix}", form=form, acts=(40, 40), break_frames=12, raster=(256, 144)
        ).path
        for form in FORMS
    }


@pytest.mark.parametrize("form", list(FORMS))
def test_every_frame_and_sample_is_measured_and_the_hash_is_the_files(forms: dict[str, Path], form: str) -> None:
    """92 pictures, their sound, no events; the checksum taken while reading is hashlib's."""
    path = forms[form]
    record = pass_over(path)

    assert record.picture is not None and record.sound is not None
    assert record.picture.frames == 92
    assert record.events == () and record.because == ""
    seconds = Fraction(92 * 1001, 30000)
    padding = 0.03 if form == "mp4-h264" else 0  # a lossy codec pads its last packet
    assert seconds - Fraction(1, 1000) <= Fraction(int(record.sound.samples[0]), 48000) <= seconds + padding + 0.001
    assert record.sound.extent.tolist() == [[0, record.sound.rows]] * 2
    assert record.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert record.size == path.stat().st_size


@pytest.mark.parametrize("form", list(FORMS))
def test_decoder_threads_change_nothing(forms: dict[str, Path], form: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """With and without libav's threads the series are the same, bit for bit."""
    monkeypatch.setattr(reader, "_FAST", ())  # codecs that have none otherwise
    threaded = pass_over(forms[form])
    monkeypatch.setattr(reader, "THREADS", "NONE")
    alone = pass_over(forms[form])

    assert threaded.picture is not None and alone.picture is not None
    for name in ("luma", "counted", "darkest", "brightest", "time"):
        assert np.array_equal(getattr(threaded.picture, name), getattr(alone.picture, name))
    assert threaded.sound is not None and alone.sound is not None
    assert np.array_equal(threaded.sound.energy, alone.sound.energy)
    assert threaded.sha256 == alone.sha256


def test_eight_mono_streams_are_one_flat_list(media_dir: Path) -> None:
    """Each stream has its own column in file order; silent ones read zero and use no bits."""
    made = episode(media_dir / "eight-mono.mov", acts=(30, 30), sounds=EIGHT_MONO, raster=(128, 72))
    record = pass_over(made.path)

    assert record.sound is not None and record.sound.channels == 8
    assert (record.sound.energy.max(axis=0) > 0).tolist() == [True, True] + [False] * 6
    assert record.sound.used_bits.tolist() == [24, 24] + [0] * 6


@pytest.mark.parametrize("offset", [0.0, 0.025, 0.5, 1.25])
def test_sound_lies_where_its_timestamps_put_it(media_dir: Path, offset: float) -> None:
    """A click rendered half a second into a stream that starts late is found at the sum (time by FFmpeg's muxer)."""
    click = np.zeros(48000)
    click[24000] = 0.5
    wave = wave_file(media_dir / "click.wav", click)
    source = ["-f", "lavfi", "-i", "testsrc2=s=128x72:r=25:d=3", "-itsoffset", str(offset), "-i", str(wave)]
    codec = ["-c:v", "mpeg2video", "-c:a", "copy", "-map", "0", "-map", "1"]
    path = render(media_dir / f"late-{offset}.mkv", [*source, *codec])
    record = pass_over(path)

    assert record.sound is not None
    assert record.sound.sample_peak[:, 0].argmax() == round((offset + 0.5) * 100)
    assert record.sound.extent[0].tolist() == [round(offset * 100 - 0.4), -(-round((offset + 1) * 1000) // 10)]
    assert not kinds(record)


def test_a_file_without_picture_counts_from_its_first_sample(media_dir: Path) -> None:
    """A plain WAV: rows from its first sample, depth by the deepest bit used (16 of 24)."""
    samples = np.round(np.random.default_rng(1).uniform(-0.5, 0.5, (12345, 3)) * 32767) / 32768
    record = pass_over(wave_file(media_dir / "sixteen.wav", samples))

    assert record.picture is None and record.sound is not None
    assert record.sound.samples.tolist() == [12345] * 3
    assert record.sound.rows == 26
    assert record.sound.used_bits.tolist() == [16] * 3
    peaks = np.abs(samples).max(axis=0)
    assert record.sound.sample_peak.max(axis=0) == pytest.approx(peaks, abs=1e-6)


@pytest.mark.parametrize(
    ("encoding", "bits"),
    [("pcm_u8", 8), ("pcm_s16le", 16), ("pcm_s24le", 24), ("pcm_s32le", 32), ("pcm_f32le", 0), ("pcm_f64le", 0)],
)
def test_every_sample_format_has_the_same_full_scale(media_dir: Path, encoding: str, bits: int) -> None:
    """The same noise reads the same level in every word size, within that word's rounding."""
    samples = np.random.default_rng(2).uniform(-0.5, 0.5, (48000, 2))
    record = pass_over(wave_file(media_dir / f"{encoding}.wav", samples, encoding=encoding))

    assert record.sound is not None
    assert record.sound.plain.mean(axis=0) == pytest.approx((samples**2).mean(axis=0), rel=0.02 if bits == 8 else 1e-3)
    assert record.sound.used_bits.tolist() == [bits] * 2


def test_samples_that_are_no_numbers_are_counted_and_left_out(media_dir: Path) -> None:
    """NaN and infinity are told of with their number and read as silence (IEEE 754 floats in a WAV)."""
    samples = np.full((48000, 2), 0.25)
    samples[24000:24010, 1] = np.nan
    samples[30000, 0] = np.inf
    record = pass_over(wave_file(media_dir / "nan.wav", samples, encoding="pcm_f32le"))

    assert record.sound is not None
    assert record.sound.invalid_samples.tolist() == [1, 10]
    assert "invalid samples" in kinds(record)
    assert np.isfinite(record.sound.energy).all()
    assert record.sound.sample_peak.max() == pytest.approx(0.25)


@pytest.mark.parametrize("form", ["mxf-mpeg2", "mxf-dnxhd"])
def test_a_cut_mxf_tells_declared_and_decoded(forms: dict[str, Path], form: str, tmp_path: Path) -> None:
    """The header claims 92 pictures, the packets stop before: told with both numbers, never complete."""
    whole = forms[form].read_bytes()
    cut = tmp_path / "cut.mxf"
    cut.write_bytes(whole[: len(whole) * 6 // 10])
    record = pass_over(cut)

    assert record.picture is not None and 30 < record.picture.frames < 80
    early = [event for event in record.events if event.kind == "early end" and event.stream == 0]
    assert early and "92 pictures declared" in early[0].detail
    assert early[0].frame == record.picture.frames
    assert record.because


@pytest.mark.parametrize("suffix", [".mov", ".mp4"])
def test_a_cut_file_whose_index_comes_first_tells_where_it_ends(
    forms: dict[str, Path], suffix: str, tmp_path: Path
) -> None:
    """An index at the front hides nothing: the pictures it promises are missed."""
    source = forms["mov-h264" if suffix == ".mov" else "mp4-h264"]
    front = tmp_path / f"front{suffix}"
    run(["-i", str(source), "-c", "copy", "-movflags", "+faststart", str(front)])
    cut = tmp_path / f"cut{suffix}"
    cut.write_bytes(front.read_bytes()[: front.stat().st_size * 7 // 10])
    record = pass_over(cut)

    assert record.picture is not None and record.picture.frames < 92
    assert "early end" in kinds(record) and record.because


def test_a_cut_wave_tells_that_it_ends_early(tmp_path: Path) -> None:
    """The data chunk claims one second, half of it is there: whole samples, whole packets, or neither."""
    whole = wave_file(tmp_path / "whole.wav", np.full((48000, 2), 0.1)).read_bytes()
    cut = tmp_path / "cut.wav"
    for length in (150_000, len(whole) - 4096 * 6, len(whole) - 6):
        cut.write_bytes(whole[:length])
        record = pass_over(cut)
        assert "early end" in kinds(record) and record.because


def test_a_damaged_file_tells_its_errors_and_never_twice_differently(forms: dict[str, Path], tmp_path: Path) -> None:
    """Bytes overwritten in the essence: errors with frames, and the same record in every run."""
    damaged = bytearray(forms["mov-prores"].read_bytes())
    for at in range(len(damaged) // 4, len(damaged) * 3 // 4, len(damaged) // 9):
        damaged[at : at + 64] = os.urandom(1) * 64
    path = tmp_path / "hit.mov"
    path.write_bytes(damaged)
    records = [pass_over(path) for _ in range(3)]

    errors = [event for event in records[0].events if event.kind == "decode error"]
    assert errors and all(event.frame is not None and event.seconds is not None for event in errors)
    for other in records[1:]:
        assert other.events == records[0].events
        assert other.picture is not None and records[0].picture is not None
        assert np.array_equal(other.picture.luma, records[0].picture.luma)


def test_a_variable_rate_is_told(media_dir: Path) -> None:
    """Pictures dropped and doubled without filling: gaps are told, their times kept."""
    picture = ["-f", "lavfi", "-i", "testsrc2=s=128x72:r=25:d=4", "-vf", "select='not(between(mod(n,20),5,9))'"]
    codec = ["-fps_mode", "vfr", "-c:v", "libx264", "-preset", "ultrafast"]
    path = render(media_dir / "vfr.mp4", [*picture, *codec])
    record = pass_over(path)

    assert record.picture is not None
    assert {"timestamp gap"} <= kinds(record)
    assert np.diff(record.picture.time).max() >= 5 * np.diff(record.picture.time).min()


def test_a_change_of_raster_is_told_and_measured_on(media_dir: Path, tmp_path: Path) -> None:
    """Two streams of different size, one after the other: both are counted, the change has its frame."""
    parts = []
    for second, size in enumerate(("128x72", "160x96")):
        source = ["-f", "lavfi", "-i", f"color=black:s={size}:r=25:d=1", "-c:v", "mpeg2video", "-g", "5", "-bf", "0"]
        part = render(media_dir / f"raster-{size}.ts", [*source, "-output_ts_offset", str(second)])
        parts.append(part.read_bytes())
    path = tmp_path / "joined.ts"
    path.write_bytes(b"".join(parts))
    record = pass_over(path)

    changes = [event for event in record.events if event.kind == "raster change"]
    assert record.picture is not None and record.picture.frames in (49, 50)  # the decoder may drop the one it held
    assert len(changes) == 1 and changes[0].frame == record.picture.frames - 25 and "160x96" in changes[0].detail
    assert record.picture.counted[[0, -1]].tolist() == [128 * 72, 160 * 96]


def test_pictures_are_handed_on_by_their_size(media_dir: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many small ones went before, no more large pictures are held at once than memory is meant for; all come,
    in their order."""
    parts = []
    for second, size in enumerate(("128x72", "512x288")):
        source = ["-f", "lavfi", "-i", f"color=black:s={size}:r=25:d=1", "-c:v", "mpeg2video", "-g", "5", "-bf", "0"]
        parts.append(render(media_dir / f"size-{size}.ts", [*source, "-output_ts_offset", str(second)]).read_bytes())
    path = tmp_path / "joined.ts"
    path.write_bytes(b"".join(parts))
    batches: list[list[tuple[int, int]]] = []

    def feed(self: PictureBank, frames: Sequence[Planes | None]) -> None:
        batches.append([(planes.number, planes.luma.size * 3 // 2) for planes in frames if planes is not None])

    monkeypatch.setattr(PictureBank, "feed", feed)
    monkeypatch.setattr(one_pass, "_TOGETHER_BYTES", 500_000)
    record = pass_over(path)

    assert record.picture is not None
    assert [number for batch in batches for number, _ in batch] == list(range(record.picture.frames))
    assert max(sum(size for _, size in batch) for batch in batches) <= 500_000
    assert {len(batch) for batch in batches} >= {2, 16}


@pytest.mark.parametrize("at", [0, 2])
def test_a_fault_of_ours_in_a_meter_ends_the_pass(
    forms: dict[str, Path], at: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is raised where the pass was asked for, whenever it comes: nobody waits for meters that have stopped."""
    fed = count()

    def feed(self: PictureBank, frames: Sequence[Planes | None]) -> None:
        if next(fed) == at:
            raise ArithmeticError("made up")

    monkeypatch.setattr(PictureBank, "feed", feed)
    started = time.monotonic()
    with pytest.raises(ArithmeticError, match="made up"):
        pass_over(forms["mxf-mpeg2"])
    assert time.monotonic() - started < 20 and not [one for one in threading.enumerate() if one.name == "meters"]


def test_a_pass_that_is_too_long_stops_early(forms: dict[str, Path]) -> None:
    """A file longer than the run allows is not decoded to its end, and is told to be incomplete."""
    record = pass_over(forms["mov-h264"], longest=Fraction(1))

    assert record.picture is not None and 30 <= record.picture.frames < 60
    assert "stopped early" in kinds(record) and record.because
    assert record.sha256 is None


def test_a_file_that_grows_meanwhile_is_told(forms: dict[str, Path], tmp_path: Path) -> None:
    """Size or modification time that change during the pass make the record incomplete."""
    path = tmp_path / "growing.mxf"
    path.write_bytes(forms["mxf-mpeg2"].read_bytes())
    facts = probe(path)
    stop = threading.Event()

    def grow() -> None:
        with open(path, "ab") as file:
            while not stop.is_set():
                file.write(b"\0" * 512)
                file.flush()
                time.sleep(0.005)

    writer = threading.Thread(target=grow)
    writer.start()
    try:
        record = measure(path, facts)
    finally:
        stop.set()
        writer.join()

    assert "changed during run" in kinds(record) and "changed" in record.because


def test_a_hash_does_not_depend_on_how_a_file_is_read(tmp_path: Path) -> None:
    """Jumps forward, backward and to the end, as demuxers make them: still the hash of the whole file."""
    content = np.random.default_rng(3).bytes(9 << 20)
    path = tmp_path / "content"
    path.write_bytes(content)
    file = HashedFile(path)
    file.seek(8 << 20)
    file.read(1000)
    file.seek(0)
    file.read(100_000)
    file.seek(300_000)  # a short hole is read along
    assert file.read(50) == content[300_000:300_050]
    file.seek(-10, os.SEEK_END)
    assert file.read(100) == content[-10:]
    file.seek(50_000)
    assert file.read(1 << 20) == content[50_000 : 50_000 + (1 << 20)]

    assert file.digest() == hashlib.sha256(content).hexdigest()
    file.close()


def test_one_stereo_stream_and_its_two_halves_agree(media_dir: Path) -> None:
    """A channel's series do not depend on its stream's layout (stereo against two mono streams)."""
    one = episode(media_dir / "one.mov", acts=(20, 20), sounds=STEREO, raster=(128, 72))
    record = pass_over(one.path)
    two = render(
        media_dir / "two.mov",
        ["-i", str(one.path), "-filter_complex", "channelsplit[l][r]", "-map", "0:v", "-map", "[l]", "-map", "[r]",
         "-c:v", "copy", "-c:a", "pcm_s24le"],
    )  # fmt: skip
    other = pass_over(two)

    assert record.sound is not None and other.sound is not None
    assert np.array_equal(record.sound.energy, other.sound.energy)
    assert np.allclose(record.sound.true_peak, other.sound.true_peak, rtol=1e-6, atol=0)
