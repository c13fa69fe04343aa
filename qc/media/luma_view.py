"""The luma codes of a decoded frame, as a view of the decoder's own memory wherever the format allows.

Planar and semi-planar Y'CbCr and gray: plane 0 as it is, 8 bits as uint8, 9 to 16 bits as uint16
in native order (big-endian planes are swapped; codes kept in the high bits are moved down).
RGB, palette, packed and bit formats have no luma plane: libav's scaler brings them to Y'CbCr
4:4:4 narrow range BT.709, 8 bits for components of 8 bits or fewer, 10 for deeper ones.
"""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from functools import cache

import numpy as np
from av.video.frame import VideoFrame
from av.video.plane import VideoPlane
from av.video.reformatter import ColorRange, Colorspace

_FULL = 2  # AVCOL_RANGE_JPEG
_BIG = sys.byteorder == "big"
_LUMA_FIRST = re.compile(r"yuv[aj]?\d{3}p\d*(msb)?(le|be)?|gray(9|1\d)?(le|be)?|nv\d\d(le|be)?|p[024]1[026](le|be)")


@dataclass(frozen=True)
class LumaView:
    """codes (h, w) uint8 or uint16; bits of a code; full_range as flagged."""

    codes: np.ndarray
    bits: int
    full_range: bool


def luma_view(frame: VideoFrame) -> LumaView:
    """The luma of one frame; valid while the frame lives (the array holds on to it)."""
    name = frame.format.name
    if not _has_luma_plane(name) or frame.planes[0].line_size < 0:
        deep = max(component.bits for component in frame.format.components) > 8
        frame = frame.reformat(
            format="yuv444p10le" if deep else "yuv444p",
            dst_colorspace=Colorspace.ITU709,
            dst_color_range=ColorRange.MPEG,
        )
        name = frame.format.name
    bits = frame.format.components[0].bits
    full = name.startswith("yuvj") or int(frame.color_range) == _FULL
    plane = frame.planes[0]
    return LumaView(_codes(plane, bits, name), bits, full)


def _codes(plane: VideoPlane, bits: int, name: str) -> np.ndarray:
    """(h, w) of one plane."""
    word = np.dtype(np.uint8 if bits <= 8 else np.uint16)
    line = plane.line_size // word.itemsize
    words: np.ndarray = np.frombuffer(memoryview(plane), word)[: line * plane.height]
    codes = words.reshape(plane.height, line)[:, : plane.width]
    if name.endswith(("be", "le")) and name.endswith("be") != _BIG:
        codes = codes.byteswap()
    if name.startswith(("p010", "p012", "p210", "p212", "p410", "p412")) or "msb" in name:
        codes = codes >> (16 - bits)
    return codes


@cache
def _has_luma_plane(name: str) -> bool:
    """Whether plane 0 holds nothing but luma codes."""
    return _LUMA_FIRST.fullmatch(name) is not None
