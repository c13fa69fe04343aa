"""``qc measure``: the figures a script reads, and the page a person reads."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from tests.kit.command import qc
from tests.kit.render import NTSC, STEREO, episode, wave_file


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
