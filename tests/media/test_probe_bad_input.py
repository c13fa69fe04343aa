"""What is not a programme, or not whole, becomes one sentence: what, where, remedy. Nothing waits, nothing crashes."""

from __future__ import annotations

import io
import os
import random
import struct
import subprocess
import sys
import time
import zipfile
from fractions import Fraction
from pathlib import Path

import pytest

from qc.errors import CannotMeasure
from qc.media.probe import probe
from tests.kit.render import Episode, episode, render, wave_file

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="session")
def mov(media_dir: Path) -> Episode:
    return episode(media_dir / "bad-source.mov", acts=(12, 12), break_frames=6)


@pytest.fixture(scope="session")
def mxf(media_dir: Path) -> Episode:
    return episode(media_dir / "bad-source.mxf", form="mxf-mpeg2", acts=(25, 25), break_frames=6)


def refusal(path: Path) -> CannotMeasure:
    with pytest.raises(CannotMeasure) as caught:
        probe(path)
    assert caught.value.exit_status == 3
    assert caught.value.remedy, "says what to do"
    assert str(path.parent) not in str(caught.value), "the folder is no business of a report"
    return caught.value


def test_empty_file(tmp_path: Path) -> None:
    """A zero-byte file is called empty; the sentence is whole."""
    path = tmp_path / "brln_0201.mov"
    path.touch()

    assert str(refusal(path)) == "brln_0201.mov: the file is empty (0 bytes). Export or copy it again."


def _archive() -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w") as packed:
        packed.writestr("a.txt", "a")
    return memory.getvalue()


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        pytest.param(b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n1 0 obj", "a PDF document", id="pdf"),
        pytest.param(b"act,som,eom\r\n1,01:00:00;00,01:05:00;00\r\n", "text", id="csv"),
        pytest.param("\ufeffRemember the slate \u2013 J\u00fcrgen".encode(), "text", id="utf-8 with mark"),
        pytest.param("plain words".encode("utf-16"), "text", id="utf-16"),
        pytest.param("Latin gar\u00e7on de caf\u00e9".encode("latin-1"), "text", id="latin-1"),
        pytest.param(b"<!DOCTYPE html><html><body>Log in</body></html>", "a web page", id="html"),
        pytest.param(b'<?xml version="1.0"?><tt xmlns="http://www.w3.org/ns/ttml"/>', "an XML document", id="xml"),
        pytest.param(_archive(), "a ZIP archive", id="zip"),
        pytest.param(b"\x89PNG\r\n\x1a\n" + bytes(64), "a PNG picture", id="png"),
        pytest.param(b"\xff\xd8\xff\xe0" + bytes(64), "a JPEG picture", id="jpeg"),
        pytest.param(bytes(100_000), "nothing but zeros", id="zeros"),
    ],
)
@pytest.mark.parametrize("name", ["x.mov", "x.mxf"])
def test_something_else_with_a_media_name(tmp_path: Path, content: bytes, kind: str, name: str) -> None:
    """The content decides, and the sentence says what it looks like."""
    path = tmp_path / name
    path.write_bytes(content)

    assert f"not a media file: its content looks like {kind}" in str(refusal(path))


def test_a_playlist_opens_nothing(tmp_path: Path, mov: Episode) -> None:
    """A text that names other files is text; no decoder is led to them."""
    path = tmp_path / "list.mov"
    path.write_text(f"ffconcat version 1.0\nfile '{mov.path}'\n")

    assert "looks like text" in str(refusal(path))


def test_noise_is_not_media(tmp_path: Path) -> None:
    """Random bytes are refused in words, with the library's own last words as detail."""
    path = tmp_path / "noise.mxf"
    path.write_bytes(random.Random(1).randbytes(50_000))

    assert "cannot be opened as media" in str(refusal(path))


def test_mov_without_index(tmp_path: Path, mov: Episode) -> None:
    """A MOV cut before its index (moov) cannot be played by anybody. Source: ISO/IEC 14496-12, 8.2.1."""
    content = mov.path.read_bytes()
    path = tmp_path / "cut.mov"
    for size in (len(content) // 2, len(content) - 40):
        path.write_bytes(content[:size])
        assert str(refusal(path)) == (
            "cut.mov: incomplete: no index. Export it again, or copy it again if the original is whole."
        )


def test_a_copy_still_running_is_named(tmp_path: Path, mov: Episode) -> None:
    """A half file under a copying program's name gets the likelier remedy (common practice, no source)."""
    path = tmp_path / "BRLN_0206.mov.part"
    path.write_bytes(mov.path.read_bytes()[:5000])

    assert "wait until the copy is finished" in str(refusal(path))


def test_truncated_mxf_opens_with_what_its_header_declares(tmp_path: Path, mxf: Episode) -> None:
    """Header checks stay possible: declared length, timecode and codec; the footer is told to be missing."""
    content = mxf.path.read_bytes()
    path = tmp_path / "cut.mxf"
    path.write_bytes(content[: len(content) * 6 // 10])

    facts, whole = probe(path), probe(mxf.path)
    assert (whole.index_present, facts.index_present) == (True, False)
    assert "damage" not in whole.tags
    assert facts.tags["damage"] == "the footer that the header names is not there: the file ends too early"
    assert facts.picture is not None and facts.picture.declared_frames == 56
    assert facts.picture.duration == 56 / mxf.rate
    assert facts.duration == whole.duration
    assert facts.timecodes == whole.timecodes
    assert facts.operational_pattern == "OP1a"


def test_mov_with_its_index_in_front_cut_in_its_media(tmp_path: Path, mov: Episode, media_dir: Path) -> None:
    """The index is there and declares more than the file holds: facts, and the damage named."""
    quick = render(media_dir / "front.mov", ["-i", str(mov.path), "-map", "0", "-c", "copy", "-movflags", "+faststart"])
    content = quick.read_bytes()
    path = tmp_path / "front-cut.mov"
    path.write_bytes(content[: len(content) * 7 // 10])

    assert "damage" not in probe(quick).tags
    facts = probe(path)
    assert facts.index_present is True
    assert facts.picture is not None and facts.picture.declared_frames == 30
    assert facts.tags["damage"] == "the file ends before its media does"


def test_mxf_cut_inside_its_header(tmp_path: Path, mxf: Episode) -> None:
    """Nothing can be said of an MXF that ends within its header."""
    path = tmp_path / "stub.mxf"
    path.write_bytes(mxf.path.read_bytes()[:300])

    assert "stub.mxf: " in str(refusal(path))


def test_missing_file_folder_and_links(tmp_path: Path) -> None:
    """Each kind of wrong path has its own words."""
    assert "there is no such file" in str(refusal(tmp_path / "nowhere.mov"))
    assert "this is a folder" in str(refusal(tmp_path))
    assert "no such file" in str(refusal(tmp_path / "nowhere" / "deeper.mov"))
    dangling, loop = tmp_path / "dangling.mov", tmp_path / "loop.mov"
    dangling.symlink_to(tmp_path / "gone.mov")
    loop.symlink_to(loop)
    assert "a link to a file that is not there" in str(refusal(dangling))
    assert "a link that leads back to itself" in str(refusal(loop))
    assert "too long" in str(refusal(tmp_path / ("n" * 300)))


def test_a_link_to_media_is_media(tmp_path: Path, mov: Episode) -> None:
    """A good link is no fault."""
    link = tmp_path / "link.mov"
    link.symlink_to(mov.path)

    assert probe(link).wrapper == "MOV"


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_without_waiting(tmp_path: Path) -> None:
    """A named pipe that nobody writes to must not hang the run."""
    path = tmp_path / "pipe.mov"
    os.mkfifo(path)

    started = time.monotonic()
    assert "this is a pipe" in str(refusal(path))
    assert time.monotonic() - started < 1


@pytest.mark.skipif(not Path("/dev/null").exists(), reason="this system has no /dev/null")
def test_a_device_is_refused() -> None:
    """A device is not read."""
    with pytest.raises(CannotMeasure, match="this is a device"):
        probe(Path("/dev/null"))


def test_no_permission(tmp_path: Path, mov: Episode, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that may not be read says so. The superuser may read everything: there the system's answer is put in."""
    path = tmp_path / "locked.mov"
    path.write_bytes(mov.path.read_bytes())
    path.chmod(0)
    if os.access(path, os.R_OK):

        def denied(*_: object) -> int:
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr(os, "open", denied)

    assert "no permission" in str(refusal(path))


@pytest.mark.parametrize(
    "name",
    [
        "concat:a.mov",
        "http:x.mov",
        "-i.mov",
        "a b'c\"d;e.mov",
        "\u202ereversed.mov",
        "emoji \U0001f3ac.mov",
        "%03d.mov",
    ],
)
def test_odd_names_are_only_names(tmp_path: Path, mov: Episode, name: str) -> None:
    """No part of a name is taken for an address, an option or a pattern."""
    path = tmp_path / name
    path.write_bytes(mov.path.read_bytes())

    assert probe(path).wrapper == "MOV"


def test_control_characters_of_a_name_never_reach_the_terminal(tmp_path: Path) -> None:
    """A newline or an escape sequence in a name is shown, not sent."""
    path = tmp_path / "a\nb\x1b[31m.mov"
    path.touch()

    message = str(refusal(path))
    assert "\n" not in message and "\x1b" not in message
    assert message.startswith("a\\nb\\x1b[31m.mov: ")


# ------------------------------------------------------------------ size


def _huge_mov(small: bytes, path: Path, size: int) -> None:
    """The same media and index with a hole of ``size`` bytes inside the media atom, the index at the very end."""
    wide = small.index(b"wide") - 4
    index = small.index(b"moov") - 4
    length = index - wide - 8  # content and header of mdat
    with path.open("wb") as stream:
        stream.write(small[:wide] + struct.pack(">I4sQ", 1, b"mdat", 8 + length + size) + small[wide + 16 : index])
        stream.seek(size, 1)
        stream.write(small[index:])


def _huge_mxf(small: bytes, path: Path, size: int) -> None:
    """The same essence with a fill item of ``size`` bytes before the footer partition (SMPTE ST 377-1, 6.3.3)."""
    fill = bytes.fromhex("060e2b34010101020301021001000000") + b"\x88" + struct.pack(">Q", size - 25)
    (footer,) = struct.unpack_from(">Q", small, 20 + 24)
    assert small[footer + 13] == 4, "footer partition"
    moved = small.replace(struct.pack(">Q", footer), struct.pack(">Q", footer + size))
    with path.open("wb") as stream:
        stream.write(moved[:footer] + fill)
        stream.seek(size - 25, 1)
        stream.write(moved[footer:])


@pytest.mark.parametrize("kind", ["mov", "mxf"])
def test_forty_gigabytes_take_under_two_seconds(
    tmp_path: Path, mov: Episode, mxf: Episode, media_dir: Path, kind: str
) -> None:
    """Headers are read by seeking: a sparse file of 40 GB is as quick as a small one."""
    size = 40_000_000_000
    source = mov.path if kind == "mov" else mxf.path
    path = tmp_path / f"huge.{kind}"
    try:
        (_huge_mov if kind == "mov" else _huge_mxf)(source.read_bytes(), path, size)
    except OSError as problem:
        pytest.skip(f"no sparse files here: {problem}")
    if path.stat().st_blocks * 512 > size // 10:
        pytest.skip("no sparse files here")

    started = time.process_time()
    facts = probe(path)
    assert time.process_time() - started < 2
    assert facts.index_present is True
    assert facts.picture is not None and facts.picture.declared_frames in (30, 56)
    assert facts.timecodes[0].text == "01:00:00:00"


# ------------------------------------------------------------------ damage

HAMMER = """
import random, sys, time
from pathlib import Path
from qc.errors import CannotMeasure
from qc.media.facts import FileFacts
from qc.media.probe import probe
folder, rounds = Path(sys.argv[1]), int(sys.argv[2])
chance = random.Random(20)
for source in sorted(folder.glob("source.*")):
    whole = source.read_bytes()
    path = folder / f"hurt{source.suffix}"
    head = whole.find(b"moov") if source.suffix in (".mov", ".mp4") else 0
    for turn in range(rounds):
        content = bytearray(whole)
        if turn % 4 == 0:
            del content[chance.randrange(1, len(content)):]
        for _ in range(chance.choice((1, 3, 20))):
            # Where the headers are, mostly.
            at = (head + int(chance.random() ** 2 * 12000)) % max(len(content), 1)
            content[at:at + 1] = bytes([chance.randrange(256)])
        path.write_bytes(content)
        started = time.monotonic()
        try:
            assert isinstance(probe(path), FileFacts)
        except CannotMeasure as refusal:
            assert refusal.what and refusal.remedy and "\\n" not in str(refusal)
        assert time.monotonic() - started < 10, (source.suffix, turn)
print("done")
"""


def test_damaged_headers_give_facts_or_a_sentence(tmp_path: Path, mov: Episode, mxf: Episode, media_dir: Path) -> None:
    """Seeded mutations and truncations of four wrappers: no crash, no traceback, no word of the library on stderr."""
    import numpy as np

    aac = episode(media_dir / "bad-source.mp4", form="mp4-h264", acts=(12, 12), break_frames=6)
    stem = wave_file(media_dir / "bad-source.wav", np.zeros((4800, 2)))
    for path in (mov.path, mxf.path, aac.path, stem):
        (tmp_path / f"source{path.suffix}").write_bytes(path.read_bytes())
    done = subprocess.run(
        [sys.executable, "-c", HAMMER, str(tmp_path), "60"],
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        cwd=ROOT,
    )

    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "done", "")


def test_index_that_lies_about_its_size_is_no_memory_bomb(tmp_path: Path, mov: Episode) -> None:
    """A sample description that claims 200 MB is not believed. Bound of our own reader."""
    from qc.media.mov_atoms import BrokenAtoms, read_mov

    body = struct.pack(">I4s", 200_000_000, b"stsd") + bytes(8)
    for name in (b"stbl", b"minf", b"mdia", b"trak", b"moov"):
        body = struct.pack(">I4s", 200_000_100, name) + body
    path = tmp_path / "bomb.mov"
    with path.open("wb") as stream:
        stream.write(body)
        stream.truncate(200_000_200)

    with pytest.raises(BrokenAtoms):
        read_mov(path)
    assert "bomb.mov: " in str(refusal(path))


def test_nested_atoms_end(tmp_path: Path) -> None:
    """Thousands of atoms in each other neither recurse without end nor take long."""
    body = b""
    for _ in range(3000):
        body = struct.pack(">I4s", len(body) + 8, b"trak") + body
    path = tmp_path / "deep.mov"
    path.write_bytes(struct.pack(">I4s", len(body) + 8, b"moov") + body)

    started = time.monotonic()
    assert "deep.mov: " in str(refusal(path))
    assert time.monotonic() - started < 5


def test_absurd_timecode_base_is_not_a_label(tmp_path: Path, mxf: Episode) -> None:
    """A timecode component that counts 0 labels a second gives no label rather than a wrong one."""
    from qc.media.timecode_sources import label_of

    assert label_of(100, 0, False) is None
    assert label_of(100, 65535, False) is None
    assert label_of(100, 25, True) == "00:00:04;00", "a drop flag at 25 is told, not applied"
    assert label_of(1800, 30, True) == "00:01:00;02"


def test_wav_stem_and_lengths(media_dir: Path) -> None:
    """A stem has sound and no picture; its length is exact."""
    import numpy as np

    facts = probe(wave_file(media_dir / "stem.wav", np.zeros((48048, 1))))
    assert facts.picture is None
    assert facts.duration == Fraction(48048, 48000)
