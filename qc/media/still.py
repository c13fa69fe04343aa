"""A still: one decoded frame, small, in display aspect, with its timecode burnt in, as JPEG.

Colours are brought to R'G'B' by the matrix and range that the file declares; where it declares none, by
what its size makes usual (ITU-R BT.709 from 720 lines on, BT.601 below; common practice). A high dynamic
range is not mapped down: such a still looks flat.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import cv2
import numpy as np
from av.video.frame import VideoFrame
from av.video.reformatter import ColorRange, Colorspace, Interpolation

from qc.media.letters import written

#: Longer and, for odd shapes, shortest side in pixels.
LONG_SIDE, SHORTEST_SIDE = 480, 60
#: Bytes that the quality is lowered for, step by step.
MOST_BYTES = 30_000
_QUALITIES = (85, 75, 65, 55, 45, 35, 25, 15, 5)
#: Size of a dot of the letters, and their distance from the edge.
_DOT, _MARGIN = 2, 8
#: Letters of a label that fit.
_LETTERS = 24
_WHITE, _BLACK = 255, 0
#: Matrix of the stream (ITU-T H.273, MatrixCoefficients) -> matrix of libav's scaler.
_MATRICES = {
    1: Colorspace.ITU709,
    4: Colorspace.FCC,
    5: Colorspace.ITU601,
    6: Colorspace.ITU601,
    7: Colorspace.SMPTE240M,
    9: Colorspace.BT2020,
    10: Colorspace.BT2020,
}
_FULL = 2  # AVCOL_RANGE_JPEG


@dataclass(frozen=True)
class Jpeg:
    """A still as it is kept."""

    content: bytes
    width: int
    height: int


def still_of(frame: VideoFrame, label: str, sample_aspect: Fraction | None = None) -> Jpeg:
    """The frame as a still of LONG_SIDE; ``label`` is burnt in at the lower left."""
    width, height = _size(frame.width, frame.height, sample_aspect)
    pixels = _pixels(frame, width, height)
    _burn(pixels, label)
    return Jpeg(_compressed(pixels), width, height)


def _size(width: int, height: int, sample_aspect: Fraction | None) -> tuple[int, int]:
    aspect = Fraction(width, height)
    if sample_aspect is not None and Fraction(1, 4) <= sample_aspect <= 4:
        aspect *= sample_aspect
    if aspect >= 1:
        return LONG_SIDE, max(SHORTEST_SIDE, round(LONG_SIDE / aspect))
    return max(SHORTEST_SIDE, round(LONG_SIDE * aspect)), LONG_SIDE


def _pixels(frame: VideoFrame, width: int, height: int) -> np.ndarray:
    """(height, width, 3) uint8, blue green red."""
    luma_and_colour = not frame.format.is_rgb
    usual = Colorspace.ITU709 if frame.height >= 720 else Colorspace.ITU601
    full = frame.color_range == _FULL or frame.format.name.startswith("yuvj")
    small = frame.reformat(
        width=width,
        height=height,
        format="bgr24",
        src_colorspace=_MATRICES.get(int(frame.colorspace), usual) if luma_and_colour else None,
        src_color_range=(ColorRange.JPEG if full else ColorRange.MPEG) if luma_and_colour else None,
        dst_color_range=ColorRange.JPEG,
        interpolation=Interpolation.AREA,
        threads=1,  # with more, the rows where slices meet differ from run to run
    )
    return np.ascontiguousarray(small.to_ndarray())


def _burn(pixels: np.ndarray, label: str) -> None:
    """White letters on a black plate with a white edge, so that it stands out from black and from white."""
    height, width = pixels.shape[:2]
    room = (width - 2 * _MARGIN - 2 * _DOT) // (6 * _DOT)
    text = label[: max(0, min(_LETTERS, room))]
    if not text:
        return
    ink = np.pad(written(text, _DOT), ((_DOT, _DOT), (2 * _DOT, 2 * _DOT)))
    plate = np.pad(np.where(ink, _WHITE, _BLACK).astype(np.uint8), 1, constant_values=_WHITE)
    high, wide = plate.shape
    bottom = height - _MARGIN
    pixels[bottom - high : bottom, _MARGIN : _MARGIN + wide] = plate[:, : width - _MARGIN, None]


def _compressed(pixels: np.ndarray) -> bytes:
    content = b""
    for quality in _QUALITIES:
        done, coded = cv2.imencode(".jpg", pixels, [cv2.IMWRITE_JPEG_QUALITY, quality])
        if not done:
            raise ValueError("the picture cannot be compressed")
        content = coded.tobytes()
        if len(content) <= MOST_BYTES:
            break
    return content
