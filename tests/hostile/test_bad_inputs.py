"""What arrives in practice, through the whole command: right outcome, right exit status, no traceback.

The situations are common practice, no source; numbers that are measured in them are checked in the
tests of their rooms.
"""

from __future__ import annotations

import os
import signal
import subprocess
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.kit.command import Done, command, environment, qc
from tests.kit.render import (
    EIGHT_MONO,
    MONO_PAIR,
    NO_SOUND,
    Sound,
    episode,
    render,
    wave_file,
)

PROFILE = """
[outlet]
name = "Harbour"
code = "harbour"
[wrapper.kind]
accept = ["MOV"]
[integrity.decodable]
required = true
[integrity.stream_lengths]
max = 1
unit = "frames"
[integrity.constant_rate]
required = true
[streams.pictures]
exact = 1
[picture.raster]
accept = ["320x180"]
[picture.frame_rate]
accept = ["30000/1001"]
[picture.rotation]
accept = [0]
[picture.sample_aspect]
accept = ["1:1"]
[picture.alpha]
accept = ["none"]
[picture.colour]
accept = ["BT.709"]
[picture.codec]
accept = ["AVC"]
[timecode.start]
at = "01:00:00:00"
[timecode.agreement]
required = true
[loudness.programme]
target = -24.0
tolerance = 2.0
unit = "LKFS"
[true_peak.programme]
max = -2.0
unit = "dBTP"
[audio.sample_rate]
accept = [48000]
[audio.channels]
exact = 2
[audio.must_carry]
min = -60.0
unit = "dBFS"
[[audio.group]]
name = "mix"
channels = [1, 2]
layout = "stereo"
[duration.file]
max = "60 s"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "harbour.toml").write_text(PROFILE)
    return tmp_path


@pytest.fixture(scope="session")
def clean(media_dir: Path) -> Path:
    """One act of four seconds that the profile above passes."""
    return episode(media_dir / "clean.mov", acts=(120,)).path


def check(folder: Path, *files: object, options: tuple[object, ...] = (), timeout: float = 120) -> Done:
    return qc(
        "check", "--outlet", "harbour.toml", "--settle", "0", "--json", "-", *options, "--", *files,
        cwd=folder, timeout=timeout,
    )  # fmt: skip


def only(done: Done) -> dict[str, Any]:
    (verdict,) = done.document["verdicts"]
    return verdict


def finding(done: Done, requirement: str) -> dict[str, Any]:
    """The worst finding of a requirement."""
    order = ("fail", "not measured", "advisory", "waived", "pass")
    found = [item for item in only(done)["findings"] if item["requirement"] == requirement]
    assert found, f"no finding of {requirement}"
    return min(found, key=lambda item: order.index(item["outcome"]))


def text_of(item: dict[str, Any]) -> str:
    return " ".join(str(item[key]) for key in ("measured", "limit", "reason", "fix", "places"))


def test_a_clean_file_passes(folder, clean):
    """The profile of these tests is fair: without a fault it passes with status 0."""
    done = check(folder, clean)
    assert (done.status, only(done)["outcome"]) == (0, "pass"), done.words


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("empty.mov", b"", "empty"),
        ("contract.mov", b"%PDF-1.7\n" + b"x" * 5000, "PDF"),
        ("notes.mxf", b"Dear all,\nthe file follows tomorrow.\n" * 50, "text"),
    ],
)
def test_what_is_no_media_file_is_named_for_what_it_is(folder, clean, name, content, words):
    """Empty, a document, a text: fails by name, status 3, and the other file is still judged."""
    (folder / name).write_bytes(content)
    done = check(folder, name, clean)
    assert done.status == 3
    outcomes = {verdict["file"]: verdict["outcome"] for verdict in done.document["verdicts"]}
    assert outcomes == {name: "fail", "clean.mov": "pass"}
    reasons = [f["reason"] + str(f["measured"]) for v in done.document["verdicts"] for f in v["findings"]]
    assert any(words in reason for reason in reasons), reasons


def test_a_mov_without_index_is_incomplete(folder, clean):
    """Cut short before the index at its end: 'no index', the remedy is a new export or copy."""
    content = clean.read_bytes()
    (folder / "short.mov").write_bytes(content[: content.rindex(b"moov") - 8])
    done = check(folder, "short.mov")
    assert (done.status, only(done)["outcome"]) == (3, "fail")
    assert "index" in done.words and "Export it again" in done.words


def test_a_truncated_mxf_fails_with_what_is_declared_and_what_is_there(folder, media_dir):
    """Header checks are still reported, and the last good place is named."""
    whole = episode(media_dir / "long.mxf", acts=(300,), form="mxf-mpeg2", sounds=MONO_PAIR).path
    content = whole.read_bytes()
    (folder / "short.mxf").write_bytes(content[: len(content) * 6 // 10])
    done = check(folder, "short.mxf")
    assert (done.status, only(done)["outcome"]) == (3, "fail")
    assert finding(done, "picture.raster")["outcome"] == "pass"
    broken = finding(done, "integrity.decodable")
    assert broken["outcome"] == "fail"
    assert "01:00:0" in text_of(broken), broken


def test_a_growing_file_is_not_judged(folder, clean):
    """Still being written: status 3, 'still', no pass."""
    path = folder / "growing.mov"
    content = clean.read_bytes()
    path.write_bytes(content[:1000])
    child = subprocess.Popen(
        command("check", "--outlet", "harbour.toml", "--settle", "2", "--json", "-", path),
        cwd=folder, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    for at in range(1000, 41000, 1000):
        with path.open("ab") as stream:
            stream.write(content[at : at + 1000])
        time.sleep(0.1)
        if child.poll() is not None:
            break
    out, err = child.communicate(timeout=60)
    assert child.returncode == 3, (out, err)
    assert b"still" in out + err and b"Traceback" not in err


@pytest.mark.parametrize("change", ["grows", "shrinks", "replaced"])
def test_a_file_that_changes_during_the_pass_is_not_passed(folder, clean, change):
    """Seen at the end of the pass; the result is not trusted."""
    from qc.errors import CannotMeasure
    from qc.measurement.child import measure_file

    path = folder / "moving.mov"
    path.write_bytes(clean.read_bytes())

    def meddle(facts: object) -> None:
        if change == "grows":
            with path.open("ab") as stream:
                stream.write(b"more")
        elif change == "shrinks":
            os.truncate(path, path.stat().st_size // 3)
        else:
            other = folder / "other.mov"
            other.write_bytes(clean.read_bytes())
            os.replace(other, path)

    try:
        measurement = measure_file(path, store=None, on_facts=meddle)
    except CannotMeasure:
        return
    assert not measurement.complete


def test_what_is_not_a_regular_file_is_skipped_with_a_message(folder, clean):
    """Broken link, pipe, directory without media, missing file: none blocks, none is passed."""
    (folder / "gone.mov").symlink_to(folder / "nowhere.mov")
    os.mkfifo(folder / "pipe.mov")
    done = check(folder, "gone.mov", "pipe.mov", "missing.mov", clean)
    assert done.status == 3
    outcomes = {verdict["file"]: verdict["outcome"] for verdict in done.document["verdicts"]}
    assert outcomes.pop("clean.mov") == "pass"
    assert set(outcomes.values()) == {"not measured"} and len(outcomes) == 3


def test_a_sound_stem_is_judged_as_what_it_is(folder, media_dir):
    """No picture: the picture requirements fail or are not measured; nothing passes by absence."""
    tone = 0.06 * np.sin(2 * np.pi * 997 / 48000 * np.arange(4 * 48000))
    stem = wave_file(media_dir / "stem-pair.wav", np.column_stack([tone, tone]))
    done = check(folder, stem)
    assert only(done)["outcome"] == "fail"
    for requirement in ("streams.pictures", "picture.raster", "picture.frame_rate"):
        assert finding(done, requirement)["outcome"] in ("fail", "not measured")


def test_no_sound_stream(folder, media_dir):
    """Layout fails; loudness is not measured, for the reason that there is no sound."""
    mute = episode(media_dir / "mute.mov", acts=(60,), sounds=NO_SOUND).path
    done = check(folder, mute)
    assert done.status in (1, 3)
    assert finding(done, "audio.channels")["outcome"] == "fail"
    loudness = finding(done, "loudness.programme")
    assert loudness["outcome"] == "not measured" and "sound" in loudness["reason"]
    assert loudness["measured"] is None


def test_silent_sound_fails_and_is_no_number(folder, media_dir):
    """Digital silence has no loudness: it fails as silent programme, and no NaN reaches the JSON."""
    silent = episode(media_dir / "silent.mov", acts=(90,), sounds=(Sound("stereo", None),)).path
    done = check(folder, silent)
    assert only(done)["outcome"] == "fail"
    loudness = finding(done, "loudness.programme")
    assert loudness["outcome"] == "fail" and "silent" in text_of(loudness)


def test_one_silent_channel_is_named(folder, media_dir):
    """The right channel lost: must-carry names channel 2."""
    half = episode(media_dir / "half.mov", acts=(90,), sounds=(Sound("mono"), Sound("mono", None))).path
    done = check(folder, half)
    lost = finding(done, "audio.must_carry")
    assert lost["outcome"] == "fail" and "2" in lost["subject"] + text_of(lost)


def test_the_way_channels_are_packed_does_not_change_their_loudness(folder, media_dir):
    """One stream of eight, eight of one, four pairs: one flat list, one loudness; packing is judged apart."""
    quiet = Sound("stereo", None)
    packings = {
        "eight.mov": EIGHT_MONO,
        "pairs.mov": (Sound("stereo"), quiet, quiet, quiet),
    }
    readings = set()
    for name, sounds in packings.items():
        done = check(folder, episode(media_dir / name, acts=(90,), sounds=sounds).path)
        readings.add(round(finding(done, "loudness.programme")["measured"], 3))
        assert finding(done, "audio.channels")["measured"] == 8
    tone = 10 ** (-24 / 20) * np.sin(2 * np.pi * 997 / 48000 * np.arange(4 * 48000))
    eight = np.zeros((len(tone), 8))
    eight[:, :2] = tone[:, None]
    done = qc("measure", wave_file(media_dir / "eight.wav", eight), "--json", "-", cwd=folder)
    assert done.document["sound"]["integrated_lufs"] is None or done.status == 0
    assert len(readings) == 1


def test_several_channels_of_unknown_order_are_not_guessed(folder, media_dir):
    """Six channels without a layout: no group, loudness null with the reason."""
    noise = np.random.default_rng(3).normal(0, 0.05, (96000, 6))
    path = render(
        media_dir / "unknown.mov",
        ["-f", "f64le", "-ar", "48000", "-ch_layout", "6C", "-i", _raw(media_dir, noise), "-c:a", "pcm_s24le"],
    )
    done = qc("measure", path, "--json", "-", cwd=folder)
    sound = done.document["sound"]
    facts = str(done.document)
    assert sound["integrated_lufs"] is None or "5.1" in facts


def _raw(folder: Path, samples: np.ndarray) -> str:
    path = folder / f"raw-{samples.shape[1]}.f64"
    samples.astype("<f8").tofile(path)
    return str(path)


@pytest.mark.parametrize(("rate", "encoding"), [(44100, "pcm_s24le"), (96000, "pcm_s24le"), (48000, "pcm_f32le")])
def test_other_sample_rates_and_float_measure_right_and_fail_conformance(folder, media_dir, rate, encoding):
    """997 Hz at -23 dBFS in two channels reads -23.0 LUFS at any rate (EBU Tech 3341, signal 1)."""
    tone = 10 ** (-23 / 20) * np.sin(2 * np.pi * 1000 / rate * np.arange(5 * rate))
    path = wave_file(media_dir / f"tone-{rate}-{encoding}.mov", np.column_stack([tone, tone]), rate, encoding)
    done = qc("measure", path, "--json", "-", cwd=folder)
    assert done.document["sound"]["integrated_lufs"] == pytest.approx(-23.0, abs=0.1)
    judged = finding(check(folder, path), "audio.sample_rate")
    assert judged["outcome"] == ("pass" if rate == 48000 else "fail")


def test_float_overs_and_invalid_samples(folder, media_dir):
    """+3 dBTP is reported as such; NaN and Inf are counted, left out, and fail with their place."""
    tone = 1.41 * np.sin(2 * np.pi * 997 / 48000 * np.arange(4 * 48000))
    loud = wave_file(media_dir / "over.mov", np.column_stack([tone, tone]), encoding="pcm_f32le")
    measured = qc("measure", loud, "--json", "-", cwd=folder).document["sound"]
    assert measured["true_peak_dbtp"] == pytest.approx(2.98, abs=0.2)
    tone[48000:48010] = np.nan
    tone[96000] = np.inf
    broken = wave_file(media_dir / "nan.mov", np.column_stack([tone * 0.05, tone * 0.05]), encoding="pcm_f32le")
    done = check(folder, broken)
    assert only(done)["outcome"] == "fail"
    assert "invalid" in str(only(done)["findings"])
    loudness = finding(done, "loudness.programme")
    assert loudness["measured"] is None or -40 < loudness["measured"] < 0


@pytest.mark.parametrize("seconds", [2.0, 6.0])
def test_sound_shorter_or_longer_than_picture(folder, media_dir, seconds):
    """Four seconds of picture: the difference fails with both lengths."""
    picture = episode(media_dir / "silentpicture.mov", acts=(120,), sounds=NO_SOUND).path
    path = render(
        media_dir / f"uneven-{seconds}.mov",
        ["-i", str(picture), "-f", "lavfi", "-i", f"sine=frequency=997:sample_rate=48000:duration={seconds}",
         "-map", "0:v", "-map", "1:a", "-c:v", "copy", "-ac", "2", "-c:a", "pcm_s24le"],
    )  # fmt: skip
    uneven = finding(check(folder, path), "integrity.stream_lengths")
    assert uneven["outcome"] == "fail"


@pytest.mark.parametrize(("frames", "reason"), [(9, "integrated_lufs"), (60, "max_short_term_lufs")])
def test_too_short_for_a_figure_is_said_so(folder, media_dir, frames, reason):
    """Under 400 ms no integrated loudness, under 3 s no short-term: null, with a reason."""
    path = episode(media_dir / f"short-{frames}.mov", acts=(frames,)).path
    done = qc("measure", path, "--json", "-", cwd=folder)
    assert done.document["sound"][reason] is None
    assert "short" in str(done.document["sound"])


def test_variable_frame_rate_fails(folder, media_dir):
    """Frames dropped at random by a screen tool: constant rate fails."""
    path = render(
        media_dir / "vfr.mov",
        ["-f", "lavfi", "-i", "testsrc2=size=320x180:rate=30000/1001:duration=4", "-f", "lavfi", "-i",
         "sine=frequency=997:sample_rate=48000:duration=4", "-vf", r"select='not(eq(mod(n\,7)\,3)+eq(mod(n\,11)\,5))'",
         "-fps_mode", "vfr", "-ac", "2", "-c:v", "libx264", "-preset", "ultrafast", "-c:a", "pcm_s24le"],
    )  # fmt: skip
    done = check(folder, path)
    assert finding(done, "integrity.constant_rate")["outcome"] == "fail"
    assert only(done)["outcome"] == "fail"


def test_thirty_is_not_2997(folder, media_dir):
    """30.000 fails against 30000/1001."""
    path = episode(media_dir / "thirty.mov", acts=(90,), rate=__import__("fractions").Fraction(30)).path
    wrong = finding(check(folder, path), "picture.frame_rate")
    assert wrong["outcome"] == "fail" and "30000/1001" in wrong["limit"]


def test_no_timecode(folder, media_dir):
    """Start label not measured, so no pass; places are elapsed time."""
    path = episode(media_dir / "notimecode.mov", acts=(90,), timecode=None).path
    done = check(folder, path)
    assert finding(done, "timecode.start")["outcome"] in ("not measured", "fail")
    assert only(done)["outcome"] == "fail"


def test_flags_that_change_the_picture_are_seen(folder, media_dir, clean):
    """Rotation, anamorphic pixels, another raster, alpha, BT.2020: each fails its own requirement."""
    cases = {
        "picture.raster": ["-vf", "scale=256:144,setsar=1"],
        "picture.sample_aspect": ["-vf", "setsar=4/3"],
        "picture.colour": ["-color_primaries", "bt2020", "-color_trc", "smpte2084", "-colorspace", "bt2020nc"],
    }
    for requirement, arguments in cases.items():
        path = render(
            media_dir / f"{requirement}.mov",
            ["-i", str(clean), *arguments, "-c:v", "libx264", "-preset", "ultrafast", "-c:a", "copy", "-t", "2"],
        )
        assert finding(check(folder, path), requirement)["outcome"] in ("fail", "advisory"), requirement
    turned = render(media_dir / "turned.mov", ["-display_rotation", "90", "-i", str(clean), "-c", "copy"])
    assert finding(check(folder, turned), "picture.rotation")["outcome"] == "fail"
    alpha = render(
        media_dir / "alpha.mov",
        ["-i", str(clean), "-c:v", "prores_ks", "-profile:v", "4444", "-pix_fmt", "yuva444p10le", "-t", "1"],
    )
    assert finding(check(folder, alpha), "picture.alpha")["outcome"] in ("fail", "advisory")


def test_a_thumbnail_is_not_a_second_picture(folder, media_dir, clean):
    """An attached cover is mentioned, not judged as a second picture stream."""
    cover = render(media_dir / "cover.png", ["-f", "lavfi", "-i", "color=red:size=64x64", "-frames:v", "1"])
    path = render(
        media_dir / "cover.mp4",
        ["-i", str(clean), "-i", str(cover), "-map", "0:v", "-map", "0:a", "-map", "1:v", "-c:v:0", "copy",
         "-c:v:1", "png", "-disposition:v:1", "attached_pic", "-c:a", "aac"],
    )  # fmt: skip
    assert finding(check(folder, path), "streams.pictures")["outcome"] == "pass"


def test_a_codec_without_decoder_is_not_measured(folder, clean):
    """An unknown picture codec: status 3, never a pass."""
    (folder / "odd.mov").write_bytes(clean.read_bytes().replace(b"avc1", b"qzq1"))
    done = check(folder, "odd.mov")
    assert (done.status, only(done)["outcome"]) == (3, "fail")


def test_thousands_of_decoder_errors_are_capped(folder, media_dir, clean):
    """Noise all through the picture: a failing file with a short list, in bounded time."""
    content = bytearray(clean.read_bytes())
    rng = np.random.default_rng(5)
    for at in rng.integers(4000, len(content) - 20000, 4000):
        content[at] ^= 0x55
    (folder / "noise.mov").write_bytes(bytes(content))
    done = check(folder, "noise.mov")
    assert done.status in (1, 3) and only(done)["outcome"] == "fail"
    assert len(done.out) < 400_000


def test_a_file_far_too_long_is_stopped_early(folder, media_dir):
    """Two minutes where one is allowed: the long pass stops, the verdict says why."""
    path = render(
        media_dir / "toolong.mov",
        ["-f", "lavfi", "-i", "color=gray:size=320x180:rate=30000/1001:duration=400", "-c:v", "libx264",
         "-preset", "ultrafast", "-timecode", "01:00:00:00"],
    )  # fmt: skip
    done = check(folder, path)
    assert only(done)["outcome"] == "fail"
    assert finding(done, "duration.file")["outcome"] == "fail"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[outlet]\nname = "A"\ncode = "a"\n[loudness.programme]\ntarget = -23,5\n', "-23.5"),
        ('[outlet]\nname = "A"\ncode = "a"\n[true_peak.programe]\nmax = -2.0\nunit = "dBTP"\n', "programme"),
        ('[outlet]\nname = "A"\ncode = "a"\n[true_peak.programme]\nmax = nan\nunit = "dBTP"\n', "finite"),
        ('[outlet]\nname = "A"\ncode = "a"\n[duration.trt]\nmin = "00:22:00;00"\nmax = "00:21:00;00"\n', "min"),
        ('base = ["nowhere"]\n[outlet]\nname = "A"\ncode = "a"\n', "nowhere"),
        ('base = ["../../etc/passwd"]\n[outlet]\nname = "A"\ncode = "a"\n', "base"),
        ('[outlet]\nname = "A"\ncode = "a"\ncode = "b"\n', "code"),
    ],
)
def test_a_wrong_profile_stops_before_anything_is_decoded(folder, clean, text, words):
    """Status 2, the file and the place named; nothing is measured."""
    (folder / "wrong.toml").write_text(text)
    done = qc("check", clean, "--outlet", "wrong.toml", "--settle", "0", cwd=folder)
    assert done.status == 2
    assert "wrong.toml" in done.words and words in done.words
    assert not list((folder / "store").rglob("*.npz")) if (folder / "store").exists() else True


def test_a_folder_lists_strays_and_judges_the_rest(folder, clean):
    """Hidden, partial and temporary names are named once and left alone."""
    delivery = folder / "delivery"
    delivery.mkdir()
    (delivery / "clean.mov").write_bytes(clean.read_bytes())
    for stray in (".DS_Store", "._clean.mov", "clean.mov.part", "Thumbs.db", "~clean.mov.tmp"):
        (delivery / stray).write_bytes(b"x")
    done = check(folder, "delivery")
    assert done.status == 0
    assert [verdict["file"] for verdict in done.document["verdicts"]] == ["clean.mov"]
    assert "DS_Store" in done.err and (delivery / ".DS_Store").exists()


HOSTILE_NAMES = (
    "two words.mov",
    "semi;colon 'quote' \"double\".mov",
    "-dash.mov",
    "new\nline.mov",
    "\u202egnol.mov",
    "<script>alert(1)<script>.mov",
    "{{ 7*7 }}.mov",
    "=cmd().mov",
    "\U0001f3ac.mov",
    "n" * 251 + ".mov",
)


def test_hostile_names_stay_names(folder, clean):
    """Spaces, quotes, newline, dash, right-to-left, markup, formula, 255 bytes: judged, escaped, written."""
    for name in HOSTILE_NAMES:
        (folder / name).hardlink_to(clean) if clean.stat().st_dev == folder.stat().st_dev else (
            folder / name
        ).write_bytes(clean.read_bytes())
    done = check(folder, *HOSTILE_NAMES, options=("--out", "reports", "--junit", "all.xml"))
    assert done.status == 0, done.words
    assert sorted(verdict["file"] for verdict in done.document["verdicts"]) == sorted(HOSTILE_NAMES)
    folders = [path for path in (folder / "reports").iterdir() if path.is_dir()]
    assert len(folders) == len(HOSTILE_NAMES)
    for one in folders:
        assert list(one.glob("*.harbour.html")) and one.name.isprintable() and "\u202e" not in one.name
    for page in (folder / "reports").rglob("*.html"):
        assert "<script>alert" not in page.read_text(encoding="utf-8")


def test_markup_in_titles_is_text(folder, media_dir, clean):
    """A title of markup and template marks is shown, never run."""
    title = "<script>alert('x')</script>{{ 7*7 }}"
    path = render(media_dir / "title.mov", ["-i", str(clean), "-c", "copy", "-metadata", f"title={title}"])
    done = check(folder, path, options=("--out", "reports"))
    assert done.status == 0
    pages = list((folder / "reports").rglob("*.html"))
    assert pages and all("<script>alert" not in page.read_text(encoding="utf-8") for page in pages)


def test_a_report_folder_that_cannot_be_written_keeps_verdict_and_status(folder, media_dir, clean):
    """A file stands where the folder should be: message, verdict and status all the same."""
    (folder / "taken").write_text("not a folder")
    done = check(folder, clean, options=("--out", "taken/reports"))
    assert done.status == 0 and only(done)["outcome"] == "pass"
    assert "taken" in done.err


@pytest.mark.parametrize("env", [{"LC_ALL": "de_DE.UTF-8"}, {"PYTHONIOENCODING": "ascii", "LC_ALL": "C"}])
def test_locale_and_terminal_do_not_change_numbers(folder, clean, env):
    """Decimal points stay points; a terminal that knows only ASCII gets degraded text, no crash."""
    done = qc("check", clean, "--outlet", "harbour.toml", "--settle", "0", cwd=folder, **env)
    assert done.status == 0
    assert "-24,0" not in done.words


def test_interrupt_stops_the_child_and_leaves_nothing_half(folder, media_dir):
    """Ctrl-C: status 130, no child left, no half record, no half report."""
    path = render(
        media_dir / "interrupt.mov",
        ["-f", "lavfi", "-i", "testsrc2=size=1920x1080:rate=30000/1001:duration=30", "-c:v", "libx264", "-preset",
         "ultrafast", "-crf", "30"],
    )  # fmt: skip
    (folder / "tmp").mkdir()
    child = subprocess.Popen(
        command("check", path, "--outlet", "harbour.toml", "--settle", "0", "--out", "reports"),
        cwd=folder,
        env=environment(AIRWORTHY_STORE=str(folder / "store"), TMPDIR=str(folder / "tmp")),
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True,
    )  # fmt: skip
    time.sleep(3)
    os.killpg(child.pid, signal.SIGINT)
    out, err = child.communicate(timeout=30)
    assert child.returncode == 130, (out, err)
    assert b"Traceback" not in out + err
    assert list((folder / "tmp").iterdir()) == []
    assert not list(folder.rglob("*.npz")) and not list(folder.rglob("*.html"))


def test_two_runs_at_once_do_not_disturb_each_other(folder, clean):
    """Same file, same folder, same store: both pass, reports are whole."""
    runs = [
        subprocess.Popen(
            command("check", clean, "--outlet", "harbour.toml", "--settle", "0", "--out", "reports", "--quiet"),
            cwd=folder, env=environment(AIRWORTHY_STORE=str(folder / "store")),
            stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )
        for _ in range(2)
    ]  # fmt: skip
    for run in runs:
        out, err = run.communicate(timeout=120)
        assert run.returncode == 0, (out, err)
    pages = list((folder / "reports").rglob("*.html"))
    assert pages and all(page.read_text(encoding="utf-8").rstrip().endswith("</html>") for page in pages)
    assert not [path for path in (folder / "reports").rglob("*") if "tmp" in path.name or "part" in path.name]


def test_same_bytes_under_two_names_are_measured_once(folder, clean):
    """The second name is found by content."""
    (folder / "one.mov").write_bytes(clean.read_bytes())
    (folder / "two.mov").write_bytes(clean.read_bytes())
    done = check(folder, "one.mov", "two.mov")
    assert done.status == 0
    assert len(list((folder / "store").rglob("*.npz"))) == 1
