"""The luma codes of a decoded frame, as a view of the decoder's own memory wherever the format allows.

Planar and semi-planar Y'CbCr and gray: plane 0 as it is, 8 bits as uint8, 9 to 16 bits as uint16
in native order (big-endian planes are swapped; codes kept in the high bits are moved down).
RGB, palette, packed and bit formats have no luma plane: libav's scaler brings them to Y'CbCr
4:4:4, 8 bits for components of 8 bits or fewer, 10 for deeper ones. Packed Y'CbCr keeps its matrix and range,
whatever they are: it is only spread out. All others become narrow range BT.709; black and white (one bit) by way of
RGB, as the scaler makes it full range straight on.
"""

from __future__ import annotations

import re
import sys
from functools import cache
from typing import NamedTuple

import numpy as np
from av.video.format import VideoFormat
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace

_FULL = 2  # AVCOL_RANGE_JPEG
_BIG = sys.byteorder == "big"
_LUMA_FIRST = re.compile(r"yuv[aj]?\d{3}p\d*(msb)?(le|be)?|gray(9|1\d)?(le|be)?|nv\d\d(le|be)?|p[024]1[026](le|be)")


class LumaView(NamedTuple):
    """codes (h, w) uint8 or uint16; bits of a code; full_range as flagged."""

    codes: np.ndarray
    bits: int
    full_range: bool


class _Plan(NamedTuple):
    """What a pixel format asks for, looked up once."""

    as_it_is: bool  # plane 0 holds nothing but luma codes
    bits: int
    word: np.dtype
    full: bool
    swap: bool
    shift: int
    instead: str  # the format to convert to if it is not
    coded: bool  # Y'CbCr


def luma_view(frame: VideoFrame) -> LumaView:
    """The luma of one frame; valid while the frame lives (the array holds on to it)."""
    return in_luma_first(frame)[1]


def in_luma_first(frame: VideoFrame) -> tuple[VideoFrame, LumaView]:
    """The frame itself, or what it becomes where its format has no luma plane, with its luma."""
    plan = _plan(frame.format.name)
    plane = frame.planes[0]
    if not plan.as_it_is or plane.line_size < 0:
        frame = _converted(frame, plan)
        plan = _plan(frame.format.name)
        plane = frame.planes[0]
    height, line = plane.height, plane.line_size // plan.word.itemsize
    codes: np.ndarray = np.frombuffer(memoryview(plane), plan.word)[: line * height]
    codes = codes.reshape(height, line)[:, : plane.width]
    if plan.swap:
        codes = codes.byteswap()
    if plan.shift:
        codes = codes >> plan.shift
    return frame, LumaView(codes, plan.bits, plan.full or frame.color_range == _FULL)


def _converted(frame: VideoFrame, plan: _Plan) -> VideoFrame:
    if plan.bits == 1:
        frame = frame.reformat(format="rgb24", threads=1)
    kept = ColorRange.JPEG if frame.color_range == _FULL else ColorRange.MPEG
    return frame.reformat(
        format=plan.instead,
        src_colorspace=Colorspace.ITU709 if plan.coded else None,  # the same on both sides: nothing is converted
        dst_colorspace=Colorspace.ITU709,
        src_color_range=kept if plan.coded else None,
        dst_color_range=kept if plan.coded else ColorRange.MPEG,
        threads=1,  # with more, the rows where slices meet differ from run to run
    )


@cache
def _plan(name: str) -> _Plan:
    kind = VideoFormat(name)
    components = kind.components
    bits = components[0].bits
    high = name.startswith(("p010", "p012", "p210", "p212", "p410", "p412")) or "msb" in name
    return _Plan(
        as_it_is=_LUMA_FIRST.fullmatch(name) is not None,
        bits=bits,
        word=np.dtype(np.uint8 if bits <= 8 else np.uint16),
        full=name.startswith("yuvj"),
        swap=name.endswith(("be", "le")) and name.endswith("be") != _BIG,
        shift=16 - bits if high else 0,
        instead="yuv444p10le" if max(component.bits for component in components) > 8 else "yuv444p",
        coded=len(components) > 2 and not kind.is_rgb and not kind.has_palette and not name.startswith("xyz"),
    )
