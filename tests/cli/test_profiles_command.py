"""``qc profiles``: list, show, lint, diff; plain text of 80 columns, and the exit status."""

from __future__ import annotations

from pathlib import Path

import pytest

from qc.cli.app import run
from tests.kit.profiles import GOOD, write_profile


def said(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = run(["profiles", *words])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_list_keeps_outlets_short_forms_and_bases_apart(capsys: pytest.CaptureFixture[str]) -> None:
    """Three lists; a base is never among the outlets."""
    status, out, err = said(capsys, "list")
    outlets, short, bases = out.split("\n\n")[:3]
    assert (status, err) == (0, "")
    assert outlets.startswith("Outlets\n  corvane-5") and len(outlets.splitlines()) == 7
    assert len(short.splitlines()) == 7 and "kerrawind-mini" in short
    assert "ebu-r128 " in bases and "ebu-r128" not in outlets
    assert max(len(line) for line in out.splitlines()) <= 80


def test_show_names_the_file_of_every_value(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A value from a base and one from the profile carry the number of their file."""
    text = GOOD.replace("[loudness.programme]\ntarget = -24.0\n", "[loudness.programme]\ntarget = -24.5\n")
    text = text.replace('unit = "LKFS"\n', "") + '\n[picture.codec]\nlevel = "off"\n'
    path = write_profile(tmp_path, 'base = ["op-59", "prores-422-hq-mov"]\n' + text)
    status, out, _ = said(capsys, "show", str(path))
    assert status == 0
    assert "  [1] profiles/base/op-59.toml\n  [2] profiles/base/prores-422-hq-mov.toml\n  [3] test.toml\n" in out
    assert (
        "LOUDNESS\n"
        "  Programme loudness: -24.5 LKFS +/- 2.0 (must)\n"
        "    unit LKFS [1]; target -24.5 [3]; tolerance 2.0 [3]\n"
    ) in out
    assert "TAKEN AWAY\n  Picture codec  (picture.codec)  [3]\n" in out
    assert max(len(line) for line in out.splitlines()) <= 80


@pytest.mark.parametrize("name", ["corvane-5", "hoshinami-net-mini", "ebu-r128", "op-59"])
def test_show_outlets_and_bases(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Outlets by code, bases by name; what is not checked is listed."""
    status, out, _ = said(capsys, "show", name)
    assert status == 0
    assert max(len(line) for line in out.splitlines()) <= 80
    assert ("ASKED FOR AND NOT CHECKED BY THIS TOOL" in out) == (name in ("corvane-5", "hoshinami-net-mini"))


def test_lint_goes_on_after_a_bad_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All files are looked through; one with problems makes the status 2."""
    bad = write_profile(tmp_path, GOOD.replace("-2.0", "2.0"), "bad.toml")
    odd = write_profile(tmp_path, GOOD.replace('code = "test"', 'code = "odd-one"'), "odd.toml")
    status, out, _ = said(capsys, "lint", str(bad), str(odd), "kerrawind")
    assert status == 2
    assert f"{bad} has 1 problem; nothing was checked." in out
    assert f"{odd}: no problems; 1 thing is odd." in out
    assert "kerrawind: no problems.\n" in out


def test_lint_of_good_profiles_is_0(capsys: pytest.CaptureFixture[str]) -> None:
    """Odd is not wrong."""
    assert said(capsys, "lint", "corvane-5", "ebu-r103")[0] == 0


def test_diff_tells_both_sides(capsys: pytest.CaptureFixture[str]) -> None:
    """Title, id, and the words of each outlet."""
    status, out, _ = said(capsys, "diff", "velmark-kanal", "tidewold-one")
    assert status == 0
    assert out.startswith("VELMARK KANAL and TIDEWOLD ONE differ in ")
    assert (
        "True peak   true_peak.programme\n"
        "  VELMARK KANAL  at most -1.0 dBTP, measured within +/- 0.3\n"
        "  TIDEWOLD ONE   at most -3.0 dBTP\n"
    ) in out
    assert "Parting   structure.parts\n  VELMARK KANAL  single\n  TIDEWOLD ONE   hard parts\n" in out
    assert "loudness.programme" not in out
    assert max(len(line) for line in out.splitlines()) <= 80


def test_diff_with_itself(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing differs."""
    assert said(capsys, "diff", "kerrawind", "kerrawind")[1] == "KERRAWIND and KERRAWIND ask for the same.\n"


@pytest.mark.parametrize("words", [["show", "corvan"], ["diff", "kerrawind", "nowhere.toml"]])
def test_an_unknown_profile_is_status_2(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """The message goes to stderr, without a traceback."""
    status, out, err = said(capsys, *words)
    assert (status, out) == (2, "")
    assert "Traceback" not in err and len(err) > 20


def test_no_colour_reaches_a_pipe(capsys: pytest.CaptureFixture[str]) -> None:
    """Plain text where nobody watches."""
    assert "\x1b" not in said(capsys, "show", "kerrawind")[1]
