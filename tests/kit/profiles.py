"""Small profiles for tests: one good one, and the same with lines changed."""

from __future__ import annotations

from pathlib import Path

#: A profile of an invented outlet without a base; every table is on a known line.
GOOD = """\
[outlet]
name = "TEST OUTLET"
code = "test"
specification = "Test Rider, 2026"

[picture.frame_rate]
accept = ["30000/1001"]

[timecode.counting]
accept = ["drop-frame"]

[timecode.start]
at = "01:00:00;00"

[duration.trt]
exact = "00:21:30;00"

[loudness.programme]
target = -24.0
tolerance = 2.0
unit = "LKFS"

[true_peak.programme]
max = -2.0
unit = "dBTP"

[audio.channels]
exact = 4

[[audio.group]]
name = "mix"
channels = [1, 2]
layout = "stereo"
"""


def write_profile(folder: Path, text: str = GOOD, name: str = "test.toml") -> Path:
    """The file, written as UTF-8."""
    path = folder / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")
    return path
