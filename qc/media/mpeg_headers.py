"""Scan and time code in the headers of MPEG-2 and AVC elementary streams.

Sources: ISO/IEC 13818-2, 6.2.2.3 (sequence extension), 6.2.3.1 (picture coding extension),
6.2.2.6 (group of pictures header); ITU-T H.264, 7.3.2.1.1 (sequence parameter set), 9.1 (Exp-Golomb codes).
"""

from __future__ import annotations

from collections.abc import Iterator

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


def avc_frames_only(content: bytes) -> bool | None:
    """True if the first sequence parameter set rules fields out (frame_mbs_only_flag), False if it allows them.

    content  elementary stream with start codes. None if there is no readable parameter set.
    """
    for at in _places(content, b"\x00\x00\x01"):
        if at + 4 < len(content) and content[at + 3] & 31 == 7:
            end = content.find(b"\x00\x00\x01", at + 4)
            unit = content[at + 4 : end if end > 0 else at + 4 + 4096][:4096]
            try:
                return _frame_mbs_only(_Bits(unit.replace(b"\x00\x00\x03", b"\x00\x00")))
            except EOFError:
                return None
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


def _skip_scaling_list(bits: _Bits, size: int) -> None:
    last = following = 8
    for _ in range(size):
        if following:
            following = (last + bits.signed()) % 256
        last = following or last
