"""Which FFmpeg program renders. Measuring never needs one."""

from __future__ import annotations

import os
import shutil

from qc.errors import UserError

SETTING = "AIRWORTHY_FFMPEG"


def ffmpeg_program() -> str:
    """An explicit setting, else the packaged program, else the system's. Raises UserError if there is none."""
    explicit = os.environ.get(SETTING)
    if explicit:
        found = shutil.which(explicit)
        if found is None:
            raise UserError(f"{SETTING} names no program: {explicit}", remedy="correct it, or unset it")
        return found
    try:
        import imageio_ffmpeg

        return str(imageio_ffmpeg.get_ffmpeg_exe())
    except (ImportError, RuntimeError):
        found = shutil.which("ffmpeg")
    if found is None:
        raise UserError(
            "there is no FFmpeg program to render with",
            remedy=f"install the package imageio-ffmpeg, or name a program in {SETTING}",
        )
    return found
