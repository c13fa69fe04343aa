"""Which files a run takes, and what they are called. Common practice of delivery folders, no source."""

from __future__ import annotations

from pathlib import Path

from qc.delivery.inventory import take_inventory
from qc.delivery.names import names_in_run


def test_a_folder_gives_its_media_sorted_and_names_its_strays(tmp_path: Path) -> None:
    """Media at any depth, sorted; hidden, partial and other files are named once each with the reason."""
    for name in ("b.mxf", "A.MOV", "sub/c.wav", ".hidden.mov", "d.mov.part", "~e.mov", "notes.txt", "Thumbs.db"):
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.touch()
    found = take_inventory([tmp_path])
    assert [path.relative_to(tmp_path).as_posix() for path in found.files] == ["A.MOV", "b.mxf", "sub/c.wav"]
    assert {stray.path.name: stray.why.split()[0] for stray in found.strays} == {
        ".hidden.mov": "hidden",
        "Thumbs.db": "hidden",
        "d.mov.part": "temporary",
        "notes.txt": "not",
        "~e.mov": "temporary",
    }


def test_a_named_file_is_taken_whatever_it_is_called(tmp_path: Path) -> None:
    """Who names a file means it: no ending is refused, a missing one is kept for the verdict, twice is once."""
    odd = tmp_path / ".x.part"
    odd.touch()
    found = take_inventory([odd, tmp_path / "gone.mov", odd])
    assert found.files == (odd, tmp_path / "gone.mov") and found.strays == ()


def test_an_empty_folder_is_told(tmp_path: Path) -> None:
    """A folder without media is a mistake to be told, not a pass."""
    assert take_inventory([tmp_path]).empty == (tmp_path,)


def test_a_loop_of_links_ends(tmp_path: Path) -> None:
    """A link to a folder above is not followed."""
    (tmp_path / "loop").symlink_to(tmp_path)
    (tmp_path / "a.mov").touch()
    assert [path.name for path in take_inventory([tmp_path]).files] == ["a.mov"]


def test_names_get_as_many_folders_as_they_need() -> None:
    """Alike names are told apart by their folders, others stay bare."""
    files = [Path("/s/one/x/a.mov"), Path("/s/two/x/a.mov"), Path("/s/b.mov")]
    assert list(names_in_run(files).values()) == ["one/x/a.mov", "two/x/a.mov", "b.mov"]
