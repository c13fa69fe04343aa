"""Scan, colour and time code in the headers of MPEG-2 and AVC elementary streams.

Sources: ISO/IEC 13818-2, 6.2.2.3 (sequence extension), 6.2.2.4 (sequence display extension), 6.2.3.1 (picture coding
extension), 6.2.2.6 (group of pictures header); ITU-T H.264, 7.3.2.1.1 (sequence parameter set), E.1.1 (video usability
information), 9.1 (Exp-Golomb codes). Colour is in the codes of ITU-T H.273: primaries, transfer, matrix.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

_EXTENSION = b"\x00\x00\x01\xb5"
_GROUP = b"\x00\x00\x01\xb8"
#: Profiles whose sequence parameter set has the chroma and depth fields (H.264, 7.3.2.1.1).
_HIGH = frozenset((100, 110, 122, 244, 44, 83, 86, 118, 128, 138, 139, 134, 135))


def mpeg2_scan(content: bytes) -> str | None:
    """Scan of the sequence and field order of its first picture.

    A progressive frame in an interlaced sequence still has a first field (PsF): it counts as interlaced.
    """
    progressive = None
    for at in _places(content, _EXTENSION):
        body = content[at + 4 : at + 9]
        if len(body) < 5:
            return None
        if body[0] >> 4 == 1:
            progressive = bool(body[1] & 8)
            if progressive:
                return "progressive"
        elif body[0] >> 4 == 8 and progressive is not None:
            structure = body[2] & 3  # 1 top field, 2 bottom field, 3 frame
            top = structure == 1 or (structure == 3 and bool(body[3] & 0x80))
            return f"interlaced, {'top' if top else 'bottom'} first"
    return None


def mpeg2_colour(content: bytes) -> tuple[int, int, int] | None:
    """Colour as the first sequence describes it; None if it does not."""
    for at in _places(content, _EXTENSION):
        body = content[at + 4 : at + 8]
        if len(body) == 4 and body[0] >> 4 == 2:
            return (body[1], body[2], body[3]) if body[0] & 1 else None
    return None


def mpeg2_timecode(content: bytes) -> tuple[int, int, int, int, bool] | None:
    """Hours, minutes, seconds, pictures and drop flag of the first group of pictures; None if there is none."""
    at = content.find(_GROUP)
    if at < 0 or at + 8 > len(content):
        return None
    bits = int.from_bytes(content[at + 4 : at + 8], "big") >> 7
    return bits >> 19 & 31, bits >> 13 & 63, bits >> 6 & 63, bits & 63, bool(bits >> 24 & 1)


def _places(content: bytes, code: bytes) -> Iterator[int]:
    at = content.find(code)
    while at >= 0:
        yield at
        at = content.find(code, at + 4)


@dataclass(frozen=True)
class AvcSays:
    """What a sequence parameter set says.

    frames_only  fields are ruled out (frame_mbs_only_flag)
    colour       None if it is not described
    """

    frames_only: bool
    colour: tuple[int, int, int] | None


def avc_says(content: bytes) -> AvcSays | None:
    """The first sequence parameter set.

    content  elementary stream with start codes. None if there is no readable parameter set.
    """
    for at in _places(content, b"\x00\x00\x01"):
        if at + 4 < len(content) and content[at + 3] & 31 == 7:
            end = content.find(b"\x00\x00\x01", at + 4)
            unit = content[at + 4 : end if end > 0 else at + 4 + 4096][:4096]
            bits = _Bits(unit.replace(b"\x00\x00\x03", b"\x00\x00"))
            try:
                frames_only = _frame_mbs_only(bits)
            except EOFError:
                return None
            try:
                return AvcSays(frames_only, _described_colour(bits, frames_only))
            except EOFError:
                return AvcSays(frames_only, None)
    return None


class _Bits:
    """Bits of a header, most significant first. Raises EOFError past the end."""

    def __init__(self, content: bytes) -> None:
        self._value, self._left = int.from_bytes(content, "big"), 8 * len(content)

    def take(self, count: int) -> int:
        if count > self._left:
            raise EOFError
        self._left -= count
        return self._value >> self._left & ((1 << count) - 1)

    def unsigned(self) -> int:
        zeros = 0
        while not self.take(1):
            zeros += 1
            if zeros > 32:
                raise EOFError
        return (1 << zeros) - 1 + self.take(zeros)

    def signed(self) -> int:
        code = self.unsigned()
        return (code + 1) // 2 if code % 2 else -code // 2


def _frame_mbs_only(bits: _Bits) -> bool:
    profile = bits.take(8)
    bits.take(16)
    bits.unsigned()
    if profile in _HIGH:
        chroma = bits.unsigned()
        if chroma == 3:
            bits.take(1)
        bits.unsigned()
        bits.unsigned()
        bits.take(1)
        if bits.take(1):
            for place in range(12 if chroma == 3 else 8):
                if bits.take(1):
                    _skip_scaling_list(bits, 16 if place < 6 else 64)
    bits.unsigned()
    order = bits.unsigned()
    if order == 0:
        bits.unsigned()
    elif order == 1:
        bits.take(1)
        bits.signed()
        bits.signed()
        for _ in range(min(bits.unsigned(), 255)):
            bits.signed()
    bits.unsigned()
    bits.take(1)
    bits.unsigned()
    bits.unsigned()
    return bool(bits.take(1))


def _described_colour(bits: _Bits, frames_only: bool) -> tuple[int, int, int] | None:
    """From what follows frame_mbs_only_flag."""
    bits.take(1 if frames_only else 2)
    if bits.take(1):  # cropping
        for _ in range(4):
            bits.unsigned()
    if not bits.take(1):  # no usability information
        return None
    if bits.take(1) and bits.take(8) == 255:  # pixel aspect, written out
        bits.take(32)
    if bits.take(1):  # overscan
        bits.take(1)
    if not bits.take(1):  # no signal type
        return None
    bits.take(4)
    return (bits.take(8), bits.take(8), bits.take(8)) if bits.take(1) else None


def _skip_scaling_list(bits: _Bits, size: int) -> None:
    last = following = 8
    for _ in range(size):
        if following:
            following = (last + bits.signed()) % 256
        last = following or last
