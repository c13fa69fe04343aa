"""The active format description as libav keeps it with a picture, read without keeping the picture.

Carriage in MPEG-2 pictures: user data that begin with "DTG1" (ETSI TS 101 154, Annex B, from memory); codes of
SMPTE ST 2016-1.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import av
import pytest

from qc.media.picture_view import picture_view
from tests.kit.render import render

FIRST_SLICE, USER_DATA = b"\x00\x00\x01\x01", b"\x00\x00\x01\xb2"


def with_codes(path: Path, codes: list[int | None]) -> Path:
    """An MPEG-2 stream of intra pictures, each with its code put in by hand before its first slice."""
    plain = render(
        path.with_name("plain.m2v"),
        ["-f", "lavfi", "-i", "testsrc2=s=320x176:r=25", "-frames:v", str(len(codes)), "-c:v", "mpeg2video", "-g", "1"],
    ).read_bytes()
    head, *pictures = plain.split(FIRST_SLICE)
    assert len(pictures) == len(codes)
    out = head
    for code, picture in zip(codes, pictures, strict=True):
        if code is not None:
            out += USER_DATA + b"DTG1" + bytes([0x41, 0xF0 | code])
        out += FIRST_SLICE + picture
    path.write_bytes(out)
    return path


def test_the_code_comes_with_its_picture(media_dir: Path) -> None:
    """Four bits as they were written, per picture; none where none was written."""
    codes = [8, 10, None, 9, 15, 0, 10]
    path = with_codes(media_dir / "afd.m2v", codes)
    with av.open(str(path)) as container:
        found = [picture_view(frame).afd for frame in container.decode(video=0)]
    assert found == codes


@pytest.mark.skipif(sys.platform != "linux", reason="peak memory is read as Linux counts it, in KiB")
def test_reading_it_keeps_no_picture(media_dir: Path) -> None:
    """Three hundred pictures of 1.5 MB each: what is at hand at once stays far below their sum."""
    path = render(
        media_dir / "many.mkv",
        ["-f", "lavfi", "-i", "color=gray:s=1280x720:r=25", "-frames:v", "300", "-c:v", "mpeg2video", "-threads", "2"],
    )
    code = (
        "import sys, av, resource\nfrom qc.media.picture_view import picture_view\n"
        "at_start = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        f"with av.open({str(path)!r}) as container:\n"
        "    for frame in container.decode(video=0): picture_view(frame)\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - at_start)\n"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert int(done.stdout) < 100 * 1024
