"""Names of report files from hostile names, and writing whole or not at all."""

from __future__ import annotations

import errno
import os
import unicodedata
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from qc.report import files
from qc.report.files import ReportNotWritten, write_report
from qc.report.names import ReportNames, safe

HOSTILE = [
    "-rf.mov",
    "..",
    ".",
    "",
    "a/b\\c.mov",
    "../../etc/passwd",
    "x" * 255,
    "é" * 127,
    "name\nwith\x00controls\x1b.mov",
    "\u202egpj.exe",
    "quote\"'`$(id);&|<>*?.mov",
    "🎬🎬.mov",
    " leading and trailing . ",
    "con.mov",
    "caf\udce9.mov",
    "長い名前.mxf",
]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_makes_a_plain_file(tmp_path, name):
    """Whatever the media file or the outlet is called, the report is one plain file in its folder."""
    names = ReportNames()
    path = tmp_path / f"{names.stem(names.folder(name), name)}.for-outlet.html"
    write_report(path, b"x")

    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]
    assert path.name[0] not in "-."
    assert len(os.fsencode(path.name)) <= 255
    assert path.name.isprintable()
    assert not set(path.name) & set(" /\\\"'`$();&|<>*?:")


def test_an_ordinary_name_stays_as_it_is():
    """People find the report by the name of the file."""
    names = ReportNames()
    assert names.folder("BRLN_0206_v01.mxf") == "BRLN_0206_v01.mxf"
    assert names.stem("BRLN_0206_v01.mxf", "corvane-5") == "BRLN_0206_v01.mxf.corvane-5"


@given(st.lists(st.text(min_size=1, max_size=80), min_size=2, max_size=6, unique=True))
def test_different_names_never_share_a_report(names):
    """Case, normal form or replaced characters: two files always get two reports."""
    given_names = ReportNames()
    reports = [given_names.folder(name).casefold() for name in names]

    assert len(set(reports)) == len(names)


def test_composed_and_decomposed_forms_do_not_collide():
    """ "é" in one and in two characters (Unicode UAX #15): two files, two names, neither depends on the order."""
    composed, decomposed = (unicodedata.normalize(form, "Café.mov") for form in ("NFC", "NFD"))

    assert safe(composed) == composed
    assert safe(decomposed).startswith("Café.mov-")
    assert safe(decomposed) != safe(composed)


def test_the_same_name_from_two_folders_is_numbered():
    """Second of the same name: "-2"; a file that is really called so, and the index, are never overwritten."""
    names = ReportNames()

    assert names.folder("a.mov") == "a.mov"
    assert names.folder("A.mov") == "A.mov-2"
    assert names.folder("a.mov-2").casefold() != "a.mov-2"
    assert names.folder("index.html") != "index.html"
    assert names.stem("a.mov", "x") == "a.mov.x"
    assert names.stem("a.mov", "X") == "a.mov.X-2"


def test_an_old_report_stays_until_the_new_one_is_whole(tmp_path, monkeypatch):
    """A full disk in the middle: the old report is untouched, no part of the new one is left.

    The full disk is played by the system call, since filling a real one would hurt the machine.
    """
    path = tmp_path / "report.html"
    write_report(path, b"old")

    class Full:
        def __init__(self, descriptor, mode):
            os.close(descriptor)

        def __enter__(self):
            return self

        def __exit__(self, *exception):
            return None

        def write(self, content):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(files.os, "fdopen", Full)
    with pytest.raises(ReportNotWritten, match="No space left on device"):
        write_report(path, b"new")

    assert path.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["report.html"]


def test_an_interrupt_leaves_no_part(tmp_path, monkeypatch):
    """Ctrl-C between writing and renaming removes the temporary file and goes on up."""

    def interrupted(source, target):
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_report(tmp_path / "report.html", b"x")

    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("in_the_way", ["file as folder", "folder as file"])
def test_a_place_that_cannot_be_written_is_an_error_for_the_user(tmp_path, in_the_way):
    """ReportNotWritten names the place and a remedy, so that a caller can go on and keep its exit status."""
    if in_the_way == "file as folder":
        (tmp_path / "out").write_bytes(b"")
        path = tmp_path / "out" / "report.html"
    else:
        path = tmp_path / "report.html"
        (path / "inside").mkdir(parents=True)

    with pytest.raises(ReportNotWritten) as caught:
        write_report(path, b"x")

    assert str(path) in str(caught.value)
    assert "--out" in str(caught.value)
    assert not [entry for entry in tmp_path.iterdir() if entry.name.endswith(".part")]


def test_a_report_has_the_permissions_of_an_ordinary_file(tmp_path):
    """A temporary name must not leave the report unreadable for others."""
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    report = write_report(tmp_path / "deep" / "folder" / "report.html", b"x")

    assert report.stat().st_mode == plain.stat().st_mode


def test_a_link_in_the_way_is_replaced_not_followed(tmp_path):
    """A link planted in the report folder does not make the report overwrite what it points to."""
    target = tmp_path / "precious"
    target.write_bytes(b"keep")
    link = tmp_path / "report.html"
    link.symlink_to(target)

    write_report(Path(link), b"x")

    assert target.read_bytes() == b"keep"
    assert not link.is_symlink()
