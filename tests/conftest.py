"""Fixtures for every room: the packaged FFmpeg program and a folder for rendered media."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from hypothesis import settings

# Made cases must be the same on every machine, and a slow machine is no failure.
settings.register_profile("airworthy", deadline=None, derandomize=True)
settings.load_profile("airworthy")

ROOT = Path(__file__).resolve().parent.parent
if str(ROOT) not in sys.path:
    sys.path.insert(0, str(ROOT))


@pytest.fixture(scope="session")
def ffmpeg() -> str:
    """Path of the FFmpeg program that the package imageio-ffmpeg brings."""
    from tests.kit.render import program

    return program()


@pytest.fixture(scope="session")
def media_dir(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for the whole run; what is rendered into it once is used by every test."""
    return tmp_path_factory.mktemp("media")


@pytest.fixture(scope="session")
def film() -> Path:
    """The open ten-minute film; skips with a reason when it cannot be had."""
    from tests.kit.film import film_path

    return film_path()
