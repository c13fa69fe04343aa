"""The trade's names for what the decoder library names in its own way: codecs, profiles, levels, colours, channels.

Sources: ITU-T H.273 (colour codes); ISO/IEC 13818-2, 8.5 (MPEG-2 levels); ITU-T H.264, A.3 and
H.265, A.4 (levels); SMPTE RDD 36 (ProRes). Codec names by common practice, no source.
"""

from __future__ import annotations

_CODECS = {
    "aac": "AAC",
    "ac3": "AC-3",
    "alac": "ALAC",
    "av1": "AV1",
    "cfhd": "VC-5",
    "dnxhd": "VC-3",
    "dolby_e": "Dolby E",
    "dts": "DTS",
    "dvvideo": "DV",
    "eac3": "E-AC-3",
    "cc_dec": "CEA-608 captions",
    "eia_608": "CEA-608 captions",
    "ffv1": "FFV1",
    "flac": "FLAC",
    "h264": "AVC",
    "hevc": "HEVC",
    "jpeg2000": "JPEG 2000",
    "mjpeg": "Motion JPEG",
    "mov_text": "timed text",
    "mp2": "MPEG-1 Layer II",
    "mp3": "MPEG-1 Layer III",
    "mpeg1video": "MPEG-1",
    "mpeg2video": "MPEG-2",
    "mpeg4": "MPEG-4 Visual",
    "opus": "Opus",
    "png": "PNG",
    "prores": "ProRes",
    "prores_raw": "ProRes RAW",
    "r210": "uncompressed 10-bit RGB",
    "rawvideo": "uncompressed",
    "s302m": "SMPTE 302M",
    "smpte_436m_anc": "ancillary data (ST 436)",
    "v210": "uncompressed 10-bit 4:2:2",
    "vorbis": "Vorbis",
    "vp8": "VP8",
    "vp9": "VP9",
    "vvc": "VVC",
}
#: Sample entries of protected tracks (ISO/IEC 14496-12, 8.12; the last two from memory).
_ENCRYPTED = frozenset(("encv", "enca", "drmi", "drms"))
_PRORES = {
    "apco": "422 Proxy",
    "apcs": "422 LT",
    "apcn": "422",
    "apch": "422 HQ",
    "ap4h": "4444",
    "ap4x": "4444 XQ",
    "Proxy": "422 Proxy",
    "LT": "422 LT",
    "Standard": "422",
    "HQ": "422 HQ",
    "XQ": "4444 XQ",
}
_MPEG2_LEVELS = {4: "High", 6: "High 1440", 8: "Main", 10: "Low"}
_MPEG2_422_LEVELS = {2: "High", 5: "Main"}  # ISO/IEC 13818-2, Table 8-5, with the escape bit

_PRIMARIES = {1: "BT.709", 4: "BT.470 M", 5: "BT.470 BG", 6: "SMPTE 170M", 7: "SMPTE 240M", 9: "BT.2020"}
_PRIMARIES |= {10: "SMPTE ST 428-1", 11: "SMPTE RP 431-2", 12: "SMPTE EG 432-1", 22: "EBU Tech 3213"}
_TRANSFERS = {1: "BT.709", 4: "gamma 2.2", 5: "gamma 2.8", 6: "SMPTE 170M", 7: "SMPTE 240M", 8: "linear"}
_TRANSFERS |= {11: "xvYCC", 13: "sRGB", 14: "BT.2020 10-bit", 15: "BT.2020 12-bit", 16: "PQ", 17: "SMPTE ST 428-1"}
_TRANSFERS |= {18: "HLG"}
_MATRICES = {0: "RGB", 1: "BT.709", 4: "FCC", 5: "BT.470 BG", 6: "SMPTE 170M", 7: "SMPTE 240M", 8: "YCgCo"}
_MATRICES |= {9: "BT.2020", 10: "BT.2020 constant luminance", 14: "ICtCp"}

#: Library channel name -> the trade's label (names as in ITU-R BS.2051, spoken short).
_CHANNELS = {
    "FL": "L",
    "FR": "R",
    "FC": "C",
    "LFE": "LFE",
    "LFE2": "LFE2",
    "SL": "Ls",
    "SR": "Rs",
    "BL": "Ls",
    "BR": "Rs",
    "BC": "Cs",
    "FLC": "Lc",
    "FRC": "Rc",
}


def codec_name(library: str | None, fourcc: str | None = None) -> str:
    if fourcc in _ENCRYPTED:
        return f"encrypted {codec_name(library)}"
    if library is None:
        return f"unknown ({fourcc})" if fourcc else "unknown"
    if library.startswith("pcm_"):
        return "PCM"
    return _CODECS.get(library, library)


def profile_name(library: str, profile: str | None, fourcc: str | None) -> str | None:
    """Profile as the trade says it; None if there is none."""
    if library == "prores":
        return _PRORES.get(fourcc or "") or _PRORES.get(profile or "", profile)
    if library == "dnxhd" and profile:
        return profile.removeprefix("DNXHR ").removeprefix("DNXHD") or None
    return profile or None


def level_name(library: str, level: int | None, profile: str | None) -> str | None:
    if level is None or level <= 0:
        return None
    if library == "h264":
        return "1b" if level == 9 else f"{level // 10}.{level % 10}"
    if library == "hevc":
        return f"{level // 30}.{level % 30 // 3}"
    if library == "mpeg2video":
        return (_MPEG2_422_LEVELS if profile == "4:2:2" else _MPEG2_LEVELS).get(level)
    return None


def primaries_name(code: int | None) -> str | None:
    return _colour(_PRIMARIES, code)


def transfer_name(code: int | None) -> str | None:
    return _colour(_TRANSFERS, code)


def matrix_name(code: int | None) -> str | None:
    return _colour(_MATRICES, code)


def _colour(names: dict[int, str], code: int | None) -> str | None:
    """Name of an H.273 code; None for unspecified (2) and reserved; a number for a code without a name here."""
    if code is None or code in (2, 3) or (code == 0 and 0 not in names):
        return None
    return names.get(int(code), f"code {int(code)}")


def channel_labels(names: list[str]) -> tuple[str, ...]:
    """Labels of a layout's channels. With sides and backs both present the sides are Lss Rss, the backs Lrs Rrs."""
    if "SL" in names and "BL" in names:
        wide = _CHANNELS | {"SL": "Lss", "SR": "Rss", "BL": "Lrs", "BR": "Rrs"}
    else:
        wide = _CHANNELS
    if names == ["FC"]:
        return ("M",)
    return tuple(wide.get(name, "" if name in ("NONE", "UNK", "UNSD") else name) for name in names)
