"""One full-length half-hour for timing: 21:30;00 of 1080i at 50 Mb/s with eight mono tracks."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from qc.demo.layout import layout
from qc.demo.outlet_forms import FULL
from qc.demo.raster import Raster
from qc.demo.render import name_by, render
from qc.demo.sound import RATE, Stems
from qc.demo.version import Version

EPISODE = Version(201, FULL.code)
HD = Raster(1920, 1080)
_BITS_A_SECOND = 50_000_000 + 8 * 24 * RATE


def full_name() -> str:
    return name_by(FULL, EPISODE.episode)


def expected_bytes() -> int:
    """About; the wrapper adds a little."""
    return int(layout(FULL, EPISODE).frames / FULL.rate * _BITS_A_SECOND / 8)


def room_bytes() -> int:
    """What else is written for a while: three raw tracks of sound."""
    return int(layout(FULL, EPISODE).frames / FULL.rate * 3 * 4 * RATE)


def render_full(folder: Path, on_frame: Callable[[int, int], None] | None = None) -> Path:
    plan = layout(FULL, EPISODE)
    stems = Stems(EPISODE.episode, int(plan.frames / FULL.rate * RATE) + RATE)
    return render(EPISODE, folder, stems, HD, FULL, on_frame)
