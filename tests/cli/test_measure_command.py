"""``qc measure``: the figures a script reads, and the page a person reads."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.kit.command import qc
from tests.kit.render import NTSC, STEREO, episode, render, run, wave_file


@pytest.fixture(scope="module")
def part(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("measure") / "part.mov"
    return episode(path, acts=(132,), break_frames=[], extra_blacks=[(60, 12)], rate=NTSC, sounds=STEREO).path


def test_json_has_the_figures(part: Path, tmp_path: Path) -> None:
    """By BS.1770-5 a -24 dBFS stereo sine reads -24.0 LUFS
    (EBU Tech 3341, Table 1); black where it was rendered; undefined figures are null with a reason."""
    done = qc("measure", part, "--settle", 0, "--json", "-", cwd=tmp_path)
    sound, picture = done.document["sound"], done.document["picture"]

    assert done.status == 0
    assert sound["integrated_lufs"] == pytest.approx(-24.0, abs=0.1)
    assert sound["true_peak_dbtp"] == pytest.approx(-24.0, abs=0.2)
    assert {"loudness_range_lu", "max_momentary_lufs", "max_short_term_lufs"} <= set(sound)
    assert picture["frames"] == 132
    assert [(run["first_frame"], run["frames"]) for run in picture["black"]] == [(60, 12)]


def test_the_page_names_every_figure(part: Path, tmp_path: Path) -> None:
    """Whoever reads the screen sees the same figures, and why one is missing."""
    done = qc("measure", part, "--settle", 0, cwd=tmp_path)
    assert done.status == 0 and done.err == ""
    for words in ("-24.0", "LUFS", "dBTP", "132 frames", "frame 60, 12 frames", "01:00:02:00"):
        assert words in done.out


PLANTED = (
    "tinterlace=interleave_bottom,lutyuv=y='min(val+200\\,1019)':enable='between(n\\,10\\,40)',"
    "loop=loop=24:size=1:start=120,setpts=N/25/TB,crop=640:272,pad=640:360:0:44,setfield=bff"
)


def test_it_says_what_the_picture_shows(media_dir: Path, tmp_path: Path) -> None:
    """Known by making: fields woven bottom first, 44 black lines above and below, luma lifted past 105 %, one picture
    held for 25 frames, which FFmpeg's framemd5 finds as well."""
    source = "testsrc2=s=640x360:r=50:d=8,format=yuv422p10le"
    path, sums = media_dir / "seen.mov", tmp_path / "sums"
    render(
        path,
        ["-f", "lavfi", "-i", source, "-vf", PLANTED, "-r", "25", "-c:v", "prores_ks", "-flags", "+ildct"],
    )
    run(["-i", str(path), "-an", "-f", "framemd5", str(sums)])
    frames = [row.split()[-1] for row in sums.read_text().splitlines() if not row.startswith("#")]
    same = [frame for frame in range(1, len(frames)) if frames[frame] == frames[frame - 1]]
    done = qc("measure", path, "--settle", 0, "--json", "-", cwd=tmp_path)
    seen = done.document["seen"]

    assert seen["field_order"]["answer"] == "bottom first"
    assert [(box["kind"], box["lines"]) for box in seen["shape"]["boxes"]] == [("letterbox", [44, 44])]
    assert len(same) == 24
    assert [(still["first_frame"], still["frames"]) for still in seen["stills"]] == [(same[0] - 1, 25)]
    assert seen["repeats"] == 0
    assert 5 < seen["outside_levels"]["luma_percent"] < 76  # of 272 lines of 360, the brightest parts only
    for words in ("bottom first (by", "letterbox, 44 and 44 lines", "luma outside -5..105  up to", "25 frames from"):
        assert words in done.err
    assert max(map(len, done.err.splitlines())) <= 80


def test_what_no_figure_could_be_had_of_says_so(part: Path, tmp_path: Path) -> None:
    """Sound alone has no picture figures, with the reason; a clean picture shows nothing that lasts outside."""
    path = wave_file(tmp_path / "sound.wav", np.full((48000, 2), 0.1))
    seen = qc("measure", path, "--settle", 0, "--json", "-", cwd=tmp_path).document["seen"]
    assert seen.pop("reason") == "the file has no picture that could be measured"
    assert set(seen.values()) == {None}
    assert "nothing that lasts" in qc("measure", part, "--settle", 0, cwd=tmp_path).out


def test_too_short_a_sound_is_no_number(tmp_path: Path) -> None:
    """Under 400 ms there is no gating block (BS.1770-5, Annex 1): null with the reason, not -inf."""
    path = wave_file(tmp_path / "short.wav", np.full((4800, 2), 0.1))
    done = qc("measure", path, "--settle", 0, "--json", "-", "--quiet", cwd=tmp_path)
    assert done.document["sound"]["integrated_lufs"] is None
    assert "400 ms" in done.document["sound"]["reasons"]["integrated_lufs"]
    assert done.err == ""


def test_a_missing_file_is_3(tmp_path: Path) -> None:
    """What could not be measured is exit 3, in a sentence that names it."""
    done = qc("measure", "gone.mov", cwd=tmp_path)
    assert (done.status, done.out) == (3, "") and "gone.mov" in done.err
