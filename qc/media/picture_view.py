"""All planes of a decoded frame as views of the decoder's own memory wherever the format allows.

What luma_view does for luma alone, with chroma beside it, for the meters that need colour.
"""

from __future__ import annotations

import sys
from functools import cache
from typing import NamedTuple

import numpy as np
from av.sidedata.sidedata import SideDataContainer
from av.video.format import VideoFormat
from av.video.frame import VideoFrame

from qc.media.luma_view import in_luma_first

_BIG = sys.byteorder == "big"


class PictureView(NamedTuple):
    """One frame as code values.

    luma         (h, w) uint8 or uint16
    cb, cr       of the format's own size, same type; None for a picture without colour
    bits         of a code
    full_range   as flagged
    interlaced   the frame is flagged as two fields
    top_first    the upper field is the earlier one (of an interlaced frame)
    afd          active format description that came with the picture (its four bits); None without one
    """

    luma: np.ndarray
    cb: np.ndarray | None
    cr: np.ndarray | None
    bits: int
    full_range: bool
    interlaced: bool
    top_first: bool
    afd: int | None = None


def picture_view(frame: VideoFrame, top_first: bool = True) -> PictureView:
    """All planes of one frame; valid while the frame lives (the arrays hold on to it).

    top_first  as the headers say: the frames of the library do not
    """
    interlaced = bool(frame.interlaced_frame)
    shown, luma = in_luma_first(frame)
    cb, cr = _chroma(shown, luma.bits)
    return PictureView(luma.codes, cb, cr, luma.bits, luma.full_range, interlaced, top_first, _afd(frame))


def _afd(frame: VideoFrame) -> int | None:
    """SMPTE ST 2016-1 in what libav keeps of it: one byte, the code in its low four bits.

    The container is made here and let go: the one that ``frame.side_data`` makes and its frame hold each other, and
    with it the picture's memory, until the garbage collector comes by.
    """
    try:
        kept = SideDataContainer(frame).get("AFD")  # type: ignore[call-arg]
    except ValueError:  # side data of a kind that the library has no name for
        return None
    return memoryview(kept)[0] & 15 if kept is not None and kept.buffer_size else None


def _chroma(frame: VideoFrame, bits: int) -> tuple[np.ndarray | None, np.ndarray | None]:
    kind = _kind(frame.format.name)
    if kind == "none":
        return None, None
    if kind == "beside":  # one plane, Cb and Cr by turns
        both = _codes(frame, 1, 2)
        return _down(frame, np.ascontiguousarray(both[:, 0::2]), bits), _down(
            frame, np.ascontiguousarray(both[:, 1::2]), bits
        )
    return _down(frame, _codes(frame, 1, 1), bits), _down(frame, _codes(frame, 2, 1), bits)


def _codes(frame: VideoFrame, number: int, per_pixel: int) -> np.ndarray:
    plane = frame.planes[number]
    word = np.dtype(np.uint8 if VideoFormat(frame.format.name).components[0].bits <= 8 else np.uint16)
    line = plane.line_size // word.itemsize
    codes: np.ndarray = np.frombuffer(memoryview(plane), word)[: line * plane.height]
    return codes.reshape(plane.height, line)[:, : plane.width * per_pixel]


def _down(frame: VideoFrame, codes: np.ndarray, bits: int) -> np.ndarray:
    """Native order, codes in the low bits."""
    name = frame.format.name
    if codes.dtype == np.uint16 and name.endswith(("be", "le")) and name.endswith("be") != _BIG:
        codes = codes.byteswap()
    if name.startswith(("p010", "p012", "p210", "p212", "p410", "p412")) or "msb" in name:
        codes = codes >> (16 - bits)
    return codes


@cache
def _kind(name: str) -> str:
    """Where chroma stands: "none", "beside" (one plane for both) or "apart"."""
    if name.startswith("gray"):
        return "none"
    return "beside" if name.startswith(("nv", "p0", "p2", "p4")) else "apart"
